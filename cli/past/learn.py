"""``rindwright learn``: what your own confirmed looks say beside the knowledge, before and after it is taken."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ...engine.archive import learnt as kept
from ...engine.archive.confirmed import confirmed, prepare
from ...engine.archive.learn import FEWEST, Learnt
from ...engine.archive.learn import learn as learn_from
from ...engine.archive.learnt import Correction
from ...engine.catalog import Catalog
from .. import clock
from ..context import console, knowledge_in_force, screen_width
from ..house_words import cause_named, sign_named
from ..learnt_words import both
from ..pen import Pen
from ..progress import progress_line
from ..sentences import counted
from ..status import Status
from .looks import opened

LISTED = 12
NOTED = 0.1
"""Share by which faults as a whole must be off what is expected, to be told."""


def run(named: str | None, house: Path | None, take: bool, reset: bool, no_color: bool) -> Status:
    """Show what would change; take it, or take it back, when asked to."""
    catalog = Catalog(knowledge_in_force(house))
    pen = Pen(console(no_color), screen_width())
    with opened(named, writable=take or reset) as archive:
        if reset:
            done = kept.reset(archive, clock.now())
            pen.line("Taken back: the cited knowledge stands alone." if done else "Nothing had been learnt.")
            return Status.DONE
        now = kept.standing(archive, catalog)
        _standing(pen, catalog, now)
        looks = confirmed(archive, catalog)
        pen.line()
        if len(looks) < FEWEST:
            pen.line(
                f"{counted(len(looks), 'look')} confirmed; learning begins with {FEWEST}. "
                "Say what a look turned out to be: rindwright past outcome LOOK CAUSE --known-by lens"
            )
            return Status.DONE
        with progress_line("Looks tried") as tell:
            found = learn_from(catalog, prepare(catalog, looks), tell)
        assert found is not None
        changed = propose(pen, catalog, found)
        if now is not None and now.local == found.local:
            pen.line("That is what is in force already.", "bold")
            return Status.DONE
        if take and changed:
            kept.take(archive, catalog, found, clock.now())
            pen.line("Taken. Undo it at any time: rindwright learn --reset", "bold")
        elif changed:
            pen.line("Nothing is changed yet. Take it: rindwright learn --take", "bold")
    return Status.DONE


def _standing(pen: Pen, catalog: Catalog, now: kept.Standing | None) -> None:
    if now is None:
        pen.line("In force: the cited knowledge alone.")
        return
    pen.line(f"In force since {now.at[:10]}, from {counted(now.looks, 'confirmed look')}:", "bold")
    _list(pen, catalog, now.corrections)
    if now.outgrown:
        pen.line(f"{counted(now.outgrown, 'correction')} no longer fit the knowledge and are not applied.")


def propose(pen: Pen, catalog: Catalog, found: Learnt) -> bool:
    """Tell what a lesson would change; whether it would."""
    changes = kept.corrections(catalog, found)
    pen.line(
        f"{counted(found.looks, 'confirmed look')}, {found.complete} of them with everything else excluded. "
        "Outcomes by your own view count a fifth."
    )
    if not changes:
        pen.line(
            f"They do not speak for any change: on the newest {found.held_out} looks the cited knowledge does as well."
        )
        return False
    pen.heading("What they would change")
    _list(pen, catalog, changes)
    _together(pen, found)
    pen.line(
        f"Tried on the newest {found.held_out} looks, each by what those before it taught: score {found.after:.2f}, "
        f"by the cited knowledge {found.before:.2f}; lower is better."
    )
    if not found.clear:
        pen.line("So few looks cannot tell this from luck; each number moves only as far as its counts carry it.")
    pen.line("Cautions are not touched by anything learnt.")
    return True


def _together(pen: Pen, found: Learnt) -> None:
    """Why a cause moves that was never confirmed."""
    all_causes = found.together
    if found.local.base and abs(all_causes.seen - all_causes.of) > NOTED * all_causes.of:
        pen.line(
            f"All causes together were confirmed {all_causes.seen:.1f} times where {all_causes.of:.1f} were expected. "
            "That alone moves every cause a little, also one that was never confirmed."
        )


def _list(pen: Pen, catalog: Catalog, changes: Sequence[Correction]) -> None:
    for c in changes[:LISTED]:
        pen.item("- ", _line(catalog, c))
    if len(changes) > LISTED:
        pen.line(f"and {len(changes) - LISTED} smaller ones.")


def _line(catalog: Catalog, c: Correction) -> str:
    numbers = both(c)
    if c.kind == "base":
        return (
            f"{cause_named(catalog, c.cause)}: {numbers}; confirmed {c.seen:.1f} times where {c.of:.1f} were expected"
        )
    sign_id = c.sign.rpartition(" ")[0]
    sign = sign_named(catalog, sign_id)
    counts = f"counted {c.seen:.1f} of {c.of:.1f}"
    if c.kind == "link":
        return f"{cause_named(catalog, c.cause)} shows {sign}: {numbers}; {counts}"
    return f"A sound rind shows {sign}: {numbers}; {counts}"
