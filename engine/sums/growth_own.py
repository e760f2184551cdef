"""A rise of pH along the maker's own readings alone, for rinds whose usual course nobody has published."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .ground import Formula, OutOfRange
from .growth import Surface
from .growth_courses import UNKNOWN, course
from .growth_race import PhOverTime, follows, rise
from .growth_strips import STRIP_PH, only_rising

OWN_LINE = Formula(
    "own_readings_line",
    "Line through your own readings",
    "pH(t) = mean pH + b·(t − mean day), b by least squares; early and late where the line ± 0.3·√(1/n + "
    "(t − mean day)²/Σ(t − mean day)²) meets the pH",
    "between the readings, and beyond the last for twice the time between them, while nothing in the room changes; "
    "0.3 is what a strip may be off",
    "definition",
    ("judgement",),
)
_AHEAD = 2.0
"""How many times the span of the readings a straight line may run on: a judgement."""


@dataclass(frozen=True, slots=True)
class Line:
    """The surface pH as a straight line through readings of one cheese."""

    rind: str
    mean_day: float
    mean_ph: float
    ph_per_day: float
    readings: int
    spread: float
    """Sum of squared days from the mean day."""
    first_day: float
    last_day: float
    fitted: bool = True
    formula: Formula = OWN_LINE

    @property
    def reaches_day(self) -> float:
        """The last day for which the line is used."""
        return self.last_day + _AHEAD * (self.last_day - self.first_day)

    def ph(self, day: float, which: int = 1) -> float:
        """Surface pH on a day, 0 early, 1 likely, 2 late; level before the first reading and beyond its reach."""
        x = min(max(day, self.first_day), self.reaches_day) - self.mean_day
        off = STRIP_PH * math.sqrt(1 / self.readings + x * x / self.spread)
        return min(9.0, max(3.5, self.mean_ph + self.ph_per_day * x + (1 - which) * off))

    def day_of(self, ph: float) -> tuple[float, float, float]:
        """Days on which a pH is reached, early, likely, late. Raises ``OutOfRange`` where that lies too far ahead."""
        b, m, e2 = self.ph_per_day, self.mean_ph - ph, STRIP_PH**2
        likely = self.mean_day - m / b
        if likely > self.reaches_day:
            raise OutOfRange(
                f"pH {ph:.4g} would come about day {likely:.0f}, too far beyond readings that end on day "
                f"{self.last_day:.4g}; expected it by day {self.reaches_day:.0f}: read the surface again in some days."
            )
        # Where the line with its error meets the pH: b·x + m = ± e·√(1/n + x²/S).
        square, linear = b * b - e2 / self.spread, b * m
        root = math.sqrt(max(0.0, linear * linear - square * (m * m - e2 / self.readings)))
        early, late = (self.mean_day + (-linear + sign * root) / square for sign in (-1, 1))
        return max(0.0, early), max(0.0, likely), max(0.0, late)


def line(rind: str, readings: Sequence[tuple[float, float]]) -> Line:
    """The line through readings of (age in days, surface pH). Raises ``OutOfRange`` for too few or too close ones."""
    if len({age for age, _ in readings}) < 2:
        raise OutOfRange(
            f"For {UNKNOWN.get(rind, rind)} no usual course of the surface pH is known, not even as an estimate: give "
            "the pH you read on two days or more, such as --strip 3:4.8 --strip 9:5.6, and the days follow from them; "
            "one reading is enough for  rindwright sums growth now."
        )
    only_rising(readings)
    n = len(readings)
    mean_day, mean_ph = (sum(r[k] for r in readings) / n for k in (0, 1))
    spread = sum((age - mean_day) ** 2 for age, _ in readings)
    slope = sum((age - mean_day) * (ph - mean_ph) for age, ph in readings) / spread
    if slope * math.sqrt(spread) <= STRIP_PH:
        raise OutOfRange(
            "These readings do not show a rise: they differ by no more than a strip may be off, 0.3 pH; read the "
            "surface again in some days."
        )
    days = [age for age, _ in readings]
    return Line(rind, mean_day, mean_ph, slope, n, spread, min(days), max(days))


def rise_on(
    rind: str,
    temperature_c: float,
    water_activity: float,
    start_ph: float | None = None,
    readings: Sequence[tuple[float, float]] = (),
) -> PhOverTime:
    """The rise on a kind of rind: its usual course, or the maker's own line where that is not known or does not fit.

    Raises ``OutOfRange`` where neither can be drawn.
    """
    read = [*([] if start_ph is None else [(0.0, start_ph)]), *readings]
    if rind in UNKNOWN:
        Surface(temperature_c, 6, water_activity).checked()
        return line(rind, read)
    usual = rise(course(rind), temperature_c, water_activity, start_ph, readings)
    one_day = len({age for age, _ in readings}) < 2
    return usual if one_day or follows(usual, readings) else line(rind, read)
