"""The race on a rind: how its surface loses acid, when it can carry the smear, and who gains meanwhile.

The rise of pH is a curve whose middle is an estimate by kind of rind, moved by temperature and water
activity as the yeast or mould that eats the acid is. Readings of the maker's own strips replace the
estimate. Progress is counted in days of an organism's own best growth, so that bacteria and moulds can
be drawn on one scale; it says who gains on whom and never how many there are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from .ground import Formula, OutOfRange, within
from .growth import GAMMA, Grower, Surface, factor, grower, growth
from .growth_courses import Course
from .growth_strips import STRIP_PH, only_rising, placed

RISE = Formula(
    "surface_ph_rise",
    "Rise of the surface pH",
    "pH(t) = pH0 + (top - pH0)/(1 + exp(-(t - middle)/width)); middle · share(reference)/share(now) of the acid eater; "
    "own readings place the middle, each weighing as much as the square of its slope there",
    "a yeast or mould eats the acid; days counted from the end of salting",
    "deacidification_estimate",
    ("cheese_problems_bloom", "cheese_problems_yeasts", "aseptic_curd", "retureau_2010"),
)
PROGRESS = Formula(
    "growth_progress",
    "Progress in days of best growth",
    "sum of share · time, with the share at each hour's pH",
    "before anything runs short of food or room",
    "gamma_concept",
)
_STEPS_PER_DAY = 8


class PhOverTime(Protocol):
    """The surface pH of a cheese over its days."""

    @property
    def fitted(self) -> bool:
        """Whether it was placed by the maker's own readings."""
        ...

    @property
    def formula(self) -> Formula:
        """What it stands on."""
        ...

    def ph(self, day: float, which: int = 1) -> float:
        """Surface pH on a day."""
        ...

    def day_of(self, ph: float) -> tuple[float, float, float] | None:
        """Days on which a pH is reached, early, likely, late; None when it never is."""
        ...


@dataclass(frozen=True, slots=True)
class Rise:
    """A course placed in time: its middle on the early, likely and late side."""

    course: Course
    start_ph: float
    middle_days: tuple[float, float, float]
    fitted: bool
    """Placed by the maker's own readings, not by the estimate."""
    formula: Formula = RISE

    def ph(self, day: float, which: int = 1) -> float:
        """Surface pH on a day; ``which`` is 0 early, 1 likely, 2 late."""
        x = (day - self.middle_days[which]) / self.course.width_days
        return self.start_ph + self._height / (1 + math.exp(-max(-60.0, min(60.0, x))))

    def day_of(self, ph: float) -> tuple[float, float, float] | None:
        """Days on which the surface reaches a pH, early, likely, late; None when it never does."""
        share = (ph - self.start_ph) / self._height
        if share >= 1:
            return None
        if share <= 0:
            return (0.0, 0.0, 0.0)
        shift = self.course.width_days * math.log(share / (1 - share))
        early, likely, late = (max(0.0, middle + shift) for middle in self.middle_days)
        return (early, likely, late)

    @property
    def _height(self) -> float:
        return self.course.start_ph + self.course.rise - self.start_ph


def speed(kind: Course, temperature_c: float, water_activity: float) -> float:
    """How fast the acid goes against the reference surface; 0 when its eater stands still. Raises ``OutOfRange``."""
    here = replace(kind.reference, temperature_c=temperature_c, water_activity=water_activity).checked()
    eater = grower(kind.eater)

    def share(at: Surface) -> float:
        found = (factor(eater, "temperature", at.temperature_c), factor(eater, "water activity", at.water_activity))
        return math.prod(f.share for f in found if f is not None)

    return share(here) / share(kind.reference)


def rise(
    kind: Course,
    temperature_c: float,
    water_activity: float,
    start_ph: float | None = None,
    readings: Sequence[tuple[float, float]] = (),
) -> Rise:
    """The course on this surface; ``readings`` are (age in days, surface pH) and take the place of the estimate.

    How far the acid eater has come does not depend on how much acid there was: so a more acid start is later at
    any pH. Raises ``OutOfRange`` where readings fall, or where the acid eater does not grow and nothing was read.
    """
    if start_ph is not None:
        within("Surface pH after salting", start_ph, 4, 6.5, "", "young surfaces lie between")
    only_rising(readings, start_ph)
    # Acid only goes: a surface that reads below the usual start has begun no higher than it reads.
    begin = start_ph if start_ph is not None else min([kind.start_ph, *(ph for _, ph in readings)])
    top = kind.start_ph + kind.rise
    fast = speed(kind, temperature_c, water_activity)
    if readings:
        return Rise(kind, begin, placed(readings, begin, top, kind.width_days), True)
    if fast <= 0:
        raise OutOfRange(
            f"No course can be drawn at {temperature_c:.4g} °C and water activity {water_activity:.3g}: "
            f"{grower(kind.eater).name}, which eats the acid, does not grow there by the figures at hand."
        )
    # The days to pH 6 are known of the usual start, and place the middle for every other.
    at_6 = (6.0 - kind.start_ph) / (top - kind.start_ph)
    shift = kind.width_days * math.log(at_6 / (1 - at_6))
    low, high = kind.to_ph_6_days
    early, likely, late = ((days - shift) / fast for days in (low, (low + high) / 2, high))
    return Rise(kind, begin, (early, likely, late), False)


def follows(course_of_ph: Rise, readings: Sequence[tuple[float, float]]) -> bool:
    """Whether a course, early or late and a strip off, passes through all the readings it was placed by."""
    top = course_of_ph.ph(math.inf)
    return all(
        course_of_ph.ph(age, 2) - STRIP_PH - 1e-9 <= min(ph, top) <= course_of_ph.ph(age, 0) + STRIP_PH + 1e-9
        for age, ph in readings
    )


