"""Moist air: dew point, water held, wet bulb.

Temperatures are °C, humidity is percent relative to water (to ice below 0.01 °C), pressure is Pa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from .ground import Formula, OutOfRange, within
from .kitchen import plainly

Kelvin = TypeVar("Kelvin", float, NDArray[np.float64])

SEA_LEVEL_PA = 101_325.0
_FROM_C = 273.15
_TRIPLE_C = 0.01
_R_VAPOUR = 461.523
_RATIO = 0.621945
_COLD, _WARM = "a cheese room lies between them, and the formulas are meant for it", "0 is dry beyond any cheese room"

SATURATION = Formula(
    "saturation_pressure",
    "Saturation pressure of water vapour (Hyland and Wexler)",
    "ln p = C8/T + C9 + C10·T + C11·T² + C12·T³ + C13·ln T over water; its twin over ice below 0.01 °C",
    "-40 to 60 °C here",
    "ashrae_psychrometrics",
    ("psychrolib",),
)
DEW_POINT = Formula(
    "dew_point",
    "Dew point (frost point below 0 °C)",
    "the temperature at which the saturation pressure equals the vapour pressure, found by halving",
    "air at 0 to 40 °C and 1 to 100 % humidity",
    "ashrae_psychrometrics",
)
ABSOLUTE_HUMIDITY = Formula(
    "absolute_humidity",
    "Water in the air by volume (ideal gas)",
    "g/m³ = 1000·p / (461.523·(T + 273.15))",
    "0 to 40 °C; the real gas holds 0.5 % more",
    "ashrae_psychrometrics",
)
HUMIDITY_RATIO = Formula(
    "humidity_ratio",
    "Water per kilogram of dry air",
    "g/kg = 621.945·p / (P - p)",
    "0 to 40 °C, 80 to 105 kPa; the real gas holds 0.4 % more",
    "ashrae_psychrometrics",
)
WET_BULB = Formula(
    "wet_bulb",
    "Thermodynamic wet bulb",
    "W = ((2501 - 2.326·Tw)·Ws(Tw) - 1.006·(T - Tw)) / (2501 + 1.86·T - 4.186·Tw), found by halving",
    "0 to 40 °C, 80 to 105 kPa",
    "ashrae_psychrometrics",
)
PSYCHROMETER = Formula(
    "psychrometer",
    "Two thermometers, one wet",
    "p = ps(Tw) - A·P·(T - Tw); A = 0.00066·(1 + 0.00115·Tw) in a draught, 0.0008 hung on a wall, 0.0012 in still air",
    "wet bulb above 0 °C, 80 to 105 kPa",
    "ams_psychrometer",
    ("fao_56",),
)
ALTITUDE = Formula(
    "altitude",
    "Air pressure by altitude",
    "P = 101325·(1 - 2.25577e-5·z)^5.25588",
    "0 to 1950 m",
    "altitude_pressure",
)
_COEFFICIENT = {"draught": 6.60e-4, "wall": 8.0e-4, "still": 1.2e-3}
"""Psychrometer coefficient by how the wet bulb is aired; in a draught it also rises with temperature."""


def _ln_over_water(k: Kelvin, ln_k: Kelvin) -> Kelvin:
    return (-5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k**2 - 1.4452093e-8 * k**3
            + 6.5459673 * ln_k)  # fmt: skip


def _ln_over_ice(k: Kelvin, ln_k: Kelvin) -> Kelvin:
    return (-5.6745359e3 / k + 6.3925247 - 9.677843e-3 * k + 6.2215701e-7 * k**2 + 2.0747825e-9 * k**3
            - 9.484024e-13 * k**4 + 4.1635019 * ln_k)  # fmt: skip


def saturation_pressure_pa(temperature_c: float) -> float:
    """Pressure of water vapour over a wet surface, Pa, at -40 to 60 °C. Raises ``OutOfRange``."""
    within("Temperature", temperature_c, -40, 60, "°C", "the formula was not checked beyond")
    return _saturation(temperature_c)


def _saturation(temperature_c: float) -> float:
    k = temperature_c + _FROM_C
    return math.exp((_ln_over_water if temperature_c >= _TRIPLE_C else _ln_over_ice)(k, math.log(k)))


def saturation_pressures_pa(temperatures_c: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same for many temperatures at once, unchecked; not-a-number stays so."""
    k = temperatures_c + _FROM_C
    ln_k = np.log(k)
    with np.errstate(invalid="ignore"):
        cold = temperatures_c < _TRIPLE_C
    found = _ln_over_water(k, ln_k)
    if cold.any():
        found[cold] = _ln_over_ice(k[cold], ln_k[cold])
    return np.exp(found)


