"""When exact elimination would be too wide: fold in the weakest causes, eliminate the rest.

Loopy belief propagation gives every node a rough belief. The weakest nodes are taken out of
the graph, each leaving behind the factor it would most likely have sent, until the rest fits
under the cap. The result is marked approximate and carries the largest belief folded in: a
warning light, not a bound.
"""

from __future__ import annotations

import numpy as np

from .belief import WIDTH_CAP, Array, Beliefs, Finding, Lane, Network, TooWide, beliefs

ROUNDS = 40
_STEPS = 16


def weigh(network: Network, cap: int = WIDTH_CAP) -> Beliefs:
    """Posteriors of a network: exact when it fits under the cap, marked approximate when not."""
    try:
        return beliefs(network, cap=cap)
    except TooWide:
        pass
    rough = propagate(network)
    low, high = 0, len(network.base)
    order = np.argsort(rough, kind="stable")
    fitting: Beliefs | None = None
    for _ in range(_STEPS):
        if low > high:
            break
        middle = (low + high) // 2
        dropped = frozenset(int(k) for k in order[:middle])
        try:
            fitting = _without(network, dropped, rough, cap)
            high = middle - 1
        except TooWide:
            low = middle + 1
    if fitting is None:
        fitting = _without(network, frozenset(int(k) for k in order), rough, cap)
    return fitting


def _without(network: Network, dropped: frozenset[int], rough: Array, cap: int) -> Beliefs:
    """The network with some nodes folded into the leaks of what they touch."""
    findings = []
    for f in network.findings:
        quiet = 1 - f.leak
        for node, q in f.links:
            if node in dropped:
                quiet *= 1 - q * rough[node]
        links = tuple((node, q) for node, q in f.links if node not in dropped)
        findings.append(Finding(1 - quiet, links, f.if_there, f.if_not))
    base = list(network.base)
    feeds = []
    for parent, child, q in network.feeds:
        if child in dropped:
            continue
        if parent in dropped:
            base[child] = 1 - (1 - base[child]) * (1 - q * rough[parent])
        else:
            feeds.append((parent, child, q))
    kept = beliefs(Network(tuple(base), tuple(feeds), tuple(findings)), cap=cap)
    posterior = kept.posterior.copy()
    for node in dropped:
        posterior[node, 0] = rough[node]
    largest = max((float(rough[node]) for node in dropped), default=0.0)
    return Beliefs(posterior, kept.log_evidence, kept.width, True, largest)


def propagate(network: Network) -> Array:
    """Rough belief of every node by loopy propagation on the links, 0 to 1."""
    n = len(network.base)
    weight = np.ones(n)
    for f in network.findings:
        if not f.speaks_for:
            for node, q in f.folded().links:
                weight[node] *= 1 - q
    positive = [f for f in network.findings if f.speaks_for]
    parents: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    children: list[list[tuple[int, float]]] = [[] for _ in range(n)]
    for parent, child, q in network.feeds:
        parents[child].append((parent, q))
        children[parent].append((child, q))
    belief = np.array(network.base)
    up_sign = [dict.fromkeys((node for node, _ in f.links), 1.0) for f in positive]
    up_feed = {(p, c): 1.0 for p, c, _ in network.feeds}
    for _ in range(ROUNDS):
        support = weight.copy()
        for messages in up_sign:
            for node, r in messages.items():
                support[node] *= r
        for (parent, _), r in up_feed.items():
            support[parent] *= r
        off = np.array([(1 - network.base[c]) * np.prod([1 - q * belief[p] for p, q in parents[c]]) for c in range(n)])
        prior_odds = (1 - off) / np.maximum(off, 1e-300)
        odds = prior_odds * support
        fresh = odds / (1 + odds)
        for f, messages in zip(positive, up_sign, strict=True):
            send = {node: odds[node] / max(messages[node], 1e-300) for node, _ in f.links}
            cavity = {node: o / (1 + o) for node, o in send.items()}
            quiet = 1 - f.leak
            for node, q in f.links:
                quiet *= 1 - q * cavity[node]
            for node, q in f.links:
                other = quiet / max(1 - q * cavity[node], 1e-300)
                on = f.if_there + (f.if_not - f.if_there) * other * (1 - q)
                without = f.if_there + (f.if_not - f.if_there) * other
                messages[node] = on / max(without, 1e-300)
        for parent, child, q in network.feeds:
            own = support[child]
            other = off[child] / max(1 - q * belief[parent], 1e-300)
            up_feed[(parent, child)] = ((1 - q) * other + (1 - (1 - q) * other) * own) / max(
                other + (1 - other) * own, 1e-300
            )
        if np.max(np.abs(fresh - belief)) < 1e-9:
            belief = fresh
            break
        belief = fresh
    clipped: Array = np.clip(belief, 0.0, 1.0)
    return clipped


def lanes_or_fallback(network: Network, lanes: list[Lane], cap: int = WIDTH_CAP) -> Beliefs:
    """All lanes exactly, or, when too wide, the plain case alone by the fallback.

    A caller sees from the number of columns whether its hypotheses were worked out.
    """
    try:
        return beliefs(network, lanes, cap=cap)
    except TooWide:
        return weigh(network, cap)
