"""A diagnosis as it is kept with its look: what was said then, whatever the knowledge says later."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .daybook import Record

if TYPE_CHECKING:
    from ..diagnosis import Diagnosis, RankedCause, Reason

REASONS_KEPT = 5


def weighed_of(d: Diagnosis, family: str | None, style: str | None, age_days: float | None, local: str = "") -> Record:
    """The shape in which a diagnosis is kept. Probabilities are rounded to six places.

    ``local`` is the stamp of the corrections it was weighed with.
    """
    settled = d.chained.settled
    again = d.plan.look_again_days
    return {
        "knowledge": d.knowledge,
        "local": local,
        "verdict": d.verdict,
        "family": family,
        "style": style,
        "week": None if age_days is None else int(age_days // 7),
        "cautions": [{"id": c.id, "level": c.level, "title": c.title} for c in d.cautions],
        "causes": [_cause(c) for c in d.causes],
        "normal": {"probability": _p(d.normal.probability), "rows": list(d.normal.rows)},
        "unknown_cause": _p(d.unknown_cause),
        "today": [{"do": s.do, "act": s.act, "amount": s.amount, "causes": list(s.causes)} for s in d.plan.today],
        "next_make": [{"do": s.do, "amount": s.amount, "causes": list(s.causes)} for s in d.plan.next_make],
        "look_again": None
        if again is None
        else {"after_days": again, "expect": d.plan.expect, "otherwise": d.plan.otherwise},
        "approximate": d.approximate,
        "signs": {name[5:]: "there" if so else "not there" for name, so in settled.items() if name.startswith("sign ")},
        "holds": {name[13:]: so for name, so in settled.items() if name.startswith("circumstance ")},
    }


def _cause(c: RankedCause) -> dict[str, Any]:
    return {
        "id": c.id,
        "title": c.title,
        "probability": _p(c.probability),
        "low": _p(c.low),
        "high": _p(c.high),
        "word": c.word,
        "for": [_reason(r) for r in c.reasons_for[:REASONS_KEPT]],
        "against": [_reason(r) for r in c.reasons_against[:REASONS_KEPT]],
    }


def _reason(r: Reason) -> dict[str, Any]:
    return {"by": r.by, "says": r.says, "log_odds": round(r.log_odds, 3)}


def _p(x: float) -> float:
    return round(float(x), 6) + 0.0
