"""Rules that go round in a circle, stand on too long a row of others, or pile up without end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from ..catalog import Catalog
from ..chaining import unfold
from ..conditions import leaves
from ..model import Circumstance, Condition, Sign
from ..reading.nodes import Path_
from ..rings import deep, rings, way_round
from .reading import Entry
from .saying import Key

NAMED = 4
"""Most steps of a circle that are named."""
MOST_DEEP = 20
"""How many circumstances may rest on each other in a row."""


def circles(catalog: Catalog, entries: Sequence[Entry]) -> Iterator[tuple[Entry, Path_, str]]:
    """Nothing rests on itself, and nothing rests on too long a row of others."""
    circumstances: dict[str, Circumstance] = dict(catalog.circumstances)
    signs: dict[str, Sign] = dict(catalog.signs)
    feeds = {c.id: {f.cause for f in c.leads_to} for c in catalog.causes.values()}
    owners: dict[Key, list[tuple[Entry, Path_]]] = {}
    more: list[tuple[str, Condition]] = []
    for entry in entries:
        for n, ci in enumerate(entry.rule.circumstance):
            circumstances[ci.id] = ci
            owners.setdefault(("circumstance", ci.id), []).append((entry, ("circumstance", n, "when")))
        for n, s in enumerate(entry.rule.sign):
            signs[s.id] = s
            owners.setdefault(("sign", s.id), []).append((entry, ("sign", n, "when")))
        for n, d in enumerate(entry.rule.derive):
            more.append((d.circumstance, d.when))
            owners.setdefault(("circumstance", d.circumstance), []).append((entry, ("derive", n, "when")))
        for n, ca in enumerate(entry.rule.cause):
            feeds[ca.id] = {f.cause for f in ca.leads_to}
            owners.setdefault(("cause", ca.id), []).append((entry, ("cause", n, "leads_to")))
    rests: dict[Key, set[Key]] = {("circumstance", c.id): _reads(c.when) for c in circumstances.values()}
    rests |= {("sign", s.id): _reads(s.when) if s.when is not None else set() for s in signs.values()}
    for id, when in more:
        rests[("circumstance", id)] |= _reads(when)
    leads: dict[Key, set[Key]] = {("cause", id): {("cause", x) for x in to} for id, to in feeds.items()}
    for graph, verb in ((rests, "rests on"), (leads, "leads to")):
        for key in sorted(rings(graph)):
            for entry, path in owners.get(key, ()):
                yield entry, path, _circle(graph, key, verb)
        for key in sorted(deep(graph, MOST_DEEP)):
            for entry, path in owners.get(key, ()):
                yield entry, path, f'"{key[1]}" stands on a row of more than {MOST_DEEP} others.'


def _circle(graph: Mapping[Key, Set[Key]], key: Key, verb: str) -> str:
    """The shortest way round, in words."""
    way = way_round(graph, key)
    if not way:
        return f'"{key[1]}" {verb} something that goes round in a circle.'
    names = [f'"{k[1]}"' for k in (*way, key)]
    if len(names) > NAMED + 2:
        names = [*names[:NAMED], f"and so on over {len(names) - NAMED - 2} more to", names[-1]]
        return f"A circle: {f' {verb} '.join(names[:NAMED])} {names[-2]} {names[-1]}."
    return f"A circle: {names[0]} {verb} {f', which {verb} '.join(names[1:])}."


def _reads(condition: Condition) -> set[Key]:
    found: set[Key] = set()
    for leaf in leaves(condition):
        if leaf.holds:
            found.add(("circumstance", leaf.holds))
        if leaf.sign:
            found.add(("sign", leaf.sign))
    return found


def heaps(catalog: Catalog, entries: Sequence[Entry]) -> Iterator[tuple[Entry, Path_, str]]:
    """Several rules that widen one circumstance must not make it unfold without end."""
    heaps: dict[str, list[tuple[Entry, Path_, Condition]]] = {}
    for entry in entries:
        for n, d in enumerate(entry.rule.derive):
            heaps.setdefault(d.circumstance, []).append((entry, ("derive", n), d.when))
    for id, those in sorted(heaps.items()):
        old = catalog.circumstances[id].when
        whole = Condition(any=(*(old.any or (old,)), *(when for _, _, when in those)))
        if not _unfolds(whole):
            for entry, path, _ in those:
                yield entry, path, f'"{id}" would have too many alternatives; take some of these rules back.'


def _unfolds(condition: Condition) -> bool:
    try:
        unfold(condition, True)
        unfold(condition, False)
    except ValueError:
        return False
    return True
