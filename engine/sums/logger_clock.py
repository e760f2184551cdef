"""Wall-clock seconds and UTC: clock changes are found, not guessed away."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from .logger_stamps import DAY_S, Seconds, stamp


def to_utc(wall: Seconds, zone: ZoneInfo, step_s: float) -> tuple[Seconds, list[str]]:
    """Seconds in UTC of wall-clock seconds in a zone, in the order they were logged, and what was noticed."""
    block, index = np.unique(wall // 900, return_inverse=True)
    early, late = (np.array([_offset(zone, int(b) * 900, fold) for b in block], np.int64)[index] for fold in (0, 1))
    offset = early.copy()
    said: list[str] = []
    twice = early > late
    if twice.any():
        second_pass = False
        for i in np.flatnonzero(twice):
            if i == 0 or not twice[i - 1]:
                second_pass = False
            elif wall[i] - wall[i - 1] <= min(0.0, 1.5 * step_s - 3600):
                second_pass = True
            if second_pass:
                offset[i] = late[i]
        said.append("The clock went back an hour: the hour that came twice is told apart by the order of its readings.")
    never = int((early < late).sum())
    if never:
        said.append(
            f"{never} readings bear times that the zone skips when clocks go forward: the logger was not changed then."
        )
    return wall - offset, said


def to_wall(utc: Seconds, zone: ZoneInfo) -> Seconds:
    """Wall-clock seconds in a zone of seconds in UTC."""
    block, index = np.unique(utc // 900, return_inverse=True)
    moments = (block * 900).astype("M8[s]").astype(object)
    there = [zone.fromutc(m.replace(tzinfo=zone)) for m in moments]
    offset = np.array([_seconds(m.utcoffset()) for m in there], np.int64)
    return utc + (offset[index] if len(utc) else 0)


def _offset(zone: ZoneInfo, wall: int, fold: int) -> int:
    moment = np.array(wall, "M8[s]").astype(object).item().replace(fold=fold)
    return _seconds(zone.utcoffset(moment))


def _seconds(found: Any) -> int:
    return int(found.total_seconds()) if found is not None else 0


def clock_changes(wall: Seconds, step_s: float) -> tuple[Seconds, list[str]]:
    """Wall-clock seconds without a zone, made to run on where the clock went back an hour; and what was noticed."""
    steps = np.diff(wall)
    about = (steps <= min(0.0, 1.5 * step_s - 3600)) & (steps >= -3600)
    back = [i for i in np.flatnonzero(about) if _may_change(int(wall[i + 1]))]
    said = []
    running = wall.copy()
    for i in back:
        running[i + 1 :] += 3600
    if back:
        said.append(
            f"The clock went back an hour at {stamp(int(wall[back[0]]))}: taken for the end of summer time, and the "
            "readings after it run on. Name the place with --zone to be sure."
        )
    forward = np.flatnonzero((steps >= 3600) & (steps <= 3600 + 1.5 * step_s) & (steps > 1.5 * step_s))
    for i in forward:
        if _may_change(int(wall[i + 1])):
            said.append(
                f"An hour is missing before {stamp(int(wall[i + 1]))}, a Sunday night in a month of clock changes: it "
                "counts as a gap. If the clock went forward there, name the place with --zone."
            )
    return running, said


def _may_change(wall: int) -> bool:
    """Whether clocks change at such a time somewhere: a Sunday night in spring or autumn."""
    month = int(np.array(wall, "M8[s]").astype("M8[M]").astype(np.int64)) % 12 + 1
    sunday = (wall // DAY_S + 3) % 7 == 6
    return sunday and month in (3, 4, 9, 10, 11) and wall % DAY_S < 5 * 3600
