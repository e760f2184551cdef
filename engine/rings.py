"""What rests on what: what goes round in a circle, the way round, and what stands on too long a row of others.

The search goes without recursion, so that no long row can exhaust the stack.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from typing import Any, Protocol, TypeVar


class _Ordered(Protocol):
    def __lt__(self, other: Any, /) -> bool: ...

    def __hash__(self) -> int: ...


K = TypeVar("K", bound=_Ordered)


def rings(rests: Mapping[K, Set[K]]) -> set[K]:
    """Everything that stands in a circle (or between two of them)."""
    left = {key: {d for d in on if d in rests} for key, on in rests.items()}
    _peel(left)
    if not left:
        return set()
    turned: dict[K, set[K]] = {key: set() for key in left}
    for key, on in left.items():
        for d in on:
            if d in turned:
                turned[d].add(key)
    _peel(turned)
    return set(turned)


def way_round(rests: Mapping[K, Set[K]], key: K) -> list[K]:
    """The shortest way from something back to itself, it first; nothing where there is none."""
    before: dict[K, K] = {}
    waiting = [key]
    for here in waiting:  # grows while it is walked
        for there in sorted(rests.get(here, ())):
            if there not in before:
                before[there] = here
                waiting.append(there)
    if key not in before:
        return []
    way = [before[key]]
    while way[-1] != key:
        way.append(before[way[-1]])
    return way[::-1]


def each_ring(rests: Mapping[K, Set[K]]) -> list[list[K]]:
    """The shortest way round of everything that has one, each once and from its least member on."""
    found: dict[tuple[K, ...], None] = {}
    for key in sorted(rings(rests)):
        way = way_round(rests, key)
        if way:
            first = way.index(min(way))
            found.setdefault((*way[first:], *way[:first]))
    return [list(way) for way in found]


def deep(rests: Mapping[K, Set[K]], most: int) -> set[K]:
    """Everything that stands on a row of more than ``most`` others; circles are left aside."""
    left = {key: {d for d in on if d in rests} for key, on in rests.items()}
    depth: dict[K, int] = {}
    for key in _peel(left):
        depth[key] = 1 + max((depth[d] for d in rests[key] if d in depth), default=0)
    return {key for key, steps in depth.items() if steps > most}


def _peel(left: dict[K, set[K]]) -> list[K]:
    """Take away, again and again, whatever rests on nothing that is left; the order it went in."""
    users: dict[K, list[K]] = {}
    for key, on in left.items():
        for d in on:
            users.setdefault(d, []).append(key)
    missing = {key: len(on) for key, on in left.items()}
    waiting = [key for key, count in missing.items() if not count]
    gone: list[K] = []
    while waiting:
        key = waiting.pop()
        gone.append(key)
        for user in users.get(key, ()):
            missing[user] -= 1
            if not missing[user]:
                waiting.append(user)
    for key in gone:
        del left[key]
    for on in left.values():
        on.intersection_update(left)
    return gone
