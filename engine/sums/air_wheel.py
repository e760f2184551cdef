"""Cold cheese in warmer air, and a closed box: when a wheel sweats, and what a jar of salt can do.

The wheel is one lump that warms towards the air with one time constant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .air import DEW_POINT, absolute_humidity_g_per_m3, dew_point_c
from .air_salts import SALT_POINTS, salt_point
from .ground import Formula, above_zero, between, within

WHEEL_WARMING = Formula(
    "wheel_warming",
    "A wheel as one lump that warms or cools towards the air",
    "T(t) = Tair + (T0 - Tair)·exp(-t/τ); it is wet while T is below the dew point",
    "bare wheels up to about 10 kg; the inside lags behind the surface",
    "definition",
)
USUAL_TAU = Formula(
    "usual_time_constant",
    "Usual time constant by weight",
    "1 h at 0.25 kg, 4 h at 2 kg, 8 h at 7 kg, straight between in the logarithm of weight",
    "0.1 to 40 kg",
    "judgement",
)
JAR_BALANCE = Formula(
    "jar_balance",
    "Humidity between cheese and jar",
    "RH = (A_cheese·aw + A_jar·RH_salt) / (A_cheese + A_jar): equal airing of both, a tight lid, one temperature",
    "bare moist rinds in a closed box without a fan; a guide, no more",
    "judgement",
)
_TAU_POINTS = [(math.log(0.25), 1.0), (math.log(2.0), 4.0), (math.log(7.0), 8.0)]
_WATER_PER_SALT = {"NaCl": (100 - 26.4) / 26.4}
"""Grams of water that a gram of salt can bind before nothing is left undissolved."""


def usual_time_constant_h(weight_kg: float) -> float:
    """How many hours a wheel takes to close 63 % of its gap to the air: an estimate. Raises ``OutOfRange``."""
    within("Weight of a wheel", weight_kg, 0.1, 40, "kg", "the estimate was made for such wheels")
    x = math.log(weight_kg)
    if x > _TAU_POINTS[-1][0]:  # larger wheels: go on along the last stretch
        (x0, y0), (x1, y1) = _TAU_POINTS[-2:]
        return y1 + (y1 - y0) / (x1 - x0) * (x - x1)
    return between(_TAU_POINTS, x)


@dataclass(frozen=True, slots=True)
class Sweat:
    """Whether a wheel brought into other air turns wet, and for how long."""

    sweats: bool
    dew_point_c: float
    short_of_dew_k: float
    """How far the wheel is below the dew point; negative when it stays dry by that much."""
    wet_hours: float | None
    """Until its surface has passed the dew point; None in saturated air, where it never does."""
    time_constant_h: float
    safe_start_c: float
    """A wheel let stand until it is this warm does not sweat."""
    formulas: tuple[Formula, ...] = (WHEEL_WARMING, USUAL_TAU, DEW_POINT)


def sweat(wheel_c: float, temperature_c: float, humidity_pct: float, time_constant_h: float) -> Sweat:
    """A wheel at ``wheel_c`` in air of another temperature. Raises ``OutOfRange``."""
    within("Temperature of the wheel", wheel_c, -5, 40, "°C", "a frozen or hot cheese is another matter")
    above_zero("Time constant", time_constant_h, "h")
    dew = dew_point_c(temperature_c, humidity_pct)
    short = dew - wheel_c
    if short <= 0:
        return Sweat(False, dew, short, 0.0, time_constant_h, dew)
    gap = temperature_c - dew
    hours = time_constant_h * math.log((temperature_c - wheel_c) / gap) if gap > 1e-9 else None
    return Sweat(True, dew, short, hours, time_constant_h, dew)


@dataclass(frozen=True, slots=True)
class Jar:
    """A jar of wet salt in a closed box with cheese."""

    salt: str
    jar_alone_pct: float
    """Where the salt alone would hold the air."""
    uncertainty_pct: float
    settles_pct: float
    """Where the air settles between the jar and the cheese."""
    air_water_g: float
    """Water the air itself must give up on the way, or take: nearly nothing."""
    takes_water_g: float | None
    """Water the salt can bind before no solid is left; None where no solubility is known here."""
    formulas: tuple[Formula, ...] = (JAR_BALANCE, SALT_POINTS)


def jar_in_box(
    salt: str,
    temperature_c: float,
    box_litres: float,
    humidity_pct: float,
    cheese_area_cm2: float,
    jar_area_cm2: float,
    rind_water_activity: float = 0.97,
    salt_g: float = 100.0,
) -> Jar:
    """What an open jar of saturated salt does to a closed box: an estimate. Raises ``OutOfRange``."""
    point = salt_point(salt, temperature_c)
    within("Box", box_litres, 0.1, 5000, "L", "from a small tub to a cupboard")
    within("Area of the cheese", cheese_area_cm2, 0, 1e6, "cm²", "0 is an empty box")
    within("Mouth of the jar", jar_area_cm2, 0.1, 1e5, "cm²", "the air meets the salt there")
    within("Water activity of the rind", rind_water_activity, 0.6, 1, "", "a rind lies between")
    within("Salt", salt_g, 1, 1e5, "g", "there must be some")
    settles = (cheese_area_cm2 * 100 * rind_water_activity + jar_area_cm2 * point.humidity_pct) / (
        cheese_area_cm2 + jar_area_cm2
    )
    before = absolute_humidity_g_per_m3(temperature_c, humidity_pct)
    after = absolute_humidity_g_per_m3(temperature_c, min(100.0, settles))
    binds = _WATER_PER_SALT.get(point.salt)
    return Jar(
        point.salt,
        point.humidity_pct,
        point.uncertainty_pct,
        settles,
        (before - after) * box_litres / 1000,
        None if binds is None else binds * salt_g,
    )
