"""How good the asking and the figures are, on wheels whose causes are known (``simulate.py``)."""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from rindwright.engine.answers import Answers
from rindwright.engine.belief import Array, Lane
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.fallback import weigh
from rindwright.engine.gates import FIRST, screened
from rindwright.engine.network import CaseNetwork

from tests.benchmarks.simulate import Wheel, draw, volunteered
from tests.benchmarks.table import Row, judged

STEP = 3
"""The curves are looked at every so many questions."""
SHARES = (0.95, 0.90)
"""Shares of the full questionnaire's hits that are to be reached; the first has an aim."""
SOONER, LATER = 9, 21
"""Numbers of questions at which the two orders are compared as well."""
FRAMES = 40
"""Wheels over whose style and age the fixed order's gains are averaged."""
BINS = 10


def questions(diagnoser: Diagnoser, wheels: int, seconds: float) -> list[Row]:
    """Questions until the first-named cause is as often right as it gets, against the best fixed order.

    Not counted: the questions that always come first, and two signs the maker brings along.
    """
    rng = np.random.default_rng(7)
    told: list[tuple[Wheel, Answers]] = []
    while len(told) < wheels:
        wheel = draw(diagnoser.catalog, rng)
        if wheel.causes:
            answers = wheel.opening()
            for question, value in volunteered(diagnoser.catalog, wheel, rng):
                answers = answers.adding(question, value)
            told.append((wheel, answers))
    full = float(np.mean([_right(diagnoser, w, w.answers) for w, _ in told]))
    order = fixed_order(diagnoser, np.random.default_rng(8))
    until = time.monotonic() + seconds
    adaptive = [_Adaptive(diagnoser, w, a) for w, a in told]
    ours = _curve(adaptive, full, until)
    fixed = [_Fixed(diagnoser, w, a, order) for w, a in told]
    theirs = _curve(fixed, full, until + seconds)
    rows = []
    for share in SHARES:
        a, b = reached(ours, share * full), reached(theirs, share * full)
        # A curve that was cut short only bounds the ratio, and only from one side.
        mark = "" if a[1] and b[1] else "at most " if a[1] else "at least " if b[1] else "open, "
        ratio = a[0] / max(b[0], 1)
        row = Row(f"questions to {share:.0%} of the full first cause", _count(a), f"{_count(b)}: best fixed order",
                  f"{mark}{ratio:.2f}x")  # fmt: skip
        if share == SHARES[0]:
            row = replace(row, aim="at most 0.4x (0.2x)", reached=judged(ratio, 0.4, 0.2) if a[1] else "cut short")
        rows.append(row)
        cost, fixed_cost = ours[a[0]].glances, theirs[b[0]].glances
        rows.append(
            Row(f"effort to {share:.0%} of the full first cause", f"{cost:.0f} glances",
                f"{fixed_cost:.0f} glances: best fixed order", f"{mark}{cost / max(fixed_cost, 1):.2f}x")
        )  # fmt: skip
    rows.extend(
        Row(f"first cause right after {n} questions", f"{ours[n].right:.0%}",
            f"{theirs[n].right:.0%}: best fixed order", f"full: {full:.0%} of {wheels} wheels")
        for n in (SOONER, LATER) if n in ours and n in theirs
    )  # fmt: skip
    return rows


def calibration(diagnoser: Diagnoser, wheels: int) -> list[Row]:
    """Whether the first-named cause is there as often as said, with about half of the questions answered."""
    rng = np.random.default_rng(11)
    said: list[tuple[float, bool]] = []
    for _ in range(wheels):
        wheel = draw(diagnoser.catalog, rng)
        opening = dict(wheel.opening())
        rest = [pair for pair in wheel.answers if pair[0] not in opening and rng.random() < 0.5]
        name, p = first_cause(*_weighed(diagnoser, Answers.of([*opening.items(), *rest])))
        said.append((p, name in wheel.causes))
    found = calibration_error(said)
    # What a perfectly calibrated tool would show by chance alone on as many wheels.
    chance = float(np.mean([calibration_error([(p, bool(rng.random() < p)) for p, _ in said]) for _ in range(50)]))
    mean, right = float(np.mean([p for p, _ in said])), float(np.mean([so for _, so in said]))
    return [
        Row("calibration error of the first cause", f"{found:.3f} ({wheels} wheels)", f"{chance:.3f}: by chance alone",
            f"says {mean:.2f}, is {right:.2f}", "at most 0.05", judged(found, 0.05, 0.0)),
    ]  # fmt: skip


def calibration_error(said: Iterable[tuple[float, bool]]) -> float:
    """Gap between what was said and what was so, averaged over ten bins by their number of wheels."""
    p, so = (np.array(column, dtype=np.float64) for column in zip(*said, strict=True))
    bins = np.minimum((p * BINS).astype(int), BINS - 1)
    return float(sum(abs((p - so)[bins == k].sum()) for k in range(BINS)) / len(p))


