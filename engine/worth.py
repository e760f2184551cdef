"""What the supposed answers to open questions would bring, all of them worked out at once.

A *group* is one question, or one sign that a question settles, with the outcomes that it may have. The groups of a
question that settles several signs are held against each other by whoever asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .elimination import Array
from .structure import Places


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Groups, and for each of them what may come of it: how likely each outcome is, and the posteriors then."""

    groups: list[str]
    """The question that each group belongs to."""
    sizes: Sequence[int]
    """How many outcomes each group has."""
    shares: Array
    """Of all outcomes, one group after the other; those of a group add up to 1."""
    rows: Array
    """(outcomes, nodes)."""


@dataclass(frozen=True, slots=True)
class Brought:
    """What one group is expected to bring."""

    question: str
    gain: float
    """Fall in entropy over all causes, nats."""
    surer: float
    """Rise of the likeliest cause."""
    change: float
    """Probability that today's advice is another one."""
    moved: tuple[int, ...]
    """The two nodes that it moves most."""


def of_signs(
    groups: list[str],
    no: Array,
    if_no: Array,
    now: Array,
    healthy: Array,
    noise: Sequence[Sequence[tuple[float, float]]],
) -> Outcomes:
    """The answers that questions after signs may get, noise and all.

    For each sign, ``no`` is the probability that a "no" would be heard if all ears were sharp, ``if_no`` the posteriors
    then; ``healthy`` signs are entered as their lack. ``noise`` holds for each possible answer how often it comes when
    the sign is there, and when it is not.
    """
    if not groups:
        return Outcomes([], [], no, if_no)
    no = np.clip(no, 1e-12, 1 - 1e-12)[:, None]
    yes = 1 - no
    if_yes = np.clip((now - no * if_no) / yes, 0.0, 1.0)
    turned = np.asarray(healthy, dtype=bool)[:, None]
    yes, no, if_yes, if_no = (
        np.where(turned, no, yes),
        np.where(turned, yes, no),
        np.where(turned, if_no, if_yes),
        np.where(turned, if_yes, if_no),
    )
    sizes = [len(answers) for answers in noise]
    which = np.repeat(np.arange(len(noise)), sizes)
    there, absent = np.array([pair for answers in noise for pair in answers]).reshape(-1, 2, 1).swapaxes(0, 1)
    if_there, if_absent = yes[which] * there, no[which] * absent
    shares = if_there + if_absent
    rows = (if_there * if_yes[which] + if_absent * if_no[which]) / np.where(shares > 0, shares, 1.0)
    return Outcomes(groups, sizes, shares[:, 0], rows)


def of_weights(groups: list[str], sizes: Sequence[int], weights: Array, rows: Array) -> Outcomes:
    """Outcomes with a weight each; groups in which nothing can come about are left out."""
    if not groups:
        return Outcomes([], [], weights, rows)
    totals = np.add.reduceat(weights, _starts(sizes))
    able = totals > 0
    kept = np.repeat(able, sizes)
    named = [group for group, can in zip(groups, able, strict=True) if can]
    left = [size for size, can in zip(sizes, able, strict=True) if can]
    return Outcomes(named, left, weights[kept] / np.repeat(totals, sizes)[kept], rows[kept])


def brought(parts: Sequence[Outcomes], now: Array, leads: float) -> Iterator[Brought]:
    """What each group is expected to bring, the case standing as in ``now``. A cause gives advice from ``leads`` up."""
    groups = [group for part in parts for group in part.groups]
    if not groups:
        return
    starts = _starts([size for part in parts for size in part.sizes])
    shares = np.concatenate([part.shares for part in parts])
    rows = np.concatenate([part.rows for part in parts])
    entropy, highest, lead = _entropy(rows), _highest(rows), _lead(rows, leads)
    alone = now[None]
    gain = _entropy(alone) - np.add.reduceat(shares * entropy, starts)
    surer = np.add.reduceat(shares * highest, starts) - _highest(alone)
    change = np.add.reduceat(np.where(lead == _lead(alone, leads), 0.0, shares), starts)
    swing = np.add.reduceat(shares[:, None] * np.abs(rows - now), starts, axis=0)
    # Rounded: nodes level with each other stand in their own order, not in that of the last digit.
    moved = np.argsort(-swing.round(12), axis=1, kind="stable")[:, :2]
    for k, group in enumerate(groups):
        yield Brought(group, float(gain[k]), float(surer[k]), float(change[k]), tuple(moved[k].tolist()))


def _starts(sizes: Sequence[int]) -> Places:
    found: Places = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.intp)
    return found


def _entropy(rows: Array) -> Array:
    """Of each row: over all causes, each there or not."""
    q = np.clip(rows, 1e-12, 1 - 1e-12)
    found: Array = -(q * np.log(q) + (1 - q) * np.log1p(-q)).sum(axis=1)
    return found


def _highest(rows: Array) -> Array:
    """Of each row: the probability of its likeliest cause, something else left aside."""
    found: Array = rows[:, :-1].max(axis=1, initial=0.0)
    return found


def _lead(rows: Array, leads: float) -> Places:
    """Of each row: the place of the cause that today's advice follows, or -1 when none stands out."""
    if rows.shape[1] < 2:
        return np.full(len(rows), -1)
    found: Places = np.where(_highest(rows) < leads, -1, np.argmax(rows[:, :-1], axis=1))
    return found
