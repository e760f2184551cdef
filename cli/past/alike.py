"""``rindwright past alike``: when did I see this before, and what worked then."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from ...engine.archive import looks
from ...engine.archive.alike import Alike, Case, alike, marks_of_look
from ...engine.archive.daybook import Record
from ...engine.archive.records import marks_of
from ...engine.archive.store import Archive
from ...engine.catalog import Catalog
from ...engine.errors import AnswersError, FileProblem
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named, fact_named, sign_named
from ..pen import Pen
from ..report import percent
from ..status import Status
from .looks import cause_words, cheese_words, opened

if TYPE_CHECKING:
    from ...engine.diagnosis import Diagnoser

WHY = 4
"""Marks shown for each."""


def run(named: str | None, house: Path | None, name: str, most: int, no_color: bool) -> Status:
    """Find looks and published cases like a look."""
    from ...engine.diagnosis import Diagnoser

    diagnoser = Diagnoser(knowledge_in_force(house))
    catalog = diagnoser.catalog
    pen = Pen(console(no_color), screen_width())
    with opened(named) as archive:
        look_id = looks.find(archive, name)
        name = looks.record_of(archive, look_id)["name"]
        marks = marks_of_look(archive, look_id) or marks_of_answers(diagnoser, archive, look_id)
        found = alike(archive, marks, tuple(published(diagnoser)), look_id, most)
        if not found:
            pen.line(f'Nothing like look "{name}" is known yet.')
        else:
            pen.line(f"Most like look {name}", "bold")
        for one in found:
            pen.line()
            _write(pen, catalog, archive, one)
    return Status.DONE


def marks_of_answers(diagnoser: Diagnoser, archive: Archive, look_id: int) -> frozenset[str]:
    """The marks of a look that was not finished."""
    answers = looks.read_given(archive, look_id, diagnoser.catalog).as_answers()
    cheese = answers.cheese(diagnoser.catalog)
    settled = diagnoser.chainer.run(answers).settled
    return frozenset(marks_of(_body(settled, cheese.family, cheese.style.id if cheese.style else None)))


def published(diagnoser: Diagnoser) -> Iterator[Case]:
    """The published investigations that come with the program."""
    from ...engine.reading.answers_file import read_answers
    from ...engine.reading.nodes import read_text, read_yaml

    catalog = diagnoser.catalog
    folder = Path(str(files("rindwright.cases").joinpath("published")))
    for path in sorted(folder.glob("*.yaml")):
        text = read_text(path)
        data = read_yaml(text, path.name).data
        try:
            answers = read_answers(catalog, text, path.name)
        except (AnswersError, FileProblem):  # a case of other knowledge is no reason to fail here
            continue
        if not isinstance(data, dict):
            continue
        cheese = answers.cheese(catalog)
        body = _body(diagnoser.chainer.run(answers).settled, cheese.family, cheese.style.id if cheese.style else None)
        expect = data.get("expect")
        named = [v for v in (expect or {}).values() if isinstance(v, str)] if isinstance(expect, dict) else []
        source = data.get("source")
        yield Case(
            str(data.get("title", path.stem)),
            frozenset(marks_of(body)),
            tuple(c for c in named if c in catalog.causes),
            tuple(str(s) for s in source) if isinstance(source, list) else (),
            str(data.get("note") or ""),
        )


def _body(settled: object, family: str | None, style: str | None) -> Record:
    facts = dict(settled.items())  # type: ignore[attr-defined]
    return {
        "family": family,
        "style": style,
        "signs": {n[5:]: "there" if so else "not there" for n, so in facts.items() if n.startswith("sign ")},
        "holds": {n[13:]: so for n, so in facts.items() if n.startswith("circumstance ")},
    }


def _write(pen: Pen, catalog: Catalog, archive: Archive, one: Alike) -> None:
    if one.case is not None:
        pen.line(f"Published: {one.case.title} (likeness {percent(one.likeness)})", "bold")
        source = f"Source: {', '.join(one.case.sources)}. " if one.case.sources else ""
        pen.item("", source + one.case.note, 2)
        if one.case.causes:
            pen.item("", f"There it was: {cause_words(catalog, one.case.causes)}.", 2)
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
        return f"no {sign_named(catalog, name)}"
    if kind == "holds" and name in catalog.circumstances:
        return fact_named(catalog, name)
    if kind == "style" and name in catalog.styles:
        return catalog.styles[name].name
    return f"week {int(name) + 1}" if kind == "week" and name.isdigit() else ""
