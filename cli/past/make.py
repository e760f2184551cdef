"""``rindwright make``: begin a make, add to it, show it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from ...engine.answers import Unusable, understand
from ...engine.archive import listing, looks, makes
from ...engine.archive.store import Archive, open_archive
from ...engine.catalog import Catalog
from ...engine.days import day, later, past_day
from ...engine.errors import Faults, FileProblem, listed, nearest
from .. import clock
from ..context import archive_path, console, knowledge_in_force, screen_width
from ..house_words import question_put
from ..pen import Pen
from ..phrasing import in_words
from ..sentences import counted
from ..status import Status
from .looks import opened, write_row

LONGEST_SALTING_DAYS = 60
"""A day of salting later than this is a slip of the year."""


def run(named: str | None, house: Path | None, name: str | None, no_color: bool, given: dict[str, Any]) -> Status:
    """List makes, show one, or begin or change one when anything is given."""
    catalog = Catalog(knowledge_in_force(house))
    pen = Pen(console(no_color), screen_width())
    if name is None:
        if any(given.values()):
            raise FileProblem('Which make is meant? Name it first, such as: rindwright make "spring 1" --new')
        return _list(named, pen, catalog)
    changing = any(given[key] for key in given if key != "on")
    change = _understood(catalog, name, given)
    with open_archive(archive_path(named)) if given["new"] else opened(named, writable=changing) as archive:
        if given["new"]:
            make_id = makes.open_make(archive, name, clock.now(), given["wheel"] or ("1",))
        else:
            make_id = makes.find_make(archive, name)
        if changing:
            stored = makes.full(archive, make_id)
            _in_order(*(change["columns"].get(c) or stored[c] for c in ("made_on", "salting_ended_on")))
            makes.change_make(archive, make_id, clock.now(), **change)
        _show(pen, catalog, archive, make_id)
    return Status.DONE


def _understood(catalog: Catalog, name: str, given: dict[str, Any]) -> dict[str, Any]:
    """What ``change_make`` takes, from what was typed. Raises ``FileProblem`` with every fault; nothing is kept yet."""
    faults = Faults()
    today = clock.today()
    on = today
    columns = {column: given[column] for column in ("milk", "salt") if given[column]}
    if given["on"]:
        with faults.noted():
            on = past_day(given["on"], today)
    if given["meant"]:
        with faults.noted():
            columns |= _style(catalog, given["meant"])
    for option, column, last in (
        ("made", "made_on", today),
        ("salted", "salting_ended_on", later(today, LONGEST_SALTING_DAYS)),
    ):
        if given[option]:
            with faults.noted():
                columns[column] = _by(given[option], today, last)
    with faults.noted():
        _in_order(columns.get("made_on"), columns.get("salting_ended_on"))
    for new in ([name] if given["new"] else []) + [*given["wheel"]]:
        with faults.noted():
            _check_name(new)
    # A make entered late is known from the day it was made, so that looks at it before today find its facts.
    entered = [columns[c] for c in ("made_on", "salting_ended_on") if c in columns and given["new"] and not given["on"]]
    since = min([on, *entered])
    facts: dict[str, list[makes.Fact]] = {"fact": [], "plan": []}
    for option, told in facts.items():
        for text in given[option]:
            with faults.noted():
                told.append(_fact(catalog, name, text, since, planned=option == "plan"))
    faults.end()
    return {
        "columns": columns,
        "cultures": [(s.strip(), a.strip()) for s, _, a in (c.partition("=") for c in given["culture"])],
        "wheels": given["wheel"],
        "facts": facts["fact"],
        "planned": facts["plan"],
        "note": (on, given["note"]) if given["note"] else None,
    }


def _fact(catalog: Catalog, name: str, text: str, since: str, planned: bool) -> makes.Fact:
    fact = makes.fact_of(catalog, text, since)
    if fact.question in ("family", "style"):
        raise FileProblem(f'Say what it was meant to be with --meant STYLE, not with "{text}".')
    if not planned and fact.question in makes.shown_by_the_rind(catalog):
        raise FileProblem(
            f'"{fact.question}" is for the day of a look; say it there: rindwright ask --wheel "{name}/..."'
        )
    return fact


def _style(catalog: Catalog, text: str) -> dict[str, str]:
    try:
        style = catalog.styles[str(understand(catalog.questions["style"], text))]
    except (Unusable, KeyError):
        known = listed([*catalog.styles])
        raise FileProblem(f'"{text}" is not a style{nearest(text, catalog.styles)}; expected {known}.') from None
    return {"style": style.id, "family": next(f.id for f in catalog.families.values() if style in f.styles)}


def _by(text: str, today: str, last: str) -> str:
    read = day(text, today)
    if read > last:
        raise FileProblem(f'"{text}" lies too far ahead; expected a day up to {last}.')
    return read


def _in_order(made: str | None, salted: str | None) -> None:
    if made and salted and salted < made:
        raise FileProblem(f"Salting cannot end ({salted}) before the make ({made}).")


def _list(named: str | None, pen: Pen, catalog: Catalog) -> Status:
    with opened(named) as archive:
        found = makes.makes(archive)
    if not found:
        pen.line('No makes yet. Begin one: rindwright make "spring 1" --new --meant small_soft')
    for name, style, made_on, wheels, seen in found:
        what = catalog.styles[style].name if style in catalog.styles else "style not said"
        made = f", made {made_on}" if made_on else ""
        pen.line(name, "bold")
        pen.item("", f"{what}{made}. {counted(wheels, 'wheel')}, {counted(seen, 'look')}.", 2)
    return Status.DONE


def _show(pen: Pen, catalog: Catalog, archive: Archive, make_id: int) -> None:
    make = makes.full(archive, make_id)
    pen.line(f"Make {make['name']}", "bold")
    style = catalog.styles.get(make["style"] or "")
    lines = [
        ("Meant to be", style.name if style else ""),
        ("Made on", make["made_on"]),
        ("Salting ended on", make["salting_ended_on"]),
        ("Milk", make["milk"]),
        ("Salt", make["salt"]),
        ("Cultures", "; ".join(f"{c['species']} {c['amount']}".strip() for c in make["cultures"])),
        ("Wheels", ", ".join(w["name"] for w in make["wheels"])),
    ]
    for label, value in lines:
        if value:
            pen.item(f"{label}: ", value, 2)
    for is_plan, title in ((False, "Known of it"), (True, "Planned")):
        facts = [f for f in make["facts"] if f["planned"] is is_plan]
        if facts:
            pen.heading(title)
        for question, value, since in looks.fitting(
            catalog, [[f["question"], f["value"], f["on_date"]] for f in facts]
        ):
            q = catalog.questions[question]
            pen.item("- ", f"{question_put(catalog, q)} {in_words(q, value)} ({since})")
    if make["notes"]:
        pen.heading("Notes")
    for note in make["notes"]:
        pen.item("- ", f"{note['on_date']}: {note['text']}")
    rows = listing.listed(archive, make_id=make_id, most=100)
    if rows:
        pen.heading("Looks")
    for row in rows:
        write_row(pen, catalog, row)
    if not rows and make["wheels"]:
        pen.line()
        pen.line(f'Look at a wheel: rindwright ask --wheel "{make["name"]}/{make["wheels"][0]["name"]}"')


def _check_name(name: str) -> None:
    if not re.fullmatch(r"[\w][\w. -]{0,60}", name):
        raise FileProblem(f'"{name}" cannot name a make or wheel; use letters, digits, spaces and dashes.')
