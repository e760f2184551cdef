"""Hygrometers: the humidity over saturated salts, and how a reading is corrected by one or two of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from ..errors import listed, nearest
from .air import saturation_pressure_pa
from .ground import Formula, OutOfRange, between, table, within

SALT_POINTS = Formula(
    "salt_points",
    "Humidity over a saturated salt with solid left in it",
    "a table by salt and temperature, straight lines between",
    "5 to 25 °C",
    "greenspan_1977",
    ("conservation_salts_page",),
)
ONE_POINT = Formula(
    "hygrometer_one_point",
    "Correction by one salt",
    "RH = reading + (salt - reading over the salt)",
    "within 10 % humidity of the salt",
    "definition",
)
TWO_POINTS = Formula(
    "hygrometer_two_points",
    "Correction by two salts",
    "RH = S1 + (reading - R1)·(S2 - S1)/(R2 - R1)",
    "between the salts and 10 % humidity beyond; readings over the salts more than 5 % apart",
    "definition",
)
READING_ERROR = Formula(
    "hygrometer_uncertainty",
    "Uncertainty of a corrected reading",
    "u² = salt² + resolution² + (0.066·RH·temperature)² + repeat²",
    "near 12 °C",
    "judgement",
)
DRIFT = Formula(
    "hygrometer_drift",
    "Drift between two checks with one salt",
    "30·(reading later - reading first)/days",
    "one salt, one temperature",
    "definition",
)

NAMES = {
    "MgCl2": ("magnesium chloride", "a low point"),
    "K2CO3": ("potassium carbonate, potash", "a low point"),
    "NaBr": ("sodium bromide", "a low point"),
    "NaCl": ("kitchen salt, sodium chloride", "everyone's kitchen point"),
    "KCl": ("potassium chloride", "the best single point for a cave"),
    "K2SO4": ("potassium sulphate", "a high point; needs a steady temperature"),
}
"""What a salt is called, and what it is good for."""
_REACH_PCT = 10.0
_BROKEN_PCT = 20.0
"""Further off than that over a salt, a sensor is past putting right: a judgement."""
_DRIFT_LIMIT = 1.0


@cache
def _points() -> dict[str, list[tuple[float, float, float]]]:
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in NAMES}
    for row in table("air_salts"):
        found[row["salt"]].append(
            (float(row["temperature_c"]), float(row["humidity_pct"]), float(row["uncertainty_pct"]))
        )
    return found


def salt_named(name: str) -> str:
    """The formula of a salt by formula or everyday name. Raises ``OutOfRange`` with the names that are known."""
    word = " ".join(name.casefold().split())
    for formula, (names, _) in NAMES.items():
        if word == formula.casefold() or word in [n.strip() for n in names.split(",")]:
            return formula
    known = [f.casefold() for f in NAMES]
    raise OutOfRange(f'There is no salt "{name}" here{nearest(word, known)}; expected {listed(list(NAMES))}.')


@dataclass(frozen=True, slots=True)
class SaltPoint:
    """Humidity over one saturated salt."""

    salt: str
    temperature_c: float
    humidity_pct: float
    uncertainty_pct: float
    use: str
    formula: Formula = SALT_POINTS


def salt_point(salt: str, temperature_c: float) -> SaltPoint:
    """Humidity over a saturated salt at 5 to 25 °C. Raises ``OutOfRange``."""
    name = salt_named(salt)
    within("Temperature of the salt jar", temperature_c, 5, 25, "°C", "the salts were tabulated here for that span")
    rows = _points()[name]
    return SaltPoint(
        name,
        temperature_c,
        between([(t, h) for t, h, _ in rows], temperature_c),
        between([(t, u) for t, _, u in rows], temperature_c),
        NAMES[name][1],
    )


@dataclass(frozen=True, slots=True)
class Corrected:
    """A hygrometer reading put right by salts."""

    reading_pct: float
    humidity_pct: float
    """Never above 100."""
    uncertainty_pct: float
    trusted: bool
    """Whether the reading lies where the salts speak."""
    said: str
    """Why not, or nothing."""
    formula: Formula
    error: Formula = READING_ERROR


def correct_by_one(
    reading_pct: float,
    salt_pct: float,
    salt_reading_pct: float,
    salt_uncertainty_pct: float = 0.3,
    resolution_pct: float = 0.5,
    apart_c: float = 0.2,
    repeat_pct: float = 0.5,
) -> Corrected:
    """Correct a reading by the offset over one salt.

    ``apart_c`` is how far sensor, salt and air may differ in temperature. Raises ``OutOfRange``.
    """
    _check_readings(reading_pct)
    _check_salt(salt_pct)
    check_over_salt(salt_reading_pct, salt_pct)
    true = reading_pct + salt_pct - salt_reading_pct
    error = _uncertainty(true, salt_uncertainty_pct, resolution_pct, apart_c, repeat_pct)
    far = abs(true - salt_pct)
    said = (
        f"The reading lies {far:.0f} % from the salt, beyond the 10 % for which one salt speaks."
        if far > _REACH_PCT
        else ""
    )
    return _corrected(reading_pct, true, error, said, ONE_POINT)


def correct_by_two(
    reading_pct: float,
    salt_pct: tuple[float, float],
    salt_reading_pct: tuple[float, float],
    salt_uncertainty_pct: float = 0.5,
    resolution_pct: float = 0.5,
    apart_c: float = 0.2,
    repeat_pct: float = 0.5,
) -> Corrected:
    """Correct a reading by the straight line through two salts. Raises ``OutOfRange``."""
    _check_readings(reading_pct)
    (s1, r1), (s2, r2) = sorted(zip(salt_pct, salt_reading_pct, strict=True))
    for salt, over in ((s1, r1), (s2, r2)):
        _check_salt(salt)
        check_over_salt(over, salt)
    if r2 - r1 <= 5:
        raise OutOfRange(
            f"The readings over the two salts cannot be {r1:.4g} and {r2:.4g} %; expected more than 5 % apart, the "
            "moister salt higher: from closer ones no line can be drawn."
        )
    true = s1 + (reading_pct - r1) * (s2 - s1) / (r2 - r1)
    error = _uncertainty(true, salt_uncertainty_pct, resolution_pct, apart_c, repeat_pct)
    outside = true < s1 - _REACH_PCT or true > s2 + _REACH_PCT
    said = "The reading lies more than 10 % beyond the two salts." if outside else ""
    return _corrected(reading_pct, true, error, said, TWO_POINTS)


def error_of_temperature_pct(humidity_pct: float, temperature_c: float, apart_c: float) -> float:
    """Error in percent humidity when sensor and air differ by ``apart_c`` in temperature. Raises ``OutOfRange``."""
    within("Humidity", humidity_pct, 1, 100, "%", "100 is saturated")
    within("Difference", apart_c, -10, 10, "K", "more is no check")
    there = saturation_pressure_pa(temperature_c + apart_c)
    return abs(humidity_pct * (there / saturation_pressure_pa(temperature_c) - 1))


@dataclass(frozen=True, slots=True)
class Drift:
    """How a hygrometer wanders between two checks with one salt."""

    pct_per_30_days: float
    flagged: bool
    """More than 1 % humidity in 30 days: check again before believing it."""
    formula: Formula = DRIFT


def drift(first_reading_pct: float, later_reading_pct: float, days: float) -> Drift:
    """Drift from two readings over the same salt, some days apart. Raises ``OutOfRange``."""
    for reading in (first_reading_pct, later_reading_pct):
        within("The reading over the salt", reading, 10, 105, "%", "anything else is a broken sensor")
    within("Time between the checks", days, 1, 3650, "days", "a slope needs time, and no sensor lasts longer")
    slope = 30 * (later_reading_pct - first_reading_pct) / days
    return Drift(slope, abs(slope) > _DRIFT_LIMIT)


def _corrected(reading: float, true: float, error: float, said: str, formula: Formula) -> Corrected:
    if true < 0:
        raise OutOfRange(
            f"A reading of {reading:.4g} % would be {true:.1f} % true: the readings over the salts do not go with it. "
            "Do the check again."
        )
    return Corrected(reading, min(100.0, true), error, not said, said, formula)


def _uncertainty(humidity: float, salt: float, resolution: float, apart_c: float, repeat: float) -> float:
    return math.hypot(salt, resolution, 0.066 * humidity * apart_c, repeat)


def _check_readings(*readings: float) -> None:
    for reading in readings:
        within("A hygrometer reading", reading, 0, 105, "%", "anything else is a broken sensor")


def check_over_salt(reading_pct: float, salt_pct: float) -> None:
    """Raises ``OutOfRange`` for a reading too far from its salt for a sensor that still works."""
    low, high = round(salt_pct - _BROKEN_PCT, 1), round(min(105.0, salt_pct + _BROKEN_PCT), 1)
    within("The reading over the salt", reading_pct, low, high, "%", "a sensor further off is a broken sensor")


def _check_salt(humidity_pct: float) -> None:
    within("Humidity over a salt", humidity_pct, 5, 100, "%", "saturated salts lie between")
