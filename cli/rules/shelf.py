"""``rindwright rules check``, ``list`` and ``show``."""

from __future__ import annotations

from pathlib import Path

from ...engine.catalog import Catalog
from ...engine.errors import FileProblem, RindwrightError
from ...engine.house.checking import Report
from ...engine.house.checking import check as look_over
from ...engine.house.folder import plain
from ...engine.house.layering import layer, mark_of
from ...engine.house.reach import Reach
from ...engine.house.reading import Entry, Shelf, named, read_rule, read_shelf
from ...engine.house.voices import as_records
from ...engine.model import HouseMark
from ...engine.reading.nodes import read_text
from .. import as_json as shapes
from ..context import console, house_folder, packaged_knowledge, screen_width
from ..house_words import gone, whose
from ..pen import Pen
from ..sentences import counted, percent
from ..status import Status
from .files import text_of
from .words import does, in_plain_words

REACHED = 5
"""Causes for which it is said how far a rule moves them."""
SAID = {"fault": "fault", "example": "example", "doubt": "look again"}


def check(place: Path | None, house: Path | None, no_color: bool) -> Status:
    """Every remark on the rules of a place; ``INVALID`` when one does not count or fails its own example."""
    pen = Pen(console(no_color), screen_width())
    folder = place or house_folder(house)
    only = None
    if place is not None and not place.is_dir():
        shelf, draft = with_draft(read_shelf(house_folder(house)), place)
        only = frozenset({draft.name} if draft else ())
        names = f"{plain(place.name)}, beside the rules of your house"
    else:
        if place is not None and not place.exists():
            raise FileProblem(f"{plain(str(place))} does not exist.")
        shelf, names = read_shelf(folder), plain(str(folder))
    report = look_over(packaged_knowledge(), shelf, only)
    remarks = [r for r in report.remarks if only is None or r.fault.file == (place.name if place else "")]
    for remark in remarks:
        pen.item(f"{SAID[remark.kind]}: ", str(remark.fault))
    bad = sum(r.kind != "doubt" for r in remarks)
    pen.line(
        f"{counted(len(report.layered.in_force), 'rule')} in force, {counted(bad, 'fault')}, "
        f"{counted(len(remarks) - bad, 'doubt')}: {names}."
    )
    if any(r.kind == "fault" for r in remarks):
        pen.line("A rule with a fault counts for nothing; the others work without it.")
    return Status.INVALID if bad else Status.DONE


def with_draft(shelf: Shelf, file: Path) -> tuple[Shelf, Entry | None]:
    """The house with a rule from a file in it, in place of the one of the same name."""
    entry, wrong = read_rule(read_text(file), file.name)
    others = tuple(e for e in shelf.entries if entry is None or e.name != entry.name)
    return Shelf((*others, entry) if entry else shelf.entries, (*shelf.faults, *wrong)), entry


def listing(everything: bool, as_json: bool, house: Path | None, no_color: bool) -> Status:
    """Every house rule with its state; and with ``everything`` every cause with its layer."""
    packaged, folder = packaged_knowledge(), house_folder(house)
    shelf = read_shelf(folder)
    report = look_over(packaged, shelf, frozenset())
    entries = named(shelf.entries)
    states = {n: _state(report, e) for n, e in entries.items()}
    if as_json:
        import click

        rows = [
            {**as_records([mark_of(e.rule)])[0], "layer": "house", "state": states[n], "does": does(mark_of(e.rule))}
            for n, e in entries.items()
        ]
        shape = {
            "schema": "rindwright-rules/1",
            "knowledge": packaged.version,
            "house": report.layered.knowledge.house_version,
            "rules": rows,
            "faults": [str(f) for f in report.of("fault")],
        }
        click.echo(shapes.text(shape))
        return Status.DONE
    pen = Pen(console(no_color), screen_width())
    pen.line(f"House: {folder}", "bold")
    if not entries and not shelf.faults:
        pen.line("No house rules yet. Write one: rindwright rules new")
    for name, entry in entries.items():
        mark = mark_of(entry.rule)
        pen.item("- ", f"{name}: {states[name]}. {mark.owner}, {mark.date}. {does(mark)[:1].upper()}{does(mark)[1:]}.")
    for fault in report.of("fault"):
        pen.item("- ", f"does not count: {fault}")
    pen.line(
        f"Packaged: {len(packaged.causes)} causes, {len(packaged.signs)} signs, {len(packaged.circumstances)} "
        f"circumstances, {len(packaged.cautions)} cautions. Version {packaged.version[:16]}."
    )
    if everything:
        _layers(pen, Catalog(packaged), Catalog(report.layered.knowledge))
    return Status.DONE


