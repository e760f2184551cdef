"""Dates and times as loggers write them, turned into seconds of the wall's clock.

A stamp is cut into a date and a time, and each distinct text is understood once: a file of two million
rows holds few distinct dates and few distinct times of day. Whether 03/04 is April or March, and which
end of 25/03/26 is the year, is decided for the whole file, or refused.
"""

from __future__ import annotations

import re
import unicodedata
from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import FileProblem

DateOrder = Literal["", "dmy", "mdy", "ymd"]
Seconds = NDArray[np.int64]

DAY_S = 86_400
NO_OFFSET = 10**6
"""Stands for "this stamp names no offset from UTC"; offsets are seconds."""
_UNREAD = -1
_YEARS = range(1990, 2100)

_ORDERS: tuple[DateOrder, ...] = ("dmy", "mdy", "ymd")
_FIRST = {"dmy": "day", "mdy": "month", "ymd": "year"}
_LATER_YEARS = 5
"""Of two readings of a date, one that lies so many years further back is not meant: loggers record what is recent."""

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
_UNOPENED = str.maketrans({"º": "°", "℃": "°c", "℉": "°f", "æ": "ae", "ø": "o", "œ": "oe", "ł": "l", "ı": "i"})
"""Letters that no accent is taken off."""


def plain(text: str) -> str:
    """Lower case without accents, so that one spelling stands for all; the degree sign stays."""
    opened = unicodedata.normalize("NFKD", text.casefold().translate(_UNOPENED))
    return "".join(c for c in opened if not unicodedata.combining(c))


@dataclass(frozen=True, slots=True)
class _Date:
    """A date as written: three numbers, and in which order they may be read."""

    numbers: tuple[int, int, int]
    orders: tuple[DateOrder, ...]
    """One order where the text tells; several where only the file can."""
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
        return _checked([day, str(named), year], ("dmy",))
    if len(digits) == 1 and len(digits[0]) == 8 and not months:
        digits = [digits[0][:4], digits[0][4:6], digits[0][6:]]
    if len(digits) != 3 or named or any(len(d) > 4 for d in digits):
        return None
    if len(digits[0]) == 4:
        return _checked(digits, ("ymd",))
    if "." in text:
        return _checked(digits, ("dmy",))
    return _checked(digits, _ORDERS if len(digits[2]) <= 2 else ("dmy", "mdy"))


def _month(word: str) -> int:
    return _MONTHS.get(word[:4]) or _MONTHS.get(word[:3], 0)


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text) if len(text) == 2 else 0


def _checked(digits: list[str], orders: tuple[DateOrder, ...]) -> _Date | None:
    numbers = (int(digits[0]), int(digits[1]), int(digits[2]))
    known = [o for o in orders if _year(digits[0 if o == "ymd" else 2]) in _YEARS]
    fitting = tuple(o for o in known if _day_number(_Date(numbers, ()), o) != _UNREAD)
    if not fitting:
        return None
    # 25/03/2025 can only be read one way: that settles it, here and for the file.
    return _Date(numbers, fitting, shows=len(fitting) == 1 < len(orders))


