"""Dates as text, ``YYYY-MM-DD``: checked, counted and moved. No clock: "today" comes from outside."""

from __future__ import annotations

from datetime import date, timedelta

from .errors import FileProblem

WORDS = {"today": 0, "yesterday": -1, "tomorrow": 1}


def day(text: str, today: str) -> str:
    """A date as typed, in the one way it is kept. Raises ``FileProblem`` when it is none."""
    plain = text.strip().casefold()
    if plain in WORDS:
        return later(today, WORDS[plain])
    try:
        return date.fromisoformat(plain).isoformat()
    except ValueError:
        raise FileProblem(f'"{text}" is not a date; write it as 2026-10-31, or today, or yesterday.') from None


def is_day(text: object) -> bool:
    """Whether a value is a date in the one way it is kept."""
    try:
        return isinstance(text, str) and date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def later(start: str, days: int) -> str:
    """A date some days on."""
    return (date.fromisoformat(start) + timedelta(days=days)).isoformat()


def between(start: str, end: str) -> int:
    """Whole days from one date to another."""
    return (date.fromisoformat(end) - date.fromisoformat(start)).days