def pressure_pa(altitude_m: float = 0.0) -> float:
    """Air pressure at an altitude, 0 to 1950 m. Raises ``OutOfRange``."""
    within("Altitude", altitude_m, 0, 1950, "m", "the formulas of wet bulb and mixing hold for 80 to 105 kPa")
    return SEA_LEVEL_PA * float((1 - 2.25577e-5 * altitude_m) ** 5.25588)


def vapour_pressure_pa(temperature_c: float, humidity_pct: float) -> float:
    """Pressure of the water vapour in air, Pa. Raises ``OutOfRange``."""
    _check(temperature_c, humidity_pct)
    return humidity_pct / 100 * _saturation(temperature_c)


def dew_point_c(temperature_c: float, humidity_pct: float) -> float:
    """Temperature below which a surface in this air turns wet, or frosty below 0 °C. Raises ``OutOfRange``."""
    return dew_point_of_pressure_c(vapour_pressure_pa(temperature_c, humidity_pct))


def dew_point_of_pressure_c(vapour_pa: float) -> float:
    """Dew point of a vapour pressure, Pa. Raises ``OutOfRange`` when there is none between -60 and 60 °C."""
    within("Vapour pressure", vapour_pa, _saturation(-60), _saturation(60), "Pa", "its dew point lies beyond 60 °C")
    return _halve(lambda t: _saturation(t) - vapour_pa, -60, 60)


def absolute_humidity_g_per_m3(temperature_c: float, humidity_pct: float) -> float:
    """Water held by a cubic metre of air, g. Raises ``OutOfRange``."""
    return 1000 * vapour_pressure_pa(temperature_c, humidity_pct) / (_R_VAPOUR * (temperature_c + _FROM_C))


def humidity_ratio_g_per_kg(temperature_c: float, humidity_pct: float, altitude_m: float = 0.0) -> float:
    """Water per kilogram of dry air, g. Raises ``OutOfRange``."""
    return 1000 * _ratio(vapour_pressure_pa(temperature_c, humidity_pct), pressure_pa(altitude_m))


def humidity_of_ratio_pct(temperature_c: float, ratio: float, pressure: float) -> float:
    """Humidity of air with so many grams of water per gram of dry air, at a pressure in Pa; may pass 100."""
    return 100 * ratio * pressure / (_RATIO + ratio) / _saturation(temperature_c)


def wet_bulb_c(temperature_c: float, humidity_pct: float, altitude_m: float = 0.0) -> float:
    """Temperature that a wet cloth takes on in this air. Raises ``OutOfRange``."""
    pressure = pressure_pa(altitude_m)
    ratio = _ratio(vapour_pressure_pa(temperature_c, humidity_pct), pressure)
    return _halve(lambda tw: _wet_ratio(temperature_c, tw, pressure) - ratio, -30, temperature_c)


def humidity_from_psychrometer_pct(
    temperature_c: float, wet_bulb_c: float, airing: str = "draught", altitude_m: float = 0.0
) -> float:
    """Humidity from a dry and a wet thermometer.

    ``airing`` is ``draught`` (a fan or whirled), ``wall`` (hung up, some draught) or ``still``; it is the
    largest error of the method: dry 12 °C and wet 11 °C are 88.8, 87.8 or 84.9 %. Raises ``OutOfRange``.
    """
    _check(temperature_c)
    _check_wet(temperature_c, wet_bulb_c)
    if airing not in _COEFFICIENT:
        raise OutOfRange(f'Airing cannot be "{airing}"; expected {", ".join(_COEFFICIENT)}.')
    a = _COEFFICIENT[airing] * (1 + 0.00115 * wet_bulb_c if airing == "draught" else 1)
    vapour = _saturation(wet_bulb_c) - a * pressure_pa(altitude_m) * (temperature_c - wet_bulb_c)
    return _wet_result(100 * vapour / _saturation(temperature_c), wet_bulb_c)


