"""How far to trust a probability: the numbers behind the words redrawn many times.

A word is a band, not a number. Every link, feeding and base rate is redrawn on the log-odds
scale with a spread set by the grade of its source; the shown interval holds eight draws of
ten. The draws come from a fixed table, so the same answers give the same interval.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .belief import Array, Redraw, TooWide, beliefs
from .catalog import Catalog
from .local import link_at
from .network import CaseNetwork

DRAWS = 100
LOW, HIGH = 0.10, 0.90
"""The interval holds eight of ten draws."""
SPREAD = {"published": 0.40, "handbook": 0.55, "trade": 0.65, "practice": 0.77, "memory": 0.77, "house": 0.77}
"""Spread of a word in log-odds by grade. 0.77: two independent readings of 150 links, each with
an error of 0.55, and as much again for what both share (a desk study, judgement)."""
BASE_SPREAD = 0.80
"""Spread of a base rate in log-odds: judgement, no count exists."""
FRAGILE = 0.25
"""A first cause that changes in more than this share of draws is called fragile."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Interval of every node, and how often another cause came first."""

    low: Array
    high: Array
    fragile: bool


def doubt(catalog: Catalog, case: CaseNetwork, posterior: Array) -> Doubt:
    """Redraw the words behind a case; intervals for every node, 0 to 1."""
    network = case.network
    links = sum(len(f.links) for f in network.findings)
    table = np.random.RandomState(20).standard_normal((len(network.base) + links + len(network.feeds), DRAWS))
    at = len(network.base)
    base = _jitter(np.array(network.base), table[:at], BASE_SPREAD)
    spreads = _spreads(catalog, case)
    strength = np.array([q for f in network.findings for _, q in f.links])
    drawn = _jitter(strength, table[at : at + links], spreads)
    fed = _jitter(np.array([q for *_, q in network.feeds]), table[at + links :], SPREAD["memory"])
    try:
        redrawn = beliefs(network, redraw=Redraw(base, drawn, fed)).posterior
    except TooWide:
        wide = np.clip(np.stack([posterior - 0.25, posterior + 0.25]), 0, 1)
        return Doubt(wide[0], wide[1], True)
    low, high = np.quantile(redrawn, [LOW, HIGH], axis=1, method="lower")
    named = redrawn[:-1]
    if not len(named):
        return Doubt(low, high, False)
    first = int(np.argmax(posterior[:-1]))
    fragile = float(np.mean(np.argmax(named, axis=0) != first)) > FRAGILE
    return Doubt(np.minimum(low, posterior), np.maximum(high, posterior), fragile)


def _jitter(values: Array, noise: Array, spread: float | Array) -> Array:
    if not len(values):
        return np.empty((0, noise.shape[1]))
    clipped = np.clip(values, 1e-9, 1 - 1e-9)
    scale = np.broadcast_to(np.asarray(spread, dtype=np.float64).reshape(-1, 1), (len(values), 1))
    logit = np.log(clipped / (1 - clipped))[:, None] + scale * noise
    drawn: Array = 1 / (1 + np.exp(-logit))
    return drawn


def _spreads(catalog: Catalog, case: CaseNetwork) -> Array:
    """The spread of every link of every finding, by the grade of the link that counts on this cheese."""
    found = []
    for evidence in case.evidence:
        keys = dict(evidence.links)
        for node, _ in case.network.findings[evidence.finding].links:
            grade = catalog.grade(link_at(catalog, keys[node]).sources) if node in keys else "memory"
            found.append(SPREAD[grade])
    return np.array(found)
