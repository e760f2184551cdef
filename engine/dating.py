"""When something began: what the day it was first seen says of its cause.

A sign seen first on day 9 cannot come from a cause that starts on day 21, and a mould that needs
about three days to show was sown by day 6. The day stands for what struck the maker, so it
binds striking signs only; a cause whose days were over by today may still have left its mark.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .answers import Answers
from .catalog import Catalog, Cheese
from .model import Cause, Link, Sign

FIRST_SEEN = "first_seen_day"
"""The question whose answer this module reads."""


@dataclass(frozen=True, slots=True)
class Dated:
    """The latest day on which a cause can have begun, from the day its mark was first seen."""

    cause: str
    first_seen_day: float
    shows_after_days: int
    """Days it needs before it shows."""
    grade: str
    sources: tuple[str, ...]

    @property
    def by_day(self) -> float:
        """Whole days after salting ended; below 0: before it ended."""
        return self.first_seen_day - self.shows_after_days


def onset_day(answers: Answers, cheese: Cheese) -> float | None:
    """The day it was first seen, never later than today; None when that is not known."""
    day = answers.get(FIRST_SEEN)
    if not isinstance(day, float):
        return None
    return day if cheese.age_days is None else min(day, cheese.age_days)


def can_be_there(cause: Cause, cheese: Cheese, onset: float | None) -> bool:
    """Whether a cause can be there today, or was there when the trouble was first seen."""
    if cheese.in_window(cause.from_day, cause.to_day) is not False:
        return True
    return onset is not None and cause.from_day <= onset and (cause.to_day is None or onset <= cause.to_day)


def began_in_time(cause: Cause, link: Link, sign: Sign, onset: float | None) -> bool:
    """Whether a cause was there early enough to have shown a striking sign on the day it was first seen."""
    return onset is None or not sign.salient or max(cause.from_day, link.from_day) <= onset


def link_counts(link: Link, sign: Sign, cheese: Cheese, onset: float | None) -> bool:
    """Whether a link speaks at this age, or for a striking sign at the age it was first seen."""
    if cheese.in_window(link.from_day, link.to_day) is not False:
        return True
    seen = onset is not None and sign.salient
    return seen and onset is not None and link.from_day <= onset and (link.to_day is None or onset <= link.to_day)


def date(catalog: Catalog, causes: Iterable[str], answers: Answers, cheese: Cheese) -> tuple[Dated, ...]:
    """The causes of these that can be dated, in the order given."""
    onset = onset_day(answers, cheese)
    if onset is None:
        return ()
    return tuple(
        Dated(id, onset, lead.days, catalog.grade(lead.sources), lead.sources)
        for id in causes
        if (lead := catalog.causes[id].shows_after) is not None
    )
