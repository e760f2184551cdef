"""``rindwright rules try``: what a rule would change, on answers files and on past looks."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ...engine.answers import Answers
from ...engine.archive.looks import read_given
from ...engine.archive.store import ArchiveProblem, open_archive
from ...engine.catalog import Catalog
from ...engine.errors import FileProblem, KnowledgeError
from ...engine.house.checking import check
from ...engine.house.reading import Shelf, named, read_shelf
from ...engine.house.speaking import told
from ...engine.house.voices import on_cause
from ...engine.reading.answers_file import read_answers
from ...engine.reading.nodes import read_text
from ...engine.reasons import SHOWN as LEAST_SHOWN
from ..context import archive_path, console, house_folder, packaged_knowledge, screen_width, standing_in
from ..house_words import tag
from ..pen import Pen
from ..sentences import counted, percent
from ..status import Status
from .files import text_of
from .shelf import reaches, with_draft

if TYPE_CHECKING:
    from ...engine.diagnosis import Diagnoser
    from ...engine.house.trying import Difference
    from ...engine.model import HouseMark, Knowledge
    from ...engine.short import Short

SHOWN = 3
"""Most causes whose move is shown for one look."""
Looks = list[tuple[str, Answers]]


def run(
    rule: str | None, files: Sequence[str], no_looks: bool, house: Path | None, archive: str | None, no_color: bool
) -> Status:
    """Weigh answers with a rule and without it, and say what changes."""
    from ...engine.house.layering import layer
    from ...engine.house.trying import try_on

    packaged, folder = packaged_knowledge(), house_folder(house)
    shelf = read_shelf(folder)
    name, shelf = _chosen(rule, shelf, folder)
    report = check(packaged, shelf, frozenset({name} if name else ()))
    if name is not None and name not in report.layered.in_force:
        raise KnowledgeError(f for f in report.of("fault") if f.file == f"{name}.yaml")
    with_it = report.layered.knowledge
    others = [e for e in shelf.entries if name is not None and e.name != name]
    without = layer(packaged, others).knowledge
    catalog = Catalog(with_it)
    pen = Pen(console(no_color), screen_width())
    looks = gather(catalog, files, no_looks, archive)
    what = f'"{name}"' if name else "all house rules"
    if not looks and name:
        rule_ = named(shelf.entries)[name].rule
        looks = [(f"its own example {n}", told(catalog, raw)[0]) for n, raw in enumerate(rule_.examples.speaks, 1)]
    if not looks:
        raise FileProblem("There is nothing to try it on: no past look. Give an answers file with --on FILE.")
    found = try_on(weighing(without, archive), weighing(with_it, archive), looks)
    pen.line(
        f"Tried {what} on {len(looks)} look{'' if len(looks) == 1 else 's'}. Nothing is changed by trying.", "bold"
    )
    if name:
        reaches(pen, catalog, report.reach.get(name, ()))
    summary(pen, found)
    for d in found:
        if d.any:
            pen.line()
            pen.line(d.name, "bold")
            details(pen, catalog, d)
    return Status.DONE


def _chosen(rule: str | None, shelf: Shelf, folder: Path) -> tuple[str | None, Shelf]:
    """The rule's name and the house with it in force. A resting rule is woken for the trial."""
    if rule is None:
        return None, shelf
    if rule.endswith((".yaml", ".yml")) or "/" in rule or "\\" in rule:
        shelf, entry = with_draft(shelf, Path(rule))
        if entry is None:
            raise KnowledgeError(f for f in shelf.faults if f.file == Path(rule).name)
        rule = entry.name
    entry = named(shelf.entries).get(rule)
    if entry is None:
        faults = [f for f in shelf.faults if f.file == f"{rule}.yaml"]
        if faults:
            raise KnowledgeError(faults)
        text_of(folder, rule)
        raise FileProblem(f'The house rule "{rule}" cannot be read.')
    if entry.rule.resting is not None:
        from dataclasses import replace

        woken = replace(entry, rule=replace(entry.rule, resting=None))
        shelf = Shelf(tuple(woken if e is entry else e for e in shelf.entries), shelf.faults)
    return rule, shelf


