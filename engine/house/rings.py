"""Circles in what rests on what, found without recursion so that no long row can exhaust the stack."""

from __future__ import annotations

from collections.abc import Mapping, Set
from typing import TypeVar

K = TypeVar("K")


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
