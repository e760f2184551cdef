"""Gases of a closed box or a small room: what a ripening rind breathes out, and what fresh air carries off."""

from __future__ import annotations

from dataclasses import dataclass

from .air import SEA_LEVEL_PA
from .ground import Formula, within

LACTIC_OXIDATION = Formula(
    "lactic_oxidation",
    "Lactic acid eaten with oxygen",
    "C3H6O3 + 3 O2 = 3 CO2 + 3 H2O: 1 g takes 1.066 g of oxygen and gives 1.466 g of carbon dioxide",
    "acid burnt entirely, as yeasts and moulds on a rind do",
    "definition",
)
GAS_VOLUME = Formula(
    "gas_volume",
    "Volume of a gas",
    "litres = g/molar mass · R·T/P · 1000",
    "0 to 40 °C, near sea level",
    "definition",
)
FRESH_AIR = Formula(
    "fresh_air",
    "Steady gas with fresh air",
    "ppm = outside + 1000000 · given off / fresh air",
    "air well mixed, after several changes of it",
    "definition",
)
GAS_LIMITS = Formula(
    "gas_limits",
    "Limits for people",
    "carbon dioxide 5000 ppm over 8 hours; ammonia 20 to 25 ppm over 8 hours, nose from about 5 ppm",
    "workplaces; your own law decides",
    "gas_limits",
)
WORKING_DAY_PPM = 5000
"""A usual limit for carbon dioxide over a working day."""
_LACTIC, _DIOXIDE = 90.078, 44.009
_R = 8.314462618
_WHY_LACTIC = "a cave full of cheese eats no more in a day"


def dioxide_given_g(lactic_g: float) -> float:
    """Carbon dioxide that burning so much lactic acid gives. Raises ``OutOfRange``."""
    return 3 * _DIOXIDE / _LACTIC * within("Lactic acid", lactic_g, 0, 10_000, "g", _WHY_LACTIC)


def dioxide_litres(dioxide_g: float, temperature_c: float) -> float:
    """Room that so much carbon dioxide takes. Raises ``OutOfRange``."""
    within("Temperature", temperature_c, 0, 40, "°C", "a cheese room lies between")
    return dioxide_g / _DIOXIDE * _R * (temperature_c + 273.15) / SEA_LEVEL_PA * 1000


@dataclass(frozen=True, slots=True)
class BoxGas:
    """What a rind does to the air of a closed box in a day."""

    dioxide_g: float
    dioxide_litres: float
    dioxide_pct_per_day: float
    """Share of the box's air, percent by volume."""
    days_to_half_oxygen: float | None
    """Until half of the oxygen is gone; None when nothing is eaten."""
    formulas: tuple[Formula, ...] = (LACTIC_OXIDATION, GAS_VOLUME, GAS_LIMITS)


def closed_box(lactic_g_per_day: float, box_litres: float, temperature_c: float) -> BoxGas:
    """Carbon dioxide in a closed box whose rinds eat so much lactic acid a day. Raises ``OutOfRange``."""
    within("Box", box_litres, 0.1, 5000, "L", "from a small tub to a cupboard")
    why = f"no more cheese finds room in {box_litres:g} L"
    within("Lactic acid", lactic_g_per_day, 0, 5 * box_litres, "g a day", why)
    given = dioxide_given_g(lactic_g_per_day)
    litres = dioxide_litres(given, temperature_c)
    pct = 100 * litres / box_litres
    return BoxGas(given, litres, pct, 0.5 * 20.9 / pct if pct > 0 else None)  # a litre of oxygen for each of dioxide


@dataclass(frozen=True, slots=True)
class RoomGas:
    """Carbon dioxide of a room that is aired."""

    dioxide_ppm: float
    dioxide_l_per_h: float
    """Given off by the rinds."""
    above_limit: bool
    """Above a usual limit for a working day."""
    formulas: tuple[Formula, ...] = (FRESH_AIR, LACTIC_OXIDATION, GAS_VOLUME, GAS_LIMITS)


def aired_room(dioxide_l_per_h: float, fresh_air_l_per_h: float, outside_ppm: float = 420.0) -> RoomGas:
    """Where carbon dioxide settles in an aired room. Raises ``OutOfRange``."""
    within("Carbon dioxide given off", dioxide_l_per_h, 0, 1e5, "L an hour", "there is no negative gas")
    within("Fresh air", fresh_air_l_per_h, 0.1, 1e8, "L an hour", "without any it never settles")
    within("Carbon dioxide outside", outside_ppm, 300, 5000, "ppm", "outdoor air lies between")
    ppm = outside_ppm + 1e6 * dioxide_l_per_h / fresh_air_l_per_h
    return RoomGas(ppm, dioxide_l_per_h, ppm > WORKING_DAY_PPM)
