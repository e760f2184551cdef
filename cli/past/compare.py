"""``rindwright past compare``: two looks, or two makes, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ...engine.answers import Answers, Value
from ...engine.archive import listing, looks, makes
from ...engine.archive.compare import Compared, Difference, compare, make_answers
from ...engine.archive.daybook import Record
from ...engine.archive.listing import LookRow
from ...engine.catalog import Catalog
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named, question_put
from ..pen import Pen
from ..phrasing import in_words, noun_of
from ..sentences import percent
from ..status import Status
from .looks import cause_words, opened


def run(named: str | None, house: Path | None, first: str, second: str, as_makes: bool, no_color: bool) -> Status:
    """Show what differed, and what of it moved the ranking."""
    from ...engine.diagnosis import Diagnoser

    diagnoser = Diagnoser(knowledge_in_force(house))
    catalog = diagnoser.catalog
    entered: list[dict[str, str]] = []
    with opened(named) as archive:
        sides: list[tuple[str, Answers]] = []
        for name in (first, second):
            if as_makes:
                make_id = makes.find_make(archive, name)
                make = makes.full(archive, make_id)
                sides.append((make["name"], make_answers(archive, catalog, make_id)))
                entered.append(_entered(catalog, make, listing.listed(archive, make_id=make_id, most=1_000)))
            else:
                look_id = looks.find(archive, name)
                record = looks.record_of(archive, look_id)
                given = looks.read_given(archive, look_id, catalog)
                sides.append((f"{record['name']} ({record['looked_on']})", given.as_answers()))
    found = compare(diagnoser, sides[0][1], sides[1][1])
    pen = Pen(console(no_color), screen_width())
    write(pen, catalog, sides[0][0], sides[1][0], sides[1][1], found)
    if as_makes:
        _write_entered(pen, *entered)
    return Status.DONE


def _entered(catalog: Catalog, make: Record, rows: Sequence[LookRow]) -> dict[str, str]:
    """What stands with a make in words, and what its looks turned out to be."""
    style = catalog.styles.get(make["style"] or "")
    ends = [f"{cause_words(catalog, row.outcome)} ({row.name})" for row in rows if row.outcome is not None]
    return {
        "Meant to be": style.name if style else "",
        "Milk": make["milk"],
        "Salt": make["salt"],
        "Cultures": "; ".join(f"{c['species']} {c['amount']}".strip() for c in make["cultures"]),
        "Turned out": "; ".join(reversed(ends)),
    }


def _write_entered(pen: Pen, before: dict[str, str], after: dict[str, str]) -> None:
    other = {label: (before[label], after[label]) for label in before if before[label] != after[label]}
    if other:
        pen.heading("Entered with the makes")
    for label, (a, b) in other.items():
        pen.item("- ", f"{label}: {a or 'not said'}, then {b or 'not said'}")


def write(pen: Pen, catalog: Catalog, first: str, second: str, after: Answers, found: Compared) -> None:
    """The whole comparison."""
    pen.line(f"From {first} to {second}", "bold")
    if not found.differences:
        pen.line("The same answers.")
        return
    pen.heading("How the ranking moved, by what is known today")
    for cause, before, now in found.causes:
        pen.item("- ", f"{cause_named(catalog, cause)}: {_share(before)}, then {_share(now)}")
    telling = [d for d in found.differences if d.moved]
    rest = [d for d in found.differences if not d.moved]
    if telling:
        pen.heading("Differences that moved it, most first")
    for difference in telling:
        _write_difference(pen, catalog, difference, after)
    if rest:
        pen.heading("Other differences")
    for difference in rest:
        _write_difference(pen, catalog, difference, after)


def _write_difference(pen: Pen, catalog: Catalog, d: Difference, after: Answers) -> None:
    question = catalog.questions[d.question]
    noun = noun_of(catalog, after)

    def said(value: Value | None) -> str:
        return "not asked" if value is None else in_words(question, value)

    pen.item("- ", f"{question_put(catalog, question, noun)} {said(d.before)}, then {said(d.after)}")
    for cause, by in d.moved:
        way = "for" if by > 0 else "against"
        pen.item("", f"speaks {way} {cause_named(catalog, cause, True)} ({_strength(by)})", 4)


def _strength(by: float) -> str:
    size = abs(by)
    return "strongly" if size >= 1.5 else "clearly" if size >= 0.7 else "a little"


def _share(p: float | None) -> str:
    return "does not apply" if p is None else percent(p)
