"""Variable elimination: the arithmetic under ``belief``. Numbers run through a structure, many lanes side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from .structure import Structure, Wave

Array = NDArray[np.float64]

ROUNDING_GAP = 1e-9
"""Rounding that shows more than this in a probability is done again with longer numbers."""
_TINY = 1e-300
"""Divides in place of nought, where only nought is divided."""


class TooWide(Exception):
    """The elimination order needs a table over more variables than allowed."""

    def __init__(self, width: int) -> None:
        super().__init__(f"the order needs a table over {width} variables")
        self.width = width


@dataclass(slots=True)
class Numbers:
    """The numbers of a run: one column per lane."""

    base: Array
    weight: Array
    signs: Array
    strengths: Array
    log_constant: Array


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
    """Forward pass to P(answers), reverse pass to every node's posterior, and what rounding may have cost."""
    single, keep, blocks = _factors(plan, numbers)
    share = np.zeros(single[:, 0].shape, dtype=single.dtype)  # by variable: its chance of being on
    parts = [_hung(wave, single, keep, blocks) for wave in plan.waves]
    with np.errstate(invalid="ignore", divide="ignore"):
        log_inner, gap = _inner(plan, single, keep, blocks, share)
        loose = single[plan.loose]
        total = loose.sum(axis=1)
        share[plan.loose] = loose[:, 1] / total
        evidence = numbers.log_constant + log_inner + np.log(total).sum(axis=0)
        lost = [np.abs(loose).sum(axis=1) / np.abs(total)]
        for wave, part in zip(reversed(plan.waves), reversed(parts), strict=True):
            on = share[wave.onto]
            sent = part.sum(axis=1)
            sent[sent == 0] = _TINY
            chance = np.stack([1 - on, on], axis=1) / sent
            share[wave.going] = (part[:, 1] * chance).sum(axis=1)
            lost.append((np.abs(part).sum(axis=1) * np.abs(chance)).sum(axis=1))
    # max, unlike the built-in one, keeps a NaN, which then fails the caller's test
    worst = max(float(each.max(initial=0.0)) for each in lost)
    return share[: plan.nodes], evidence, gap + float(np.finfo(np.float64).eps) * worst


def _factors(plan: Structure, numbers: Numbers) -> tuple[Array, Array, Array]:
    """Numbers of each variable alone, of each link, and of each block, first as it is and then turned round."""
    base, weight, keep = numbers.base, numbers.weight, 1 - numbers.strengths
    columns = base.shape[1]
    off = 1 - base
    single = np.ones((plan.variables, 2, columns), dtype=base.dtype)
    single[: plan.nodes, 0], single[: plan.nodes, 1] = off, base * weight
    single[plan.nodes : plan.nodes + plan.signs] = numbers.signs
    first = len(plan.several)
    blocks = np.zeros((len(plan.blocks), 2, 2, columns), dtype=base.dtype)  # node, auxiliary or parent
    if blocks.size:
        fed = [child for child, *_ in plan.fed]
        single[[*plan.several, *fed]] = 1.0  # a block holds the numbers of its node
        blocks[:first, 1, 0], blocks[:first, 0, 1] = weight[plan.several], off[plan.several]
        blocks[:first, 1, 1] = -off[plan.several] * weight[plan.several]
        blocks[first:, 0, 0] = off[fed]
        blocks[first:, 0, 1] = off[fed] * keep[[k for *_, k in plan.fed]]
        blocks[first:, 1] = (1 - blocks[first:, 0]) * weight[fed][:, None]
    return single, keep, np.concatenate([blocks, blocks.swapaxes(1, 2)])


def _hung(wave: Wave, single: Array, keep: Array, blocks: Array) -> Array:
    """What a wave multiplies the variables by that it hangs on, which is done here, before it is summed out."""
    part = np.ones((len(wave.going), 2, 2, single.shape[2]), dtype=single.dtype)  # going, staying
    rows, links = wave.linked
    np.multiply.at(part[:, 1, 1], rows, keep[links])
    rows, numbered = wave.joined
    np.multiply.at(part, rows, blocks[numbered])
    part *= single[wave.going][:, :, None]
    np.multiply.at(single, wave.onto, part.sum(axis=1))
    return part


def _inner(plan: Structure, single: Array, keep: Array, blocks: Array, share: Array) -> tuple[Array, float]:
    """The variables that do not hang: log of what they sum to, and the widest gap that rounding leaves.

    In the reverse pass every table, with all that reaches it, sums to 1: the gap is how far off that is.
    """
    columns = single.shape[2]
    count = len(plan.tables)
    local = _filled(plan, single, keep, blocks)
    messages: list[Array] = [np.empty(0)] * count
    scale = np.empty((count, columns), dtype=single.dtype)
    for k in reversed(range(count)):
        table, full = plan.tables[k], local[k]
        for child in table.beneath:
            full = full * messages[child]
        for _ in range(table.going):  # one by one, so that what cancels does so before it is multiplied further
            full = full[0] + full[1]
        scale[k] = np.maximum(np.maximum.reduce(np.abs(full.reshape(-1, columns)), axis=0), _TINY)
        messages[k] = (full / scale[k]).reshape((*table.spread, columns))
    sums = np.ones_like(scale)
    back: list[Array] = [np.empty(0)] * count
    log_sum = np.log(scale).sum(axis=0)
    for k, table in enumerate(plan.tables):
        if table.above < 0:
            back[k] = messages[k]
            log_sum = log_sum + np.log(messages[k])  # of 1, unless rounding has eaten the sum
        # Both directions are divided by the same scale: so every table comes to sum to 1.
        full = local[k] * (back[k] / scale[k])
        later: list[Array] = []  # products of the messages after each
        for child in reversed(table.beneath[1:]):
            later.append(later[-1] * messages[child] if later else messages[child])
        for child in table.beneath:
            rest = full * later.pop() if later else full
            back[child] = np.add.reduce(rest, axis=plan.tables[child].gone)
            full = full * messages[child]
        for v, told in zip(table.scope, table.told, strict=False):
            if told:
                share[v] = np.add.reduce(full[1].reshape(-1, columns), axis=0)
            full = full[0] + full[1]
        sums[k] = np.add.reduce(full.reshape(-1, columns), axis=0)
    share[plan.order] /= sums[plan.homes]
    return log_sum, float(np.abs(sums - 1).max(initial=0.0))


def _filled(plan: Structure, single: Array, keep: Array, blocks: Array) -> list[Array]:
    """Every table with all that belongs to it multiplied in."""
    columns = single.shape[2]
    sizes = [columns << len(table.scope) for table in plan.tables]
    space = np.ones(sum(sizes), dtype=single.dtype)
    found = []
    start = 0
    for table, size in zip(plan.tables, sizes, strict=True):
        filled = space[start : start + size].reshape((*(2,) * len(table.scope), columns))
        start += size
        for axis, v in enumerate(table.scope[: table.going], 1):
            filled *= single[v].reshape((2, *(1,) * (len(table.scope) - axis), columns))
        for index, link in table.links:
            both = filled[index]
            both *= keep[link]
        for shape, block in table.blocks:
            filled *= blocks[block].reshape((*shape, columns))
        found.append(filled)
    return found