def _layers(pen: Pen, below: Catalog, now: Catalog) -> None:
    pen.heading("Causes, and the layer each comes from")
    for id in sorted(below.causes.keys() | now.causes.keys()):
        marks = [m for m in now.knowledge.house if _touches(m, id)]
        said = ", ".join(m.rule for m in marks)
        if id not in now.causes:
            layer = f"packaged, switched off by {said}"
        elif id not in below.causes:
            layer = f"house ({said})"
        else:
            layer = f"packaged, changed by {said}" if marks else "packaged"
        pen.item("- ", f"{id}: {layer}")


def _touches(mark: HouseMark, cause: str) -> bool:
    return any(cause in what.split() for what in (*mark.adds, *mark.changes, *mark.switches_off))


def _state(report: Report, entry: Entry) -> str:
    if entry.rule.resting is not None:
        return f"resting since {entry.rule.resting.since} ({' '.join(entry.rule.resting.because.split())})"
    return "in force" if entry.name in report.layered.in_force else "does not count"


def show(name: str, house: Path | None, no_color: bool) -> Status:
    """One rule in plain words. A packaged id shows its card instead."""
    packaged, folder = packaged_knowledge(), house_folder(house)
    shelf = read_shelf(folder)
    entry = named(shelf.entries).get(name)
    if entry is None:
        return _other(name, Catalog(packaged), shelf, folder, no_color)
    report = look_over(packaged, shelf, frozenset({name}))
    catalog = Catalog(report.layered.knowledge)
    pen, mark = Pen(console(no_color), screen_width()), mark_of(entry.rule)
    pen.heading(f"{whose(mark)[:1].upper()}{whose(mark)[1:]}")
    pen.line(f"Layer: house; {_state(report, entry)}. File: {folder / entry.read.file}")
    pen.line(f"Because: {mark.because}")
    for sentence in in_plain_words(catalog, entry.rule, Catalog(packaged)):
        pen.item("- ", sentence)
    reaches(pen, catalog, report.reach.get(name, ()))
    speaks, silent = len(entry.rule.examples.speaks), len(entry.rule.examples.silent)
    pen.line(f"Examples: {speaks} where it must speak, {silent} where it must stay silent.")
    for remark in report.remarks:
        if remark.fault.file == entry.read.file:
            pen.item(f"{SAID[remark.kind]}: ", str(remark.fault))
    return Status.DONE


def reaches(pen: Pen, catalog: Catalog, each: tuple[Reach, ...], indent: int = 0) -> None:
    """How far a rule can move each cause."""
    for r in each[:REACHED]:
        name = catalog.causes[r.cause].name.lower()
        pen.item("- ", f"At the most it moves {name} from {percent(r.base)} to {percent(r.moved)}.", indent)
    if len(each) > REACHED:
        pen.item("- ", f"It bears on {len(each) - REACHED} more causes, by less.", indent)


def _other(name: str, below: Catalog, shelf: Shelf, folder: Path, no_color: bool) -> Status:
    faults = [f for f in shelf.faults if f.file == f"{name}.yaml"]
    if faults:
        raise RindwrightError("\n".join(str(f) for f in faults))
    pools = (below.causes, below.signs, below.circumstances, below.cautions, below.normal, below.acts)
    if any(name in pool for pool in pools):
        from ..card import show

        pen, now = Pen(console(no_color), screen_width()), Catalog(layer(below.knowledge, shelf.entries).knowledge)
        off = [m for m in now.knowledge.house if gone(m, name)]
        if off:
            pen.line(f"Layer: packaged; switched off in this house ({', '.join(whose(m) for m in off)}).")
        else:
            pen.line("Layer: packaged, with what the house adds.")
        show(pen, below if off else now, name)
        return Status.DONE
    text_of(folder, name)  # says that there is none, and the nearest
    raise RindwrightError(f'The house rule "{name}" cannot be read.')
