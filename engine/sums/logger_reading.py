"""A logger's CSV file, turned into arrays of seconds, °C and percent, with all that was odd about it.

Comma, semicolon, tab or bar; decimal point or comma; UTF-8, UTF-16 or Latin-1; lines of description
above the header; °C or °F by header or cell. Nothing is dropped in silence: each oddity is a sentence.
"""

from __future__ import annotations

import csv
import math
import re
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from io import TextIOWrapper
from itertools import chain, islice
from typing import BinaryIO
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from ..errors import FileProblem
from .logger_clock import clock_changes, to_utc, to_wall
from .logger_columns import Layout, Wanted, find_layout
from .logger_stamps import NO_OFFSET, DateOrder, Seconds, Stamps, stamp
from .logger_values import HUMIDITIES_PCT, TEMPERATURES_C, Figures, Values, check_units, sensor_faults

_HEAD_LINES = 120


@dataclass(frozen=True, slots=True)
class Reading:
    """How a file is to be read where it does not say so itself."""

    columns: Wanted = field(default_factory=Wanted)
    date_order: DateOrder = ""
    zone: str = ""
    """A zone such as Europe/Paris, for the clock on the wall."""


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """Readings in order of time. Arrays are of one length; not-a-number stands for a reading that is missing."""

    name: str
    seconds: Seconds
    """Time that runs on: UTC where the zone is known, else the wall clock mended at clock changes."""
    wall_seconds: Seconds
    """The clock on the wall, for day and night."""
    temperature_c: Figures
    humidity_pct: Figures
    layout: Layout
    said: tuple[str, ...]
    """Everything odd, one sentence each."""
    rows: int
    """Rows with a time, before duplicates were taken out."""
    duplicates: int
    unreadable: int
    """Rows whose time could not be read."""
    faults: int
    """Values beyond what a sensor can mean, or no number at all; their rows stay."""

    def __len__(self) -> int:
        return len(self.seconds)

    def part(self, kept: NDArray[np.bool_]) -> Log:
        """Some of the readings."""
        return replace(
            self,
            seconds=self.seconds[kept],
            wall_seconds=self.wall_seconds[kept],
            temperature_c=self.temperature_c[kept],
            humidity_pct=self.humidity_pct[kept],
        )

    @property
    def has_temperature(self) -> bool:
        """Whether any temperature was read."""
        return bool(np.isfinite(self.temperature_c).any())

    @property
    def has_humidity(self) -> bool:
        """Whether any humidity was read."""
        return bool(np.isfinite(self.humidity_pct).any())


def read_log(stream: BinaryIO, name: str, how: Reading = Reading()) -> Log:
    """Read a logger's file from a stream that can be wound back. Raises ``FileProblem`` with one sentence."""
    zone = _zone(how.zone)
    head = stream.read(4096)
    if head.startswith(b"PK\x03\x04"):
        raise FileProblem(f"{name} is a workbook or an archive; save it as CSV first.")
    wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
    if b"\x00" in head and not wide:
        raise FileProblem(f"{name} is a binary file; expected the CSV that the logger's program exports.")
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "latin-1"):
        stream.seek(0)
        text = TextIOWrapper(stream, encoding=encoding, newline="")
        try:
            return _read(text, name, how, zone)
        except UnicodeError:
            continue
        except csv.Error as problem:
            raise FileProblem(f"{name} is not CSV: {problem}.") from None
        finally:
            text.detach()
    raise FileProblem(f"{name} is not text that can be read.")


