"""The sum over "explained or not", written out as lanes of networks without findings.

An answer for a sign says: there with some probability, or not there. With k such answers the chance of all answers is a
signed sum of 2^k terms, and in each of them the causes are joined by nothing but feeding. What feeds what falls into
*parts* once the kind of rind is known, and a part looks different only for the answers that touch a cause in it. So
every look becomes a few lanes of each part, and a part is eliminated once for the lanes of all looks at its rind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..belief import Finding, Network, Structure, TooWide, beliefs, planned, weighted
from ..catalog import Catalog
from ..network import UNKNOWN_CAUSE_BASE
from .columns import Flags, Numbers

Places = NDArray[np.intp]
MOST_FOR = 10
"""Answers for signs that are written out; more go one by one."""
LEAST_LEFT = 1e-6
"""Share of the largest term that must be left of the signed sum: below it, digits would be lost."""
TOGETHER = 1 << 12
"""Terms worked out in one go: bounds memory."""
_NONE = 62
"""A bit that no term has."""


@dataclass(frozen=True, slots=True)
class For:
    """Answers that speak for a sign, those of one look together.

    ``there`` is the weight of an answer where the sign is there, ``share`` what "not there" adds, and ``keep`` how far
    each cause (and the unknown one) keeps the sign away.
    """

    row: Places
    there: Numbers
    share: Numbers
    keep: Numbers

    @staticmethod
    def of(pieces: Sequence[tuple[Places, Numbers, Numbers, Numbers]], nodes: int) -> For:
        """Answers sign by sign, put together look by look."""
        if not pieces:
            return For(np.empty(0, dtype=np.intp), np.empty(0), np.empty(0), np.empty((0, nodes)))
        row, there, share, keep = (np.concatenate(parts) for parts in zip(*pieces, strict=True))
        order = np.argsort(row, kind="stable")
        return For(row[order], there[order], share[order], keep[order])


@dataclass(frozen=True, slots=True)
class _Part:
    """Causes that feed each other, directly or through others."""

    nodes: Places
    plan: Structure
    children: Places
    """By feed: the cause that is fed."""
    fed: Numbers


@dataclass(slots=True)
class _Summed:
    """A part summed out for some looks: one lane for each choice of the answers that touch it."""

    part: _Part
    at: Places
    """By look of the cohort: its place here, or -1."""
    start: Places
    slots: Places
    """By look and bit of its lanes: which of its answers the bit stands for."""
    share: Numbers
    log_sum: Numbers
    used: Numbers
    """What the terms put on each lane."""

    def lanes(self, rows: Places, terms: NDArray[np.int64]) -> NDArray[np.int64]:
        """The lane of each term of some looks, all with as many terms."""
        found = np.repeat(self.start[rows][:, None], len(terms), axis=1)
        for bit in range(self.slots.shape[1]):
            found += ((terms >> self.slots[rows, bit][:, None]) & 1) << bit
        return found


class Lanes:
    """The causes of one knowledge base, ready for any number of looks."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self.nodes = tuple(catalog.causes)
        index = {c: k for k, c in enumerate(self.nodes)}
        self._feeds = [
            (index[c.id], index[f.cause], catalog.value("feeding", f.strength))
            for c in catalog.causes.values()
            for f in c.leads_to
            if f.cause in index
        ]
        self._parts: dict[str | None, list[_Part]] = {}

    def parts(self, family: str | None) -> list[_Part]:
        """The parts that the causes of a kind of rind fall into, single causes aside."""
        if family not in self._parts:
            cheese = self.catalog.cheese(family, None, None)
            causes = self.catalog.causes.values()
            here = {k for k, cause in enumerate(causes) if cheese.is_one_of(cause.rinds) is not False}
            feeds = [feed for feed in self._feeds if feed[0] in here and feed[1] in here]
            self._parts[family] = [_part(group, feeds) for group in _joined(feeds)]
        return self._parts[family]

    def weigh(
        self, families: Sequence[str | None], kind: Places, base: Numbers, weight: Numbers, applies: Flags, for_: For
    ) -> tuple[Numbers, Numbers, Numbers]:
        """Posteriors, log of the sum, and how much of the largest term was left of it.

        ``kind`` gives the place of each look in ``families``. Looks with too many answers for signs come back with
        nothing left.
        """
        looks = len(base)
        count = np.bincount(for_.row, minlength=looks)
        first = np.cumsum(count) - count
        single = np.concatenate([base, np.full((looks, 1), UNKNOWN_CAUSE_BASE)], axis=1)
        summed = []
        for place, family in enumerate(families):
            rows = np.flatnonzero((kind == place) & (count <= MOST_FOR))
            for part in self.parts(family) if len(rows) else ():
                summed.append(_sum_out(part, rows, looks, base, weight, applies, for_, first))
                single[np.ix_(rows, part.nodes)] = 0.0
        posterior, log_whole, left = np.zeros(single.shape), np.full(looks, np.nan), np.zeros(looks)
        for k in range(MOST_FOR + 1):
            rows = np.flatnonzero(count == k)
            step = max(1, TOGETHER >> k)
            for start in range(0, len(rows), step):
                some = rows[start : start + step]
                at = first[some][:, None] + np.arange(k)
                found = _signed(single[some], weight[some], for_, at, some, summed)
                posterior[some], log_whole[some], left[some] = found
        for one in summed:
            looks_here = np.flatnonzero(one.at >= 0)
            on = np.add.reduceat(one.share * one.used, one.start, axis=1)
            posterior[np.ix_(looks_here, one.part.nodes)] = on.T[one.at[looks_here]]
        return np.clip(np.nan_to_num(posterior), 0.0, 1.0), log_whole, np.where(np.isfinite(log_whole), left, 0.0)

    def one(self, row: int, base: Numbers, weight: Numbers, applies: Flags, for_: For) -> tuple[Numbers, float] | None:
        """One look by elimination over its own findings; None when that is too wide."""
        nodes = [*np.flatnonzero(applies).tolist(), len(self.nodes)]
        place = {node: k for k, node in enumerate(nodes)}
        against = Finding(0.0, tuple((place[n], 1 - float(weight[n])) for n in nodes if weight[n] != 1.0), 0.0, 1.0)
        findings = [against]
        for k in np.flatnonzero(for_.row == row).tolist():
            there, keep = float(for_.there[k]), for_.keep[k]
            links = tuple((place[n], 1 - float(keep[n])) for n in nodes if keep[n] != 1.0)
            findings.append(Finding(0.0, links, there, there + float(for_.share[k])))
        feeds = tuple((place[p], place[c], q) for p, c, q in self._feeds if p in place and c in place)
        network = Network((*(float(base[n]) for n in nodes[:-1]), UNKNOWN_CAUSE_BASE), feeds, tuple(findings))
        try:
            found = beliefs(network)
        except TooWide:
            return None
        posterior = np.zeros(len(self.nodes) + 1)
        posterior[nodes] = found.posterior[:, 0]
        return posterior, float(found.log_evidence[0])


