"""Salting a cheese: how much it takes up, how long to leave it, how evenly it stands, what the rind balances with."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .diffusion import EVENING, UPTAKE, Evening, Profile, days_for_uptake, evening, profile, uptake
from .ground import Formula, OutOfRange, within
from .salt_water import ACTIVITY, balance_salt_pct, saturation_pct, water_activity
from .shape import Shape

COEFFICIENT = Formula(
    "salt_diffusion_coefficient",
    "Diffusion coefficient of salt in cheese",
    "soft 0.22 (0.20 to 0.31), semi-hard 0.20 (0.14 to 0.35), hard 0.13 (0.09 to 0.23) cm²/day at 12 °C; "
    "4.6 % more per °C warmer",
    "4 to 20 °C",
    "floury_2010",
    ("guinee_fox_1983", "salt_encyclopaedia", "judgement"),
)
BRINING = Formula(
    "brining",
    "Salt taken up in brine",
    "salt % = 0.8·E·moisture·r, E share of the final salt, r g salt per g water in the brine",
    "whole cheese in still brine, before ripening; 0.8 because real cheese loses water and shrinks",
    "crank_diffusion",
    ("floury_2010", "judgement"),
)
DRY = Formula(
    "dry_salting",
    "Dry salting",
    "salt to apply = salt wanted·weight/(1 − lost); the surface stands at saturated brine until it is used up",
    "lost with the whey 10 to 50 %",
    "judgement",
    ("goat_dry_salting_2013",),
)
BALANCE = Formula(
    "rind_balance",
    "Rind against air",
    "margin = 100·a_w(rind) − humidity; above 2 it dries, within 1 it holds, below −1 it takes up water",
    "a bare, wet rind whose salt is the only solute; the limits are a judgement",
    "judgement",
    ("phreeqc_pitzer",),
)

PASTES: dict[str, tuple[float, float, float]] = {
    "soft": (0.22, 0.20, 0.31),
    "semi-hard": (0.20, 0.14, 0.35),
    "hard": (0.13, 0.09, 0.23),
}
"""Paste to its diffusion coefficient at 12 °C, and its band, cm²/day."""
MOISTURES: dict[str, float] = {"soft": 55.0, "semi-hard": 45.0, "hard": 40.0}
"""Water in a fresh cheese by paste, percent, where nobody has measured it: common practice, no source."""
SLOPE_PER_C = 0.063 / 1.375
"""Rise per °C as a share of the value at 12 °C: the published slope for Sbrinz."""
HYGROMETER_OFF_PCT = 3.0
"""How far a hygrometer that nobody checked is often off, percent humidity: common practice, no source."""
REAL_SHARE = (0.8, 0.7, 0.9)
"""What real cheese takes up of the ideal sum, and its band."""


@dataclass(frozen=True, slots=True)
class Span:
    """A figure with the band it may lie in."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A diffusion coefficient with its band, cm²/day."""

    value: float
    low: float
    high: float
    formula: Formula = COEFFICIENT


@dataclass(frozen=True, slots=True)
class Brined:
    """What a cheese takes up in brine."""

    salt_pct: Span
    """Percent of the cheese by weight, when evened out."""
    hours: float
    salt_in_moisture: float
    coefficient: Coefficient
    formula: Formula = BRINING
    uptake_formula: Formula = UPTAKE


@dataclass(frozen=True, slots=True)
class BrineTime:
    """How long to leave a cheese in brine for a salt content."""

    hours: Span
    salt_pct: float
    coefficient: Coefficient
    formula: Formula = BRINING
    uptake_formula: Formula = UPTAKE


@dataclass(frozen=True, slots=True)
class DrySalt:
    """Dry salt for a cheese."""

    apply_g: Span
    """With a quarter lost to the whey; the band is 10 to 50 % lost."""
    wanted_g: float
    per_face_g: float
    """Half of it, for each of the two faces and half of the side."""
    taken_up_hours: float
    """Until the surface has drunk what stays."""
    formula: Formula = DRY
    uptake_formula: Formula = UPTAKE


@dataclass(frozen=True, slots=True)
class Evenness:
    """How even the salt is, and when it will be."""

    evening: Evening
    profile: Profile
    days_since: float
    is_even: bool
    """Core within 10 % of the mean."""
    coefficient: Coefficient
    formula: Formula = EVENING


@dataclass(frozen=True, slots=True)
class Balance:
    """Whether a rind dries or takes up water."""

    rind_activity: float
    humidity_pct: float
    margin_pct: float
    says: str
    sure: bool
    """Whether it stays so where the hygrometer is off as far as many are."""
    balance_salt_pct: float | None
    """Salt in the rind's moisture, percent by weight, that would hold at this humidity."""
    formula: Formula = BALANCE
    activity_formula: Formula = ACTIVITY


def coefficient(paste: str = "semi-hard", temperature_c: float = 12.0) -> Coefficient:
    """Diffusion coefficient of salt by paste and temperature, 4 to 20 °C. Raises ``OutOfRange``."""
    if paste not in PASTES:
        raise OutOfRange(f'There is no figure for "{paste}" paste; expected one of {", ".join(PASTES)}.')
    within("The temperature", temperature_c, 4, 20, "°C", "the coefficients were measured there")
    warm = 1 + SLOPE_PER_C * (temperature_c - 12)
    value, low, high = PASTES[paste]
    return Coefficient(value * warm, low * warm, high * warm)


def _salt_per_water(brine_pct: float, temperature_c: float) -> float:
    most = round(saturation_pct(temperature_c) + 0.005, 2)
    within("The brine", brine_pct, 5, most, "% by weight", "weaker brine softens the cheese, stronger does not exist")
    return brine_pct / (100 - brine_pct)


