"""What a rule would change: the same answers weighed with it and without, side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..diagnosis import Diagnoser, Diagnosis

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
    before: Diagnosis
    after: Diagnosis
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


def difference(name: str, before: Diagnosis, after: Diagnosis) -> Difference:
    """Two diagnoses of the same answers, compared."""
    was = {c.id: c for c in before.causes}
    now = {c.id: c for c in after.causes}
    moved = []
    for id in sorted(was.keys() | now.keys()):
        a, b = (d[id].probability if id in d else 0.0 for d in (was, now))
        if abs(a - b) >= LEAST:
            moved.append(Moved(id, (now.get(id) or was[id]).title, a, b))
    moved.sort(key=lambda m: (-round(abs(m.after - m.before), 9), m.cause))
    old, new = _steps(before), _steps(after)
    notes = {c.id for c in before.cautions}
    return Difference(
        name, before, after, tuple(moved),
        tuple(s for s in new if s not in old), tuple(s for s in old if s not in new),
        tuple(c.title for c in after.cautions if c.id not in notes),
    )  # fmt: skip


def try_on(before: Diagnoser, after: Diagnoser, looks: Iterable[tuple[str, Answers]]) -> list[Difference]:
    """Weigh each set of answers with both; the same answers are weighed once."""
    known: dict[Answers, tuple[Diagnosis, Diagnosis]] = {}
    found = []
    for name, answers in looks:
        if answers not in known:
            known[answers] = (before.diagnose(answers), after.diagnose(answers))
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


def _first(d: Diagnosis) -> str:
    return d.causes[0].id if d.causes else ""


def _steps(d: Diagnosis) -> list[str]:
    return [s.do for s in (*d.plan.today, *d.plan.next_make)]
