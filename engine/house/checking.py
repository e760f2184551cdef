"""A reviewer's eye on house rules: what keeps a rule from counting, and what makes one doubt it.

``check`` gives remarks of three kinds. A *fault*: the rule does not count. An *example*: it counts,
but does not do what its own examples say. A *doubt*: it counts; look at it once more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from ..catalog import Catalog
from ..errors import Fault
from ..model import Knowledge
from ..reading.nodes import Path_
from .doubting import Eye
from .layering import Layered, layer
from .reach import Reach, Ruler
from .reading import Entry, Shelf, named
from .saying import Key, statements
from .speaking import speaks, told

Kind = Literal["fault", "example", "doubt"]

NAMED = 4
"""Rules that are named in one remark about many."""
HOUSE_SHARE = 2.0
"""All house rules together outweigh the strongest packaged statement this many times: a doubt."""


@dataclass(frozen=True, slots=True, order=True)
class Remark:
    """One thing to say about a rule."""

    fault: Fault
    kind: Kind


@dataclass(frozen=True, slots=True)
class Report:
    """Everything there is to say about a folder of rules."""

    remarks: tuple[Remark, ...]
    layered: Layered
    reach: dict[str, tuple[Reach, ...]]
    """By rule: how far it can move each cause."""

    def of(self, *kinds: Kind) -> tuple[Fault, ...]:
        """The remarks of some kinds."""
        return tuple(r.fault for r in self.remarks if r.kind in kinds)


def check(packaged: Knowledge, shelf: Shelf, only: frozenset[str] | None = None) -> Report:
    """Check rules against the packaged knowledge and each other; ``only`` limits the doubts to some rules."""
    layered = layer(packaged, shelf.entries)
    remarks = {Remark(f, "fault") for f in (*shelf.faults, *layered.faults)}
    catalog, below = Catalog(layered.knowledge), Catalog(packaged)
    entries = {n: e for n, e in named(shelf.entries).items() if n in layered.in_force}
    eye = Eye(catalog, below, entries)
    ruler = Ruler(catalog, below)
    reach: dict[str, tuple[Reach, ...]] = {}
    for name, entry in entries.items():
        reach[name] = tuple(ruler.reach(entry.rule))
        if only is not None and name not in only:
            continue
        remarks |= {Remark(entry.fault(path, sentence), "doubt") for path, sentence in eye.doubts(entry)}
        remarks |= {
            Remark(entry.fault(path, sentence), "doubt") for path, sentence in _weight(entry, reach[name], catalog)
        }
        remarks |= {
            Remark(entry.fault(path, sentence), "example") for path, sentence in _examples(entry, catalog, below)
        }
    remarks |= {Remark(f, "doubt") for f in _together(entries, reach, catalog)}
    return Report(tuple(sorted(remarks)), layered, reach)


def _examples(entry: Entry, catalog: Catalog, below: Catalog) -> Iterator[tuple[Path_, str]]:
    for part, must in (("speaks", True), ("silent", False)):
        for n, raw in enumerate(getattr(entry.rule.examples, part)):
            at: Path_ = ("examples", part, n)
            answers, wrong = told(catalog, raw)
            for key, sentence in wrong:
                yield (*at, key), sentence
            if not wrong and speaks(catalog, entry.rule, answers, below) is not must:
                now, wanted = ("stays silent", "speak") if must else ("speaks", "stay silent")
                yield at, f"The rule {now} here, and should {wanted}."


def _weight(entry: Entry, reach: Iterable[Reach], catalog: Catalog) -> Iterator[tuple[Path_, str]]:
    for r in reach:
        if r.overwhelms:
            yield (
                (),
                f"This rule alone moves {catalog.causes[r.cause].name.lower()} from {r.base:.1%} to {r.moved:.1%}: "
                f"it {_times(r.log_odds)}, and nothing packaged by more than {_figure(r.cited)}. Use a weaker word.",
            )


def _together(entries: dict[str, Entry], reach: dict[str, tuple[Reach, ...]], catalog: Catalog) -> Iterator[Fault]:
    """Rules that are modest one by one and overwhelming all at once. What several say alike counts once."""
    up: dict[tuple[str, bool], list[tuple[str, Reach]]] = {}
    said: set[tuple[Key, Key]] = set()
    for name, each in reach.items():
        says = {(key, value) for key, value, _ in statements(entries[name].rule)}
        fresh = says - said
        said |= says
        for r in each if fresh else ():
            up.setdefault((r.cause, r.log_odds > 0), []).append((name, r))
    for (cause, _), those in sorted(up.items()):
        total = math.fsum(r.log_odds for _, r in those)
        cited = those[0][1].cited
        if len(those) > 1 and abs(total) > HOUSE_SHARE * cited:
            names = [name for name, _ in those]
            listed = ", ".join(names[:NAMED]) + (f" and {len(names) - NAMED} more" if len(names) > NAMED else "")
            yield entries[names[0]].fault(
                (),
                f"{len(those)} house rules ({listed}) work on {catalog.causes[cause].name.lower()}. If all of them "
                f"speak, that {_times(total)}; the strongest packaged statement does so by {_figure(cited)}.",
            )


def _times(log_odds: float) -> str:
    """A move in words: "multiplies the odds by 23"."""
    return f"{'multiplies' if log_odds > 0 else 'divides'} the odds by {_figure(log_odds)}"


def _figure(log_odds: float) -> str:
    """How many times, either way, as a person writes it."""
    times = math.exp(min(abs(log_odds), 20.0))
    return f"{times:.1f}" if times < 10 else f"{float(f'{times:.2g}'):,.0f}"


__all__ = ["Remark", "Report", "check"]
