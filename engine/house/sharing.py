"""Somebody else's folder of house rules, looked at before anything of it is taken in.

Read as untrusted: plain files of the folder itself, small, no links, no code. What would change or
silence a rule that is in the house already is refused.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..errors import Fault, FileProblem
from ..model import Knowledge
from ..reading.nodes import decode
from .folder import HOUSE_CAP, MOST_RULES, plain, read_bytes
from .layering import Layered, layer
from .reading import Entry, Shelf, named, read_rule, read_shelf


@dataclass(frozen=True, slots=True)
class Offer:
    """What a folder offers, and what of it can be taken."""

    taken: tuple[Entry, ...]
    """Rules that can be taken in, by name."""
    texts: dict[str, str]
    """The text of each file that can be taken in, by rule."""
    there: tuple[str, ...]
    """Rules that stand in the house already, word for word."""
    faults: tuple[Fault, ...]
    """Why the others cannot be taken."""
    layered: Layered
    """The packaged knowledge with the house and what can be taken."""


def look_into(
    folder: Path, packaged: Knowledge, house: Shelf, room: tuple[int, int] = (MOST_RULES, HOUSE_CAP)
) -> Offer:
    """What a folder offers to a house with room for so many rules and bytes. Raises ``FileProblem`` when it is none."""
    if not folder.is_dir():
        raise FileProblem(f"{plain(str(folder))} is not a folder of house rules.")
    shelf = read_shelf(folder)
    faults = list(shelf.faults)
    own = named(house.entries)
    texts: dict[str, str] = {}
    there: list[str] = []
    size = 0
    offered: dict[str, Entry] = {}
    for entry in shelf.entries:
        mine = own.get(entry.name)
        if mine is not None:
            if mine.rule == entry.rule:
                there.append(entry.name)
            else:
                faults.append(
                    entry.fault(
                        ("rule",), f'There is a rule "{entry.name}" in the house already, of {mine.rule.owner}.'
                    )
                )
            continue
        try:
            text = decode(read_bytes(folder / entry.read.file, entry.read.file), entry.read.file)
            again, wrong = read_rule(text, entry.read.file)  # what is kept is what was checked
        except FileProblem as problem:
            faults.append(Fault(entry.read.file, 1, 1, str(problem)))
            continue
        faults.extend(wrong)
        if again is None:
            continue
        size += len(text.encode())
        if len(offered) >= room[0] or size > room[1]:
            full = f"The house is full: it holds up to {MOST_RULES} rules and {HOUSE_CAP // 1024**2} MB."
            faults.append(again.fault(("rule",), full))
            continue
        offered[entry.name] = again
        texts[entry.name] = text
    before = layer(packaged, house.entries)
    layered = _fitting(packaged, house, offered, set(before.in_force), faults)
    return Offer(
        tuple(offered.values()), {n: texts[n] for n in offered}, tuple(there), tuple(sorted(set(faults))), layered
    )


def _fitting(
    packaged: Knowledge, house: Shelf, offered: dict[str, Entry], before: set[str], faults: list[Fault]
) -> Layered:
    """Drop offers until every one left counts, and every rule of the house counts as before."""
    while True:
        layered = layer(packaged, [*house.entries, *offered.values()])
        counts = set(layered.in_force)
        fallen = [n for n, e in offered.items() if n not in counts and e.rule.resting is None]
        files = {offered[n].read.file for n in fallen}
        faults.extend(f for f in layered.faults if f.file in files)
        if not fallen and not before <= counts:
            # Nothing is wrong with an offer itself, but it silences a rule of this house.
            fallen = [n for n, e in offered.items() if e.rule.off or e.rule.replaces] or list(offered)
            hurt = ", ".join(sorted(before - counts))
            faults.extend(offered[n].fault((), f"It would silence rules of this house: {hurt}.") for n in fallen)
        if not fallen:
            return layered
        for name in fallen:
            del offered[name]


def adds_up(entries: Sequence[Entry]) -> dict[str, int]:
    """How many entries of each kind a set of rules brings."""
    from .shapes import PARTS

    return {part: count for part in PARTS if (count := sum(len(getattr(e.rule, part)) for e in entries))}
