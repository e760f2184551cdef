"""What a rule would change: the same answers weighed with it and without, side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..diagnosis import Diagnoser
from ..short import Short, in_short

LEAST = 0.01
"""A probability that moves by less is not worth a line."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One cause and its probability before and after, 0 to 1."""

    cause: str
    title: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Difference:
    """What changes for one set of answers."""

    name: str
    before: Short
    after: Short
    moved: tuple[Moved, ...]
    """Causes whose probability moves, furthest first."""
    added_steps: tuple[str, ...]
    """Steps of today's or the next make's plan that come in."""
    dropped_steps: tuple[str, ...]
    added_cautions: tuple[str, ...]

    @property
    def verdict(self) -> bool:
        """Whether the verdict changes."""
        return self.before.verdict != self.after.verdict

    @property
    def first(self) -> bool:
        """Whether another cause comes first."""
        return _first(self.before) != _first(self.after)

    @property
    def advice(self) -> bool:
        """Whether what to do changes."""
        return bool(self.added_steps or self.dropped_steps or self.added_cautions)

    @property
    def any(self) -> bool:
        """Whether anything worth a line changes."""
        return self.verdict or self.first or self.advice or bool(self.moved)


def difference(name: str, before: Short, after: Short) -> Difference:
    """Two diagnoses of the same answers, compared."""
    was, now = ({id: p for id, _, p in d.causes} for d in (before, after))
    titles = {id: title for id, title, _ in (*before.causes, *after.causes)}
    moved = [
        Moved(id, titles[id], was.get(id, 0.0), now.get(id, 0.0))
        for id in titles
        if abs(was.get(id, 0.0) - now.get(id, 0.0)) >= LEAST
    ]
    moved.sort(key=lambda m: (-round(abs(m.after - m.before), 9), m.cause))
    notes = {id for id, _ in before.cautions}
    return Difference(
        name, before, after, tuple(moved),
        tuple(s for s in after.steps if s not in before.steps), tuple(s for s in before.steps if s not in after.steps),
        tuple(title for id, title in after.cautions if id not in notes),
    )  # fmt: skip


def try_on(before: Diagnoser, after: Diagnoser, looks: Iterable[tuple[str, Answers]]) -> list[Difference]:
    """Weigh each set of answers with both; the same answers are weighed once."""
    known: dict[Answers, tuple[Short, Short]] = {}
    found = []
    for name, answers in looks:
        if answers not in known:
            known[answers] = (in_short(before, answers), in_short(after, answers))
        found.append(difference(name, *known[answers]))
    return found


@dataclass(frozen=True, slots=True)
class Tally:
    """How many of some looks change, and in what."""

    looks: int
    verdicts: int
    firsts: int
    advices: int
    furthest: float
    """The furthest any probability moves, 0 to 1."""


def tally(found: Sequence[Difference]) -> Tally:
    """A summary of differences."""
    return Tally(
        len(found),
        sum(d.verdict for d in found),
        sum(d.first for d in found),
        sum(d.advice for d in found),
        max((abs(m.after - m.before) for d in found for m in d.moved), default=0.0),
    )


def _first(d: Short) -> str:
    return d.causes[0][0] if d.causes else ""
