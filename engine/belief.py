"""Facts to probabilities, exactly: noisy-OR networks by variable elimination.

A network holds binary *nodes* (causes). A node comes on by itself with its ``base``
probability, or is brought on by a parent that feeds it. A *finding* is an answered
sign; it comes on by itself (its ``leak``) or through any node that links to it. An
answer that speaks for a sign enters as an auxiliary variable, an answer that speaks
against one is folded into the weights of its nodes and costs nothing.

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
from dataclasses import dataclass

import numpy as np

from .elimination import Array, Numbers, TooWide, run
from .structure import Structure

WIDTH_CAP = 16
"""Largest number of variables in one table; beyond it the weakest nodes are folded in."""
_TABLE_BUDGET = 1 << 21
"""Numbers held in the largest table of one run: bounds memory, sets how many lanes go together."""


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

    @property
    def folds_roughly(self) -> bool:
        """Whether folding it leaves something out: a doubtful "no" to a sign that several nodes may show."""
        return 0 < self.if_there < self.if_not and len(self.links) > 1

    def folded(self) -> Finding:
        """This answer against a sign, as a sure "no" with adjusted leak and links.

        Exact when at most one linked node is on. With more of them on, the chance that the sign was there and missed
        is taken for each instead of once.
        """
        r1, r0 = self.if_there, self.if_not
        if r1 == 0 and r0 == 1:
            return self
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


def beliefs(
    network: Network,
    lanes: Sequence[Lane] = (Lane(),),
    *,
    cap: int = WIDTH_CAP,
    redraw: Redraw | None = None,
    fold: bool = True,
) -> Beliefs:
    """Posterior of every node in every lane.

    ``fold``: every "no" is folded (see ``Finding``) and costs nothing. Without, each is weighed as it was said, at the
    price of a variable for every doubtful one; the supposed answers of a lane are sure, and lose nothing either way.

    Raises ``TooWide`` when the elimination order exceeds ``cap``; the caller then falls back
    (``fallback.py``).
    """
    positive = _kept(network, fold)
    plan = _plan(network, positive, cap)
    columns = redraw.base.shape[1] if redraw is not None else len(lanes)
    step = max(1, min(columns, _TABLE_BUDGET >> plan.width))
    plan.lay_out(step)
    posterior = np.empty((len(network.base), columns))
    evidence = np.empty(columns)
    for start in range(0, columns, step):
        part = slice(start, min(start + step, columns))
        numbers = (
            _redrawn(network, positive, redraw, part)
            if redraw is not None
            else _numbers(network, positive, lanes[part])
        )
        posterior[:, part], evidence[part] = run(plan, numbers)
    return Beliefs(posterior, evidence, plan.width)


def planned(network: Network) -> Structure:
    """The structure of a network without findings, for ``weighted``."""
    return _plan(network, (), WIDTH_CAP)


def weighted(plan: Structure, base: Array, weight: Array, fed: Array) -> tuple[Array, Array]:
    """Many lanes of a network without findings: posteriors (nodes, lanes) and log of the sum (lanes).

    ``base`` and ``weight`` are (nodes, lanes): the probability of coming on by itself, and what being on is worth
    in the light of the answers; ``fed`` is (feeds, lanes): the strengths. The structure comes from ``planned``.
    """
    lanes = base.shape[1]
    posterior, evidence = np.empty_like(base), np.empty(lanes)
    step = max(1, min(lanes, _TABLE_BUDGET >> plan.width))
    plan.lay_out(step)
    for start in range(0, lanes, step):
        part = slice(start, min(start + step, lanes))
        width = part.stop - start
        numbers = Numbers(base[:, part], weight[:, part], np.empty((0, 2, width)), fed[:, part], np.zeros(width))
        posterior[:, part], evidence[part] = run(plan, numbers)
    return posterior, evidence


def width_of(network: Network, fold: bool = True) -> int:
    """Variables in the largest table that the network's elimination would need."""
    return _plan(network, _kept(network, fold), 10_000).width


