"""``rindwright rules take-in``: somebody else's folder, looked at as untrusted, then taken in or not."""

from __future__ import annotations

import sys
from pathlib import Path

from ...engine.catalog import Catalog
from ...engine.house.checking import check
from ...engine.house.folder import plain, room_left
from ...engine.house.layering import layer, mark_of
from ...engine.house.reading import Shelf, read_shelf
from ...engine.house.sharing import adds_up, look_into
from .. import clock
from ..context import console, house_folder, packaged_knowledge, screen_width
from ..house_words import whose
from ..pen import Pen
from ..status import Status
from . import files
from .shelf import reaches
from .trial import gather, summary, weighing
from .words import does

SHOWN = 12
"""Most rules listed one by one."""
FAULTS_SHOWN = 40
"""Most reasons given one by one."""


def run(folder: Path, yes: bool, house: Path | None, archive: str | None, no_color: bool) -> Status:
    """Say what a folder would change, ask, and copy what can be taken."""
    packaged, home = packaged_knowledge(), house_folder(house)
    shelf = read_shelf(home)
    offer = look_into(folder, packaged, shelf, room_left(home))
    pen, place = Pen(console(no_color), screen_width()), plain(str(folder))
    pen.line(
        f"{place} offers {len(offer.taken)} rule{'' if len(offer.taken) == 1 else 's'} that can be taken in.",
        "bold",
    )
    catalog = Catalog(offer.layered.knowledge)
    report = check(packaged, Shelf((*shelf.entries, *offer.taken), ()), frozenset())
    for entry in offer.taken[:SHOWN]:
        mark = mark_of(entry.rule)
        pen.item("- ", f"{whose(mark)}: {does(mark)}. Because: {mark.because}")
        reaches(pen, catalog, report.reach.get(entry.name, ()), indent=2)
    if len(offer.taken) > SHOWN:
        kinds = ", ".join(f"{n} {kind}" for kind, n in adds_up(offer.taken).items())
        pen.line(f"and {len(offer.taken) - SHOWN} more; in all: {kinds}.")
    for fault in offer.faults[:FAULTS_SHOWN]:
        pen.item("- ", f"not taken: {fault}")
    if len(offer.faults) > FAULTS_SHOWN:
        pen.line(f"and {len(offer.faults) - FAULTS_SHOWN} more faults. All of them: rindwright rules check {place}")
    if offer.there:
        pen.line(f"In the house already: {', '.join(offer.there)}.")
    if not offer.taken:
        pen.line("Nothing is taken in.")
        return Status.INVALID if offer.faults else Status.DONE
    looks = gather(catalog, (), False, archive)
    if looks:
        from ...engine.house.trying import try_on

        before = weighing(layer(packaged, shelf.entries).knowledge, archive)
        pen.line("On your past looks:")
        summary(pen, try_on(before, weighing(offer.layered.knowledge, archive), looks))
    if not yes and not _agreed(pen):
        pen.line("Nothing is taken in. To take it in without a question: --yes")
        return Status.DONE
    for entry in offer.taken:
        files.write(home, entry.name, offer.texts[entry.name], fresh=True)
        files.note(home, clock.today(), "take in", entry.name, f"from the folder {place}, of {entry.rule.owner}")
    pen.line(f"Taken in. Take one back: rindwright rules take-back {offer.taken[0].name}")
    return Status.DONE


def _agreed(pen: Pen) -> bool:
    if sys.stdin is None or sys.stdin.closed:
        return False
    pen.line("Take them in? yes or no.", "bold")
    pen.ask("> ")
    reply = sys.stdin.readline()
    if not sys.stdin.isatty():
        pen.line(" ".join(reply.split()))
    return reply.strip().casefold() in ("y", "yes")
