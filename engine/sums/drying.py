"""Drying: what weighings say in grams per square metre and day, and what the air would take.

A small cheese has four times the surface of a large one for its weight, so percent a day judges
nothing. Grams per square metre and day do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Literal

from .air import SEA_LEVEL_PA, pressure_pa, saturation_pressure_pa
from .ground import Formula, OutOfRange, table, within
from .shape import GEOMETRY, Shape

FROM_WEIGHINGS = Formula(
    "flux_from_weighings",
    "Weight loss by surface",
    "J = (W₁ − W₂)/(A·days); error = √2·scale/(A·days)",
    "a bare cheese that nothing was wiped off or added to between the weighings",
    "definition",
)
BANDS = Formula(
    "weight_loss_bands",
    "Usual weight loss by rind",
    "a table of bands, g/m² and day",
    "the rind and stage named; an estimate, so learn your own",
    "weight_loss_bands",
    ("guelph_curing",),
)
EVAPORATION = Formula(
    "evaporation",
    "What air takes from a wet rind",
    "J = k·(a_w·p(T_s) − RH·p(T)); k = h_c·0.622/(1006·P·0.85^⅔); (h_c + h_r)·(T − T_s) = 2.473e6·J",
    "0 to 40 °C, a bare rind kept wet from inside; a dry or coated one loses several times less",
    "drying_flux",
    ("ashrae_psychrometrics",),
)
HEAT_OF_VAPOUR = 2.473e6
LEWIS = 0.85
_SECONDS = 86400 * 1000

DRAUGHTS: dict[str, float] = {"box": 2.0, "still": 3.0, "fan": 6.0}
"""Where the cheese lies to its heat transfer, W/m²K: closed box, still cave, cave with a fan."""
RADIATION = 5.0
"""W/m²K of a cheese that faces walls at air temperature; 0 when packed among its equals."""
MOIST = frozenset({"bloomy_drying", "bloomy", "washed", "mixed", "blue"})
"""Bands of rinds that are moist enough for their loss to tell the humidity; a dry skin loses several times less."""
UNSURE = 0.3
"""A loss whose error is more than this share of it says nothing."""

Verdict = Literal["too much", "usual", "too little", "gains weight", "not clear", "no band"]
Trend = Literal["steady", "falling", "rising", "not clear"]


@dataclass(frozen=True, slots=True)
class Band:
    """Usual loss of a kind of rind, g/m² and day."""

    id: str
    rind: str
    low: float
    high: float
    conditions: str
    formula: Formula = BANDS


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weight on a day; days may have decimals, and count from anywhere."""

    day: float
    weight_g: float


@dataclass(frozen=True, slots=True)
class Loss:
    """What was lost between two weighings."""

    from_day: float
    to_day: float
    g_per_day: float
    pct_per_day: float
    flux_g_m2_day: float
    error_g_m2_day: float
    """One standard error, from the scale alone."""
    clear: bool
    """The scale is fine enough for it to say something."""


@dataclass(frozen=True, slots=True)
class Drying:
    """What weighings say."""

    losses: tuple[Loss, ...]
    overall: Loss
    area_m2: float
    band: Band | None
    """None for a rind without a usual loss by surface."""
    verdict: Verdict
    trend: Trend
    formula: Formula = FROM_WEIGHINGS
    area_formula: Formula = GEOMETRY


@dataclass(frozen=True, slots=True)
class Evaporation:
    """What the air takes from a wet rind, and how much colder than the air it makes it."""

    flux_g_m2_day: float
    """Below zero: water settles on the rind."""
    rind_temperature_c: float
    formula: Formula = EVAPORATION


@cache
def bands() -> dict[str, Band]:
    """Usual losses by id. Source: weight_loss_bands, estimates."""
    return {
        r["id"]: Band(
            r["id"], r["rind"], float(r["flux_low_g_m2_day"]), float(r["flux_high_g_m2_day"]), r["conditions"]
        )
        for r in table("weight_loss")
    }


def band(id: str) -> Band:
    """The usual loss of a kind of rind. Raises ``OutOfRange`` with the kinds there are."""
    if id not in bands():
        raise OutOfRange(f'There is no band for "{id}"; expected one of {", ".join(bands())}.')
    return bands()[id]


def weighed(weighings: Sequence[Weighing], shape: Shape, rind: str | None = "washed", scale_g: float = 1.0) -> Drying:
    """Loss between weighings by surface, held against the usual loss of a rind, or against none.

    At least two weighings on different days; weights 10 to 100 000 g; ``scale_g`` is what the scale
    shows apart, 0.01 to 100 g. Raises ``OutOfRange``. Source: definition; bands are estimates.
    """
    within("The scale", scale_g, 0.01, 100, "g", "a scale shows steps between")
    usual = None if rind is None else band(rind)
    for one in weighings:
        within("A weight", one.weight_g, 10, 100_000, "g", "cheese weighs between")
        within("A day", one.day, -10_000, 10_000, "days", "count from the make or from the first weighing")
    ordered = sorted(weighings, key=lambda w: w.day)
    days = [w.day for w in ordered]
    if len(ordered) < 2 or len(set(days)) < len(days):
        raise OutOfRange("Weighings are too few or on the same day; expected at least two on different days.")
    losses = tuple(_loss(a, b, shape, scale_g) for a, b in pairwise(ordered))
    overall = _loss(ordered[0], ordered[-1], shape, scale_g)
    return Drying(losses, overall, shape.area_m2, usual, _verdict(overall, usual), _trend(losses))


