"""A wheel over its weeks: what was seen, measured and done at each look, side by side."""

from __future__ import annotations

import json
from dataclasses import dataclass

from ..answers import Value
from ..catalog import Catalog
from ..model import Question
from .listing import LookRow, listed
from .looks import fitting
from .store import Archive


@dataclass(frozen=True, slots=True)
class Row:
    """One question over all looks; None where it was not asked that day."""

    question: Question
    values: tuple[Value | None, ...]


@dataclass(frozen=True, slots=True)
class Event:
    """Something done, or noted, on a day."""

    on_date: str
    look: str
    text: str


@dataclass(frozen=True, slots=True)
class Course:
    """The looks of a wheel in the order of their days, and what changed between them."""

    looks: tuple[LookRow, ...]
    signs: tuple[Row, ...]
    """Graded and yes-or-no questions about the cheese that were ever answered yes."""
    figures: tuple[Row, ...]
    """Numbers measured at more than one look, or that are about the cheese or its climate."""
    seen: tuple[Row, ...]
    """Choices about how the cheese looks, feels or smells that changed from one look to another."""
    care: tuple[Row, ...]
    """Other answers that changed from one look to another."""
    events: tuple[Event, ...]


def course(archive: Archive, catalog: Catalog, wheel_id: int) -> Course:
    """All that is known of a wheel, by time."""
    rows = tuple(sorted(listed(archive, wheel_id=wheel_id, most=10_000), key=lambda r: (r.looked_on, r.id)))
    said: dict[str, list[Value | None]] = {}
    fresh: set[str] = set()
    for k, row in enumerate(rows):
        body = archive.db.execute("SELECT answers FROM said WHERE look_id = ?", (row.id,)).fetchone()[0]
        for asked, value, since in fitting(catalog, json.loads(body)):
            said.setdefault(asked, [None] * len(rows))[k] = value
            if since is None:
                fresh.add(asked)
    signs, figures, seen, care = list[Row](), list[Row](), list[Row](), list[Row]()
    for name, question in catalog.questions.items():
        values = tuple(said.get(name, ()))
        known = [v for v in values if v not in (None, "unknown")]
        if not known or name == "age_days":
            continue
        over_time = Row(question, values)
        of_the_cheese = question.about in ("look", "feel", "smell", "taste")
        if question.kind in ("scale", "yes_no") and of_the_cheese:
            if any(v in ("yes", "clear", "slight") for v in known):
                signs.append(over_time)
        elif question.kind == "number" and question.about == "measure" and name in fresh:
            figures.append(over_time)
        elif len({json.dumps(v) for v in known}) > 1:
            (seen if of_the_cheese else care).append(over_time)
    return Course(rows, tuple(signs), tuple(figures), tuple(seen), tuple(care), tuple(_events(archive, rows)))


def _events(archive: Archive, rows: tuple[LookRow, ...]) -> list[Event]:
    found = []
    for row in rows:
        for table, column in (("deed", "what"), ("note", "text")):
            found += [
                Event(on_date, row.name, text)
                for on_date, text in archive.db.execute(
                    f"SELECT on_date, {column} FROM {table} WHERE look_id = ? ORDER BY id", (row.id,)
                )
            ]
        done = archive.db.execute(
            "SELECT done_on, result FROM follow_up WHERE look_id = ? AND done_on IS NOT NULL", (row.id,)
        ).fetchone()
        if done:
            found.append(Event(done[0], row.name, f"looked again: {done[1]}"))
    return sorted(found, key=lambda e: e.on_date)
