"""Which house rules stand behind something that is shown: a claim, a reason, a fact worked out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from ..catalog import Catalog
from ..model import HouseMark

if TYPE_CHECKING:
    from ..chaining import Chained


def behind(catalog: Catalog, chained: Chained, by: str, sources: Sequence[str]) -> tuple[HouseMark, ...]:
    """House rules behind a reason: in its own claim, or in any fact it was worked out from.

    ``by`` is the id of the sign or circumstance; the trail of chaining leads from it to the answers.
    """
    if not catalog.house:
        return ()
    found = dict.fromkeys(catalog.marks(sources))
    made = {rule.concludes[0]: rule for rule in chained.trail}
    waiting, seen = ["circumstance " + by, "sign " + by], set[str]()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        kind, _, id = name.partition(" ")
        found.update(dict.fromkeys(catalog.marks(_sources(catalog, kind, id))))
        if name in made:
            waiting.extend(premise for premise, _ in made[name].premises)
    return tuple(sorted(found, key=lambda m: m.rule))


def as_records(marks: Iterable[HouseMark]) -> list[dict[str, str]]:
    """House rules behind something, as they are kept and given to machines."""
    return [{"rule": m.rule, "owner": m.owner, "date": m.date} for m in marks]


def of_cause(catalog: Catalog, id: str) -> tuple[HouseMark, ...]:
    """House rules that brought a cause as a whole: its words are theirs."""
    cause = catalog.causes.get(id)
    return catalog.marks(cause.sources) if cause is not None else ()


def on_cause(catalog: Catalog, id: str) -> tuple[HouseMark, ...]:
    """House rules that brought a cause, or that say how common it is: its figure is theirs too."""
    cause = catalog.causes.get(id)
    return catalog.marks(dict.fromkeys((*cause.sources, *cause.base_rate_sources))) if cause is not None else ()


def of_question(catalog: Catalog, id: str) -> tuple[HouseMark, ...]:
    """House rules that brought a question."""
    return added(catalog, "question", id)


def added(catalog: Catalog, kind: str, id: str) -> tuple[HouseMark, ...]:
    """House rules that brought a record: a question, sign, circumstance or cause."""
    return tuple(m for m in catalog.house.values() if f"{kind} {id}" in m.adds)


def _sources(catalog: Catalog, kind: str, id: str) -> Iterable[str]:
    if kind == "circumstance" and id in catalog.circumstances:
        return catalog.circumstances[id].sources
    if kind == "sign" and id in catalog.signs:
        return [s for rate in catalog.signs[id].on_sound_rinds for s in rate.sources]
    return ()
