"""Variable elimination over pair tables: the arithmetic under ``belief``.

A structure (which variables meet in which tables, and in which order they go) is planned once;
numbers then run through it, many lanes side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import cast

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROUNDING_GAP = 1e-9
"""Rounding that shows more than this in a probability's logarithm is done again with longer numbers."""


class TooWide(Exception):
    """The elimination order needs a table over more variables than allowed."""

    def __init__(self, width: int) -> None:
        super().__init__(f"the order needs a table over {width} variables")
        self.width = width


@dataclass(slots=True)
class Structure:
    """Variables, pair tables and elimination order of one network's structure."""

    nodes: int
    pairs: list[tuple[int, int, int]] = field(default_factory=list)
    """(node variable, auxiliary variable, index into the strengths)."""
    own: list[tuple[int, int]] = field(default_factory=list)
    """(node variable, its own auxiliary) for nodes that have parents."""
    order: list[int] = field(default_factory=list)
    width: int = 0


@dataclass(slots=True)
class Numbers:
    """The numbers of a run: one column per lane."""

    base: Array
    weight: Array
    signs: Array
    strengths: Array
    log_constant: Array


def order(variables: int, edges: Iterable[tuple[int, int]]) -> tuple[list[int], int]:
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


def run(plan: Structure, numbers: Numbers) -> tuple[Array, Array]:
    """Posteriors (nodes, lanes) and log P(answers) (lanes) of a planned structure with these numbers."""
    posterior, evidence, gap = _eliminate(plan, numbers)
    # The signed weights cancel; where rounding shows, pay for precision.
    with np.errstate(invalid="ignore"):
        sound = np.all((posterior > -1e-9) & (posterior < 1 + 1e-9)) and np.all(np.isfinite(evidence))
    if not sound or not gap < ROUNDING_GAP:
        wide = Numbers(
            _precise(numbers.base),
            _precise(numbers.weight),
            _precise(numbers.signs),
            _precise(numbers.strengths),
            _precise(numbers.log_constant),
        )
        posterior, evidence, _ = _eliminate(plan, wide)
    return np.clip(posterior, 0.0, 1.0).astype(np.float64), evidence.astype(np.float64)


def _precise(numbers: Array) -> Array:
    return cast(Array, numbers.astype(np.longdouble))


def _eliminate(plan: Structure, numbers: Numbers) -> tuple[Array, Array, float]:
    """Forward pass to P(answers), reverse pass to every node's posterior.

    Every node's table, with all that reaches it, sums to P(answers) once more. The widest gap between
    those sums, on the log scale, is returned too: it shows how much rounding has cost.
    """
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
    below: dict[int, Array] = {}  # log of all scales taken out at and under a variable
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
        below[v] = np.log(scale) + sum(below[child] for child, _, _ in messages[v])
        if len(scope) > 1:
            messages[scope[1]].append((v, scope[1:], total))
        else:
            with np.errstate(invalid="ignore", divide="ignore"):
                below[v] = below[v] + np.log(total)
            log_scale += below[v]
    posterior = np.empty((plan.nodes, columns), dtype=numbers.base.dtype)
    down: dict[int, tuple[list[int], Array]] = {}
    whole: dict[int, Array] = {}  # what a variable's table must sum to, on the log scale
    gap = 0.0
    for v in reversed(plan.order):
        scope = scopes[v]
        above = locals_[v]
        whole.setdefault(v, below[v])
        beneath = sum(below[child] for child, _, _ in messages[v])
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
            whole[child] = whole[v] - np.log(scale) - (beneath - below[child])
        if v < plan.nodes:
            for factor in spread:
                above = above * factor
            halves = above.reshape(2, -1, columns).sum(axis=1)
            with np.errstate(invalid="ignore", divide="ignore"):
                both = halves[0] + halves[1]
                posterior[v] = halves[1] / both
                # maximum, unlike max, keeps a NaN, which then fails the caller's test
                gap = float(np.maximum(gap, np.abs(np.log(both) + beneath - whole[v]).max(initial=0.0)))
    return posterior, log_scale, gap


def _unary(plan: Structure, numbers: Numbers, v: int, parented: dict[int, int]) -> Array | None:
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
