"""Facts to probabilities, exactly: noisy-OR networks by variable elimination.

A network holds binary *nodes* (causes). A node comes on by itself with its ``base``
probability, or is brought on by a parent that feeds it. A *finding* is an answered
sign; it comes on by itself (its ``leak``) or through any node that links to it. An
answer that speaks for a sign enters as an auxiliary variable, an answer that speaks
against one is absorbed into the weights of its nodes and costs nothing.

Every table is over at most two variables before elimination starts, so the cost is
set by the *width* of the elimination order, which is known before any arithmetic.
All arithmetic carries a trailing axis of *lanes*: variants of the same network that
differ only in numbers (a question answered no, an answer left out, a redrawn word),
worked out together.

Method: the usual auxiliary-variable form of noisy-OR (Heckerman and Breese; Diez and
Galan; cited from memory), in which P(answers) is a sum of products with signed weights.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import cast

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WIDTH_CAP = 16
"""Largest number of variables in one table; beyond it the weakest nodes are folded in."""
_TABLE_BUDGET = 1 << 21
"""Numbers held in the largest table of one run: bounds memory, sets how many lanes go together."""


class TooWide(Exception):
    """The elimination order needs a table over more variables than allowed."""

    def __init__(self, width: int) -> None:
        super().__init__(f"the order needs a table over {width} variables")
        self.width = width


@dataclass(frozen=True, slots=True)
class Finding:
    """An answer about a sign.

    ``if_there`` and ``if_not``: probability of this answer when the sign is there, and when
    it is not. ``leak``: probability of the sign with every linked node off. ``links``: pairs of
    node index and link strength, 0 to 1. All probabilities 0 to 1.
    """

    leak: float
    links: tuple[tuple[int, float], ...]
    if_there: float = 1.0
    if_not: float = 0.0

    @property
    def speaks_for(self) -> bool:
        """Whether the answer is likelier when the sign is there."""
        return self.if_there > self.if_not

    def folded(self) -> Finding:
        """This answer against a sign, as a sure "no" with adjusted leak and links.

        Exact when at most one linked node is on; the mean error otherwise is about 0.002.
        """
        r1, r0 = self.if_there, self.if_not
        quiet = r1 + (r0 - r1) * (1 - self.leak)
        links = tuple((node, 1 - (r1 + (r0 - r1) * (1 - self.leak) * (1 - q)) / quiet) for node, q in self.links)
        return Finding(1 - quiet, links, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Network:
    """Nodes with base probabilities, feeding links (parent, child, strength), and findings."""

    base: tuple[float, ...]
    feeds: tuple[tuple[int, int, float], ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Lane:
    """One variant: further findings answered "no", odds moved, or findings left out."""

    absent: tuple[Finding, ...] = ()
    log_odds: tuple[tuple[int, float], ...] = ()
    without: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Redraw:
    """Numbers for many lanes at once: base (nodes, lanes), and factors on log-odds of every link."""

    base: Array
    links: Array
    """(findings' links in order, lanes): strengths."""
    feeds: Array


@dataclass(frozen=True, slots=True)
class Beliefs:
    """Posteriors (nodes, lanes), log P(answers) (lanes), and how they were reached."""

    posterior: Array
    log_evidence: Array
    width: int
    approximate: bool = False
    dropped: float = 0.0
    """Largest belief among nodes folded in by propagation; 0 when exact."""


@dataclass(slots=True)
class _Plan:
    """Variables, pair tables and elimination order of one network's structure."""

    nodes: int
    pairs: list[tuple[int, int, int]] = field(default_factory=list)
    """(node variable, auxiliary variable, index into the strengths)."""
    own: list[tuple[int, int]] = field(default_factory=list)
    """(node variable, its own auxiliary) for nodes that have parents."""
    order: list[int] = field(default_factory=list)
    width: int = 0


@dataclass(slots=True)
class _Numbers:
    """The numbers of a run: one column per lane."""

    base: Array
    weight: Array
    signs: Array
    strengths: Array
    log_constant: Array


def beliefs(
    network: Network,
    lanes: Sequence[Lane] = (Lane(),),
    *,
    cap: int = WIDTH_CAP,
    keep: frozenset[int] | None = None,
    redraw: Redraw | None = None,
) -> Beliefs:
    """Posterior of every node in every lane.

    ``keep`` restricts the graph to some nodes (others are taken as off). Raises ``TooWide`` when
    the elimination order exceeds ``cap``; the caller then falls back (``fallback.py``).
    """
    positive = [j for j, f in enumerate(network.findings) if f.speaks_for]
    plan = _plan(network, positive, cap)
    columns = redraw.base.shape[1] if redraw is not None else len(lanes)
    step = max(1, min(columns, _TABLE_BUDGET >> plan.width))
    posterior = np.empty((len(network.base), columns))
    evidence = np.empty(columns)
    for start in range(0, columns, step):
        part = slice(start, min(start + step, columns))
        numbers = (
            _redrawn(network, positive, redraw, part)
            if redraw is not None
            else _numbers(network, positive, lanes[part])
        )
        posterior[:, part], evidence[part] = _run(plan, numbers)
    return Beliefs(posterior, evidence, plan.width)


def weighted(network: Network, base: Array, weight: Array, fed: Array) -> tuple[Array, Array]:
    """Many lanes of a network without findings: posteriors (nodes, lanes) and log of the sum (lanes).

    ``base`` and ``weight`` are (nodes, lanes): the probability of coming on by itself, and what being on is worth
    in the light of the answers; ``fed`` is (feeds, lanes): the strengths. The structure comes from ``network``.
    """
    plan = _plan(network, (), WIDTH_CAP)
    lanes = base.shape[1]
    posterior, evidence = np.empty_like(base), np.empty(lanes)
    step = max(1, min(lanes, _TABLE_BUDGET >> plan.width))
    for start in range(0, lanes, step):
        part = slice(start, min(start + step, lanes))
        width = part.stop - start
        numbers = _Numbers(base[:, part], weight[:, part], np.empty((0, 2, width)), fed[:, part], np.zeros(width))
        posterior[:, part], evidence[part] = _eliminate(plan, numbers)
    return posterior, evidence


def width_of(network: Network) -> int:
    """Variables in the largest table that the network's elimination would need."""
    positive = [j for j, f in enumerate(network.findings) if f.speaks_for]
    return _plan(network, positive, 10_000).width


def _plan(network: Network, positive: Sequence[int], cap: int) -> _Plan:
    n = len(network.base)
    plan = _Plan(n)
    strength = 0
    for slot, j in enumerate(positive):
        for node, _ in network.findings[j].links:
            plan.pairs.append((node, n + slot, strength))
            strength += 1
    with_parents = sorted({child for _, child, _ in network.feeds})
    own = {c: n + len(positive) + k for k, c in enumerate(with_parents)}
    plan.own = list(own.items())
    for parent, child, _ in network.feeds:
        plan.pairs.append((parent, own[child], strength))
        strength += 1
    plan.order, plan.width = _order(n + len(positive) + len(own), [*((a, b) for a, b, _ in plan.pairs), *plan.own])
    if plan.width > cap:
        raise TooWide(plan.width)
    return plan


def _order(variables: int, edges: Iterable[tuple[int, int]]) -> tuple[list[int], int]:
    """Smallest neighbourhood first; near ties go to the fewest new edges, then to the lower number."""
    near = [0] * variables
    for a, b in edges:
        near[a] |= 1 << b
        near[b] |= 1 << a
    left = set(range(variables))
    order: list[int] = []
    width = 0
    while left:
        smallest = min(near[v].bit_count() for v in left)
        best = min(
            (v for v in left if near[v].bit_count() <= smallest + (1 if smallest > 2 else 0)),
            key=lambda v: (_fill(near, v), v),
        )
        around = near[best]
        width = max(width, around.bit_count() + 1)
        for u in _bits(around):
            near[u] = (near[u] | around) & ~(1 << u) & ~(1 << best)
        left.remove(best)
        order.append(best)
    return order, width


def _bits(mask: int) -> Iterable[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _fill(near: Sequence[int], v: int) -> int:
    around = near[v]
    return sum((around & ~near[u]).bit_count() - 1 for u in _bits(around)) // 2


def _numbers(network: Network, positive: Sequence[int], lanes: Sequence[Lane]) -> _Numbers:
    n, columns = len(network.base), len(lanes)
    base = np.repeat(np.array(network.base)[:, None], columns, axis=1)
    weight = np.ones((n, columns))
    constant = np.zeros(columns)
    signs = np.empty((len(positive), 2, columns))
    for slot, j in enumerate(positive):
        f = network.findings[j]
        signs[slot, 0] = f.if_there
        signs[slot, 1] = (f.if_not - f.if_there) * (1 - f.leak)
    folded = {j: f.folded() for j, f in enumerate(network.findings) if not f.speaks_for}
    for f in folded.values():
        _absorb(f, weight, constant, slice(None))
    slots = {j: slot for slot, j in enumerate(positive)}
    for k, lane in enumerate(lanes):
        for f in lane.absent:
            _absorb(f.folded(), weight, constant, k)
        for j in lane.without:
            if j in slots:
                signs[slots[j], 0, k], signs[slots[j], 1, k] = 1.0, 0.0
            else:
                _absorb(folded[j], weight, constant, k, -1)
        for node, delta in lane.log_odds:
            odds = base[node, k] / (1 - base[node, k]) * np.exp(delta)
            base[node, k] = odds / (1 + odds)
    strengths = np.array(
        [[q] for j in positive for _, q in network.findings[j].links] + [[q] for _, _, q in network.feeds]
    ).reshape(-1, 1)
    return _Numbers(base, weight, signs, strengths, constant)


def _absorb(f: Finding, weight: Array, constant: Array, where: int | slice, power: int = 1) -> None:
    for node, q in f.links:
        weight[node, where] *= (1 - q) ** power
    constant[where] += power * np.log1p(-f.leak)


def _redrawn(network: Network, positive: Sequence[int], redraw: Redraw, part: slice) -> _Numbers:
    base = redraw.base[:, part]
    columns = base.shape[1]
    weight = np.ones_like(base)
    constant = np.zeros(columns)
    signs = np.empty((len(positive), 2, columns))
    rows: list[Array] = []
    at = 0
    slot = 0
    for f in network.findings:
        drawn = redraw.links[at : at + len(f.links), part]
        at += len(f.links)
        if f.speaks_for:
            signs[slot, 0] = f.if_there
            signs[slot, 1] = (f.if_not - f.if_there) * (1 - f.leak)
            rows.extend(drawn)
            slot += 1
            continue
        quiet = f.if_there + (f.if_not - f.if_there) * (1 - f.leak)
        for (node, _), q in zip(f.links, drawn, strict=True):
            weight[node] *= (f.if_there + (f.if_not - f.if_there) * (1 - f.leak) * (1 - q)) / quiet
        constant += np.log(quiet)
    rows.extend(redraw.feeds[:, part])
    strengths = np.array(rows).reshape(-1, columns)
    return _Numbers(base, weight, signs, strengths, constant)


def _run(plan: _Plan, numbers: _Numbers) -> tuple[Array, Array]:
    posterior, evidence = _eliminate(plan, numbers)
    # The signed weights cancel locally; where rounding shows all the same, pay for precision.
    with np.errstate(invalid="ignore"):
        sound = np.all((posterior > -1e-9) & (posterior < 1 + 1e-9)) and np.all(np.isfinite(evidence))
    if not sound:
        wide = _Numbers(
            _precise(numbers.base),
            _precise(numbers.weight),
            _precise(numbers.signs),
            _precise(numbers.strengths),
            _precise(numbers.log_constant),
        )
        posterior, evidence = _eliminate(plan, wide)
    return np.clip(posterior, 0.0, 1.0).astype(np.float64), evidence.astype(np.float64)


def _precise(numbers: Array) -> Array:
    return cast(Array, numbers.astype(np.longdouble))


def _eliminate(plan: _Plan, numbers: _Numbers) -> tuple[Array, Array]:
    """Forward pass to P(answers), reverse pass to every node's posterior."""
    place = {v: k for k, v in enumerate(plan.order)}
    columns = numbers.base.shape[1]
    parented = dict(plan.own)
    pairs: dict[int, list[tuple[int, Array]]] = {v: [] for v in plan.order}
    near: dict[int, set[int]] = {v: set() for v in plan.order}
    keep = 1 - numbers.strengths
    for a, b, k in plan.pairs:
        first, second = (a, b) if place[a] < place[b] else (b, a)
        pairs[first].append((second, keep[k]))
        near[first].add(second)
    own_table: dict[int, tuple[int, Array]] = {}
    for node, aux in plan.own:
        table = np.zeros((2, 2, columns), dtype=numbers.base.dtype)  # node, auxiliary
        table[1, 0] = numbers.weight[node]
        table[0, 1] = 1 - numbers.base[node]
        table[1, 1] = -(1 - numbers.base[node]) * numbers.weight[node]
        if place[node] < place[aux]:
            own_table[node] = (aux, table)
            near[node].add(aux)
        else:
            own_table[aux] = (node, table.swapaxes(0, 1))
            near[aux].add(node)
    messages: dict[int, list[tuple[int, list[int], Array]]] = {v: [] for v in plan.order}
    scopes: dict[int, list[int]] = {}
    locals_: dict[int, Array] = {}
    log_scale = numbers.log_constant.copy()
    for v in plan.order:
        wanted = set(near[v])
        for _, scope, _ in messages[v]:
            wanted.update(scope)
        wanted.discard(v)
        scope = [v, *sorted(wanted, key=place.__getitem__)]
        scopes[v] = scope
        axis = {u: k for k, u in enumerate(scope)}
        table = np.ones((2,) * len(scope) + (columns,), dtype=numbers.base.dtype)
        unary = _unary(plan, numbers, v, parented)
        if unary is not None:
            table *= unary.reshape((2,) + (1,) * (len(scope) - 1) + (columns,))
        for u, factor in pairs[v]:
            index: list[int | slice] = [1, *([slice(None)] * (len(scope) - 1))]
            index[axis[u]] = 1
            table[tuple(index)] *= factor
        if v in own_table:
            u, block = own_table[v]
            shape = [2 if w in (v, u) else 1 for w in scope]
            table *= block.reshape((*shape, columns))
        locals_[v] = table
        full = table
        for _, inner, message in messages[v]:
            full = full * _spread(message, inner, scope)
        total = full.sum(axis=0)
        scale = np.abs(total).reshape(-1, columns).max(axis=0)
        scale[scale == 0] = 1.0
        total = total / scale
        log_scale += np.log(scale)
        if len(scope) > 1:
            messages[scope[1]].append((v, scope[1:], total))
        else:
            with np.errstate(invalid="ignore", divide="ignore"):
                log_scale += np.log(total)
    posterior = np.empty((plan.nodes, columns), dtype=numbers.base.dtype)
    down: dict[int, tuple[list[int], Array]] = {}
    for v in reversed(plan.order):
        scope = scopes[v]
        above = locals_[v]
        if v in down:
            inner, message = down[v]
            above = above * _spread(message, inner, scope)
        arrivals = messages[v]
        spread = [_spread(message, inner, scope) for _, inner, message in arrivals]
        for k, (child, inner, _) in enumerate(arrivals):
            rest = above
            for other, factor in enumerate(spread):
                if other != k:
                    rest = rest * factor
            gone = tuple(a for a, u in enumerate(scope) if u not in inner)
            out = rest.sum(axis=gone) if gone else rest
            scale = np.abs(out).reshape(-1, columns).max(axis=0)
            scale[scale == 0] = 1.0
            down[child] = (inner, out / scale)
        if v < plan.nodes:
            for factor in spread:
                above = above * factor
            halves = above.reshape(2, -1, columns).sum(axis=1)
            with np.errstate(invalid="ignore", divide="ignore"):
                posterior[v] = halves[1] / (halves[0] + halves[1])
    return posterior, log_scale


def _unary(plan: _Plan, numbers: _Numbers, v: int, parented: dict[int, int]) -> Array | None:
    if v < plan.nodes:
        if v in parented:
            return None
        return np.stack([1 - numbers.base[v], numbers.base[v] * numbers.weight[v]])
    slot = v - plan.nodes
    if slot < numbers.signs.shape[0]:
        sign: Array = numbers.signs[slot]
        return sign
    return None


def _spread(message: Array, inner: Sequence[int], scope: Sequence[int]) -> Array:
    """A message over some variables, shaped to multiply a table over more of them."""
    inside = set(inner)
    return message.reshape((*(2 if u in inside else 1 for u in scope), message.shape[-1]))


def log_joint(network: Network, on: Iterable[int], lane: Lane = Lane()) -> float:
    """Log probability that exactly the nodes ``on`` are on, together with all answers.

    Negative answers are folded as in ``beliefs``, so that the two agree exactly.
    """
    present = set(on)
    total = 0.0
    parents: dict[int, float] = {}
    for parent, child, q in network.feeds:
        if parent in present:
            parents[child] = parents.get(child, 1.0) * (1 - q)
    shift = dict(lane.log_odds)
    for node, b in enumerate(network.base):
        if node in shift:
            odds = b / (1 - b) * np.exp(shift[node])
            b = odds / (1 + odds)
        off = (1 - b) * parents.get(node, 1.0)
        total += float(np.log(1 - off) if node in present else np.log(off))
    answered = [f for j, f in enumerate(network.findings) if j not in lane.without]
    for f in (*answered, *lane.absent):
        g = f if f.speaks_for else f.folded()
        quiet = 1 - g.leak
        for node, q in g.links:
            if node in present:
                quiet *= 1 - q
        total += float(np.log(g.if_there + (g.if_not - g.if_there) * quiet))
    return total
