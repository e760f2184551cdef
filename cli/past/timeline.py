"""``rindwright past wheel``: a wheel over its weeks, drawn with letters that mean something read aloud."""

from __future__ import annotations

from pathlib import Path

from ...engine.answers import Value
from ...engine.archive import makes
from ...engine.archive.course import Course, Row, course
from ...engine.catalog import Catalog
from ...engine.house.voices import of_question
from ...engine.sums.kitchen import plainly
from .. import clock
from ..context import console, knowledge_in_force, screen_width
from ..house_words import question_put, tag
from ..pen import Pen
from ..phrasing import asked, in_words
from ..status import Status
from .looks import cause_words, opened, verdict_words

MARKS = {"clear": "#", "yes": "#", "slight": "+", "no": ".", "unknown": "?"}
LABEL, LABEL_WIDE = 22, 40
"""Columns a label takes: at least, and at most where there is room."""


def run(named: str | None, house: Path | None, title: str, no_color: bool) -> Status:
    """Draw a wheel."""
    catalog = Catalog(knowledge_in_force(house))
    with opened(named) as archive:
        wheel = makes.find_wheel(archive, title)
        found = course(archive, catalog, wheel.id)
        make = makes.full(archive, wheel.make_id)
    pen = Pen(console(no_color), screen_width())
    style = catalog.styles.get(make["style"] or "")
    pen.line(f"Wheel {wheel.title}" + (f": {style.name}" if style else ""), "bold")
    if not found.looks:
        pen.line(f'Not looked at yet. Look: rindwright ask --wheel "{wheel.title}"')
        return Status.DONE
    draw(pen, catalog, found)
    due = [row.due_on for row in found.looks if row.due_on is not None]
    if due:
        pen.line()
        late = " That day is past." if due[-1] < clock.today() else ""
        pen.line(f"To be looked at again on {due[-1]}.{late}")
    return Status.DONE


def draw(pen: Pen, catalog: Catalog, found: Course) -> None:
    """The whole course."""
    pen.heading("Looks")
    for k, row in enumerate(found.looks, 1):
        day = "" if row.age_days is None else f", day {plainly(row.age_days, 4)}"
        told = "" if row.outcome is None else f" Turned out: {cause_words(catalog, row.outcome)}."
        pen.item(f"{k}. ", f"{row.looked_on}{day}: {verdict_words(catalog, row)}{told}")
    if found.signs:
        pen.heading("Signs, look by look")
        _grid(pen, catalog, found)
    for figure in found.figures:
        pen.heading(asked(figure.question, "the rind").rstrip("?") + tag(of_question(catalog, figure.question.id)))
        _bars(pen, found, figure)
    for title, rows in (
        ("What else changed on the cheese", found.seen),
        ("What changed in its care and making", found.care),
    ):
        if rows:
            pen.heading(title)
        for row_ in rows:
            pen.item("- ", f"{question_put(catalog, row_.question)} {_changes(row_)}")
    if found.events:
        pen.heading("Done and noted")
    for event in found.events:
        pen.item("- ", f"{event.on_date}: {event.text}")


def _grid(pen: Pen, catalog: Catalog, found: Course) -> None:
    label = max(LABEL, min(LABEL_WIDE, pen.width - 3 * len(found.looks) - 1))
    label = min(label, pen.width * 2 // 3)
    across = max(1, (pen.width - label - 1) // 3)
    for start in range(0, len(found.looks), across):
        part = range(start, min(start + across, len(found.looks)))
        _plain(pen, " " * label + "".join(f"{k + 1:>3}" for k in part))
        for row in found.signs:
            sign = catalog.signs.get(row.question.id)
            name = (sign.name if sign else asked(row.question, "the rind"))[: label - 1]
            cells = "".join(f"{MARKS.get(str(row.values[k]), ' '):>3}" for k in part)
            _plain(pen, f"{name:<{label}}{cells}".rstrip())
    pen.line("# clearly or yes, + a little, . no, ? not known; blank: not asked", "dim")
    for row in found.signs:  # a cell has no room for whose word it is
        if of_question(catalog, row.question.id):
            pen.item("", question_put(catalog, row.question), style="dim")


def _bars(pen: Pen, found: Course, row: Row) -> None:
    known = [v for v in row.values if isinstance(v, float)]
    top = max(known)
    low = min(known)
    # Bars start at nothing where that shows the change; else a little below the smallest, and say so.
    floor = 0.0 if low <= 0.6 * top or low == top else low - (top - low) * 0.5
    days = [r.looked_on if r.age_days is None else f"day {plainly(r.age_days, 4)}" for r in found.looks]
    wide = max(8, *(len(days[k]) for k, value in enumerate(row.values) if isinstance(value, float)))
    unit = max(4, len(row.question.unit))
    room = max(6, min(40, pen.width - 17 - wide - unit))
    for k, value in enumerate(row.values):
        if isinstance(value, float):
            length = round(room * (value - floor) / (top - floor)) if top > floor else room
            measured = f"{plainly(value, 4):>8} {row.question.unit:<{unit}}"
            _plain(pen, f"{k + 1:>3}  {days[k]:<{wide}} {measured} {'#' * max(1, length)}".rstrip())
    if floor:
        pen.line(f"Bars start at {plainly(floor, 4)}, not at 0.", "dim")


def _changes(row: Row) -> str:
    told: list[str] = []
    before: Value | None = None
    for k, value in enumerate(row.values, 1):
        if value is not None and value != before:
            told.append(f"{in_words(row.question, value)} (look {k})")
            before = value
    return ", then ".join(told)


def _plain(pen: Pen, text: str) -> None:
    # A row of a grid: its blanks are its meaning, so it is not wrapped.
    pen.row(text)