def _day_number(date: _Date, order: DateOrder) -> int:
    a, b, c = date.numbers
    day, month, year = {"dmy": (a, b, c), "mdy": (b, a, c)}.get(order, (c, b, a))
    if year < 100:
        year += 2000
    if year not in _YEARS or not (1 <= month <= 12 and 1 <= day <= 31):
        return _UNREAD
    try:
        return int(np.array(f"{year:04d}-{month:02d}-{day:02d}", "M8[D]").astype(np.int64))
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
        self._dates: list[_Date] = []
        self._times: list[tuple[int, int]] = []
        self._date_at: dict[str, int] = {}
        self._time_at: dict[str, int] = {}
        self._cut = 0
        # For each stamp, where its date and its time stand among the distinct ones; or seconds since 1970.
        self._date_of, self._time_of = array("i"), array("i")
        self._since_1970 = array("q")

    def take(self, text: str) -> bool:
        """Add one stamp. False, and nothing added, when it is none."""
        colon = text.find(":")
        if colon < 0:
            return self._whole(text)
        cut = max(text.rfind(" ", 0, colon), text.rfind("T", 0, colon))
        self._cut = cut
        return self.take_parts(text[:cut], text[cut:]) if cut > 0 else False

    def take_parts(self, date: str, time: str) -> bool:
        """Add a stamp whose date and time stand apart. False, and nothing added, when it is none."""
        within = self._time_at.get(time)
        if within is None:
            within = self._new_time(time)
        day = self._date_at.get(date)
        if day is None and within is not None:
            day = self._new_date(date)
        if day is None or within is None:
            return False
        self._date_of.append(day)
        self._time_of.append(within)
        return True

    def take_all(self, texts: Sequence[str], clocks: Sequence[str] | None) -> bool:
        """Add many stamps at once, cut where the last one was. False, and nothing added, unless all can be read."""
        if clocks is None:
            cut = self._cut
            if not cut:
                return False
            texts, clocks = [text[:cut] for text in texts], [text[cut:] for text in texts]
        days = list(map(self._date_at.get, texts))
        if None in days:
            days = [self._new_date(t) if day is None else day for day, t in zip(days, texts, strict=True)]
        times = list(map(self._time_at.get, clocks))
        if None in times:
            times = [self._new_time(t) if at is None else at for at, t in zip(times, clocks, strict=True)]
        if None in days or None in times:
            return False
        self._date_of.extend(days)  # type: ignore[arg-type]
        self._time_of.extend(times)  # type: ignore[arg-type]
        return True

    def _new_date(self, text: str) -> int | None:
        found = self._date_at.get(text)
        if found is None:
            read = _date(text)
            if read is not None:
                found = self._date_at[text] = len(self._dates)
                self._dates.append(read)
        return found

    def _new_time(self, text: str) -> int | None:
        found = self._time_at.get(text)
        if found is None:
            read = _time(text.removeprefix("T"))
            if read is not None:
                found = self._time_at[text] = len(self._times)
                self._times.append(read)
        return found

    def _whole(self, text: str) -> bool:
        digits = text.strip()
        if digits.isascii() and digits.isdigit() and len(digits) in (10, 13):  # seconds or milliseconds since 1970
            seconds = int(digits) // (1000 if len(digits) == 13 else 1)
            if np.array(seconds, "M8[s]").astype("M8[Y]").astype(int) + 1970 not in _YEARS:
                return False
            self._date_of.append(_UNREAD)
            self._time_of.append(len(self._since_1970))
            self._since_1970.append(seconds)
            return True
        cut = digits.rfind(" ")
        return (cut > 0 and self.take_parts(digits[:cut], digits[cut:])) or self.take_parts(digits, "")

    def __len__(self) -> int:
        return len(self._date_of)

    def seconds(self, order: DateOrder, name: str) -> tuple[Seconds, Seconds, str]:
        """Wall-clock seconds, offsets from UTC in seconds (``NO_OFFSET`` where none is named), and what was decided.

        Raises ``FileProblem`` when day and month cannot be told apart.
        """
        place, time = np.array(self._date_of, np.int64), np.array(self._time_of, np.int64)
        whole = place == _UNREAD
        known = np.array([*self._times, (0, 0)], np.int64)
        within, offset = known[np.where(whole, -1, time)].T
        chosen, said = self._order(order, place, within, name)
        wall = self._days(chosen)[place] * DAY_S + within
        if whole.any():
            wall[whole] = np.array(self._since_1970, np.int64)[time[whole]]
        return wall, offset, said

    def _days(self, order: DateOrder) -> Seconds:
        """The day of each distinct date, read in an order unless it has its own."""
        return np.array([_day_number(d, order if order in d.orders else d.orders[0]) for d in self._dates] + [0])

    def _order(self, asked: DateOrder, place: Seconds, within: Seconds, name: str) -> tuple[DateOrder, str]:
        told = [d for d in self._dates if len(d.orders) > 1 or d.shows]
        meant = [o for o in ((asked,) if asked else _ORDERS) if all(o in d.orders for d in told)]
        if not told or (not meant and asked and not any(d.shows for d in told)):
            return asked or "dmy", ""
        if not meant:
            against = next(d for d in told if d.shows and asked not in d.orders)
            other = "another order than named" if asked else "the day first in some dates and the month in others"
            raise FileProblem(f"{name}: the file has {other}, such as {'/'.join(map(str, against.numbers))}.")
        if len(meant) == 1:
            return meant[0], ""
        near = [o for o in meant if self._longest_step(o, place, within) <= 3 * DAY_S]
        if len(near) == 1:
            first = _FIRST[near[0]]
            return near[0], f"Dates are read with the {first} first: only so do the readings follow one another."
        latest = {o: int(self._days(o)[:-1].max()) for o in meant}
        recent = [o for o in meant if latest[o] > max(latest.values()) - _LATER_YEARS * 365]
        if len(recent) == 1:
            return recent[0], ""
        example = next(d for d in told if len(d.orders) > 1)
        ways = [_FIRST[o] for o in recent]
        raise FileProblem(
            f"{name}: dates such as {'/'.join(f'{n:02d}' for n in example.numbers)} may be "
            f"{', '.join(ways[:-1])} or {ways[-1]} first, and nothing in the file tells. Say which: "
            f"{' or '.join(f'--date-order {o}' for o in recent)}."
        )

    def _longest_step(self, order: DateOrder, place: Seconds, within: Seconds) -> int:
        steps = np.abs(np.diff(self._days(order)[place] * DAY_S + within))
        return int(steps.max()) if len(steps) else 0


def stamp(seconds: int) -> str:
    """Wall-clock seconds as 2025-03-01 14:30."""
    return str(np.array(int(seconds), "M8[s]")).replace("T", " ")[:16]


def day_of(text: str) -> int:
    """Days since 1970 of a date such as 2025-03-01. Raises ``ValueError`` with one sentence."""
    read = _date(text)
    if read is None or len(read.orders) > 1:
        raise ValueError(f'does not take "{text}"; expected a date such as 2025-03-01')
    return _day_number(read, read.orders[0])
