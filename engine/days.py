"""Dates as text, ``YYYY-MM-DD``: checked, counted and moved. No clock: "today" comes from outside."""

from __future__ import annotations

from datetime import date, timedelta

from .errors import FileProblem

YEARS = range(1900, 2200)
"""Years of a date; from the last of them a few days on can still be counted."""
WORDS = {"today": 0, "yesterday": -1, "tomorrow": 1}


def day(text: str, today: str) -> str:
    """A date as typed, in the one way it is kept. Raises ``FileProblem`` when it is none."""
    plain = text.strip().casefold()
    if plain in WORDS:
        return later(today, WORDS[plain])
    try:
        found = date.fromisoformat(plain)
    except ValueError:
        raise FileProblem(f'"{text}" is not a date; write it as 2026-10-31, or today, or yesterday.') from None
    if found.year not in YEARS:
        raise FileProblem(f'"{text}" lies out of all time; expected a year from {YEARS[0]} to {YEARS[-1]}.')
    return found.isoformat()


def past_day(text: str, today: str, since: str = "", what: str = "") -> str:
    """A day that has come, and not before that of ``what``. Raises ``FileProblem`` when it is another one."""
    found = day(text, today)
    if found > today:
        raise FileProblem(f'"{text}" is still to come; expected a day up to today, {today}.')
    if found < since:
        raise FileProblem(f'"{text}" lies before {what} ({since}).')
    return found


def is_day(text: object) -> bool:
    """Whether a value is a date in the one way it is kept."""
    try:
        found = date.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        return False
    return found is not None and found.isoformat() == text and found.year in YEARS


def later(start: str, days: int) -> str:
    """A date some days on."""
    return (date.fromisoformat(start) + timedelta(days=days)).isoformat()


def between(start: str, end: str) -> int:
    """Whole days from one date to another."""
    return (date.fromisoformat(end) - date.fromisoformat(start)).days