@dataclass(frozen=True, slots=True)
class Carries:
    """From when a surface can carry an organism."""

    organism: str
    name: str
    from_ph: float
    days: tuple[float, float, float] | None
    """Early, likely, late, counted from the end of salting; None when the surface never gets there."""
    barred_by: tuple[str, ...]
    """Properties that keep it from growing however long one waits."""
    fitted: bool
    formulas: tuple[Formula, ...] = (RISE, GAMMA)


def carries(organism: Grower, course_of_ph: PhOverTime, temperature_c: float, water_activity: float) -> Carries:
    """When a surface has lost enough acid to carry an organism.

    Raises ``OutOfRange`` for a hazard, and without a pH figure for it.
    """
    _no_hazard(organism)
    if "pH_min" not in organism.figures:
        raise OutOfRange(f"No lowest pH is known for {organism.name}.")
    Surface(temperature_c, 7, water_activity).checked()
    at = {"temperature": temperature_c, "water activity": water_activity}
    found = {name: factor(organism, name, x) for name, x in at.items()}
    barred = tuple(name for name, f in found.items() if f is not None and f.share == 0)
    lowest = organism.figures["pH_min"].value
    days = None if barred else course_of_ph.day_of(lowest)
    formulas = (course_of_ph.formula, GAMMA)
    return Carries(organism.id, organism.name, lowest, days, barred, course_of_ph.fitted, formulas)


def _no_hazard(organism: Grower) -> None:
    if organism.role == "hazard":
        raise OutOfRange(
            f"{organism.name} is given no days: a day before which it does not grow would be taken for a promise, and "
            "no sum here gives one."
        )


@dataclass(frozen=True, slots=True)
class Racer:
    """One organism over the days of a race."""

    organism: str
    name: str
    role: str
    shares: tuple[float, ...]
    """Share of its best rate at the start of each day."""
    progress: tuple[float, ...]
    """Days of its best growth gone by then."""
    estimate: bool


@dataclass(frozen=True, slots=True)
class Race:
    """Several organisms on one surface over time."""

    days: tuple[int, ...]
    ph: tuple[float, ...]
    racers: tuple[Racer, ...]
    rise: PhOverTime
    temperature_c: float
    water_activity: float
    formulas: tuple[Formula, ...] = (PROGRESS, GAMMA, RISE)


def race(
    organisms: Iterable[Grower], course_of_ph: PhOverTime, temperature_c: float, water_activity: float, to_day: int = 28
) -> Race:
    """Let organisms grow on a surface from the end of salting to a day, 1 to 120.

    Raises ``OutOfRange``, also for hazards.
    """
    within("Last day", to_day, 1, 120, "days", "the figures hold for the first weeks")
    ticks = [k / _STEPS_PER_DAY for k in range(int(to_day) * _STEPS_PER_DAY + 1)]
    acid = [course_of_ph.ph(t) for t in ticks]
    racers = []
    for one in organisms:
        _no_hazard(one)
        shares: list[float] = []
        estimate = False
        for ph in acid:
            grown = growth(one, Surface(temperature_c, ph, water_activity))
            shares.append(grown.share)
            estimate = grown.estimate
        gone = [0.0]
        for k in range(1, len(ticks)):
            gone.append(gone[-1] + (shares[k - 1] + shares[k]) / 2 / _STEPS_PER_DAY)
        racers.append(
            Racer(one.id, one.name, one.role, tuple(shares[::_STEPS_PER_DAY]), tuple(gone[::_STEPS_PER_DAY]), estimate)
        )
    racers.sort(key=lambda r: (-r.progress[-1], r.organism))
    days, over_days = tuple(range(int(to_day) + 1)), tuple(acid[::_STEPS_PER_DAY])
    formulas = (PROGRESS, GAMMA, course_of_ph.formula)
    return Race(days, over_days, tuple(racers), course_of_ph, temperature_c, water_activity, formulas)


@dataclass(frozen=True, slots=True)
class Gain:
    """What a change of climate or salt does to one organism by the last day."""

    organism: str
    name: str
    role: str
    before_days: float
    after_days: float
    """Days of its best growth, before and after the change."""

    @property
    def factor(self) -> float | None:
        """After against before; None when it did not grow before."""
        return self.after_days / self.before_days if self.before_days > 0 else None


def compare(before: Race, after: Race) -> tuple[Gain, ...]:
    """What changed between two races of the same organisms, who gains most first. Raises ``OutOfRange``."""
    later = {r.organism: r for r in after.racers}
    if {r.organism for r in before.racers} != set(later) or before.days != after.days:
        raise OutOfRange("Only races of the same organisms over the same days can be compared.")
    gains = [
        Gain(r.organism, r.name, r.role, r.progress[-1], later[r.organism].progress[-1]) for r in before.racers
    ]  # fmt: skip
    return tuple(sorted(gains, key=lambda g: (-(math.inf if g.factor is None else g.factor), g.organism)))


def rind_water_activity(salt_water_activity: float, humidity_pct: float) -> tuple[float, float, float]:
    """Span and middle of a rind's water activity between what its salt sets and what the air sets.

    A rind fed from inside keeps to its salt, one in balance with the air to humidity/100; a real one
    lies between. An estimate. Raises ``OutOfRange``.
    """
    within("Water activity from salt", salt_water_activity, 0.6, 1, "", "a rind lies between")
    within("Humidity", humidity_pct, 60, 100, "%", "no rind grows in drier air")
    low, high = sorted((salt_water_activity, humidity_pct / 100))
    return low, (low + high) / 2, high
