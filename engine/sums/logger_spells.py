"""Spells of a log: when a cheese sweats, how days swing, the weeks of its age, and a sensor that misleads."""

from __future__ import annotations

import math
from array import array
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .air import saturation_pressures_pa
from .logger_reading import Log
from .logger_record import AgeWeek, Bands, DaySwing, Episode
from .logger_stamps import DAY_S, stamp
from .logger_values import Figures

Flags = NDArray[np.bool_]

SATURATED_PCT = 99.5
_SHIFT_PCT = 3.0
_RESTART = 3.0
"""After a gap longer than this many time constants the wheel is taken to be as warm as the air."""


def mean(values: Figures, weight: Figures) -> float | None:
    """Weighted mean of what is known; None of nothing."""
    known = np.isfinite(values)
    total = float(weight[known].sum())
    return float((values[known] * weight[known]).sum() / total) if total > 0 else None


def wet_readings(log: Log, vapour: Figures, wheel_hours: float, step_h: float) -> Flags:
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
    found: Flags = saturation_pressures_pa(np.array(trail)) < vapour
    return found


def episodes(log: Log, wet: Flags, weight: Figures, by_day: Flags) -> tuple[Episode, ...]:
    """Runs of wet readings."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], wet, [False])).astype(np.int8)))
    begin = edges[::2]
    hours = np.add.reduceat(np.append(weight, 0.0), edges)[::2] if len(edges) else edges
    found = zip(log.wall_seconds[begin].tolist(), hours.tolist(), by_day[begin].tolist(), strict=True)
    return tuple(Episode(start, long, not day) for start, long, day in found)


def stuck(values: Figures, at_least: int) -> Flags:
    """Readings in runs of equal values, ``at_least`` long."""
    if not len(values):
        return np.zeros(0, np.bool_)
    starts = np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))  # not-a-number equals nothing
    lengths = np.diff(np.append(starts, len(values)))
    found: Flags = np.repeat(lengths >= at_least, lengths) & np.isfinite(values)
    return found


def _groups(keys: NDArray[np.int64]) -> list[tuple[int, int, int]]:
    """(key, start, end) of runs of equal keys."""
    if not len(keys):
        return []
    starts = np.flatnonzero(np.concatenate(([True], keys[1:] != keys[:-1])))
    ends = np.append(starts[1:], len(keys))
    return [(int(keys[a]), int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def swings(log: Log, weight: Figures) -> tuple[DaySwing, ...]:
    """From lowest to highest of each day that has readings for at least half of it."""
    found = []
    for day, a, b in _groups(log.wall_seconds // DAY_S):
        if weight[a:b].sum() >= 12:
            found.append(DaySwing(day, _spread(log.temperature_c[a:b]), _spread(log.humidity_pct[a:b])))
    return tuple(found)


def _spread(values: Figures) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.max() - known.min()) if len(known) > 1 else None


def weeks(log: Log, weight: Figures, wet: Flags, bands: Bands, salted_day: int) -> tuple[AgeWeek, ...]:
    """The weeks of the cheese's age, from the day salting ended."""
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
                mean(t, w),
                mean(h, w),
                float(w[wet[a:b]].sum()),
            )
        )
    return tuple(found)


def noticed(log: Log, h: Figures, equal: Flags) -> list[str]:
    """What speaks of a sensor that misleads, one sentence each."""
    said = []
    saturated = h >= SATURATED_PCT
    if int((saturated & equal).sum()) > len(log) / 20:
        said.append(
            "Humidity often stands at its upper end: many sensors stick there once they were wet. Dry and check it."
        )
    elif int((equal).sum()) > len(log) / 2:
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
