"""Repeat: what was different about a wheel that turned out well, as a protocol for the next make.

A condition differs when it is not as planned, or, where nothing was planned, not as usual at this maker's
other makes of the style. Conditions are ordered by how likely they mattered: how far the knowledge says they
move the chance of no fault at all, plus what the maker's own outcomes say, shrunk towards nothing while they
are few. It is an order of likelihood, not a proof: the list says so, and keeps what nobody can explain.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..answers import Answers, Value
from ..catalog import Catalog
from ..conditions import leaves
from ..gates import FIRST, screened
from ..model import Condition
from .looks import fitting
from .makes import Wheel, full
from .store import Archive

if TYPE_CHECKING:
    from ..diagnosis import Diagnoser

NEAR = 0.05
"""Numbers closer than this share of the larger are the same."""
SHRINK = 10.0
"""Outcomes at which the maker's own counts weigh half: judgement."""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A condition that was not as planned or usual, and how likely it mattered."""

    question: str
    was: Value
    instead_of: Value
    planned: bool
    """Whether ``instead_of`` was planned; otherwise it is what is usual."""
    by_knowledge: float
    """Log of how many times likelier "no fault" is with it."""
    by_outcomes: float
    """The same from the maker's own outcomes, shrunk."""
    outcomes: int
    """How many outcomes that rests on."""

    @property
    def weight(self) -> float:
        """Both together; above 0 it helped, below 0 the wheel did well in spite of it."""
        return self.by_knowledge + self.by_outcomes


@dataclass(frozen=True, slots=True)
class History:
    """One wheel: its conditions, and whether it turned out well (None: not said)."""

    wheel_id: int
    style: str | None
    conditions: dict[str, Value]
    well: bool | None


def conditions_of(catalog: Catalog) -> frozenset[str]:
    """Questions about how a cheese was made and kept, as opposed to how it looks or who eats it."""
    of_signs = {
        leaf.ask for sign in catalog.signs.values() for leaf in leaves(sign.when or Condition(ask=sign.id)) if leaf.ask
    }
    return (
        frozenset(catalog.questions) - of_signs - {*FIRST, *screened(catalog), "first_seen_day", "weight_g", "for_sale"}
    )


def histories(archive: Archive, catalog: Catalog) -> list[History]:
    """Every wheel that was looked at."""
    wanted = conditions_of(catalog)
    found: dict[int, dict[str, Value]] = {}
    styles: dict[int, str | None] = {}
    for wheel_id, style, body in archive.db.execute(
        "SELECT wheel_id, look.style, answers FROM look JOIN said ON look_id = look.id WHERE wheel_id IS NOT NULL "
        "ORDER BY looked_on, look.id"
    ):
        known = found.setdefault(wheel_id, {})
        styles[wheel_id] = style or styles.get(wheel_id)
        known.update((q, v) for q, v, _ in fitting(catalog, json.loads(body)) if q in wanted and v != "unknown")
    ends = {w: turned_out_well(archive, w) for w in found}
    return [History(w, styles[w], known, ends[w]) for w, known in found.items()]


def turned_out_well(archive: Archive, wheel_id: int) -> bool | None:
    """Whether the latest outcome of a wheel says that nothing was wrong or that it tasted good."""
    row = archive.db.execute(
        "SELECT causes, taste FROM outcome JOIN look ON look.id = look_id WHERE wheel_id = ? "
        "ORDER BY looked_on DESC, on_date DESC, outcome.id DESC LIMIT 1",
        (wheel_id,),
    ).fetchone()
    if row is None:
        return None
    return bool(row[1] == "good" or (row[0] == "[]" and row[1] != "poor"))


def repeat(archive: Archive, diagnoser: Diagnoser, wheel: Wheel) -> list[Deviation]:
    """What was different about a wheel, most likely to have mattered first."""
    catalog = diagnoser.catalog
    wanted = conditions_of(catalog)
    make = full(archive, wheel.make_id)
    everyone = histories(archive, catalog)
    own = next((h for h in everyone if h.wheel_id == wheel.id), None)
    conditions: dict[str, Value] = {}
    plan: dict[str, Value] = {}
    for said, is_plan in ((conditions, False), (plan, True)):
        kept = [[f["question"], f["value"], None] for f in make["facts"] if f["planned"] is is_plan]
        said.update((q, v) for q, v, _ in fitting(catalog, kept) if q in wanted)
    conditions |= own.conditions if own else {}
    style = make["style"] or (own.style if own else None)
    others = [h for h in everyone if h.wheel_id != wheel.id and h.style == style]
    frame: dict[str, Value] = {k: v for k, v in (("family", make["family"]), ("style", style)) if v}
    found = []
    for question in catalog.questions:
        if question not in conditions:
            continue
        usual = _usual(others, question)
        instead = plan.get(question, usual)
        was = conditions[question]
        if instead is None or same(was, instead):
            continue
        here = Answers.of({**frame, **conditions})
        there = here.adding(question, instead)
        by_outcomes, count = _by_outcomes(everyone, question, was)
        found.append(
            Deviation(
                question, was, instead, question in plan,
                no_fault(diagnoser, here) - no_fault(diagnoser, there), by_outcomes, count,
            )
        )  # fmt: skip
    order = {name: k for k, name in enumerate(catalog.questions)}
    return sorted(found, key=lambda d: (-round(d.weight, 9), order[d.question]))


def no_fault(diagnoser: Diagnoser, answers: Answers) -> float:
    """Log of the chance that no cause is there, from circumstances alone."""
    case, _, _ = diagnoser.prepare(answers)
    return math.fsum(math.log1p(-b) for b in case.network.base[:-1])


def same(a: Value, b: Value) -> bool:
    """Whether two answers are the same as far as this matters."""
    if isinstance(a, float) and isinstance(b, float):
        return abs(a - b) <= NEAR * max(abs(a), abs(b))
    return a == b


def _usual(others: Sequence[History], question: str) -> Value | None:
    """What most other wheels had; the middle one for numbers."""
    values = [h.conditions[question] for h in others if question in h.conditions]
    numbers = sorted(v for v in values if isinstance(v, float))
    if numbers and len(numbers) == len(values):
        return numbers[len(numbers) // 2]
    counted = Counter(values)
    return min(counted, key=lambda v: (-counted[v], str(v))) if counted else None


def _by_outcomes(everyone: Sequence[History], question: str, was: Value) -> tuple[float, int]:
    counts = {(with_it, well): 0 for with_it in (True, False) for well in (True, False)}
    for h in everyone:
        if h.well is not None and question in h.conditions:
            counts[(same(h.conditions[question], was), h.well)] += 1
    total = sum(counts.values())
    if not all(counts[with_it, True] + counts[with_it, False] for with_it in (True, False)):
        return 0.0, 0  # nothing to hold it against: one lucky wheel is no ground for its own luck
    odds = (counts[True, True] + 0.5) * (counts[False, False] + 0.5)
    odds /= (counts[True, False] + 0.5) * (counts[False, True] + 0.5)
    return math.log(odds) * total / (total + SHRINK), total
