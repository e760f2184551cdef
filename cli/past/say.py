"""``rindwright past did``, ``seen``, ``outcome``, ``note``: what the maker says afterwards."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import click

from ...engine.archive import looks, makes
from ...engine.archive.store import Archive
from ...engine.catalog import Catalog
from ...engine.days import past_day
from ...engine.errors import FileProblem, listed, nearest
from .. import clock
from ..context import knowledge_in_force, packaged_knowledge
from ..status import Status
from .looks import cause_words, opened

KNOWN_BY = {"laboratory": "laboratory", "lens": "lens", "remedy": "remedy worked", "own": "own view"}
NOTHING = "nothing"


def did(named: str | None, name: str, words: Sequence[str], act: str, on: str | None) -> Status:
    """Keep what was done: numbers of steps, or words."""
    catalog = Catalog(packaged_knowledge())
    if act and act not in catalog.acts:
        raise FileProblem(f'"{act}" is not an act{nearest(act, catalog.acts)}.')
    told = _said(words, "what was done, in words or by the number of a step")
    with opened(named, writable=True) as archive:
        look_id = looks.find(archive, name)
        on_date = _on(on, archive, look_id)
        deeds = [(told, act)]
        numbers = re.findall(r"[^\s,]+", told)
        if all(word.isdecimal() for word in numbers):
            weighed = looks.record_of(archive, look_id)["weighed"]
            steps = weighed["today"] if weighed else []
            wrong = [word for word in numbers if not 1 <= int(word) <= len(steps)]
            if wrong:
                raise FileProblem(f'Look "{name}" was given {len(steps)} steps; there is no step {listed(wrong)}.')
            some = [steps[int(word) - 1] for word in numbers]
            deeds = [(f"{step['do']} {step['amount']}".strip(), act or step["act"]) for step in some]
        looks.add_deeds(archive, look_id, on_date, deeds, clock.now())
    for what, _ in deeds:
        click.echo(f"Kept: {what}")
    return Status.DONE


def seen(named: str | None, name: str, result: str, on: str | None) -> Status:
    """Keep how it looked the next time."""
    with opened(named, writable=True) as archive:
        look_id = looks.find(archive, name)
        on_date = _on(on, archive, look_id)
        wheel = makes.wheel_of(archive, look_id)
        if not looks.close_follow_up(archive, look_id, on_date, result, clock.now()):
            raise FileProblem(f'Look "{name}" is not waiting to be looked at again. See: rindwright past due')
    click.echo(f"Kept: {result}.")
    if result == "better":
        click.echo(f'If that settles what it was: rindwright past outcome "{name}" CAUSE --known-by remedy')
    else:
        again = f' --wheel "{wheel.title}"' if wheel else ""
        click.echo(f"Look at it afresh: rindwright ask{again}")
    return Status.DONE


def outcome(
    named: str | None,
    house: Path | None,
    name: str,
    causes: Sequence[str],
    known_by: str,
    only: bool,
    taste: str,
    on: str | None,
) -> Status:
    """Keep what it turned out to be."""
    catalog = Catalog(knowledge_in_force(house))
    named_causes = [_cause(catalog, cause) for cause in dict.fromkeys(causes) if cause != NOTHING]
    if named_causes and NOTHING in causes:
        raise FileProblem(f"Say either  {NOTHING}  or causes, not both.")
    unknown = [c for c in named_causes if c not in catalog.causes]
    if unknown:
        told = " ".join(f'"{c}" is not a cause{nearest(c, catalog.causes)}.' for c in unknown)
        raise FileProblem(f'{told} What was found then: rindwright past show "{name}"; or say  {NOTHING}.')
    with opened(named, writable=True) as archive:
        look_id = looks.find(archive, name)
        on_date = _on(on, archive, look_id)
        # That nothing was wrong says of every cause that it was not there.
        complete = only or not named_causes
        looks.add_outcome(
            archive, look_id, on_date, named_causes, KNOWN_BY[known_by], complete, taste, clock.now()
        )  # fmt: skip
    click.echo(f"Kept: {cause_words(catalog, named_causes)}.")
    return Status.DONE


def note(named: str | None, name: str, words: Sequence[str], on: str | None) -> Status:
    """Keep a note."""
    text = _said(words, "the note")
    with opened(named, writable=True) as archive:
        look_id = looks.find(archive, name)
        looks.add_note(archive, look_id, _on(on, archive, look_id), text, clock.now())
    click.echo("Kept.")
    return Status.DONE


def _said(words: Sequence[str], what: str) -> str:
    text = " ".join(words).strip()
    if not text:
        raise FileProblem(f"Nothing was said; expected {what}.")
    return text


def _on(on: str | None, archive: Archive, look_id: int) -> str:
    """The day of what is said of a look: it cannot be before the look."""
    today = clock.today()
    return past_day(on, today, looks.record_of(archive, look_id)["looked_on"], "the look") if on else today


def _cause(catalog: Catalog, text: str) -> str:
    """The id of a cause by id or name; what was typed when it is none."""
    plain = text.strip().casefold()
    by_name = {cause.name.casefold(): id for id, cause in catalog.causes.items()}
    return by_name.get(plain, plain.replace(" ", "_").replace("-", "_"))
