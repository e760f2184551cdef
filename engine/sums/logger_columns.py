"""Which column of a logger file is which, in the languages loggers speak, and in which unit.

Words are matched without accents or capitals. A column named by a word goes before one that shows only
a unit; dew points, limits and batteries are passed over.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ..errors import FileProblem, listed
from .logger_stamps import NO_OFFSET, Stamps, plain

DELIMITERS = (";", "\t", ",", "|")

_STAMP = ("timestamp", "zeitstempel", "horodat", "datetime", "tidsstempel", "tidpunkt", "tijdstip", "datumzeit",
          "日時")  # fmt: skip
_DATE = ("date", "datum", "data", "fecha", "dato", "dag", "paivays", "paivamaara", "tarih", "jour", "tag", "giorno",
         "dia", "дата", "ημερομηνια", "日付", "日期")  # fmt: skip
_CLOCK = ("time", "zeit", "uhrzeit", "heure", "hora", "ora", "orario", "tijd", "tid", "klokkeslaet", "klokkeslett",
          "klockslag", "czas", "cas", "godzina", "kello", "aika", "ido", "idopont", "saat", "vrijeme", "время", "час",
          "ωρα", "時刻", "时间")  # fmt: skip
_WARM = ("temp", "teplot", "lampotil", "homerseklet", "celsius", "fahrenheit", "sicaklik", "темп", "θερμ", "温度",
         "気温")  # fmt: skip
_MOIST = ("hum", "moist", "hygro", "relh", "rhum", "feucht", "luftfeucht", "relfeucht", "umid", "vocht", "luchtvocht",
          "fukt", "luftfukt", "fugt", "luftfugt", "wilgot", "vlhk", "vlag", "vlaz", "kosteus", "paratart", "nem",
          "влаж", "волог", "υγρ", "湿度")  # fmt: skip
_MOIST_EXACT = ("rh", "hr", "ur", "rv", "rf", "rlf", "h", "phi")
_OTHER = ("dew", "taup", "rosee", "rugiada", "rocio", "dauw", "dugg", "orvalho", "rosy", "abs", "bulb", "index", "batt",
          "akku", "alarm", "min", "max", "set", "soll", "limit", "grenz", "elapsed", "press", "druck", "wet", "nass",
          "heat", "humidex", "frost", "signal", "co", "vpd", "enthalp", "trocken")  # fmt: skip
_MOST_NAMED = 6
"""How many columns that are left out are named one by one."""
_NO_TIME = ("elapsed", "duration", "dauer", "alarm")
_CLOCK_CELL = re.compile(r"\d{1,2}[:h]\d{2}(:\d{2})?( ?[ap]\.?m\.?)?", re.IGNORECASE)
_OFFSET = re.compile(r"\b(?:utc|gmt)\s*([+−-]\s*\d{1,2})?(?::?(\d{2}))?")


@dataclass(frozen=True, slots=True)
class Layout:
    """How a logger file is laid out. Columns are counted from 0."""

    delimiter: str
    header_line: int
    """Counted from 1."""
    header: tuple[str, ...]
    date: int
    clock: int | None
    """A column of its own for the time of day, or None."""
    temperature: int | None
    humidity: int | None
    fahrenheit: bool | None
    """None where no unit is named."""
    header_offset_s: int
    """Offset from UTC that the header names for all stamps."""
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the maker says of a file that does not say it itself."""

    time: str = ""
    temperature: str = ""
    humidity: str = ""
    unit: Literal["", "C", "F"] = ""
    """Each of the first three is a column's name or number, counted from 1; empty: find out."""