@dataclass(frozen=True, slots=True)
class AirState:
    """Air at one temperature and humidity."""

    temperature_c: float
    humidity_pct: float
    altitude_m: float
    dew_point_c: float
    margin_k: float
    """How much colder than the air a surface may be before it turns wet."""
    absolute_humidity_g_per_m3: float
    humidity_ratio_g_per_kg: float
    wet_bulb_c: float
    vapour_pressure_pa: float
    deficit_pa: float
    """Vapour pressure that is missing to saturation: what pulls water from a wet rind."""
    formulas: tuple[Formula, ...] = (DEW_POINT, ABSOLUTE_HUMIDITY, HUMIDITY_RATIO, WET_BULB, SATURATION, ALTITUDE)


def air_state(temperature_c: float, humidity_pct: float, altitude_m: float = 0.0) -> AirState:
    """Everything about air at 0 to 40 °C and 1 to 100 % humidity. Raises ``OutOfRange``."""
    dew = dew_point_c(temperature_c, humidity_pct)
    vapour = vapour_pressure_pa(temperature_c, humidity_pct)
    return AirState(
        temperature_c,
        humidity_pct,
        altitude_m,
        dew,
        temperature_c - dew,
        absolute_humidity_g_per_m3(temperature_c, humidity_pct),
        humidity_ratio_g_per_kg(temperature_c, humidity_pct, altitude_m),
        wet_bulb_c(temperature_c, humidity_pct, altitude_m),
        vapour,
        _saturation(temperature_c) - vapour,
    )


def _check(temperature_c: float, humidity_pct: float = 50.0) -> None:
    within("Air temperature", temperature_c, 0, 40, "°C", _COLD)
    within("Humidity", humidity_pct, 1, 100, "%", _WARM + " and 100 is saturated")


def _check_wet(temperature_c: float, wet_bulb_c: float) -> None:
    if wet_bulb_c > temperature_c:
        raise OutOfRange(
            f"The wet bulb cannot be {plainly(wet_bulb_c, 4)} °C; expected no more than the dry one, "
            f"{plainly(temperature_c, 4)} °C: a wet cloth never warms."
        )
    within("Wet bulb", wet_bulb_c, 0, 40, "°C", "below it the cloth freezes and another formula holds")


def _wet_result(humidity_pct: float, wet_bulb_c: float) -> float:
    if humidity_pct < 0:
        raise OutOfRange(
            f"The wet bulb cannot be {plainly(wet_bulb_c, 4)} °C: no air is that dry. Wet the cloth and read again."
        )
    return min(100.0, humidity_pct)


def _ratio(vapour_pa: float, pressure: float) -> float:
    return _RATIO * vapour_pa / (pressure - vapour_pa)


def _wet_ratio(temperature_c: float, wet_c: float, pressure: float) -> float:
    saturated = _ratio(_saturation(wet_c), pressure)
    if wet_c >= 0:
        return ((2501 - 2.326 * wet_c) * saturated - 1.006 * (temperature_c - wet_c)) / (
            2501 + 1.86 * temperature_c - 4.186 * wet_c
        )
    return ((2830 - 0.24 * wet_c) * saturated - 1.006 * (temperature_c - wet_c)) / (
        2830 + 1.86 * temperature_c - 2.1 * wet_c
    )


def _halve(rising: Any, low: float, high: float) -> float:
    """The zero of a rising function between two points, to about 1e-12."""
    for _ in range(60):
        middle = (low + high) / 2
        if rising(middle) > 0:
            high = middle
        else:
            low = middle
    return (low + high) / 2