def _kept(network: Network, fold: bool) -> list[int]:
    """The findings that get a variable; all others are absorbed into the weights of their nodes."""
    return [j for j, f in enumerate(network.findings) if f.speaks_for or (f.folds_roughly and not fold)]


def _plan(network: Network, positive: Sequence[int], cap: int) -> Structure:
    pairs = [(node, sign) for sign, j in enumerate(positive) for node, _ in network.findings[j].links]
    feeds = [(parent, child) for parent, child, _ in network.feeds]
    plan = Structure(len(network.base), len(positive), pairs, feeds)
    if plan.width > cap:
        raise TooWide(plan.width)
    return plan


def _numbers(network: Network, positive: Sequence[int], lanes: Sequence[Lane]) -> Numbers:
    n, columns = len(network.base), len(lanes)
    base = np.repeat(np.array(network.base)[:, None], columns, axis=1)
    weight = np.ones((n, columns))
    constant = np.zeros(columns)
    signs = np.empty((len(positive), 2, columns))
    for slot, j in enumerate(positive):
        f = network.findings[j]
        signs[slot, 0] = f.if_there
        signs[slot, 1] = (f.if_not - f.if_there) * (1 - f.leak)
    slots = {j: slot for slot, j in enumerate(positive)}
    folded = {j: f.folded() for j, f in enumerate(network.findings) if j not in slots}
    for f in folded.values():
        _absorb(f, weight, constant, slice(None))
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
    return Numbers(base, weight, signs, strengths, constant)


def _absorb(f: Finding, weight: Array, constant: Array, where: int | slice, power: int = 1) -> None:
    for node, q in f.links:
        weight[node, where] *= (1 - q) ** power
    constant[where] += power * np.log1p(-f.leak)


def _redrawn(network: Network, positive: Sequence[int], redraw: Redraw, part: slice) -> Numbers:
    base = redraw.base[:, part]
    columns = base.shape[1]
    weight = np.ones_like(base)
    constant = np.zeros(columns)
    signs = np.empty((len(positive), 2, columns))
    rows: list[Array] = []
    at = 0
    slots = {j: slot for slot, j in enumerate(positive)}
    for j, f in enumerate(network.findings):
        drawn = redraw.links[at : at + len(f.links), part]
        at += len(f.links)
        if j in slots:
            signs[slots[j], 0] = f.if_there
            signs[slots[j], 1] = (f.if_not - f.if_there) * (1 - f.leak)
            rows.extend(drawn)
            continue
        quiet = f.if_there + (f.if_not - f.if_there) * (1 - f.leak)
        for (node, _), q in zip(f.links, drawn, strict=True):
            weight[node] *= (f.if_there + (f.if_not - f.if_there) * (1 - f.leak) * (1 - q)) / quiet
        constant += np.log(quiet)
    rows.extend(redraw.feeds[:, part])
    strengths = np.array(rows).reshape(-1, columns)
    return Numbers(base, weight, signs, strengths, constant)


def log_joint(network: Network, on: Iterable[int]) -> float:
    """Log probability that exactly the nodes ``on`` are on, together with all answers.

    Negative answers are folded as in ``beliefs``, so that the two agree exactly.
    """
    present = set(on)
    total = 0.0
    parents: dict[int, float] = {}
    for parent, child, q in network.feeds:
        if parent in present:
            parents[child] = parents.get(child, 1.0) * (1 - q)
    for node, b in enumerate(network.base):
        off = (1 - b) * parents.get(node, 1.0)
        total += float(np.log(1 - off) if node in present else np.log(off))
    for f in network.findings:
        g = f if f.speaks_for else f.folded()
        quiet = 1 - g.leak
        for node, q in g.links:
            if node in present:
                quiet *= 1 - q
        total += float(np.log(g.if_there + (g.if_not - g.if_there) * quiet))
    return total


__all__ = [
    "WIDTH_CAP",
    "Array",
    "Beliefs",
    "Finding",
    "Lane",
    "Network",
    "Redraw",
    "Structure",
    "TooWide",
    "beliefs",
    "log_joint",
    "planned",
    "weighted",
    "width_of",
]
