"""Diagnosis and questions for machines. The shapes are documented in ``shapes/*.schema.json``."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from ..engine.catalog import Catalog, asked
from ..engine.house.voices import as_records, behind, of_cause, of_question, on_cause
from ..engine.rounding import six_places
from .house_words import whole_shape
from .learnt_words import cause_shape, reason_shape, standing_shape

if TYPE_CHECKING:
    from ..engine.archive.learnt import Beside, Standing
    from ..engine.diagnosis import Diagnosis, RankedCause, Reason
    from ..engine.planning import PlannedStep

DIAGNOSIS = "rindwright-diagnosis/1"
QUESTIONS = "rindwright-questions/1"


def text(shape: dict[str, Any]) -> str:
    """JSON in a fixed order, readable by eye."""
    return json.dumps(shape, ensure_ascii=False, indent=2)


def diagnosis(
    catalog: Catalog,
    d: Diagnosis,
    noun: str = "the rind",
    found: Standing | None = None,
    own: Beside | None = None,
) -> dict[str, Any]:
    """The documented shape of a diagnosis. Probabilities are rounded to six places. ``noun``: the cheese's rind.

    ``found`` is what was learnt from the maker's confirmed looks, ``own`` that part of it which bears on this cheese.
    """
    lead = d.next_question
    return {
        "schema": DIAGNOSIS,
        "knowledge": d.knowledge,
        "verdict": d.verdict,
        "cautions": [
            {
                "id": c.id,
                "level": c.level,
                "title": c.title,
                "text": c.text,
                "do": list(c.do),
                "touched": c.touched,
                "test": c.test,
                "sample": c.sample,
                "while_waiting": c.while_waiting,
                "differs": c.differs,
                "urgent": c.urgent,
                "sources": list(c.sources),
            }
            for c in d.cautions
        ],
        "causes": [_cause(catalog, d, c, own) for c in d.causes],
        "dated": [
            {
                "cause": t.cause,
                "first_seen_day": six_places(t.first_seen_day),
                "shows_after_days": t.shows_after_days,
                "began_by_day": six_places(t.by_day),
                "grade": t.grade,
                "sources": list(t.sources),
            }
            for t in d.dated
        ],
        "normal": {
            "probability": six_places(d.normal.probability),
            "why": [
                {"id": r, "name": catalog.normal[r].name, "fault_when": catalog.normal[r].fault_when}
                for r in d.normal.rows
            ],
        },
        "unknown_cause": {"probability": six_places(d.unknown_cause)},
        "explanations": [{"causes": list(e.causes), "probability": six_places(e.probability)} for e in d.explanations],
        "today": [_step(catalog, s) for s in d.plan.today],
        "left_out": [
            {
                "do": o.do,
                "cause": o.cause,
                "pulls_against": o.against,
                "would_push": o.what,
                "house": as_records(catalog.marks(o.sources)),
            }
            for o in d.plan.left_out
        ],
        "next_make": [_step(catalog, s) for s in d.plan.next_make],
        "look_again": None
        if d.plan.look_again_days is None
        else {
            "after_days": d.plan.look_again_days,
            "expect": d.plan.expect,
            "otherwise": d.plan.otherwise,
            "house": as_records(of_cause(catalog, d.causes[0].id)),
        },
        "next_question": None
        if lead is None
        else {
            "id": lead.id,
            "ask": asked(catalog.questions[lead.id], noun),
            "gain": six_places(lead.gain),
            "changes_advice": six_places(lead.change),
            "house": as_records(of_question(catalog, lead.id)),
        },
        "settled": d.settled,
        "fragile": d.fragile,
        "approximate": d.approximate,
        "safety_questions_open": list(d.safety_open),
        "figures": [{"question": f.question, "value": six_places(f.value), "says": f.says} for f in d.figures],
        "house": whole_shape(catalog, d.house),
        "learnt": standing_shape(found),
        "safety_screen": {"answered": list(d.screen_told), "not_known": list(d.screen_untold)},
    }


def _cause(catalog: Catalog, d: Diagnosis, c: RankedCause, own: Beside | None) -> dict[str, Any]:
    return {
        "id": c.id,
        "kind": c.kind,
        "title": c.title,
        "probability": six_places(c.probability),
        "low": six_places(c.low),
        "high": six_places(c.high),
        "word": c.word,
        "reasons": {
            "for": [_reason(catalog, d, c.id, r, own) for r in c.reasons_for],
            "against": [_reason(catalog, d, c.id, r, own) for r in c.reasons_against],
        },
        "house": as_records(on_cause(catalog, c.id)),
        "learnt": cause_shape(own, c.id),
    }


def _reason(catalog: Catalog, d: Diagnosis, cause: str, r: Reason, own: Beside | None) -> dict[str, Any]:
    return {
        "by": r.by,
        "says": r.says,
        "log_odds": six_places(r.log_odds),
        "word": r.word,
        "grade": r.grade,
        "sources": list(r.sources),
        "also": list(r.also),
        "house": as_records(behind(catalog, d.chained, r.by, r.sources)),
        "learnt": reason_shape(own, cause, r.by),
    }


def _step(catalog: Catalog, s: PlannedStep) -> dict[str, Any]:
    return {
        "do": s.do,
        "act": s.act,
        "amount": s.amount,
        "amount_formula": s.amount_formula,
        "causes": list(s.causes),
        "hygiene": list(s.hygiene),
        "sources": list(s.sources),
        "house": as_records(catalog.marks(s.sources)),
    }


def questions(catalog: Catalog) -> dict[str, Any]:
    """Every question with its options, unit and id."""
    return {
        "schema": QUESTIONS,
        "knowledge": catalog.knowledge.version,
        "questions": [
            {
                "id": q.id,
                "ask": asked(q),
                "kind": q.kind,
                "how": q.how,
                "effort": q.effort,
                "unit": q.unit,
                "minimum": q.minimum,
                "maximum": q.maximum,
                "options": [{"id": o.id, "text": o.text} for o in q.options],
                "tasting": q.tasting,
                "house": as_records(of_question(catalog, q.id)),
                "screen": q.screen,
                "block": q.block,
                "topic": q.topic,
            }
            for q in catalog.questions.values()
        ],
    }