def _loss(a: Weighing, b: Weighing, shape: Shape, scale_g: float) -> Loss:
    days = b.day - a.day
    per_day = (a.weight_g - b.weight_g) / days
    flux = per_day / shape.area_m2
    error = math.sqrt(2) * scale_g / (shape.area_m2 * days)
    pct = 100 * per_day / a.weight_g
    return Loss(a.day, b.day, per_day, pct, flux, error, error <= UNSURE * abs(flux))


def _verdict(loss: Loss, usual: Band | None) -> Verdict:
    flux, error = loss.flux_g_m2_day, loss.error_g_m2_day
    if flux < -2 * error:
        return "gains weight"
    if usual is None:
        return "no band"
    # An error that cannot move it over a limit does no harm, however large its share.
    if flux - error > usual.high:
        return "too much"
    if flux + error < usual.low:
        return "too little"
    return "usual" if loss.clear and usual.low <= flux <= usual.high else "not clear"


def _trend(losses: Sequence[Loss]) -> Trend:
    if len(losses) < 2:
        return "not clear"
    change = losses[-1].flux_g_m2_day - losses[0].flux_g_m2_day
    error = math.hypot(losses[0].error_g_m2_day, losses[-1].error_g_m2_day)
    if abs(change) <= 2 * error:
        return "not clear" if error > UNSURE * abs(losses[0].flux_g_m2_day) else "steady"
    if abs(change) <= 0.25 * abs(losses[0].flux_g_m2_day):
        return "steady"
    return "falling" if change < 0 else "rising"


def transfer_coefficient(h_c: float, pressure: float = SEA_LEVEL_PA) -> float:
    """Mass transfer, kg/m²·s·Pa, from heat transfer h_c, W/m²K (0.5 to 30). Source: drying_flux."""
    within("The heat transfer", h_c, 0.5, 30, "W/m²K", "a closed box has about 2, a strong fan 10")
    return float(h_c * 0.622 / (1006 * pressure * LEWIS ** (2 / 3)))


def evaporation(
    temperature_c: float,
    humidity_pct: float,
    rind_activity: float = 0.97,
    h_c: float = 3.0,
    h_r: float = RADIATION,
    altitude_m: float = 0.0,
) -> Evaporation:
    """What air takes from a wet rind, g/m² and day, with the cooling it causes.

    0 to 40 °C, humidity 0 to 100 %, rind's water activity 0.7 to 1, ``h_r`` 0 to 7 W/m²K.
    Raises ``OutOfRange``. Source: drying_flux.
    """
    within("The temperature", temperature_c, 0, 40, "°C", "cheese rooms lie between")
    within("The humidity", humidity_pct, 0, 100, "%", "air holds no more")
    within("The rind's water activity", rind_activity, 0.7, 1, "", "drier rinds give off hardly any water")
    within("Heat by radiation", h_r, 0, 7, "W/m²K", "walls give 5")
    k = transfer_coefficient(h_c, pressure_pa(altitude_m))
    air_pa = saturation_pressure_pa(temperature_c) * humidity_pct / 100

    def flux(rind_c: float) -> float:
        return k * (rind_activity * saturation_pressure_pa(rind_c) - air_pa)

    low, high = temperature_c - 30, temperature_c + 20
    for _ in range(60):
        middle = (low + high) / 2
        if HEAT_OF_VAPOUR * flux(middle) > (h_c + h_r) * (temperature_c - middle):
            high = middle
        else:
            low = middle
    rind_c = (low + high) / 2
    return Evaporation(flux(rind_c) * _SECONDS, rind_c)


def humidity_for_flux(
    flux_g_m2_day: float,
    temperature_c: float,
    rind_activity: float = 0.97,
    h_c: float = 3.0,
    h_r: float = RADIATION,
) -> float | None:
    """The humidity, percent, at which a wet rind would lose so much; None when none from 20 to 100 % does."""
    most = evaporation(temperature_c, 20, rind_activity, h_c, h_r).flux_g_m2_day
    least = evaporation(temperature_c, 100, rind_activity, h_c, h_r).flux_g_m2_day
    if not least <= flux_g_m2_day <= most:
        return None
    low, high = 20.0, 100.0
    for _ in range(50):
        middle = (low + high) / 2
        if evaporation(temperature_c, middle, rind_activity, h_c, h_r).flux_g_m2_day > flux_g_m2_day:
            low = middle
        else:
            high = middle
    return (low + high) / 2
