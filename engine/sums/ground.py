"""What every sum stands on: a formula with its source, and the refusal of what it does not cover."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise

from ..errors import RindwrightError
from ..model import Source
from .kitchen import plainly

NO_SAFETY = (
    "Water activity, pH, salt and growth figures describe the cheese. They never show that it is safe: "
    "run the caution screen (rindwright ask) and follow your local food law."
)
"""Goes with every result that someone could take for a finding of safety."""


class OutOfRange(RindwrightError):
    """An input that no formula here covers: one sentence with the valid range and why."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula as it is named, written, limited and sourced."""

    id: str
    name: str
    expression: str
    valid: str
    """Where it holds, in words."""
    source: str
    """An id of ``sources.csv``; the first source when several agree."""
    also: tuple[str, ...] = ()


def within(what: str, value: float, low: float, high: float, unit: str, why: str) -> float:
    """The value itself. Raises ``OutOfRange`` when it is not a number from ``low`` to ``high``."""
    if not (math.isfinite(value) and low <= value <= high):
        unit = f" {unit}" if unit else ""
        span = f"{plainly(low)} to {plainly(high)}" if math.isfinite(high) else f"at least {plainly(low)}"
        raise OutOfRange(f"{what} cannot be {plainly(value)}{unit}; expected {span}{unit}: {why}.")
    return value


def above_zero(what: str, value: float, unit: str, why: str = "nothing can be worked out from none") -> float:
    """The value itself. Raises ``OutOfRange`` when it is not a number above zero."""
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(f"{what} cannot be {plainly(value)} {unit}; expected more than 0 {unit}: {why}.")
    return value


def amount(what: str, value: float, unit: str) -> float:
    """An amount in kg or L. Raises ``OutOfRange`` for less than a gram or more than any dairy has in one vat."""
    return within(what, value, 0.001, 100_000, unit, "from a spoonful to a large vat")


def table(name: str) -> Iterator[dict[str, str]]:
    """Rows of a packaged table, ``engine/sums/NAME.csv``, as written."""
    text = files(__package__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())


@cache
def sources() -> dict[str, Source]:
    """Every source that a sum names, by id."""
    return {row["id"]: Source(**row) for row in table("sources")}  # type: ignore[arg-type]


def between(points: list[tuple[float, float]], x: float) -> float:
    """Straight-line interpolation in points sorted by x; the end values outside of them."""
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]
