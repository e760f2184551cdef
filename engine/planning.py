"""From causes to what to do: today, at the next make, and when to look again.

The steps of the likeliest cause come first. A step that pushes the process the opposite way
from one already chosen is left out and said so. A stop leaves no rescue at all, a hold only
what spreads nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from .amounts import work_out
from .catalog import Catalog
from .conditions import View, truth
from .model import Cause, Level, Step

QUIET_ACTS = frozenset(
    {"isolate", "apart", "discard", "wait", "record", "air", "cool", "box", "mats", "room", "boards", "unwrap"}
)
"""What may be done to a cheese on hold: nothing that washes, rubs, cuts or regroups."""
LEAST = 0.15
"""A cause below this adds no step."""
MOST_STEPS = 6

_OPPOSITE = {
    "salt up": "salt down", "humidity up": "humidity down", "temperature up": "temperature down",
    "washing more": "washing less", "brushing more": "brushing less", "acid up": "acid down",
}  # fmt: skip
_OPPOSITE |= {b: a for a, b in _OPPOSITE.items()}


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step of the plan, with what it is for and the hygiene it needs."""

    do: str
    act: str
    causes: tuple[str, ...]
    sources: tuple[str, ...]
    amount: str = ""
    """The quantity worked out for this cheese."""
    amount_formula: str = ""
    """How it was worked out, with the source."""
    per: str = ""
    """What the amount is reckoned by, as its page says it."""
    hygiene: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A step not shown because it pulls against one that is."""

    do: str
    cause: str
    against: str
    """The cause whose step it pulls against."""
    what: str
    """The way it would have pushed: "salt up"."""
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do, and when to look again."""

    today: tuple[PlannedStep, ...] = ()
    next_make: tuple[PlannedStep, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    look_again_days: int | None = None
    expect: str = ""
    otherwise: str = ""


def plan(
    catalog: Catalog,
    view: View,
    ranked: Sequence[tuple[str, float]],
    level: Level | None,
) -> Plan:
    """The plan for causes ranked by probability (id, probability), under the gravest caution."""
    causes = [catalog.causes[id] for id, p in ranked if p >= LEAST]
    left_out: list[LeftOut] = []
    today: list[PlannedStep] = []
    if level != "stop":
        today = _choose(catalog, view, causes, "today", left_out, quiet=level == "hold")
    next_make = _choose(catalog, view, causes, "next_make", [], quiet=False)
    again = causes[0].look_again if causes and level != "stop" else None
    if level == "hold" and causes and catalog.marks(causes[0].sources):
        again = None  # a house's own words again
    return Plan(
        tuple(today),
        tuple(next_make),
        tuple(left_out),
        again.after_days if again else None,
        again.expect if again else "",
        again.otherwise if again else "",
    )


def _choose(
    catalog: Catalog, view: View, causes: Sequence[Cause], part: str, left_out: list[LeftOut], quiet: bool
) -> list[PlannedStep]:
    chosen: list[PlannedStep] = []
    pushed: dict[str, str] = {}
    for cause in causes:
        for step in _fitting(cause, part, view):
            if quiet and (step.act not in QUIET_ACTS or all(s in catalog.house for s in step.sources)):
                continue  # a hold is no time for words that only a house rule stands behind
            clash = next((m for m in step.moves if _OPPOSITE.get(m) in pushed), None)
            if clash is not None:
                left_out.append(LeftOut(step.do, cause.id, pushed[_OPPOSITE[clash]], clash, step.sources))
                continue
            same = next((k for k, s in enumerate(chosen) if s.do == step.do), None)
            if same is not None:
                chosen[same] = replace(chosen[same], causes=(*chosen[same].causes, cause.id))
                continue
            if len(chosen) == MOST_STEPS:
                continue
            for move in step.moves:
                pushed.setdefault(move, cause.id)
            act = catalog.acts.get(step.act)
            worked = work_out(step.amount, view.answers, view.cheese) if step.amount else None
            chosen.append(
                PlannedStep(
                    step.do,
                    step.act,
                    (cause.id,),
                    step.sources,
                    worked.text if worked else "",
                    worked.ground if worked else "",
                    step.amount.per if step.amount else "",
                    act.hygiene if act else (),
                )
            )
    return chosen


def _fitting(cause: Cause, part: str, view: View) -> Iterator[Step]:
    for step in getattr(cause, part):
        if view.cheese.is_one_of(step.rinds) is False:
            continue
        if step.only_if is not None and truth(step.only_if, view) is not True:
            continue
        if step.unless is not None and truth(step.unless, view) is True:
            continue
        yield step
