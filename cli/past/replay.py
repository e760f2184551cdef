"""``rindwright past replay``: what today's knowledge would say of every stored look."""

from __future__ import annotations

import os
from pathlib import Path

from ...engine.archive import listing, looks
from ...engine.archive.learnt import standing
from ...engine.archive.replay import SPAN, Changed, changed, replay, replay_on, right_first, why
from ...engine.archive.store import Archive
from ...engine.catalog import Catalog
from ...engine.diagnosis import Diagnoser
from ...engine.errors import FileProblem
from ...engine.local import NONE, Local
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named
from ..pen import Pen
from ..progress import progress_line
from ..report import percent
from ..status import Status
from .looks import counted, opened


def run(named: str | None, house: Path | None, most: int, processes: int, dask: str | None, no_color: bool) -> Status:
    """Weigh all looks again and show what changed."""
    knowledge = knowledge_in_force(house)
    catalog = Catalog(knowledge)
    pen = Pen(console(no_color), screen_width())
    with opened(named) as archive:
        now = standing(archive, catalog)
        local = now.local if now else NONE
        total = listing.count(archive)
        if dask is not None:
            table = _on_dask(dask, archive, catalog, local)
        else:
            workers = processes or (os.cpu_count() or 1)
            with progress_line("Spans weighed") as tell:
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
            _write(pen, archive, diagnoser, one)
        if len(found) > most:
            pen.line()
            pen.line(f"{len(found) - most} more. See them: --most {len(found)}", "dim")
    return Status.DONE


def _on_dask(address: str, archive: Archive, catalog: Catalog, local: Local):  # type: ignore[no-untyped-def]
    try:
        from distributed import Client
    except ImportError:
        raise FileProblem("dask is not installed here: pip install 'rindwright[institute]'") from None
    try:
        client = Client(address, timeout="5s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise FileProblem(f"There is no dask scheduler at {address}: {error}") from None
    with client:
        return replay_on(client, archive, catalog.knowledge, local)


def _write(pen: Pen, archive: Archive, diagnoser: Diagnoser, one: Changed) -> None:
    catalog = diagnoser.catalog
    name, told, body = archive.db.execute(
        "SELECT name, first_cause, body FROM look JOIN weighed ON look_id = id WHERE id = ?", (one.id,)
    ).fetchone()
    answers = looks.read_given(archive, one.id, catalog).as_answers()
    pen.line()
    pen.line(name, "bold")
    pen.item("Then: ", _told(catalog, one.then_verdict, told, one.then_probability), 2)
    pen.item("Now: ", _told(catalog, one.verdict, one.first, one.probability), 2)
    causes = [c for c in dict.fromkeys((one.then_first, one.first)) if c in catalog.causes]
    for reason in why(diagnoser, answers, _loaded(body), [c for c in causes if c is not None]):
        pen.item(
            "Because: ",
            f"{reason.says} counts {reason.now:+.1f} for {cause_named(catalog, reason.cause, True)}, then "
            f"{reason.then:+.1f}",
            2,
        )


def _loaded(body: str) -> dict[str, object]:
    import json

    found: dict[str, object] = json.loads(body)
    return found


def _told(catalog: Catalog, verdict: str | None, cause: str | None, p: float) -> str:
    first = f"{cause_named(catalog, cause)} {percent(p)}" if cause else "no cause"
    words = {"stop": "STOP, ", "hold": "HOLD, ", "normal": "normal for its age, ", "undecided": "undecided, "}
    return f"{words.get(verdict or '', '')}{first}"
