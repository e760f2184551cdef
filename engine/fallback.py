"""When exact elimination would be too wide: fold in the weakest causes, eliminate the rest.

Loopy belief propagation gives every node a rough belief. The weakest nodes are taken out of
the graph, each leaving behind the factor it would most likely have sent, until the rest fits
under the cap. The result is marked approximate and carries the largest belief folded in: a
warning light, not a bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .belief import WIDTH_CAP, Array, Beliefs, Finding, Lane, Network, TooWide, beliefs, width_of

ROUNDS = 40
_TINY = 1e-300
_FEW, _CAP_OF_MANY = 16, 12
"""With more lanes than a few a narrower table is used, so that even nonsense is answered within a second."""


@dataclass(frozen=True, slots=True)
class Rough:
    """What loopy propagation settles on."""

    belief: Array
    """Belief of every node, 0 to 1."""
    to_finding: dict[tuple[int, int], float]
    """(node, finding): belief in the node as the finding hears it, without the finding's own word."""
    to_child: dict[tuple[int, int], float]
    """(parent, child): belief in the parent as the child hears it."""
    to_parent: dict[tuple[int, int], float]
    """(parent, child): how many times likelier the child's evidence is when the parent is on."""


def weigh(network: Network, lanes: Sequence[Lane] = (Lane(),), cap: int = WIDTH_CAP) -> Beliefs:
    """Posteriors of a network in every lane: exact when it fits under the cap, marked approximate when not.

    What is folded in is settled on the network as it stands, and then serves every lane.
    """
    try:
        return beliefs(network, lanes, cap=cap)
    except TooWide:
        pass
    if len(lanes) > _FEW:
        cap = min(cap, _CAP_OF_MANY)
    rough = propagate(network)
    order = [int(k) for k in np.argsort(rough.belief, kind="stable")]
    low, high = 1, len(order)
    fewest = len(order)
    while low <= high:
        middle = (low + high) // 2
        if width_of(_without(network, frozenset(order[:middle]), rough)) <= cap:
            fewest, high = middle, middle - 1
        else:
            low = middle + 1
    dropped = frozenset(order[:fewest])
    kept = beliefs(_without(network, dropped, rough), [_bare(lane, dropped, rough) for lane in lanes], cap=cap)
    posterior = kept.posterior.copy()
    for node in dropped:
        posterior[node] = rough.belief[node]
    return Beliefs(posterior, kept.log_evidence, kept.width, True)


def _without(network: Network, dropped: frozenset[int], rough: Rough) -> Network:
    """The network with some nodes taken out, each leaving the message it would have sent."""
    findings = []
    for j, f in enumerate(network.findings):
        # A "no" is folded first, as in the exact run, so that the nodes kept are weighed alike.
        findings.append(_thinned(f if f.speaks_for else f.folded(), j, dropped, rough))
    base = list(network.base)
    feeds = []
    for parent, child, q in network.feeds:
        if parent not in dropped and child not in dropped:
            feeds.append((parent, child, q))
        elif child not in dropped:
            base[child] = 1 - (1 - base[child]) * (1 - q * rough.to_child[(parent, child)])
        elif parent not in dropped:
            ratio = rough.to_parent[(parent, child)]
            # The child's evidence as a finding on its parent alone.
            findings.append(Finding(0.0, ((parent, 1.0),), min(1.0, ratio), min(1.0, 1 / max(ratio, 1e-12))))
    return Network(tuple(base), tuple(feeds), tuple(findings))


def _thinned(f: Finding, j: int, dropped: frozenset[int], rough: Rough) -> Finding:
    quiet = 1 - f.leak
    for node, q in f.links:
        if node in dropped:
            quiet *= 1 - q * rough.to_finding.get((node, j), float(rough.belief[node]))
    links = tuple((node, q) for node, q in f.links if node not in dropped)
    return Finding(1 - quiet, links, f.if_there, f.if_not)


def _bare(lane: Lane, dropped: frozenset[int], rough: Rough) -> Lane:
    """A lane over the nodes that were kept."""
    return Lane(
        tuple(_thinned(f.folded(), -1, dropped, rough) for f in lane.absent),
        tuple((node, delta) for node, delta in lane.log_odds if node not in dropped),
        lane.without,
    )


def propagate(network: Network) -> Rough:
    """Loopy propagation on the links until nothing moves, or for ``ROUNDS`` rounds."""
    n = len(network.base)
    base = np.array(network.base)
    weight = np.ones(n)
    for f in network.findings:
        if not f.speaks_for:
            for node, q in f.folded().links:
                weight[node] *= 1 - q
    positive = [(j, f) for j, f in enumerate(network.findings) if f.speaks_for]
    from_finding = {(node, j): 1.0 for j, f in positive for node, _ in f.links}
    to_finding = {key: float(base[key[0]]) for key in from_finding}
    to_parent = {(p, c): 1.0 for p, c, _ in network.feeds}
    to_child = {key: float(base[key[0]]) for key in to_parent}
    belief = base
    for turn in range(ROUNDS):
        off = 1 - base
        for parent, child, q in network.feeds:
            off[child] *= 1 - q * to_child[(parent, child)]
        support = weight.copy()
        for (node, _j), r in from_finding.items():
            support[node] *= r
        for (parent, _c), r in to_parent.items():
            support[parent] *= r
        odds = (1 - off) / np.maximum(off, _TINY) * support
        fresh = odds / (1 + odds)
        to_finding = {key: _belief(odds[key[0]] / max(r, _TINY)) for key, r in from_finding.items()}
        heard = to_child
        to_child = {key: _belief(odds[key[0]] / max(r, _TINY)) for key, r in to_parent.items()}
        for j, f in positive:
            quiet = 1 - f.leak
            for node, q in f.links:
                quiet *= 1 - q * to_finding[(node, j)]
            for node, q in f.links:
                rest = quiet / max(1 - q * to_finding[(node, j)], _TINY)
                on = f.if_there + (f.if_not - f.if_there) * rest * (1 - q)
                from_finding[(node, j)] = on / max(f.if_there + (f.if_not - f.if_there) * rest, _TINY)
        for parent, child, q in network.feeds:
            rest = off[child] / max(1 - q * heard[(parent, child)], _TINY)
            own = support[child]
            to_parent[(parent, child)] = ((1 - q) * rest + (1 - (1 - q) * rest) * own) / max(
                rest + (1 - rest) * own, _TINY
            )
        moved = float(np.max(np.abs(fresh - belief), initial=0.0))
        belief = fresh
        if turn and moved < 1e-9:
            break
    return Rough(np.clip(belief, 0.0, 1.0), to_finding, to_child, to_parent)


def _belief(odds: float) -> float:
    return float(odds / (1 + odds))
