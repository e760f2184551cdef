"""A diagnosis as it is kept with its look: what was said then, whatever the knowledge says later."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from ..house.voices import as_records, behind, of_cause, on_cause
from ..rounding import six_places
from .daybook import Record

if TYPE_CHECKING:
    from ..catalog import Catalog
    from ..diagnosis import Diagnosis, RankedCause, Reason
    from ..model import HouseMark

REASONS_KEPT = 5


def weighed_of(
    d: Diagnosis,
    family: str | None,
    style: str | None,
    age_days: float | None,
    local: str = "",
    catalog: Catalog | None = None,
) -> Record:
    """The shape in which a diagnosis is kept. Probabilities are rounded to six places.

    ``local`` is the stamp of the corrections it was weighed with. With the ``catalog`` it was weighed by, whatever
    comes from a house rule is kept with rule, owner and date.
    """
    settled = d.chained.settled
    again = d.plan.look_again_days
    return {
        "knowledge": d.knowledge,
        "house": d.house,
        "local": local,
        "verdict": d.verdict,
        "family": family,
        "style": style,
        "week": None if age_days is None else int(age_days // 7),
        "cautions": [{"id": c.id, "level": c.level, "title": c.title} for c in d.cautions],
        "causes": [_cause(c, d, catalog) for c in d.causes],
        "normal": {"probability": six_places(d.normal.probability), "rows": list(d.normal.rows)},
        "unknown_cause": six_places(d.unknown_cause),
        "today": [
            {"do": s.do, "act": s.act, "amount": s.amount, "causes": list(s.causes), **_whose(catalog, s.sources)}
            for s in d.plan.today
        ],
        "next_make": [
            {"do": s.do, "amount": s.amount, "causes": list(s.causes), **_whose(catalog, s.sources)}
            for s in d.plan.next_make
        ],
        "look_again": None
        if again is None
        else {
            "after_days": again,
            "expect": d.plan.expect,
            "otherwise": d.plan.otherwise,
            **_named(of_cause(catalog, d.causes[0].id) if catalog is not None else ()),
        },
        "approximate": d.approximate,
        **shown(settled),
    }


def shown(settled: Mapping[str, bool]) -> Record:
    """The signs and circumstances that are settled, as they are kept."""
    return {
        "signs": {name[5:]: "there" if so else "not there" for name, so in settled.items() if name.startswith("sign ")},
        "holds": {name[13:]: so for name, so in settled.items() if name.startswith("circumstance ")},
    }


def _cause(c: RankedCause, d: Diagnosis, catalog: Catalog | None) -> dict[str, Any]:
    return {
        "id": c.id,
        "title": c.title,
        "probability": six_places(c.probability),
        "low": six_places(c.low),
        "high": six_places(c.high),
        "word": c.word,
        "for": [_reason(r, d, catalog) for r in c.reasons_for[:REASONS_KEPT]],
        "against": [_reason(r, d, catalog) for r in c.reasons_against[:REASONS_KEPT]],
        **_named(on_cause(catalog, c.id) if catalog is not None else ()),
    }


def _reason(r: Reason, d: Diagnosis, catalog: Catalog | None) -> dict[str, Any]:
    marks = behind(catalog, d.chained, r.by, r.sources) if catalog is not None else ()
    return {"by": r.by, "says": r.says, "log_odds": round(r.log_odds, 3), **_named(marks)}


def _whose(catalog: Catalog | None, sources: Iterable[str]) -> dict[str, Any]:
    return _named(catalog.marks(tuple(sources)) if catalog is not None else ())


def _named(marks: Iterable[HouseMark]) -> dict[str, Any]:
    """The house rules behind something; no key at all where there are none."""
    said = as_records(marks)
    return {"house": said} if said else {}
