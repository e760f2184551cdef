"""What happens to air: a swing of temperature, two airs mixed, a door or lid opened."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .air import (
    ABSOLUTE_HUMIDITY,
    DEW_POINT,
    SEA_LEVEL_PA,
    absolute_humidity_g_per_m3,
    dew_point_of_pressure_c,
    humidity_of_ratio_pct,
    humidity_ratio_g_per_kg,
    pressure_pa,
    saturation_pressure_pa,
    vapour_pressure_pa,
)
from .ground import Formula, OutOfRange, within

SWING = Formula(
    "swing",
    "Humidity after a change of temperature, water kept",
    "RH2 = RH1·ps(T1)/ps(T2), no more than 100 %",
    "0 to 40 °C",
    "ashrae_psychrometrics",
)
MIXING = Formula(
    "mixing",
    "Mixed air: water and heat add up by mass of dry air",
    "h = 1.006·T + W·(2501 + 1.86·T); T = (h - 2501·W)/(1.006 + 1.86·W)",
    "0 to 40 °C, 80 to 105 kPa",
    "ashrae_psychrometrics",
)


@dataclass(frozen=True, slots=True)
class Swung:
    """Closed air after a change of temperature."""

    humidity_pct: float
    """Never above 100."""
    unclipped_pct: float
    """What it would be if nothing condensed."""
    condensed_g_per_m3: float
    """Water that falls out of each cubic metre of a sealed box."""
    dew_point_c: float
    formula: Formula = SWING


def swing(temperature_c: float, humidity_pct: float, to_c: float) -> Swung:
    """What happens to closed air when its temperature changes, with no water added. Raises ``OutOfRange``."""
    vapour = vapour_pressure_pa(temperature_c, humidity_pct)
    free = 100 * vapour / vapour_pressure_pa(to_c, 100)
    fallen = 0.0
    if free > 100:
        fallen = absolute_humidity_g_per_m3(temperature_c, humidity_pct) - absolute_humidity_g_per_m3(to_c, 100)
    return Swung(min(100.0, free), free, max(0.0, fallen), dew_point_of_pressure_c(vapour))


@dataclass(frozen=True, slots=True)
class Mixed:
    """Air after streams have mixed."""

    temperature_c: float
    humidity_pct: float
    fog: bool
    """Whether the mix holds more than it can, so that some falls as mist."""
    formula: Formula = MIXING


def mix(streams: Sequence[tuple[float, float, float]], altitude_m: float = 0.0) -> Mixed:
    """Mix streams of (kilograms of dry air, °C, percent humidity). Raises ``OutOfRange``."""
    dry = water = heat = 0.0
    for kilograms, temperature, humidity in streams:
        within("Air", kilograms, 0, math.inf, "kg", "there is no negative air")
        ratio = humidity_ratio_g_per_kg(temperature, humidity, altitude_m) / 1000
        dry += kilograms
        water += kilograms * ratio
        heat += kilograms * (1.006 * temperature + ratio * (2501 + 1.86 * temperature))
    if not dry:
        raise OutOfRange("Air cannot be 0 kg in all; expected some to mix.")
    ratio, enthalpy = water / dry, heat / dry
    temperature = (enthalpy - 2501 * ratio) / (1.006 + 1.86 * ratio)
    humidity = humidity_of_ratio_pct(temperature, ratio, pressure_pa(altitude_m))
    return Mixed(temperature, min(100.0, humidity), humidity > 100)


@dataclass(frozen=True, slots=True)
class Opened:
    """A room or box after part of its air was exchanged."""

    temperature_c: float
    humidity_pct: float
    water_g: float
    """Water that came in with the air; negative when it was carried out."""
    fog: bool
    wets_colder_than_c: float
    """Surfaces colder than this turn wet in the mixed air."""
    formulas: tuple[Formula, ...] = (MIXING, ABSOLUTE_HUMIDITY, DEW_POINT)


def opening(
    temperature_c: float,
    humidity_pct: float,
    outside_c: float,
    outside_pct: float,
    exchanged_pct: float,
    volume_m3: float,
) -> Opened:
    """What an open door or lid does: ``exchanged_pct`` of the air inside is replaced by air from outside.

    Heat from walls and cheese is left out: they bring the air back towards where it was. Raises ``OutOfRange``.
    """
    within("Exchanged air", exchanged_pct, 0, 100, "%", "all the air is 100")
    within("Volume", volume_m3, 0.0001, 100_000, "m³", "from a small box to a large cave")
    share = exchanged_pct / 100
    # By mass: colder air is denser, so weigh both by dry air in equal volumes.
    inside = (1 - share) * _dry_kg_per_m3(temperature_c, humidity_pct)
    outside = share * _dry_kg_per_m3(outside_c, outside_pct)
    mixed = mix([(inside, temperature_c, humidity_pct), (outside, outside_c, outside_pct)])
    gained = share * volume_m3 * (
        absolute_humidity_g_per_m3(outside_c, outside_pct) - absolute_humidity_g_per_m3(temperature_c, humidity_pct)
    )  # fmt: skip
    dew = dew_point_of_pressure_c(mixed.humidity_pct / 100 * saturation_pressure_pa(mixed.temperature_c))
    return Opened(mixed.temperature_c, mixed.humidity_pct, gained, mixed.fog, dew)


def _dry_kg_per_m3(temperature_c: float, humidity_pct: float) -> float:
    return (SEA_LEVEL_PA - vapour_pressure_pa(temperature_c, humidity_pct)) / (287.042 * (temperature_c + 273.15))