def find_layout(lines: Sequence[str], name: str, wanted: Wanted = Wanted()) -> Layout:
    """The layout from a file's first lines. Raises ``FileProblem`` when no header can be made out."""
    best: tuple[tuple[bool, int], Layout] | None = None
    for delimiter in DELIMITERS:
        rows = _rows(lines, delimiter)
        for number, row in rows:
            layout = _as_header(row, number, delimiter, rows, wanted)
            if layout is None:
                continue
            columns = [c for c in (layout.date, layout.clock, layout.temperature, layout.humidity) if c is not None]
            below = [r for n, r in rows if n > number]
            timed = sum(len(r) > max(columns) and _has_time(r, layout) for r in below)
            rank = (2 * timed >= len(below), len(columns))
            if best is None or rank > best[0]:
                best = (rank, layout)
            break
    if best is None:
        first = next((line.strip() for line in lines if line.strip()), "")
        asked = _picked(wanted) or "Columns can be named or counted: --time-column 1 --temperature-column 2. "
        raise FileProblem(
            f"{name}: no header row was found that names a time and a temperature or a humidity, such as "
            f'"time;temperature °C;humidity %". {asked}The file begins: "{first[:60]}".'
        )
    layout = best[1]
    _no_split_decimals(_rows(lines, layout.delimiter), layout, name)
    return replace(layout, said=(*layout.said, *_left_out(layout)))


def _left_out(layout: Layout) -> list[str]:
    """Columns that are not read, by name: a maker must see when one of them is what was to be read."""
    read = (layout.date, layout.clock, layout.temperature, layout.humidity)
    names = [f'"{printable(cell)}"' for k, cell in enumerate(layout.header) if k not in read and cell]
    if not names:
        return []
    if len(names) > _MOST_NAMED + 1:
        names = [*names[:_MOST_NAMED], f"{len(names) - _MOST_NAMED} more"]
    both = (("temperature", layout.temperature), ("humidity", layout.humidity))
    hints = [f" If one of them is the {what}, name it: --{what}-column NAME." for what, k in both if k is None]
    return [f"Not read: {_joined(names)}.{''.join(hints)}"]


def _joined(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def printable(cell: str) -> str:
    """The beginning of a cell, with nothing in it that a screen cannot show."""
    return "".join(c if c.isprintable() else "?" for c in cell[:40])


def _has_time(row: list[str], layout: Layout) -> bool:
    if layout.clock is None:
        return Stamps().take(row[layout.date])
    return Stamps().take_parts(row[layout.date], row[layout.clock])


def _picked(wanted: Wanted) -> str:
    names = [w for w in (wanted.time, wanted.temperature, wanted.humidity) if w]
    return f"It was to have {listed(names)}. " if names else ""


def _rows(lines: Sequence[str], delimiter: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(lines, delimiter=delimiter)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, [cell.strip() for cell in row]))
    except csv.Error:
        pass
    return rows


def _as_header(
    row: list[str], number: int, delimiter: str, rows: list[tuple[int, list[str]]], wanted: Wanted
) -> Layout | None:
    if len(row) < 2:
        return None
    said: list[str] = []
    date, clock = _time_columns(row)
    if wanted.time:
        date, clock = _picked_column(row, wanted.time), None
    warm = _picked_column(row, wanted.temperature) if wanted.temperature else _column(row, _is_warm, _looks_warm)
    moist = _picked_column(row, wanted.humidity) if wanted.humidity else _column(row, _is_moist, _looks_moist)
    asked_but_missing = (wanted.temperature and warm is None) or (wanted.humidity and moist is None)
    if date is None or asked_but_missing or (warm is None and moist is None):
        return None
    for what, column, test, option in (
        ("temperature", warm, _is_warm, wanted.temperature),
        ("humidity", moist, _is_moist, wanted.humidity),
    ):
        others = [c for c in row if test(c)]
        if column is not None and not option and len(others) > 1:
            said.append(f'Several columns name a {what}; "{row[column]}" is read. Another: --{what}-column NAME.')
    below = next((r for n, r in rows if n > number), [])
    fahrenheit: bool | None = None
    if warm is not None:
        fahrenheit = _unit(row[warm])
        if fahrenheit is None and warm < len(below) and not re.search(r"\d", below[warm]):
            fahrenheit = _unit(below[warm])
        if wanted.unit:
            fahrenheit = wanted.unit == "F"
    if clock is None:
        clock = _hidden_clock([r for n, r in rows if n > number], date)
    offset = _header_offset(row[date] + " " + (row[clock] if clock is not None else ""))
    layout = Layout(delimiter, number, tuple(row), date, clock, warm, moist, fahrenheit, offset, tuple(said))
    if _has_time(row, layout):  # columns that were counted, in a file without a header
        return replace(layout, header_line=number - 1, header=tuple(f"column {k + 1}" for k in range(len(row))))
    return layout


