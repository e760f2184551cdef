"""Dates and times as loggers write them, turned into seconds of the wall's clock.

A stamp is cut into a date and a time, and each distinct text is understood once: a file of two million
rows holds few distinct dates and few distinct times of day. Whether 03/04 is April or March is decided
for the whole file, or refused.
"""

from __future__ import annotations

import re
import unicodedata
from array import array
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import FileProblem

DateOrder = Literal["", "dmy", "mdy"]
Seconds = NDArray[np.int64]

DAY_S = 86_400
NO_OFFSET = 10**6
"""Stands for "this stamp names no offset from UTC"; offsets are seconds."""
_UNREAD = -1
_YEARS = range(1990, 2100)

_TIME = re.compile(
    r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?\s*([ap])?\.?(?:m\.?)?\s*(z|utc|gmt)?\s*([+−-]\d{2}:?\d{2})?"
)
_MONTHS = {
    word: number
    for number, words in enumerate(
        ("jan gen ene", "feb fev", "mar mrz maa mrt", "apr avr abr", "may mai mei mag maj", "jun giu juin",
         "jul lug juil", "aug ago aou", "sep set", "oct okt ott out", "nov", "dec dez dic"), 1
    )
    for word in words.split()
}  # fmt: skip


def plain(text: str) -> str:
    """Lower case without accents, so that one spelling stands for all; the degree sign stays."""
    opened = unicodedata.normalize("NFKD", text.replace("º", "°").replace("℃", "°c").replace("℉", "°f"))
    return "".join(c for c in opened if not unicodedata.combining(c)).casefold()


@dataclass(frozen=True, slots=True)
class _Date:
    """A date as written: year, and day and month in either or a known order."""

    year: int
    first: int
    second: int
    order: DateOrder
    """How first and second are to be read; empty where the text does not say."""
    shows: bool = False
    """Whether a number above 12 gives away how the whole file writes its dates."""


@lru_cache(maxsize=10_000)
def _date(text: str) -> _Date | None:
    words = re.findall(r"[^\W\d_]+|\d+", plain(text))
    months = [_month(w) for w in words if not w.isdigit()]
    named = next((m for m in months if m), 0)
    digits = [w for w in words if w.isdigit()]
    if named and len(digits) == 2:
        day, year = (digits[1], digits[0]) if len(digits[0]) == 4 else (digits[0], digits[1])
        return _checked(_Date(_year(year), int(day), named, "dmy"))
    if len(digits) == 1 and len(digits[0]) == 8 and not months:
        digits = [digits[0][:4], digits[0][4:6], digits[0][6:]]
    if len(digits) != 3 or named or any(len(d) > 4 for d in digits):
        return None
    if len(digits[0]) == 4:
        return _checked(_Date(int(digits[0]), int(digits[1]), int(digits[2]), "mdy"))
    return _checked(_Date(_year(digits[2]), int(digits[0]), int(digits[1]), "dmy" if "." in text else ""))


def _month(word: str) -> int:
    return _MONTHS.get(word[:4]) or _MONTHS.get(word[:3], 0)


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text) if len(text) == 2 else 0


def _checked(date: _Date) -> _Date | None:
    orders: tuple[DateOrder, ...] = (date.order,) if date.order else ("dmy", "mdy")
    fitting = [o for o in orders if _day_number(date, o) != _UNREAD]
    if not fitting:
        return None
    # 25/03 can only be read one way: that settles it, here and for the file.
    if len(fitting) == 1:
        return _Date(date.year, date.first, date.second, fitting[0], shows=not date.order)
    return date


def _day_number(date: _Date, order: DateOrder) -> int:
    day, month = (date.first, date.second) if order == "dmy" else (date.second, date.first)
    if date.year not in _YEARS or not (1 <= month <= 12 and 1 <= day <= 31):
        return _UNREAD
    try:
        return int(np.array(f"{date.year:04d}-{month:02d}-{day:02d}", "M8[D]").astype(np.int64))
    except ValueError:
        return _UNREAD


@lru_cache(maxsize=100_000)
def _time(text: str) -> tuple[int, int] | None:
    """Seconds into the day, and the offset from UTC in seconds."""
    if not text:
        return 0, NO_OFFSET
    found = _TIME.fullmatch(text.strip().casefold())
    if not found:
        return None
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    if found[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found[4] == "p" else 0)
    if hour > 24 or minute > 59 or second > 60 or (hour == 24 and minute + second):
        return None
    offset = 0 if found[5] else NO_OFFSET
    if found[6]:
        sign = 1 if found[6][0] == "+" else -1
        offset = sign * (int(found[6][1:3]) * 3600 + int(found[6][-2:]) * 60)
    return hour * 3600 + minute * 60 + second, offset


