"""``rindwright past compare``: two looks, or two makes, side by side."""

from __future__ import annotations

from pathlib import Path

from ...engine.answers import Answers, Value
from ...engine.archive import looks, makes
from ...engine.archive.compare import Compared, Difference, compare, make_answers
from ...engine.catalog import Catalog
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named, question_put
from ..pen import Pen
from ..phrasing import in_words, noun_of
from ..report import percent
from ..status import Status
from .looks import opened


def run(named: str | None, house: Path | None, first: str, second: str, as_makes: bool, no_color: bool) -> Status:
    """Show what differed, and what of it moved the ranking."""
    from ...engine.diagnosis import Diagnoser

    diagnoser = Diagnoser(knowledge_in_force(house))
    catalog = diagnoser.catalog
    with opened(named) as archive:
        sides: list[tuple[str, Answers]] = []
        for name in (first, second):
            if as_makes:
                make_id = makes.find_make(archive, name)
                sides.append((makes.full(archive, make_id)["name"], make_answers(archive, catalog, make_id)))
            else:
                look_id = looks.find(archive, name)
                record = looks.record_of(archive, look_id)
                given = looks.read_given(archive, look_id, catalog)
                sides.append((f"{record['name']} ({record['looked_on']})", given.as_answers()))
    found = compare(diagnoser, sides[0][1], sides[1][1])
    pen = Pen(console(no_color), screen_width())
    write(pen, catalog, sides[0][0], sides[1][0], sides[1][1], found)
    return Status.DONE


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
