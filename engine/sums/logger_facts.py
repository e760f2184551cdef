"""What a logger's readings say: time out of band, swings, sweating, equivalent hours, gaps and faults.

Each reading holds until the next; across a gap, one longer than one and a half usual steps, it counts for
one step only. Hours are hours of readings, not of the calendar.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .air import dew_point_of_pressure_c, saturation_pressures_pa
from .ground import Formula, OutOfRange, above_zero, within
from .growth import cardinal_share
from .kitchen import plainly
from .logger_reading import Log, nominal_step_s
from .logger_record import Bands, LogFacts, OutOfBand
from .logger_spells import SATURATED_PCT, episodes, mean, noticed, stuck, swings, weeks, wet_readings
from .logger_stamps import DAY_S
from .logger_values import Figures

EQUIVALENT = Formula(
    "equivalent_hours",
    "Equivalent hours at a reference temperature",
    "sum of weight · share(T)/share(reference), by the cardinal temperature model",
    "the organism named; temperature alone",
    "rosso_1993",
    ("logger_rules",),
)
_E_OVER_R = 83_144.0 / 8.314462618
DAY_HOURS = (7, 19)
"""Hours of the wall clock that count as day."""


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
    wet = wet_readings(log, vapour, wheel_hours, step_h)
    equal = stuck(h, 6 if 0 < step_h < 1 / 6 else 3)
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
        mean_c=mean(t, weight),
        low_c=_extreme(t, np.nanmin),
        high_c=_extreme(t, np.nanmax),
        mean_pct=mean(h, weight),
        low_pct=_extreme(h, np.nanmin),
        high_pct=_extreme(h, np.nanmax),
        bands=bands,
        temperature=_out_of_band(t, weight, by_day, bands.low_c, bands.high_c),
        humidity=_out_of_band(h, weight, by_day, bands.low_pct, bands.high_pct),
        degree_hours_above=_sum(np.maximum(0, t - bands.high_c), weight),
        degree_hours_below=_sum(np.maximum(0, bands.low_c - t), weight),
        highest_dew_point_c=_highest_dew_point(vapour),
        mean_deficit_pa=mean(np.maximum(0, full - vapour), weight),
        mean_absolute_g_per_m3=mean(1000 * vapour / (461.523 * (t + 273.15)), weight),
        kinetic_mean_c=_kinetic_mean(t, weight),
        largest_step_k_per_h=_largest_step(t, steps, gap),
        swings=swings(log, weight),
        wheel_hours=wheel_hours,
        wet_readings=int(wet.sum()),
        episodes=episodes(log, wet, weight, by_day),
        sweating_h=float(weight[wet].sum()),
        sweating_by_night_h=float(weight[wet & ~by_day].sum()),
        stuck_readings=int(equal.sum()),
        saturated_readings=int((h >= SATURATED_PCT).sum()),
        hours_above_20_c=float(weight[np.nan_to_num(t, nan=-99.0) > 20].sum()),
        weeks=() if salted_day is None else weeks(log, weight, wet, bands, salted_day),
        before_salting=before,
        said=tuple(noticed(log, h, equal)),
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
            f"The reference temperature cannot be {plainly(reference_c, 4)} °C; expected one between "
            f"{plainly(minimum_c, 4)} and {plainly(maximum_c, 4)} °C, where the organism grows."
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
        within("Days to keep", last_days, 0.05, 36_500, "days", "a log holds hours to decades")
        log = log.part(log.seconds > log.seconds[-1] - last_days * DAY_S)
    return log, before


def _by_day(log: Log) -> NDArray[np.bool_]:
    hour = log.wall_seconds % DAY_S // 3600
    found: NDArray[np.bool_] = (hour >= DAY_HOURS[0]) & (hour < DAY_HOURS[1])
    return found


def _vapour(t: Figures, h: Figures) -> tuple[Figures, Figures]:
    full = saturation_pressures_pa(t)
    return np.minimum(h, 100) / 100 * full, full


def _sum(values: Figures, weight: Figures) -> float | None:
    known = np.isfinite(values)
    return float((values[known] * weight[known]).sum()) if known.any() else None


def _extreme(values: Figures, of: Callable[[Figures], Any]) -> float | None:
    return float(of(values)) if np.isfinite(values).any() else None


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
    share = mean(np.exp(-_E_OVER_R / (t + 273.15)), weight)
    return None if share is None else _E_OVER_R / -math.log(share) - 273.15


def _largest_step(t: Figures, steps_h: Figures, gap: NDArray[np.bool_]) -> float | None:
    change = np.abs(np.diff(t)) / np.where(steps_h > 0, steps_h, 1)
    usable = change[~gap & np.isfinite(change)]
    return float(usable.max()) if len(usable) else None
