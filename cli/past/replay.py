"""``rindwright past replay``: what today's knowledge would say of every stored look."""

from __future__ import annotations

import logging
import os
from pathlib import Path

from ...engine.archive import listing, looks
from ...engine.archive.changes import Changed, changed, right_first, why
from ...engine.archive.daybook import Record
from ...engine.archive.learnt import Standing, standing
from ...engine.archive.replay import SPAN, Table, Tell, replay, replay_on
from ...engine.archive.store import Archive
from ...engine.catalog import Catalog
from ...engine.diagnosis import Diagnoser
from ...engine.errors import FileProblem
from ...engine.local import NONE, Local
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named
from ..learnt_words import both
from ..pen import Pen
from ..progress import progress_line
from ..sentences import counted, percent
from ..status import Status
from .looks import opened

NO_ONE_ANSWER = "no one answer: how common causes are, or what else they would show, is set otherwise today"


def run(named: str | None, house: Path | None, most: int, processes: int, dask: str | None, no_color: bool) -> Status:
    """Weigh all looks again and show what changed."""
    knowledge = knowledge_in_force(house)
    catalog = Catalog(knowledge)
    pen = Pen(console(no_color), screen_width())
    with opened(named) as archive:
        now = standing(archive, catalog)
        local = now.local if now else NONE
        total = listing.count(archive)
        with progress_line("Looks weighed") as tell:
            if dask is not None:
                table = _on_dask(dask, archive, catalog, local, tell)
            else:
                workers = processes or (os.cpu_count() or 1)
                table = replay(archive, knowledge, local, workers if total > SPAN else 1, tell)
        nodes = tuple(catalog.causes)
        found = changed(table, nodes)
        confirmed, right_then, right_now = right_first(archive, table, nodes)
        rules = f" and house rules {knowledge.house_version[:12]}" if knowledge.house_version else ""
        pen.line(
            f"{counted(len(table), 'look')} weighed again under knowledge {knowledge.version[:12]}{rules}: "
            f"{counted(len(found), 'look')} would be told differently today.",
            "bold",
        )
        if confirmed:
            pen.line(
                f"Of {counted(confirmed, 'look')} with a confirmed cause, the first cause was right in {right_then} "
                f"then, and is in {right_now} today."
            )
        diagnoser = Diagnoser(knowledge, local)
        for one in found[:most]:
            _write(pen, archive, diagnoser, now, one)
        if len(found) > most:
            pen.line()
            pen.line(f"{len(found) - most} more. See them: --most {len(found)}", "dim")
    return Status.DONE


def _on_dask(address: str, archive: Archive, catalog: Catalog, local: Local, tell: Tell) -> Table:
    try:
        from distributed import Client
    except ImportError:
        raise FileProblem("dask is not installed here: pip install 'rindwright[institute]'") from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what goes wrong is told in a sentence
    try:
        client = Client(address, timeout="5s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise FileProblem(f"There is no dask scheduler at {address}: {error}") from None
    with client:
        return replay_on(client, archive, catalog.knowledge, local, tell)


def _write(pen: Pen, archive: Archive, diagnoser: Diagnoser, now: Standing | None, one: Changed) -> None:
    catalog = diagnoser.catalog
    name, told, body = archive.db.execute(
        "SELECT name, first_cause, body FROM look JOIN weighed ON look_id = id WHERE id = ?", (one.id,)
    ).fetchone()
    answers = looks.read_given(archive, one.id, catalog).as_answers()
    pen.line()
    pen.line(name, "bold")
    pen.item("Then: ", _told(catalog, one.then_verdict, told, one.then_probability), 2)
    pen.item("Now: ", _told(catalog, one.verdict, one.first, one.probability), 2)
    causes = [c for c in dict.fromkeys((one.then_first, one.first)) if c is not None and c in catalog.causes]
    weighed = _loaded(body)
    found = why(diagnoser, answers, weighed, causes)
    said = [f"now stands: {title}" for title in found.stands] + [f"no longer stands: {title}" for title in found.fell]
    if now is not None and weighed["local"] != now.local.stamp:
        learnt = {c.cause: c for c in now.corrections if c.kind == "base"}
        said += [f"{cause_named(catalog, c)}: {both(learnt[c])}" for c in causes if c in learnt]
    for reason in found.reasons:
        cause = cause_named(catalog, reason.cause, True)
        said.append(f"{reason.says} counts {reason.now:+.1f} for {cause}, then {reason.then:+.1f}")
    for line in said or [NO_ONE_ANSWER]:
        pen.item("Because: ", line, 2)


def _loaded(body: str) -> Record:
    import json

    found: Record = json.loads(body)
    return found


def _told(catalog: Catalog, verdict: str | None, cause: str | None, p: float) -> str:
    first = f"{cause_named(catalog, cause)} {percent(p)}" if cause else "no cause"
    words = {"stop": "STOP, ", "hold": "HOLD, ", "normal": "normal for its age, ", "undecided": "undecided, "}
    return f"{words.get(verdict or '', '')}{first}"
