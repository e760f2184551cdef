"""A logger's CSV file, turned into arrays of seconds, °C and percent, with all that was odd about it.

Comma, semicolon, tab or bar; decimal point or comma; UTF-8, UTF-16 or Latin-1; lines of description
above the header; °C or °F by header or cell. Nothing is dropped in silence: each oddity is a sentence.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from io import TextIOWrapper
from itertools import islice
from typing import BinaryIO
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from ..errors import FileProblem
from .logger_clock import clock_changes, to_utc, to_wall
from .logger_columns import Layout, Wanted, find_layout, printable
from .logger_rows import Rows, Torn, rows_below, rows_line_by_line
from .logger_stamps import DAY_S, NO_OFFSET, DateOrder, Seconds, Stamps, stamp
from .logger_values import HUMIDITIES_PCT, TEMPERATURES_C, Figures, check_units, sensor_faults

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
    for encoding, errors in _encodings(head, name):
        for take in (rows_below, rows_line_by_line):
            stream.seek(0)
            text = TextIOWrapper(stream, encoding=encoding, errors=errors, newline="")
            try:
                return _read(text, name, how, zone, take)
            except UnicodeError:
                break
            except (Torn, csv.Error):  # one bad line must not cost the file
                continue
            finally:
                text.detach()
    raise FileProblem(f"{name} is not text that can be read.")


def _encodings(head: bytes, name: str) -> Iterator[tuple[str, str]]:
    """Encodings to try, with what to do about bytes that do not fit. Raises ``FileProblem`` for no text at all."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        yield "utf-16", "replace"
        return
    # Where power failed while it wrote, a logger leaves zero bytes behind its last reading.
    begun = head.rstrip(b"\0")
    if b"\0" in begun:
        for encoding, zeros in (("utf-16-le", begun[1::2]), ("utf-16-be", begun[0::2])):
            if zeros.count(0) > 0.9 * len(zeros):  # wide text without its mark
                yield encoding, "replace"
                return
        raise FileProblem(f"{name} is a binary file; expected the CSV that the logger's program exports.")
    yield "utf-8-sig", "strict"
    try:
        marked = not begun[:-4].decode("utf-8").isascii()
    except UnicodeDecodeError:
        marked = False
    if marked:  # it is UTF-8 and only damaged further on
        yield "utf-8-sig", "replace"
    yield "latin-1", "strict"


def _zone(name: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except Exception:  # a missing zone, a folder and a malformed name each raise their own kind
        raise FileProblem(f'There is no zone "{name}"; expected one such as Europe/Paris.') from None


def _read(
    text: TextIOWrapper,
    name: str,
    how: Reading,
    zone: ZoneInfo | None,
    take: Callable[[list[str], Iterable[str], Layout], Rows],
) -> Log:
    head = list(islice(text, _HEAD_LINES))
    if not any(line.strip("\0\r\n\t ") for line in head):
        raise FileProblem(f"{name} is empty; expected the CSV that the logger's program exports.")
    layout = find_layout(head, name, how.columns)
    rows = take(head, text, layout)
    stamps, line, cell = rows.stamps, rows.first_line, printable(rows.first_cell)
    if not len(stamps):
        raise FileProblem(
            f"{name}: no row below the header has a time that can be read"
            + (f'; line {line} has "{cell}", expected one such as 2025-03-01 14:30.' if cell else ".")
        )
    if rows.unreadable > len(stamps):
        raise FileProblem(f'{name}: most rows have no time that can be read; line {line} has "{cell}".')
    said = list(layout.said)
    temperature = np.array(rows.temperature) if layout.temperature is not None else np.full(len(stamps), math.nan)
    humidity = np.array(rows.humidity) if layout.humidity is not None else np.full(len(stamps), math.nan)
    if rows.unreadable:
        said.append(f'{_count(rows.unreadable, "row")} without a time that can be read; line {line} has "{cell}".')
    for values in (rows.as_c, rows.as_pct):
        if values.junk:
            said.append(f'Taken for missing: "{printable(min(values.junk))}" and the like stand where a number should.')
    check_units(temperature, humidity, layout, rows.as_c.bare, name, said)
    faults = sensor_faults(temperature, TEMPERATURES_C) + sensor_faults(humidity, HUMIDITIES_PCT)
    if faults:
        said.append(f"{_count(faults, 'value')} beyond -20 to 60 °C or 0 to 105 %: a fault of the sensor, left out.")
    return _in_order(stamps, temperature, humidity, layout, how, zone, name, said, rows.unreadable, faults)


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
    if 2 * duplicates > len(fresh) and not (wall % DAY_S).any():
        raise FileProblem(
            f'{name}: "{layout.header[layout.date]}" holds a date without a time of day, and no other column holds one '
            "that can be read, such as 14:30. Export it with one."
        )
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