def gather(catalog: Catalog, files: Sequence[str], no_looks: bool, archive: str | None) -> Looks:
    """Answers to try on: the files given, and the past looks."""
    looks: Looks = [(file, read_answers(catalog, read_text(Path(file), file), file)) for file in files]
    place = archive_path(archive)
    if no_looks or not place.exists():
        return looks
    try:
        kept = open_archive(place, writable=False)
    except ArchiveProblem as problem:
        click.echo(str(problem), err=True)
        return looks
    with closing(kept):
        for id, name in kept.db.execute("SELECT id, name FROM look ORDER BY looked_on, id").fetchall():
            given = read_given(kept, id, catalog)
            if given.answers:
                looks.append((f"look {name}", given.as_answers()))
    return looks


def weighing(knowledge: Knowledge, archive: str | None) -> Diagnoser:
    """A diagnoser as the maker's own results come from it, with what past outcomes taught."""
    from ...engine.diagnosis import Diagnoser

    return Diagnoser(knowledge, standing_in(Catalog(knowledge), archive).local)


def summary(pen: Pen, found: Sequence[Difference]) -> None:
    """How many looks change, and in what."""
    from ...engine.house.trying import tally

    t = tally(found)

    advices = f"the advice of {counted(t.advices, 'look')}"
    changed = f"{counted(t.verdicts, 'verdict')}, {counted(t.firsts, 'first cause')} and {advices}"
    furthest = f"The furthest any cause moves: {counted(round(t.furthest * 100), 'point')} of a hundred."
    pen.line(f"Of {counted(t.looks, 'look')}: {changed} would change. {furthest}")


def details(pen: Pen, catalog: Catalog, d: Difference, was: str = "before", now: str = "now") -> None:
    """One look: verdict, first cause, probabilities, advice; before and after."""
    if d.verdict:
        pen.item("- ", f"verdict: {d.before.verdict} {was}, {d.after.verdict} {now}")
    if d.first:
        pen.item("- ", f"first: {_first(catalog, d.before)} {was}, {_first(catalog, d.after)} {now}")
    for m in d.moved[:SHOWN]:
        said = f"{m.title}: {_share(m.before)} {was}, {_share(m.after)} {now}"
        pen.item("- ", said + tag(on_cause(catalog, m.cause)))
    if len(d.moved) > SHOWN:
        pen.item("- ", f"and {len(d.moved) - SHOWN} more, by less")
    for text in d.added_steps:
        pen.item("+ ", f"new step: {text}{tag(_behind_step(catalog, text))}")
    for text in d.dropped_steps:
        pen.item("- ", f"no longer a step: {text}")
    for text in d.added_cautions:
        pen.item("! ", f"new caution: {text}")


def _first(catalog: Catalog, d: Short) -> str:
    if not d.causes:
        return "nothing"
    id, title, p = d.causes[0]
    return f"{title} ({_share(p)}){tag(on_cause(catalog, id))}"


def _share(p: float) -> str:
    return percent(p) if p else f"under {LEAST_SHOWN:.0%}"


def _behind_step(catalog: Catalog, do: str) -> tuple[HouseMark, ...]:
    """House rules behind a step, where one of them wrote it."""
    steps = (s for c in catalog.causes.values() for s in (*c.today, *c.next_make) if s.do == do)
    return tuple(dict.fromkeys(m for s in steps for m in catalog.marks(s.sources)))


def show_beside(pen: Pen, catalog: Catalog, now: Short, alone: Short, house: str) -> None:
    """What was found beside what the packaged knowledge alone says of the same answers."""
    from ...engine.house.trying import difference

    pen.heading("Beside it: the packaged knowledge alone")
    pen.line(f"Packaged version {catalog.knowledge.version[:16]}; house rules {house[:16] or 'none in force'}.")
    d = difference("", alone, now)
    if not d.any:
        pen.line("It says the same.")
        return
    details(pen, catalog, d, "alone", "with the house")