def _joined(feeds: Sequence[tuple[int, int, float]]) -> list[list[int]]:
    """Causes in groups that feeds hold together."""
    group: dict[int, set[int]] = {}
    for parent, child, _ in feeds:
        both = group.get(parent, {parent}) | group.get(child, {child})
        group.update(dict.fromkeys(both, both))
    return [sorted(members) for node, members in sorted(group.items()) if node == min(members)]


def _part(nodes: Sequence[int], feeds: Sequence[tuple[int, int, float]]) -> _Part:
    place = {node: k for k, node in enumerate(nodes)}
    own = [feed for feed in feeds if feed[0] in place]
    network = Network(tuple(0.1 for _ in nodes), tuple((place[p], place[c], q) for p, c, q in own))
    children = np.array([c for _, c, _ in own], dtype=np.intp)
    return _Part(np.array(nodes, dtype=np.intp), planned(network), children, np.array([q for *_, q in own]))


def _sum_out(
    part: _Part, rows: Places, looks: int, base: Numbers, weight: Numbers, applies: Flags, for_: For, first: Places
) -> _Summed:
    """A part for the looks at its rind."""
    mine = np.zeros(looks, dtype=bool)
    mine[rows] = True
    touching = np.flatnonzero(mine[for_.row])
    touching = touching[(for_.keep[np.ix_(touching, part.nodes)] != 1.0).any(axis=1)]
    count = np.bincount(for_.row[touching], minlength=looks)
    before = np.cumsum(count) - count
    rows = rows[np.argsort(count[rows], kind="stable")]  # looks with as many lanes lie together
    bits = count[rows]
    at = np.full(looks, -1, dtype=np.intp)
    at[rows] = np.arange(len(rows))
    slots = np.full((len(rows), int(bits.max(initial=0))), _NONE, dtype=np.intp)
    owner = for_.row[touching]
    slots[at[owner], np.arange(len(touching)) - before[owner]] = touching - first[owner]
    pieces = []
    for k in range(int(bits.max(initial=0)) + 1):
        some = rows[bits == k]
        lanes = weight[np.ix_(some, part.nodes)][:, None, :]
        for bit in range(k):
            keep = for_.keep[np.ix_(touching[before[some] + bit], part.nodes)]
            lanes = np.concatenate([lanes, lanes * keep[:, None, :]], axis=1)
        pieces.append(lanes.reshape(-1, len(part.nodes)))
    size = np.int64(1) << bits
    fed = np.where(applies[np.ix_(rows, part.children)], part.fed, 0.0)
    share, log_sum = weighted(
        part.plan,
        np.repeat(base[np.ix_(rows, part.nodes)], size, axis=0).T,
        np.concatenate(pieces).T,
        np.repeat(fed, size, axis=0).T,
    )
    return _Summed(part, at, np.cumsum(size) - size, slots, share, log_sum, np.zeros(len(log_sum)))


def _signed(
    single: Numbers, weight: Numbers, for_: For, at: Places, some: Places, summed: Sequence[_Summed]
) -> tuple[Numbers, Numbers, Numbers]:
    """The signed sum for looks with as many answers for signs; ``at`` says which those are."""
    k = at.shape[1]
    lanes, factor = weight[:, None, :], np.ones((len(some), 1))
    for bit in range(k):
        keep, there, share = for_.keep[at[:, bit]], for_.there[at[:, bit]], for_.share[at[:, bit]]
        lanes = np.concatenate([lanes, lanes * keep[:, None, :]], axis=1)
        factor = np.concatenate([factor * there[:, None], factor * share[:, None]], axis=1)
    on = single[:, None, :] * lanes
    total = (1 - single)[:, None, :] + on
    log_sum = np.log(total.prod(axis=2))
    terms = np.arange(1 << k)
    reached = []
    for part in summed:
        here = np.flatnonzero(part.at[some] >= 0)
        if len(here):
            lane = part.lanes(part.at[some[here]], terms)
            log_sum[here] += part.log_sum[lane]
            reached.append((part, here, lane))
    top = log_sum.max(axis=1)
    signed = factor * np.exp(log_sum - top[:, None])
    whole = signed.sum(axis=1)
    left = whole / np.abs(signed).max(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        signed /= whole[:, None]
        log_whole = np.log(whole) + top
    for part, here, lane in reached:
        part.used += np.bincount(lane.ravel(), signed[here].ravel(), minlength=len(part.used))
    return np.einsum("ls,lsc->lc", signed, on / total), log_whole, left
