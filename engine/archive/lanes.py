"""The sum over "explained or not", written out as lanes of one network without findings.

An answer for a sign says: there with some probability, or not there. With k such answers the chance of all answers is a
signed sum of 2^k terms, and in each of them the causes are joined by nothing but feeding. So every look becomes 2^k
lanes of one network, the same for all looks, and one elimination order serves thousands of them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..belief import Finding, Network, TooWide, beliefs, weighted
from ..catalog import Catalog
from ..network import UNKNOWN_CAUSE_BASE
from .columns import Flags, Numbers

For = tuple[float, float, Numbers]
"""An answer for a sign: its weight where the sign is there, what "not there" adds, and how far each cause keeps
the sign away (causes and the unknown one)."""
MOST_FOR = 8
"""Answers for signs that are written out; more go one by one."""
LEAST_LEFT = 1e-6
"""Share of the largest term that must be left of the signed sum: below it, digits would be lost."""
TOGETHER = 1 << 13
"""Lanes worked out in one go: bounds memory."""


class Lanes:
    """The network of causes feeding causes, ready for any number of lanes."""

    def __init__(self, catalog: Catalog) -> None:
        self.nodes = tuple(catalog.causes)
        index = {c: k for k, c in enumerate(self.nodes)}
        feeds = [
            (index[c.id], index[f.cause], catalog.value("feeding", f.strength))
            for c in catalog.causes.values()
            for f in c.leads_to
            if f.cause in index
        ]
        self._feeds = feeds
        joined = sorted({node for parent, child, _ in feeds for node in (parent, child)})
        self._joined = np.array(joined, dtype=np.intp)
        self._alone = np.array([k for k in range(len(self.nodes)) if k not in set(joined)], dtype=np.intp)
        place = {node: k for k, node in enumerate(joined)}
        inner = tuple((place[p], place[c], q) for p, c, q in feeds)
        self._network = Network(tuple(0.1 for _ in joined), inner)
        self._fed = np.array([q for *_, q in feeds])
        self._children = np.array([c for _, c, _ in feeds], dtype=np.intp)

    def weigh(
        self,
        base: Numbers,
        weight: Numbers,
        applies: Flags,
        for_: Sequence[list[For]],
        k: int,
    ) -> tuple[Numbers, Numbers, Numbers]:
        """Posteriors, log of the sum, and how much of the largest term was left of it, for looks with k findings."""
        looks, subsets = len(base), 1 << k
        lanes = np.repeat(weight[:, None, :], subsets, axis=1)
        factor = np.ones((looks, subsets))
        bits = (np.arange(subsets)[:, None] >> np.arange(k)) & 1
        for slot in range(k):
            there = np.array([f[slot][0] for f in for_])[:, None]
            share = np.array([f[slot][1] for f in for_])[:, None]
            keep = np.stack([f[slot][2] for f in for_])[:, None, :]
            on = bits[:, slot].astype(bool)
            factor = factor * np.where(on, share, there)
            lanes[:, on, :] *= keep
        alone = np.concatenate([self._alone, [len(self.nodes)]])
        all_base = np.concatenate([base, np.full((looks, 1), UNKNOWN_CAUSE_BASE)], axis=1)
        b = all_base[:, None, alone]
        on_part = b * lanes[:, :, alone]
        total = 1 - b + on_part
        log_sum = np.log(total).sum(axis=2)
        share_on = np.empty((looks, subsets, len(self.nodes) + 1))
        share_on[:, :, alone] = on_part / total
        if len(self._joined):
            flat = looks * subsets
            joined_base = np.repeat(base[:, None, self._joined], subsets, axis=1).reshape(flat, -1).T
            joined_weight = lanes[:, :, self._joined].reshape(flat, -1).T
            fed = np.where(applies[:, self._children], self._fed, 0.0)
            fed = np.repeat(fed[:, None, :], subsets, axis=1).reshape(flat, -1).T
            found, log_joined = weighted(self._network, joined_base, joined_weight, fed)
            share_on[:, :, self._joined] = found.T.reshape(looks, subsets, -1)
            log_sum = log_sum + log_joined.reshape(looks, subsets)
        top = log_sum.max(axis=1)
        terms = factor * np.exp(log_sum - top[:, None])
        whole = terms.sum(axis=1)
        left = whole / np.abs(terms).max(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            posterior = np.einsum("ls,lsc->lc", terms, share_on) / whole[:, None]
            log_whole = np.log(whole) + top
        return np.clip(np.nan_to_num(posterior), 0.0, 1.0), log_whole, np.where(np.isfinite(log_whole), left, 0.0)

    def one(self, base: Numbers, weight: Numbers, applies: Flags, for_: list[For]) -> tuple[Numbers, float] | None:
        """One look by elimination over its own findings; None when that is too wide."""
        nodes = [*np.flatnonzero(applies).tolist(), len(self.nodes)]
        place = {node: k for k, node in enumerate(nodes)}
        against = Finding(0.0, tuple((place[n], 1 - float(weight[n])) for n in nodes if weight[n] != 1.0), 0.0, 1.0)
        findings = [against]
        for there, share, keep in for_:
            links = tuple((place[n], 1 - float(keep[n])) for n in nodes if keep[n] != 1.0)
            findings.append(Finding(0.0, links, there, there + share))
        feeds = tuple((place[p], place[c], q) for p, c, q in self._feeds if p in place and c in place)
        network = Network((*(float(base[n]) for n in nodes[:-1]), UNKNOWN_CAUSE_BASE), feeds, tuple(findings))
        try:
            found = beliefs(network)
        except TooWide:
            return None
        posterior = np.zeros(len(self.nodes) + 1)
        posterior[nodes] = found.posterior[:, 0]
        return posterior, float(found.log_evidence[0])