def _zone(name: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except Exception:  # a missing zone, a folder and a malformed name each raise their own kind
        raise FileProblem(f'There is no zone "{name}"; expected one such as Europe/Paris.') from None


def _read(text: TextIOWrapper, name: str, how: Reading, zone: ZoneInfo | None) -> Log:
    head = list(islice(text, _HEAD_LINES))
    if not any(line.strip() for line in head):
        raise FileProblem(f"{name} is empty; expected the CSV that the logger's program exports.")
    layout = find_layout(head, name, how.columns)
    reader = csv.reader(chain(head, text), delimiter=layout.delimiter)
    stamps = Stamps()
    warm, moist = array("d"), array("d")
    as_c, as_pct = Values(layout.fahrenheit, humidity=False), Values(None, humidity=True)
    unreadable, line, cell = _take(reader, layout, stamps, warm, moist, as_c, as_pct)
    if not len(stamps):
        raise FileProblem(
            f"{name}: no row below the header has a time that can be read"
            + (f'; line {line} has "{cell[:40]}", expected one such as 2025-03-01 14:30.' if cell else ".")
        )
    if unreadable > len(stamps):
        raise FileProblem(f'{name}: most rows have no time that can be read; line {line} has "{cell[:40]}".')
    said = list(layout.said)
    temperature = np.array(warm) if layout.temperature is not None else np.full(len(stamps), math.nan)
    humidity = np.array(moist) if layout.humidity is not None else np.full(len(stamps), math.nan)
    if unreadable:
        said.append(f'{_count(unreadable, "row")} without a time that can be read; line {line} has "{cell[:40]}".')
    for values in (as_c, as_pct):
        if values.junk:
            said.append(f'Taken for missing: "{min(values.junk)[:20]}" and the like stand where a number should.')
    check_units(temperature, humidity, layout, as_c.bare, name, said)
    faults = sensor_faults(temperature, TEMPERATURES_C) + sensor_faults(humidity, HUMIDITIES_PCT)
    if faults:
        said.append(f"{_count(faults, 'value')} beyond -20 to 60 °C or 0 to 105 %: a fault of the sensor, left out.")
    return _in_order(stamps, temperature, humidity, layout, how, zone, name, said, unreadable, faults)


def _take(
    reader: Iterator[list[str]],
    layout: Layout,
    stamps: Stamps,
    warm: array[float],
    moist: array[float],
    as_c: Values,
    as_pct: Values,
) -> tuple[int, int, str]:
    """Take all rows; how many had no time, and the line and text of the first of them."""
    unreadable, first_line, first_cell = 0, 0, ""
    date, clock, t, h = layout.date, layout.clock, layout.temperature, layout.humidity
    for row in reader:
        line_of = reader.line_num  # type: ignore[attr-defined]
        if line_of <= layout.header_line:
            continue
        try:
            good = stamps.take(row[date]) if clock is None else stamps.take_parts(row[date].strip(), row[clock])
        except IndexError:
            good = False
        if not good:
            cell = row[date].strip() if len(row) > date else " ".join(row).strip()
            units_only = line_of == layout.header_line + 1 and not re.search(r"\d", "".join(row))
            if any(c.strip() for c in row) and not units_only:
                unreadable += 1
                if unreadable == 1:
                    first_line, first_cell = line_of, cell or "nothing"
            continue
        if t is not None:
            warm.append(as_c(row[t]) if t < len(row) else math.nan)
        if h is not None:
            moist.append(as_pct(row[h]) if h < len(row) else math.nan)
    return unreadable, first_line, first_cell


def _in_order(
    stamps: Stamps,
    temperature: Figures,
    humidity: Figures,
    layout: Layout,
    how: Reading,
    zone: ZoneInfo | None,
    name: str,
    said: list[str],
    unreadable: int,
    faults: int,
) -> Log:
    wall, offset, decided = stamps.seconds(how.date_order, name)
    if decided:
        said.append(decided)
    offset = np.where(offset == NO_OFFSET, layout.header_offset_s, offset)
    if len(wall) > 1 and int((np.diff(wall) < 0).sum()) > len(wall) // 2:
        wall, offset, temperature, humidity = wall[::-1], offset[::-1], temperature[::-1], humidity[::-1]
        said.append("The newest reading comes first; they were turned round.")
    named = offset != NO_OFFSET
    if named.any() and not named.all():
        raise FileProblem(f"{name}: some times name an offset from UTC and some do not; expected all or none to.")
    step = nominal_step_s(wall)
    if named.all() and len(wall):
        running = wall - offset
        if zone is not None:
            wall = to_wall(running, zone)
        elif not offset.any():
            said.append(
                "Times are in UTC, and so are day and night here. Name the place with --zone, such as Europe/Paris."
            )
    elif zone is not None:
        running, noticed = to_utc(wall, zone, step)
        said += noticed
    else:
        running, noticed = clock_changes(wall, step)
        said += noticed
    order = np.argsort(running, kind="stable")
    if (np.diff(running) < 0).any():
        first = int(np.flatnonzero(np.diff(running) < 0)[0]) + 1
        said.append(f"Readings are out of order, first at {stamp(int(wall[first]))}; they were sorted by time.")
    running, wall, temperature, humidity = running[order], wall[order], temperature[order], humidity[order]
    fresh = np.concatenate(([True], np.diff(running) > 0))
    duplicates = int((~fresh).sum())
    if duplicates:
        again = np.flatnonzero(~fresh)
        differing = int((~_alike(temperature, again) | ~_alike(humidity, again)).sum())
        tail = f"; {differing} of them differ from the first" if differing else ", all alike"
        said.append(f"{_count(duplicates, 'reading')} for a time that was there already{tail}: the first counts.")
    return Log(
        name,
        running[fresh],
        wall[fresh],
        temperature[fresh],
        humidity[fresh],
        layout,
        tuple(said),
        len(order),
        duplicates,
        unreadable,
        faults,
    )


def _alike(values: Figures, again: Seconds) -> NDArray[np.bool_]:
    here, before = values[again], values[again - 1]
    same: NDArray[np.bool_] = (here == before) | (np.isnan(here) & np.isnan(before))
    return same


def nominal_step_s(seconds: Seconds) -> float:
    """The usual step between readings: the middle of all that are not zero, in seconds."""
    steps = np.abs(np.diff(seconds))
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else 0.0


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}".replace(",", " ")
