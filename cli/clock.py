"""The one place that looks at a clock. ``RINDWRIGHT_NOW`` stands in for it where a fixed moment is wanted."""

from __future__ import annotations

import os
from datetime import datetime

from ..engine import days
from ..engine.errors import FileProblem

YEARS = days.YEARS[1:-1]
"""So that the days before and after a moment can be counted."""


def now() -> str:
    """This moment by the local clock, as ISO 8601 text."""
    fixed = os.environ.get("RINDWRIGHT_NOW")
    if fixed:
        try:
            moment = datetime.fromisoformat(fixed)
        except ValueError:
            raise FileProblem(f'RINDWRIGHT_NOW is "{fixed}"; expected a moment such as 2026-10-31T09:00.') from None
        if moment.year not in YEARS:
            raise FileProblem(f'RINDWRIGHT_NOW is "{fixed}"; expected a year from {YEARS[0]} to {YEARS[-1]}.')
        return moment.isoformat()
    return datetime.now().astimezone().isoformat()


def today() -> str:
    """The date by the local clock."""
    return now()[:10]
