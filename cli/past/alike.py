"""``rindwright past alike``: when did I see this before, and what worked then."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from ...engine.archive import looks
from ...engine.archive.alike import Alike, Case, alike, beside_the_point, marks_of_look
from ...engine.archive.daybook import Record
from ...engine.archive.records import marks_of
from ...engine.archive.store import Archive
from ...engine.archive.weighed import shown
from ...engine.catalog import Catalog, Cheese
from ...engine.errors import AnswersError, FileProblem
from ...engine.figures import with_figures
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named, fact_named, sign_named
from ..pen import Pen
from ..sentences import percent
from ..status import Status
from .looks import cause_words, cheese_words, opened

WHY = 4
"""Marks shown for each."""


def run(named: str | None, house: Path | None, name: str, most: int, no_color: bool) -> Status:
    """Find looks and published cases like a look."""
    catalog = Catalog(knowledge_in_force(house))
    pen = Pen(console(no_color), screen_width())
    with opened(named) as archive:
        look_id = looks.find(archive, name)
        name = looks.record_of(archive, look_id)["name"]
        marks = marks_of_look(archive, look_id) or marks_of_answers(catalog, archive, look_id)
        found = alike(archive, marks, published(catalog), look_id, most, beside_the_point(catalog))
        if not found:
            pen.line(f'Nothing like look "{name}" is known yet.')
        else:
            pen.line(f"Most like look {name}", "bold")
        for one in found:
            pen.line()
            _write(pen, catalog, archive, one)
    return Status.DONE


def marks_of_answers(catalog: Catalog, archive: Archive, look_id: int) -> frozenset[str]:
    """The marks of a look that was not finished."""
    from ...engine.chaining import Chainer

    answers = with_figures(catalog, looks.read_given(archive, look_id, catalog).as_answers())
    cheese = answers.cheese(catalog)
    settled = Chainer(catalog).run(answers).settled
    return frozenset(marks_of(_body(settled, cheese)))


def published(catalog: Catalog) -> list[Case]:
    """The published investigations that come with the program, all made out at once."""
    from ...engine.archive.columns import cohort_of
    from ...engine.pages.investigations import STRENGTHS, read_investigation
    from ...engine.reading.answers_file import read_answers

    folder = Path(str(files("rindwright.cases").joinpath("published")))
    told = []
    for path in sorted(folder.glob("*.yaml")):
        try:
            case = read_investigation(path)
            told.append((case, read_answers(catalog, case.text, path.name)))
        except (AnswersError, FileProblem):  # a case of other knowledge is no reason to fail here
            continue
    found = []
    settled = cohort_of(catalog, [answers for _, answers in told]).settled()
    for (case, answers), facts in zip(told, settled, strict=True):
        cheese = answers.cheese(catalog)
        body = _body(facts, cheese)
        causes = tuple(cause for cause in case.established if cause in catalog.causes)
        ground = STRENGTHS.get(case.strength, "")
        found.append(Case(case.title, frozenset(marks_of(body)), causes, case.source, case.story, ground))
    return found


def _body(settled: Mapping[str, bool], cheese: Cheese) -> Record:
    return {"family": cheese.family, "style": cheese.style.id if cheese.style else None, **shown(settled)}


def _write(pen: Pen, catalog: Catalog, archive: Archive, one: Alike) -> None:
    if one.case is not None:
        pen.line(f"Published: {one.case.title} (likeness {percent(one.likeness)})", "bold")
        if one.case.causes:
            ground = f" ({one.case.ground})" if one.case.ground else ""
            pen.item("", f"There it was: {cause_words(catalog, one.case.causes)}{ground}.", 2)
        pen.item("", one.case.story, 2)
        pen.item("", f"Source: {', '.join(one.case.sources)}.", 2)
    else:
        assert one.look_id is not None
        record = looks.record_of(archive, one.look_id)
        pen.line(f"{record['name']} (likeness {percent(one.likeness)})", "bold")
        pen.item("", f"{record['looked_on']}, {cheese_words(catalog, record['style'], record['age_days'])}.", 2)
        _then(pen, catalog, record)
    shared = [words for m in one.shared if (words := _in_words(catalog, m))][:WHY]
    if shared:
        pen.item("Alike: ", "; ".join(shared) + ".", 2)
    contrary = [words for m in one.contrary if (words := _in_words(catalog, m))][:2]
    if contrary:
        pen.item("Unlike: ", f"here {'; '.join(contrary)}, there the other way round.", 2)


def _then(pen: Pen, catalog: Catalog, record: Record) -> None:
    if record["outcomes"]:
        pen.item("", f"It turned out: {cause_words(catalog, record['outcomes'][-1]['causes'])}.", 2)
    elif record["verdict"] == "normal":
        pen.item("", "Normal for its age then; not confirmed.", 2)
    elif record["verdict"] == "undecided":
        pen.item("", "Undecided then.", 2)
    elif record["first_cause"]:
        pen.item("", f"First then: {cause_named(catalog, record['first_cause'])}; not confirmed.", 2)
    follow = record["follow_up"]
    result = follow["result"] if follow and follow["done_on"] else None
    worked = bool(record["outcomes"]) and record["outcomes"][-1]["known_by"] == "remedy worked"
    for deed in record["deeds"]:
        after = " It worked." if worked else f" Afterwards: {result}." if result else ""
        pen.item("Done: ", deed["what"].rstrip(".") + "." + after, 2)


def _in_words(catalog: Catalog, mark: str) -> str:
    kind, _, name = mark.partition(" ")
    if kind == "sign" and name in catalog.signs:
        return sign_named(catalog, name)
    if kind == "no" and name in catalog.signs:
        return f"not there: {sign_named(catalog, name)}"
    if kind == "holds" and name in catalog.circumstances:
        return fact_named(catalog, name)
    if kind == "style" and name in catalog.styles:
        return catalog.styles[name].name
    return f"week {int(name) + 1}" if kind == "week" and name.isdigit() else ""
