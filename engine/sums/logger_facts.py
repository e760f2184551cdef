"""What a logger's readings say: time out of band, swings, sweating, equivalent hours, gaps and faults.

Each reading holds until the next; across a gap, one longer than one and a half usual steps, it counts for
one step only. Hours are hours of readings, not of the calendar.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .air import DEW_POINT, SATURATION, dew_point_of_pressure_c, saturation_pressures_pa
from .air_wheel import WHEEL_WARMING
from .ground import Formula, OutOfRange, above_zero, within
from .growth import cardinal_share
from .logger_reading import Figures, Log, nominal_step_s
from .logger_stamps import DAY_S, stamp

HOLD = Formula(
    "reading_holds",
    "Each reading holds until the next",
    "weight = time to the next reading if no more than 1.5 usual steps, else one step; the last counts one step",
    "readings more or less evenly spaced",
    "logger_rules",
)
EQUIVALENT = Formula(
    "equivalent_hours",
    "Equivalent hours at a reference temperature",
    "sum of weight · share(T)/share(reference), by the cardinal temperature model",
    "the organism named; temperature alone",
    "rosso_1993",
    ("logger_rules",),
)
KINETIC_MEAN = Formula(
    "mean_kinetic_temperature",
    "Mean kinetic temperature",
    "T = (E/R) / -ln(mean of exp(-E/(R·T))), E = 83.144 kJ/mol, T in kelvin",
    "an index; ripening has no single activation energy",
    "pharmacopoeia_mkt",
)
_E_OVER_R = 83_144.0 / 8.314462618
_SATURATED_PCT = 99.5
_SHIFT_PCT = 3.0
_RESTART = 3.0
"""After a gap longer than this many time constants the wheel is taken to be as warm as the air."""
DAY_HOURS = (7, 19)
"""Hours of the wall clock that count as day."""


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
                    f"The band of {what} cannot run from {low:g} to {high:g}; expected the lower limit first."
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


def weights_h(log: Log) -> Figures:
    """Hours that each reading counts for."""
    step = nominal_step_s(log.seconds)
    steps = np.diff(log.seconds).astype(np.float64)
    return np.append(np.where(steps <= 1.5 * step, steps, step), step) / 3600


def log_facts(
    log: Log,
    bands: Bands,
    wheel_hours: float = 4.0,
    salted_day: int | None = None,
    last_days: float | None = None,
) -> LogFacts:
    """Everything a log says.

    ``wheel_hours`` is the time constant of the wheel, ``salted_day`` the day salting ended, in days since
    1970; ``last_days`` keeps only the end of the log. Raises ``OutOfRange``.
    """
    bands.checked()
    above_zero("Time constant of the wheel", wheel_hours, "h")
    log, before = part_of(log, salted_day, last_days)
    weight = weights_h(log)
    step_h = nominal_step_s(log.seconds) / 3600
    steps = np.diff(log.seconds) / 3600
    gap = steps > 1.5 * step_h
    t, h = log.temperature_c, log.humidity_pct
    by_day = _by_day(log)
    vapour, full = _vapour(t, h)
    wet = _wet(log, vapour, wheel_hours, step_h)
    equal = _stuck(h, 6 if 0 < step_h < 1 / 6 else 3)
    return LogFacts(
        readings=len(log),
        from_wall_s=int(log.wall_seconds[0]),
        to_wall_s=int(log.wall_seconds[-1]),
        step_h=step_h,
        span_h=float(log.seconds[-1] - log.seconds[0]) / 3600,
        observed_h=float(weight.sum()),
        missing_h=float((steps[gap] - step_h).sum()),
        gaps=int(gap.sum()),
        longest_gap_h=float(steps[gap].max()) if gap.any() else 0.0,
        mean_c=_mean(t, weight),
        low_c=_extreme(t, np.nanmin),
        high_c=_extreme(t, np.nanmax),
        mean_pct=_mean(h, weight),
        low_pct=_extreme(h, np.nanmin),
        high_pct=_extreme(h, np.nanmax),
        bands=bands,
        temperature=_out_of_band(t, weight, by_day, bands.low_c, bands.high_c),
        humidity=_out_of_band(h, weight, by_day, bands.low_pct, bands.high_pct),
        degree_hours_above=_sum(np.maximum(0, t - bands.high_c), weight),
        degree_hours_below=_sum(np.maximum(0, bands.low_c - t), weight),
        highest_dew_point_c=_highest_dew_point(vapour),
        mean_deficit_pa=_mean(np.maximum(0, full - vapour), weight),
        mean_absolute_g_per_m3=_mean(1000 * vapour / (461.523 * (t + 273.15)), weight),
        kinetic_mean_c=_kinetic_mean(t, weight),
        largest_step_k_per_h=_largest_step(t, steps, gap),
        swings=_swings(log, weight),
        wheel_hours=wheel_hours,
        wet_readings=int(wet.sum()),
        episodes=_episodes(log, wet, weight, by_day),
        sweating_h=float(weight[wet].sum()),
        sweating_by_night_h=float(weight[wet & ~by_day].sum()),
        stuck_readings=int(equal.sum()),
        saturated_readings=_count(h >= _SATURATED_PCT),
        hours_above_20_c=float(weight[np.nan_to_num(t, nan=-99.0) > 20].sum()),
        weeks=() if salted_day is None else _weeks(log, weight, wet, bands, salted_day),
        before_salting=before,
        said=tuple(_noticed(log, h, equal)),
    )


@dataclass(frozen=True, slots=True)
class Equivalent:
    """Hours at a steady temperature that come to the same as the log."""

    reference_c: float
    hours: float
    formula: Formula = EQUIVALENT


def equivalent_hours(log: Log, reference_c: float, minimum_c: float, optimum_c: float, maximum_c: float) -> Equivalent:
    """Hours at a reference temperature that would let an organism grow as much as the log did.

    Raises ``OutOfRange``, also where the organism does not grow at the reference.
    """
    at_reference = cardinal_share(reference_c, minimum_c, optimum_c, maximum_c, 2)
    if at_reference <= 0:
        raise OutOfRange(
            f"The reference temperature cannot be {reference_c:g} °C; expected one between {minimum_c:g} and "
            f"{maximum_c:g} °C, where the organism grows."
        )
    known = np.isfinite(log.temperature_c)
    values, place = np.unique(log.temperature_c[known], return_inverse=True)
    shares = np.array([cardinal_share(float(v), minimum_c, optimum_c, maximum_c, 2) for v in values])
    hours = float((shares[place] * weights_h(log)[known]).sum() / at_reference) if len(values) else 0.0
    return Equivalent(reference_c, hours)


def part_of(log: Log, salted_day: int | None = None, last_days: float | None = None) -> tuple[Log, int]:
    """The readings since salting ended, or the last of them, and how many came before. Raises ``OutOfRange``."""
    before = 0
    if salted_day is not None:
        kept = log.wall_seconds >= salted_day * DAY_S
        before = int((~kept).sum())
        if before == len(log):
            raise OutOfRange("Every reading is from before salting ended; expected a log that reaches beyond that day.")
        log = log.part(kept)
    if last_days is not None:
        above_zero("Days to keep", last_days, "days")
        log = log.part(log.seconds > log.seconds[-1] - last_days * DAY_S)
    return log, before


def _by_day(log: Log) -> NDArray[np.bool_]:
    hour = log.wall_seconds % DAY_S // 3600
    found: NDArray[np.bool_] = (hour >= DAY_HOURS[0]) & (hour < DAY_HOURS[1])
    return found


def _vapour(t: Figures, h: Figures) -> tuple[Figures, Figures]:
    full = saturation_pressures_pa(t)
    return np.minimum(h, 100) / 100 * full, full


def _mean(values: Figures, weight: Figures) -> float | None:
    known = np.isfinite(values)
    total = float(weight[known].sum())
    return float((values[known] * weight[known]).sum() / total) if total > 0 else None


def _sum(values: Figures, weight: Figures) -> float | None:
    known = np.isfinite(values)
    return float((values[known] * weight[known]).sum()) if known.any() else None


def _extreme(values: Figures, of: Callable[[Figures], Any]) -> float | None:
    return float(of(values)) if np.isfinite(values).any() else None


def _count(found: NDArray[np.bool_]) -> int:
    return int(found.sum())


def _out_of_band(
    values: Figures, weight: Figures, by_day: NDArray[np.bool_], low: float, high: float
) -> OutOfBand | None:
    known = np.isfinite(values)
    if not known.any():
        return None
    below, above = values < low, values > high  # not-a-number is neither
    return OutOfBand(
        float(weight[below].sum()),
        float(weight[known & ~below & ~above].sum()),
        float(weight[above].sum()),
        float(weight[below & by_day].sum()),
        float(weight[above & by_day].sum()),
    )


def _highest_dew_point(vapour: Figures) -> float | None:
    known = vapour[np.isfinite(vapour)]
    return dew_point_of_pressure_c(float(known.max())) if len(known) and known.max() > 2 else None


def _kinetic_mean(t: Figures, weight: Figures) -> float | None:
    mean = _mean(np.exp(-_E_OVER_R / (t + 273.15)), weight)
    return None if mean is None else _E_OVER_R / -math.log(mean) - 273.15


def _largest_step(t: Figures, steps_h: Figures, gap: NDArray[np.bool_]) -> float | None:
    change = np.abs(np.diff(t)) / np.where(steps_h > 0, steps_h, 1)
    usable = change[~gap & np.isfinite(change)]
    return float(usable.max()) if len(usable) else None


def _wet(log: Log, vapour: Figures, wheel_hours: float, step_h: float) -> NDArray[np.bool_]:
    """Readings at which a wheel that follows the air is colder than the dew point."""
    steps = np.diff(log.seconds) / 3600
    # Plain arrays: one value after the other leads to the next, and lists would hold ten times as much.
    kept = np.where(steps > max(_RESTART * wheel_hours, 1.5 * step_h), math.nan, np.exp(-steps / wheel_hours))
    keep = array("d", b"".join((np.float64(1).tobytes(), kept.tobytes())))
    wheel, held = math.nan, math.nan
    trail = array("d")
    for now, share in zip(array("d", log.temperature_c.tobytes()), keep, strict=True):
        wheel = held + (wheel - held) * share  # not-a-number after a long gap
        if wheel != wheel:
            wheel = now
        trail.append(wheel)
        if now == now:
            held = now
    found: NDArray[np.bool_] = saturation_pressures_pa(np.array(trail)) < vapour
    return found


def _episodes(log: Log, wet: NDArray[np.bool_], weight: Figures, by_day: NDArray[np.bool_]) -> tuple[Episode, ...]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], wet, [False])).astype(np.int8)))
    return tuple(
        Episode(int(log.wall_seconds[a]), float(weight[a:b].sum()), not bool(by_day[a]))
        for a, b in edges.reshape(-1, 2).tolist()
    )


def _stuck(values: Figures, at_least: int) -> NDArray[np.bool_]:
    """Readings in runs of equal values, ``at_least`` long."""
    if not len(values):
        return np.zeros(0, np.bool_)
    starts = np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))  # not-a-number equals nothing
    lengths = np.diff(np.append(starts, len(values)))
    found: NDArray[np.bool_] = np.repeat(lengths >= at_least, lengths) & np.isfinite(values)
    return found


def _groups(keys: NDArray[np.int64]) -> list[tuple[int, int, int]]:
    """(key, start, end) of runs of equal keys."""
    if not len(keys):
        return []
    starts = np.flatnonzero(np.concatenate(([True], keys[1:] != keys[:-1])))
    ends = np.append(starts[1:], len(keys))
    return [(int(keys[a]), int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def _swings(log: Log, weight: Figures) -> tuple[DaySwing, ...]:
    found = []
    for day, a, b in _groups(log.wall_seconds // DAY_S):
        if weight[a:b].sum() >= 12:
            found.append(DaySwing(day, _spread(log.temperature_c[a:b]), _spread(log.humidity_pct[a:b])))
    return tuple(found)


def _spread(values: Figures) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.max() - known.min()) if len(known) > 1 else None


def _weeks(log: Log, weight: Figures, wet: NDArray[np.bool_], bands: Bands, salted_day: int) -> tuple[AgeWeek, ...]:
    found = []
    for week, a, b in _groups((log.wall_seconds // DAY_S - salted_day) // 7):
        t, h, w = log.temperature_c[a:b], log.humidity_pct[a:b], weight[a:b]
        found.append(
            AgeWeek(
                7 * week,
                7 * week + 6,
                float(w.sum()),
                float(w[t < bands.low_c].sum()),
                float(w[t > bands.high_c].sum()),
                float(w[h < bands.low_pct].sum()),
                float(w[h > bands.high_pct].sum()),
                _mean(t, w),
                _mean(h, w),
                float(w[wet[a:b]].sum()),
            )
        )
    return tuple(found)


def _noticed(log: Log, h: Figures, equal: NDArray[np.bool_]) -> list[str]:
    said = []
    saturated = h >= _SATURATED_PCT
    if _count(saturated & equal) > len(log) / 20:
        said.append(
            "Humidity often stands at its upper end: many sensors stick there once they were wet. Dry and check it."
        )
    elif _count(equal) > len(log) / 2:
        said.append("Humidity hardly ever moves: the sensor may be stuck, or it shows whole percents only.")
    shift = _sudden_shift(log)
    if shift is not None:
        said.append(shift)
    return said


def _sudden_shift(log: Log) -> str | None:
    days = [
        (day, float(np.nanmedian(log.humidity_pct[a:b])), float(np.nanmedian(log.temperature_c[a:b])))
        for day, a, b in _groups(log.wall_seconds // DAY_S)
        if b - a >= 4 and np.isfinite(log.humidity_pct[a:b]).any() and np.isfinite(log.temperature_c[a:b]).any()
    ]
    for (_, h0, t0), (day, h1, t1) in pairwise(days):
        if abs(h1 - h0) > _SHIFT_PCT and abs(t1 - t0) < 0.5:
            return (
                f"From {stamp(day * DAY_S)[:10]} on the middle humidity is {abs(h1 - h0):.1f} % "
                f"{'higher' if h1 > h0 else 'lower'} at the same temperature: the room changed, or the sensor did. "
                "A salt check tells."
            )
    return None
