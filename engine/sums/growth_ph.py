"""What temperature does to a pH meter."""

from __future__ import annotations

from dataclasses import dataclass

from .ground import Formula, within

NERNST = Formula(
    "nernst_slope",
    "Slope of a pH electrode",
    "mV per pH = 2.302585·R·T/F",
    "0 to 100 °C, a perfect electrode",
    "codata",
)
METER_OFF = Formula(
    "meter_temperature",
    "Reading of a meter set to another temperature than the sample's",
    "reading = 7 + (pH - 7)·T_sample/T_set, in kelvin",
    "an electrode whose zero lies at pH 7; the acid's own change with temperature is left out",
    "definition",
    ("codata",),
)
_R, _F = 8.314462618, 96_485.33212
_ZERO_PH = 7.0


def slope_mv_per_ph(temperature_c: float) -> float:
    """Slope of a perfect electrode, mV per pH, at 0 to 100 °C. Raises ``OutOfRange``."""
    within("Temperature", temperature_c, 0, 100, "°C", "water is liquid between")
    return 1000 * 2.302585092994046 * _R * (temperature_c + 273.15) / _F


@dataclass(frozen=True, slots=True)
class Slope:
    """How an electrode stands against a perfect one."""

    slope_mv: float
    perfect_mv: float
    share_pct: float
    formula: Formula = NERNST


def slope(slope_mv: float, temperature_c: float) -> Slope:
    """A slope found at calibration, 10 to 70 mV for one pH, against the perfect one. Raises ``OutOfRange``."""
    within("The slope", slope_mv, 10, 70, "mV", "an electrode outside of it is broken, or the buffers were not")
    perfect = slope_mv_per_ph(temperature_c)
    return Slope(slope_mv, perfect, 100 * slope_mv / perfect)


@dataclass(frozen=True, slots=True)
class MeterReading:
    """What a meter shows and what is true."""

    true_ph: float
    shown_ph: float
    sample_c: float
    set_c: float
    formula: Formula = METER_OFF


def true_from_meter(shown_ph: float, sample_c: float, set_c: float = 25.0) -> MeterReading:
    """The pH behind what a meter set to another temperature shows. Raises ``OutOfRange``."""
    return MeterReading(_ZERO_PH + (_ph(shown_ph) - _ZERO_PH) / _ratio(sample_c, set_c), shown_ph, sample_c, set_c)


def _ph(ph: float) -> float:
    return within("pH", ph, 2, 12, "", "cheese and buffers lie between")


def _ratio(sample_c: float, set_c: float) -> float:
    within("Temperature of the sample", sample_c, 0, 50, "°C", "cheese lies between")
    within("Temperature the meter is set to", set_c, 0, 50, "°C", "meters lie between")
    return (sample_c + 273.15) / (set_c + 273.15)
