"""Rows of a logger's file, taken a block at a time; a block that holds anything odd, row by row.

Most rows of a long file differ from the one before in a figure or two that were met long ago. So a whole
block is looked up at once, and only one with a text not met before is understood cell by cell.
"""

from __future__ import annotations

import csv
import math
import re
from array import array
from collections.abc import Iterable, Iterator
from itertools import chain, islice

from .logger_columns import Layout
from .logger_stamps import Stamps
from .logger_values import Values

_BLOCK = 500
"""Rows at once: few enough to stay close to the processor."""
_LONGEST_LINE = 10_000


class Torn(Exception):
    """A cell runs on over the end of its line: a stray quote has swallowed what follows it."""


class Rows:
    """What the rows below a header hold, as it is taken."""

    def __init__(self, layout: Layout) -> None:
        self.stamps = Stamps()
        self.temperature, self.humidity = array("d"), array("d")
        self.as_c, self.as_pct = Values(layout.fahrenheit, humidity=False), Values(None, humidity=True)
        self.unreadable = 0
        """Rows without a time that can be read."""
        self.first_line, self.first_cell = 0, ""
        """Where the first of them stands, and its text."""
        self._layout = layout

    def take(self, rows: list[list[str]], line: int) -> None:
        """Take a block; ``line`` is where its first row stands."""
        if not self._at_once(rows):
            for k, row in enumerate(rows):
                self._row(row, line + k)

    def _at_once(self, rows: list[list[str]]) -> bool:
        """Take rows of one length whose times can all be read. False, and nothing taken, for others."""
        try:
            cells: list[tuple[str, ...]] = list(zip(*rows, strict=True))
        except ValueError:
            return False
        layout = self._layout
        if len(cells) <= max(layout.date, layout.clock or 0, layout.temperature or 0, layout.humidity or 0):
            return False
        if not self.stamps.take_all(cells[layout.date], None if layout.clock is None else cells[layout.clock]):
            return False
        for column, values, found in self._columns():
            found.extend(values.all_of(cells[column]))
        return True

    def _columns(self) -> Iterator[tuple[int, Values, array[float]]]:
        if self._layout.temperature is not None:
            yield self._layout.temperature, self.as_c, self.temperature
        if self._layout.humidity is not None:
            yield self._layout.humidity, self.as_pct, self.humidity

    def _row(self, row: list[str], line: int) -> None:
        layout = self._layout
        try:
            good = (
                self.stamps.take(row[layout.date])
                if layout.clock is None
                else self.stamps.take_parts(row[layout.date].strip(), row[layout.clock])
            )
        except IndexError:
            good = False
        if good:
            for column, values, found in self._columns():
                found.append(values(row[column]) if column < len(row) else math.nan)
            return
        cell = row[layout.date].strip() if len(row) > layout.date else " ".join(row).strip()
        units_only = line == layout.header_line + 1 and not re.search(r"\d", "".join(row))
        if any(c.strip() for c in row) and not units_only:
            self.unreadable += 1
            if self.unreadable == 1:
                self.first_line, self.first_cell = line, cell or "nothing"


def rows_below(head: list[str], rest: Iterable[str], layout: Layout) -> Rows:
    """All rows below the header. Raises ``Torn`` where a record is not one line, and ``csv.Error``."""
    found = Rows(layout)
    reader = csv.reader(chain(head, rest), delimiter=layout.delimiter)
    while reader.line_num < layout.header_line:
        next(reader)
    while True:
        before = reader.line_num
        rows = list(islice(reader, _BLOCK))
        if not rows:
            return found
        if reader.line_num - before != len(rows):
            raise Torn
        found.take(rows, before + 1)


def rows_line_by_line(head: list[str], rest: Iterable[str], layout: Layout) -> Rows:
    """The same, each line read by itself, for a file that was ``Torn``; a line of enormous length is no row."""
    found = Rows(layout)
    lines = islice(chain(head, rest), layout.header_line, None)
    line = layout.header_line + 1
    while block := list(islice(lines, _BLOCK)):
        found.take([_split(text, layout.delimiter) for text in block], line)
        line += len(block)
    return found


def _split(line: str, delimiter: str) -> list[str]:
    if len(line) > _LONGEST_LINE:
        return [line[:40]]
    return next(csv.reader([line.rstrip("\r\n")], delimiter=delimiter), [])