class Stamps:
    """Takes stamps row by row and hands them back as seconds since 1970, by the clock on the wall."""

    def __init__(self) -> None:
        self._places: dict[str, int] = {}
        self._dates: list[_Date] = []
        self._day = array("i")
        self._second = array("q")
        self._offset = array("i")

    def take(self, text: str) -> bool:
        """Add one stamp. False, and nothing added, when it is none."""
        colon = text.find(":")
        if colon < 0:
            return self._whole(text)
        cut = max(text.rfind(" ", 0, colon), text.rfind("T", 0, colon))
        return self.take_parts(text[:cut], text[cut + 1 :]) if cut > 0 else False

    def take_parts(self, date: str, time: str) -> bool:
        """Add a stamp whose date and time stand apart. False, and nothing added, when it is none."""
        at = _time(time)
        if at is None:
            return False
        place = self._places.get(date)
        if place is None:
            read = _date(date)
            if read is None:
                return False
            place = self._places[date] = len(self._dates)
            self._dates.append(read)
        self._day.append(place)
        self._second.append(at[0])
        self._offset.append(at[1])
        return True

    def _whole(self, text: str) -> bool:
        digits = text.strip()
        if digits.isascii() and digits.isdigit() and len(digits) in (10, 13):  # seconds or milliseconds since 1970
            seconds = int(digits) // (1000 if len(digits) == 13 else 1)
            if np.array(seconds, "M8[s]").astype("M8[Y]").astype(int) + 1970 not in _YEARS:
                return False
            self._day.append(_UNREAD)
            self._second.append(seconds)
            self._offset.append(0)
            return True
        cut = digits.rfind(" ")
        return (cut > 0 and self.take_parts(digits[:cut], digits[cut + 1 :])) or self.take_parts(digits, "")

    def __len__(self) -> int:
        return len(self._day)

    def seconds(self, order: DateOrder, name: str) -> tuple[Seconds, Seconds, str]:
        """Wall-clock seconds, offsets from UTC in seconds (``NO_OFFSET`` where none is named), and what was decided.

        Raises ``FileProblem`` when day and month cannot be told apart.
        """
        place = np.array(self._day, np.int64)
        within = np.array(self._second, np.int64)
        chosen, said = self._order(order, place, within, name)
        days = np.array([_day_number(d, d.order or chosen) for d in self._dates] + [0], np.int64)
        wall = np.where(place == _UNREAD, 0, days[place]) * DAY_S + within
        return wall, np.array(self._offset, np.int64), said

    def _order(self, asked: DateOrder, place: Seconds, within: Seconds, name: str) -> tuple[DateOrder, str]:
        open_ones = [d for d in self._dates if not d.order]
        # A date such as 25/03 elsewhere in the file shows how all of them are meant.
        shown = {d.order for d in self._dates if d.shows}
        against = next((d for d in self._dates if d.shows and (len(shown) > 1 or (asked and d.order != asked))), None)
        if against is not None:
            told = (
                "the day first in some dates and the month in others" if len(shown) > 1 else "another order than named"
            )
            raise FileProblem(f"{name}: the file has {told}, such as {against.first}/{against.second}/{against.year}.")
        if asked or not open_ones:
            return asked or "dmy", ""
        if shown:
            return shown.pop(), ""
        spread = {}
        for one in ("dmy", "mdy"):
            days = np.array([_day_number(d, d.order or one) for d in self._dates] + [0], np.int64)
            steps = np.abs(np.diff(days[place] * DAY_S + within))
            spread[one] = int(steps.max()) if len(steps) else 0
        near = [one for one, step in spread.items() if step <= 3 * DAY_S]
        if len(near) == 1:
            meant: DateOrder = "dmy" if near[0] == "dmy" else "mdy"
            first = "day" if meant == "dmy" else "month"
            return meant, f"Dates are read with the {first} first: only so do the readings follow one another."
        raise FileProblem(
            f"{name}: dates such as {open_ones[0].first:02d}/{open_ones[0].second:02d}/{open_ones[0].year} may be day "
            "or month first, and nothing in the file tells. Say which: --date-order dmy or --date-order mdy."
        )


def stamp(seconds: int) -> str:
    """Wall-clock seconds as 2025-03-01 14:30."""
    return str(np.array(int(seconds), "M8[s]")).replace("T", " ")[:16]


def day_of(text: str) -> int:
    """Days since 1970 of a date such as 2025-03-01. Raises ``ValueError`` with one sentence."""
    read = _date(text)
    if read is None or not read.order:
        raise ValueError(f'does not take "{text}"; expected a date such as 2025-03-01')
    return _day_number(read, read.order)