def in_brine(
    shape: Shape,
    hours: float,
    brine_pct: float = 20.0,
    moisture_pct: float = 45.0,
    paste: str = "semi-hard",
    temperature_c: float = 12.0,
) -> Brined:
    """Salt that a whole cheese takes up in still brine, percent of its weight, with its band.

    ``hours`` up to 1500, ``brine_pct`` by weight from 5 to saturation, ``moisture_pct`` of the fresh
    cheese 30 to 70. Raises ``OutOfRange``. Source: crank_diffusion, floury_2010.
    """
    within("The time in brine", hours, 0.05, 1500, "hours", "salting takes minutes to weeks")
    within("The moisture", moisture_pct, 30, 70, "%", "cheese for brining lies between")
    full = moisture_pct * _salt_per_water(brine_pct, temperature_c)
    d = coefficient(paste, temperature_c)
    value, low, high = (
        full * real * uptake(shape, hours / 24, cm2_day)
        for real, cm2_day in zip(REAL_SHARE, (d.value, d.low, d.high), strict=True)
    )
    return Brined(Span(value, low, high), hours, 100 * value / moisture_pct, d)


def brine_time(
    shape: Shape,
    salt_pct: float,
    brine_pct: float = 20.0,
    moisture_pct: float = 45.0,
    paste: str = "semi-hard",
    temperature_c: float = 12.0,
) -> BrineTime:
    """Hours in brine until a cheese has taken up ``salt_pct`` of its weight, with the band.

    Raises ``OutOfRange`` when the brine cannot give that much. Otherwise as ``in_brine``.
    """
    within("The moisture", moisture_pct, 30, 70, "%", "cheese for brining lies between")
    full = moisture_pct * _salt_per_water(brine_pct, temperature_c)
    most = full * REAL_SHARE[1] * 0.9
    why = f"a brine of {brine_pct:.4g} % gives a cheese of {moisture_pct:.4g} % moisture no more in fair time"
    within("The salt wanted", salt_pct, 0.2, round(most, 1), "% of the cheese", why)
    d = coefficient(paste, temperature_c)

    def hours(real: float, cm2_day: float) -> float:
        return 24 * days_for_uptake(shape, salt_pct / (full * real), cm2_day)

    value, slow, fast = REAL_SHARE
    return BrineTime(Span(hours(value, d.value), hours(fast, d.high), hours(slow, d.low)), salt_pct, d)


def dry_salt(
    shape: Shape,
    weight_g: float,
    salt_pct: float,
    moisture_pct: float = 45.0,
    paste: str = "semi-hard",
    temperature_c: float = 12.0,
) -> DrySalt:
    """Dry salt for a cheese that is to hold ``salt_pct`` (0.2 to 5) of its weight. Raises ``OutOfRange``.

    A quarter is taken as lost with the whey (10 to 50 % is usual, an estimate).
    """
    within("The weight", weight_g, 10, 200_000, "g", "no cheese is lighter or heavier")
    within("The salt wanted", salt_pct, 0.2, 5, "% of the cheese", "cheese is salted at 0.8 to 4 %")
    within("The moisture", moisture_pct, 30, 80, "%", "cheese for salting lies between")
    wanted = weight_g * salt_pct / 100
    d = coefficient(paste, temperature_c)
    full = moisture_pct * _salt_per_water(saturation_pct(temperature_c), temperature_c) * REAL_SHARE[0]
    hours = math.inf
    if salt_pct < 0.99 * full:
        hours = 24 * days_for_uptake(shape, salt_pct / full, d.value)
    if not math.isfinite(hours):
        raise OutOfRange(f"So dry a cheese cannot take up {salt_pct:.3g} % salt; expected less than {full:.2g} %.")
    apply = wanted / 0.75
    return DrySalt(Span(apply, wanted / 0.9, wanted / 0.5), wanted, apply / 2, hours)


def evenness(
    shape: Shape, salting_hours: float, days_since: float, paste: str = "semi-hard", temperature_c: float = 12.0
) -> Evenness:
    """Where the salt stands some days (0 to 1000) after so many hours of salting. Raises ``OutOfRange``.

    Before three time constants a bland core under a salty rind is no fault.
    """
    within("The time of salting", salting_hours, 0.05, 2400, "hours", "salting takes minutes to weeks")
    d = coefficient(paste, temperature_c)
    found = profile(shape, salting_hours / 24, days_since, d.value)
    return Evenness(evening(shape, d.value), found, days_since, abs(found.core - 1) <= 0.1, d)


def rind_balance(salt_in_moisture: float, humidity_pct: float, temperature_c: float = 12.0) -> Balance:
    """Whether a rind with so much salt (g to 100 g of its moisture, 0 to 36) dries at a humidity (40 to 100 %).

    Raises ``OutOfRange``. Source: phreeqc_pitzer for the water activity; the limits are a judgement.
    """
    within("Salt in the rind's moisture", salt_in_moisture, 0, 36, "g to 100 g", "water holds no more")
    within("The humidity", humidity_pct, 40, 100, "%", "cheese is kept between")
    activity = water_activity(min(100 * salt_in_moisture / (100 + salt_in_moisture), 26.6), temperature_c)
    margin = 100 * activity - humidity_pct
    says = _balance(margin)
    sure = all(_balance(margin + off) == says for off in (-HYGROMETER_OFF_PCT, HYGROMETER_OFF_PCT))
    holds = balance_salt_pct(humidity_pct, temperature_c) if humidity_pct >= 76 else None
    return Balance(activity, humidity_pct, margin, says, sure, holds)


def _balance(margin_pct: float) -> str:
    if margin_pct > 2:
        return "dries"
    if margin_pct > 1:
        return "dries slowly"
    return "holds" if margin_pct >= -1 else "takes up water"