def fixed_order(diagnoser: Diagnoser, rng: np.random.Generator) -> list[str]:
    """Questions by the gain they bring on average when nothing but family, style and age is known."""
    total: dict[str, float] = {}
    for _ in range(FRAMES):
        wheel = draw(diagnoser.catalog, rng)
        bare = Answers.of(pair for pair in wheel.answers if pair[0] in FIRST)
        for worth in diagnoser.next_questions(bare, frozenset(screened(diagnoser.catalog))):
            total[worth.question] = total.get(worth.question, 0.0) + worth.gain
    return sorted(total, key=lambda q: (-total[q], q))


def first_cause(case: CaseNetwork, posterior: Array) -> tuple[str, float]:
    """The first-named cause and its probability."""
    k = int(np.argmax(posterior[:-1]))
    return case.nodes[k], float(posterior[k])


def reached(curve: dict[int, Point], goal: float) -> tuple[int, bool]:
    """The number of questions at which a curve first meets its goal, and whether it does at all."""
    for n, point in curve.items():
        if point.right >= goal:
            return n, True
    return max(curve), False


class _Fixed:
    """A wheel asked in one order for all."""

    def __init__(self, diagnoser: Diagnoser, wheel: Wheel, answers: Answers, order: list[str]) -> None:
        self._diagnoser, self._wheel, self._answers = diagnoser, wheel, answers
        self._queue = [q for q in order if answers.get(q) is None and wheel.answers.get(q) is not None]
        self._kept: bool | None = None
        self.glances = 0.0

    def right(self) -> bool:
        if self._kept is None:
            self._kept = _right(self._diagnoser, self._wheel, self._answers)
        return self._kept

    def ask(self) -> None:
        if self._queue:
            question = self._queue.pop(0)
            self.glances += _effort(self._diagnoser, question)
            self._answers = _answered(self._answers, question, self._wheel)
            self._kept = None

    @property
    def done(self) -> bool:
        return not self._queue


class _Adaptive:
    """A wheel asked what the engine thinks best each time."""

    def __init__(self, diagnoser: Diagnoser, wheel: Wheel, answers: Answers) -> None:
        self._diagnoser, self._wheel, self._answers = diagnoser, wheel, answers
        self._next: str | None = None
        self._right = False
        self.glances = 0.0
        self._look()

    def _look(self) -> None:
        """One pass gives both the first cause as it stands and the next question."""
        asker = self._diagnoser.asker
        case, _, safety = self._diagnoser.prepare(self._answers)
        open_ = asker.open(self._answers, case.view, safety, frozenset())
        hypotheses = asker.lanes(case, open_)
        found = weigh(case.network, [Lane(), *(h.lane for h in hypotheses)])
        self._right = first_cause(case, found.posterior[:, 0])[0] in self._wheel.causes
        ranked = asker.rank(case, open_, hypotheses, found.posterior, found.log_evidence)
        self._next = next((w.question for w in ranked if self._wheel.answers.get(w.question) is not None), None)

    def right(self) -> bool:
        return self._right

    def ask(self) -> None:
        if self._next is not None:
            self.glances += _effort(self._diagnoser, self._next)
            self._answers = _answered(self._answers, self._next, self._wheel)
            self._look()

    @property
    def done(self) -> bool:
        return self._next is None


@dataclass(frozen=True, slots=True)
class Point:
    """Where a curve stands after some questions."""

    right: float
    """Share of wheels whose first cause is right."""
    glances: float
    """What the answers cost a maker, on average."""


def _curve(looks: list[_Adaptive] | list[_Fixed], full: float, until: float) -> dict[int, Point]:
    """How the first cause fares with more and more questions; ends when the highest goal is met."""
    curve: dict[int, Point] = {}
    n = 0
    while True:
        right = float(np.mean([look.right() for look in looks]))
        curve[n] = Point(right, float(np.mean([look.glances for look in looks])))
        met = right >= SHARES[0] * full and n >= LATER
        if met or time.monotonic() > until or all(look.done for look in looks):
            return curve
        for _ in range(STEP):
            for look in looks:
                look.ask()
        n += STEP


def _effort(diagnoser: Diagnoser, question: str) -> float:
    return diagnoser.catalog.value("effort", diagnoser.catalog.questions[question].effort)


def _answered(answers: Answers, question: str, wheel: Wheel) -> Answers:
    value = wheel.answers.get(question)
    assert value is not None
    return answers.adding(question, value)


def _weighed(diagnoser: Diagnoser, answers: Answers) -> tuple[CaseNetwork, Array]:
    case, _, _ = diagnoser.prepare(answers)
    return case, weigh(case.network).posterior[:, 0]


def _right(diagnoser: Diagnoser, wheel: Wheel, answers: Answers) -> bool:
    return first_cause(*_weighed(diagnoser, answers))[0] in wheel.causes


def _count(found: tuple[int, bool]) -> str:
    return f"{found[0]} questions" if found[1] else f"over {found[0]} questions"