def _hidden_clock(below: list[list[str]], date: int) -> int | None:
    """The column of the time of day where its name is in no language known here: told by what stands in it."""
    dated = [r for r in below if len(r) > date and Stamps().take(r[date])]
    if not dated or any(":" in r[date] for r in dated):
        return None
    for k in range(min(len(r) for r in dated)):
        if k != date and all(_CLOCK_CELL.fullmatch(r[k]) for r in dated):
            return k
    return None


def _words(cell: str) -> list[str]:
    return re.findall(r"[^\W\d_]+", plain(cell))


def _time_columns(row: list[str]) -> tuple[int | None, int | None]:
    dates: list[int] = []
    clocks: list[int] = []
    for k, cell in enumerate(row):
        words = _words(cell)
        if not words or any(w.startswith(_NO_TIME) for w in words) or _is_warm(cell) or _is_moist(cell):
            continue
        if any(w.startswith(_STAMP) for w in words) or (_any(words, _DATE) and _any(words, _CLOCK)):
            return k, None
        if _any(words, _DATE):
            dates.append(k)
        elif _any(words, _CLOCK):
            clocks.append(k)
    if dates:
        return dates[0], clocks[0] if clocks else None
    return (clocks[0], None) if clocks else (None, None)


def _any(words: list[str], known: tuple[str, ...]) -> bool:
    return any(w in known for w in words)


def _column(row: list[str], named: Callable[[str], bool], looks: Callable[[str], bool]) -> int | None:
    for test in (named, looks):
        for k, cell in enumerate(row):
            if test(cell):
                return k
    return None


def _is_other(words: list[str]) -> bool:
    return any(w.startswith(_OTHER) for w in words)


def _is_warm(cell: str) -> bool:
    words = _words(cell)
    return not _is_other(words) and any(w.startswith(_WARM) for w in words)


def _looks_warm(cell: str) -> bool:
    words = _words(cell)
    return words == ["t"] or (not _is_other(words) and "°" in cell and _unit(cell) is not None)


def _is_moist(cell: str) -> bool:
    words = _words(cell)
    if _is_other(words):
        return False
    return any(w.startswith(_MOIST) or "feucht" in w for w in words) or any(w in _MOIST_EXACT for w in words)


def _looks_moist(cell: str) -> bool:
    return "%" in cell and not _is_other(_words(cell)) and not _is_warm(cell)


def _unit(cell: str) -> bool | None:
    """True for Fahrenheit, False for Celsius, None when no unit is named."""
    words = _words(cell)
    if "fahrenheit" in words or "f" in words or "degf" in words:
        return True
    if "celsius" in words or "c" in words or "degc" in words or "gradc" in words:
        return False
    return None


def _header_offset(cell: str) -> int:
    found = _OFFSET.search(plain(cell).replace("_", " "))
    if not found:
        return NO_OFFSET
    if not found[1]:
        return 0
    hours = int(found[1].replace("−", "-").replace(" ", ""))
    sign = -1 if "-" in found[1] or "−" in found[1] else 1
    return hours * 3600 + sign * 60 * int(found[2] or 0)


def _picked_column(row: list[str], wanted: str) -> int | None:
    if wanted.isdigit():
        return int(wanted) - 1 if 1 <= int(wanted) <= len(row) else None
    same = [k for k, cell in enumerate(row) if plain(cell) == plain(wanted)]
    close = [k for k, cell in enumerate(row) if plain(wanted) in plain(cell)]
    return same[0] if same else close[0] if len(close) == 1 else None


def _no_split_decimals(rows: list[tuple[int, list[str]]], layout: Layout, name: str) -> None:
    """Refuse "12,5,91,0": with commas for both, no one can tell where a number ends."""
    after = [(n, r) for n, r in rows if n > layout.header_line]
    long = [(n, r) for n, r in after if len([c for c in r if c]) > len(layout.header)]
    if layout.delimiter == "," and after and len(long) > len(after) / 2:
        raise FileProblem(
            f"{name}: line {long[0][0]} has {len(long[0][1])} parts where the header has {len(layout.header)}: the "
            "comma seems to part columns and decimals alike. Export again with semicolons or with decimal points."
        )
