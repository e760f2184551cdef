"""The record of a log: what is kept of a climate, and in which bands it ought to be."""

from __future__ import annotations

from dataclasses import dataclass

from .air import DEW_POINT, SATURATION
from .air_wheel import WHEEL_WARMING
from .ground import Formula, OutOfRange, within

HOLD = Formula(
    "reading_holds",
    "Each reading holds until the next",
    "weight = time to the next reading if no more than 1.5 usual steps, else one step; the last counts one step",
    "readings more or less evenly spaced",
    "logger_rules",
)
KINETIC_MEAN = Formula(
    "mean_kinetic_temperature",
    "Mean kinetic temperature",
    "T = (E/R) / -ln(mean of exp(-E/(R·T))), E = 83.144 kJ/mol, T in kelvin",
    "an index; ripening has no single activation energy",
    "pharmacopoeia_mkt",
)


@dataclass(frozen=True, slots=True)
class Bands:
    """Where temperature and humidity ought to be; the limits themselves are inside."""

    low_c: float
    high_c: float
    low_pct: float
    high_pct: float

    def checked(self) -> Bands:
        """Itself. Raises ``OutOfRange``."""
        for what, low, high, floor, top, unit in (
            ("temperature", self.low_c, self.high_c, -5, 40, "°C"),
            ("humidity", self.low_pct, self.high_pct, 0, 100, "%"),
        ):
            within(f"The lower limit of {what}", low, floor, top, unit, "rinds ripen between")
            within(f"The upper limit of {what}", high, floor, top, unit, "rinds ripen between")
            if low > high:
                raise OutOfRange(
                    f"The band of {what} cannot run from {low:.4g} to {high:.4g}; expected the lower limit first."
                )
        return self


@dataclass(frozen=True, slots=True)
class OutOfBand:
    """Hours below, within and above a band, by day and by night."""

    below_h: float
    within_h: float
    above_h: float
    below_by_day_h: float
    above_by_day_h: float


@dataclass(frozen=True, slots=True)
class Episode:
    """A spell during which the surface of the wheel was below the dew point."""

    start_wall_s: int
    hours: float
    by_night: bool
    """Whether it began by night."""


@dataclass(frozen=True, slots=True)
class AgeWeek:
    """One week of the wheel's age."""

    from_day: int
    to_day: int
    hours: float
    cold_h: float
    warm_h: float
    dry_h: float
    moist_h: float
    mean_c: float | None
    mean_pct: float | None
    sweating_h: float


@dataclass(frozen=True, slots=True)
class DaySwing:
    """From lowest to highest within one day."""

    day: int
    """Days since 1970, by the wall clock."""
    temperature_k: float | None
    humidity_pct: float | None


@dataclass(frozen=True, slots=True)
class LogFacts:
    """What a log says. Hours are weighted readings."""

    readings: int
    from_wall_s: int
    to_wall_s: int
    step_h: float
    span_h: float
    observed_h: float
    missing_h: float
    gaps: int
    longest_gap_h: float
    mean_c: float | None
    low_c: float | None
    high_c: float | None
    mean_pct: float | None
    low_pct: float | None
    high_pct: float | None
    bands: Bands
    temperature: OutOfBand | None
    humidity: OutOfBand | None
    degree_hours_above: float | None
    """Above the upper limit of temperature."""
    degree_hours_below: float | None
    highest_dew_point_c: float | None
    mean_deficit_pa: float | None
    mean_absolute_g_per_m3: float | None
    kinetic_mean_c: float | None
    largest_step_k_per_h: float | None
    swings: tuple[DaySwing, ...]
    """For days with readings for at least half of it."""
    wheel_hours: float
    """Time constant of the wheel that was followed."""
    wet_readings: int
    episodes: tuple[Episode, ...]
    sweating_h: float
    sweating_by_night_h: float
    stuck_readings: int
    """Readings in runs of equal humidity."""
    saturated_readings: int
    hours_above_20_c: float
    weeks: tuple[AgeWeek, ...]
    """By age of the wheel; empty when its day of salting is not known."""
    before_salting: int
    """Readings from before the wheel was salted; they count nowhere."""
    said: tuple[str, ...]
    formulas: tuple[Formula, ...] = (HOLD, WHEEL_WARMING, DEW_POINT, SATURATION, KINETIC_MEAN)
