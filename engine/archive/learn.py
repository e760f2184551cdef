"""Learning from confirmed outcomes, kept apart from the cited knowledge.

- **Base rates** by a shrunken ratio of O, how often a cause was confirmed, to E, how often its cited base rate and
  the circumstances of the same looks would have it (``rates``). Where one cause was confirmed and the rest neither
  confirmed nor excluded, only relative rates are learnt: E is scaled to the sum of O.
- **Links and rates on sound rinds** by weighted counts (EM for a noisy OR with answer noise), from looks where
  everything was judged. A cited number weighs as many looks as its grade is worth, ten at least.
- An outcome known by laboratory, lens or a remedy that worked weighs 1, an own view 0.2. Nothing is ever filled
  in from the program's own probabilities.
- **Gate**: the newer looks are scored by what the looks before them taught. Base rates are refused when that speaks
  against them, links are taken only when it speaks for them. **Caps**: a base rate moves by a factor of 8 at most, a
  number stays within the 98 % band of its cited word.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..catalog import Catalog
from ..doubt import SPREAD
from ..fallback import weigh
from ..local import BASE_CAP, NONE, LeakKey, LinkKey, Local, link_at
from ..network import Builder
from ..odds import chance, log_odds, moved
from .cohort import Weigher
from .columns import cohort_of
from .confirmed import Trial
from .lanes import Lanes
from .rates import Count, shifts

LEAST_WEIGHT = 10.0
"""Looks that a cited link weighs at least: err on the stubborn side."""
BAND = 2.326
"""Spreads on either side that hold 98 % of a word's band."""
ROUNDS = 15
FEWEST = 10
"""Confirmed looks below which nothing is learnt."""
BLOCKS = 4
"""Blocks of the newest half of the looks that a lesson is tried on."""
SURE = 1.0
"""Standard errors by which the newer looks must speak, against base rates or for links."""
TRIED = (((True, False), -SURE), ((False, True), SURE), ((True, True), SURE))
"""Base rates, links, both; and by how many standard errors each must do better than what came before it.

Base rates are averaged with the cited ones by what the counts are worth, so that they need only not be spoken against;
links have ten numbers for one, and no such average.
"""
SHOWN_SHIFT = 0.05
"""Log-odds below which a base rate counts as unchanged."""
SHOWN_CHANGE = 0.01
_FLOOR = 1e-6
_EVEN = 1e-12
"""Gains closer to nothing than this are rounding."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What confirmed looks would change, and whether it passed the gate."""

    local: Local
    counts: dict[str, Count]
    """By ``base CAUSE``, ``link CAUSE SIGN PLACE``, ``leak SIGN PLACE``."""
    looks: int
    complete: int
    before: float
    """Mean log score on the newest looks by the cited knowledge; lower is better."""
    after: float
    error: float
    """Standard error of what lies between the two."""
    held_out: int

    @property
    def together(self) -> Count:
        """All causes: how often they were confirmed and expected. Nothing where base rates are not learnt."""
        some = [count for key, count in self.counts.items() if key.startswith("base ")]
        return Count(math.fsum(n.seen for n in some), math.fsum(n.of for n in some))

    @property
    def clear(self) -> bool:
        """Whether the newest looks can tell the lesson from luck."""
        return self.before - self.after > SURE * self.error


def fit_bases(catalog: Catalog, trials: Sequence[Trial]) -> tuple[dict[str, float], dict[str, Count]]:
    """Shifts of base rates in log-odds, and the counts behind them."""
    shift = dict.fromkeys(catalog.causes, 0.0)
    counts: dict[str, Count] = {}
    for _ in range(3):  # what a cause brought about by itself depends a little on its own rate
        seen, expected = dict.fromkeys(catalog.causes, 0.0), dict.fromkeys(catalog.causes, 0.0)
        relative = dict.fromkeys(catalog.causes, 0.0)
        partial = 0.0
        for trial in trials:
            w = trial.look.weight
            for cause in sorted(trial.look.causes):
                if cause not in trial.base:
                    continue
                p = moved(trial.base[cause], shift[cause])
                off = (1 - p) * math.prod(1 - q for q in trial.fed.get(cause, ()))
                own = p / max(1 - off, _FLOOR)
                seen[cause] += w * own
                partial += 0.0 if trial.look.complete else w * own
            for cause, p in trial.base.items():
                (expected if trial.look.complete else relative)[cause] += w * p
        total = math.fsum(sorted(relative.values()))
        for cause, e in relative.items():
            expected[cause] += e * partial / total if total > 0 else 0.0
        counts = {c: Count(seen[c], expected[c]) for c in catalog.causes}
        shift = shifts(counts, BASE_CAP)
    return shift, {f"base {c}": count for c, count in counts.items()}


def fit_links(
    catalog: Catalog, trials: Sequence[Trial]
) -> tuple[dict[LinkKey, float], dict[LeakKey, float], dict[str, Count]]:
    """Strengths of links and rates on sound rinds, and the counts behind them."""
    cited: dict[LinkKey | LeakKey, float] = {}
    for trial in trials:
        for finding in trial.findings:
            if finding.leak_key is not None:
                cited[finding.leak_key] = finding.leak
            cited.update(dict(finding.links))
    weight = {key: _weight(catalog, key, q) for key, q in cited.items()}
    value = dict(cited)
    active: dict[LinkKey | LeakKey, float] = {}
    tried: dict[LinkKey | LeakKey, float] = {}
    for _ in range(ROUNDS):
        active, tried = dict.fromkeys(cited, 0.0), dict.fromkeys(cited, 0.0)
        for trial in trials:
            w = trial.look.weight
            for f in trial.findings:
                leak = f.leak if f.leak_key is None else value[f.leak_key]
                quiet = (1 - leak) * math.prod(1 - value[key] for key, _ in f.links)
                said = f.if_there * (1 - quiet) + f.if_not * quiet
                if said <= 0:
                    continue
                share = w * f.if_there / said
                for key, _ in f.links:
                    active[key] += share * value[key]
                    tried[key] += w
                if f.leak_key is not None:
                    active[f.leak_key] += share * leak
                    tried[f.leak_key] += w
        value = {
            k: _banded(catalog, k, q, (weight[k] * q + active[k]) / (weight[k] + tried[k])) for k, q in cited.items()
        }
    links = {k: v for k, v in value.items() if len(k) == 3}
    leaks = {k: v for k, v in value.items() if len(k) == 2}
    counts = {("link " if len(k) == 3 else "leak ") + " ".join(map(str, k)): Count(active[k], tried[k]) for k in cited}
    return links, leaks, counts


def learn(
    catalog: Catalog, trials: Sequence[Trial], tell: Callable[[int, int], None] = lambda done, of: None
) -> Learnt | None:
    """What the confirmed looks teach, as far as it passes the gate; None when there are too few of them.

    Four things are tried: nothing, base rates, links, both. Each block of the newest half is scored by what the
    looks before it taught, and set against the cited knowledge and the best so far; how sure it must be, ``TRIED``
    says.
    """
    if len(trials) < FEWEST:
        return None
    cuts = [len(trials) * (BLOCKS + k) // (2 * BLOCKS) for k in range(BLOCKS + 1)]
    newest = trials[cuts[0] :]
    weights = [t.look.weight for t in newest]
    lanes = Lanes(catalog)
    losses = losses_of(catalog, NONE, newest, lanes)
    before = after = _mean(losses, weights)
    best, error, cited = (False, False), 0.0, losses
    for k, (parts, sure) in enumerate(TRIED):
        tried: list[float] = []
        for start, end in pairwise(cuts):
            tried += losses_of(catalog, _fitted(catalog, trials[:start], parts)[0], trials[start:end], lanes)
            tell(k * len(newest) + len(tried), len(TRIED) * len(newest))
        # Base rates that were let through unproven must not be an easy mark for links.
        ahead = [_gain(before_it, tried, weights) for before_it in (cited, losses)]
        if all(gain > sure * chance - _EVEN for gain, chance in ahead):
            best, after, losses, error = parts, _mean(tried, weights), tried, ahead[0][1]
    local, counts = _fitted(catalog, trials, best)
    return Learnt(local, counts, len(trials), sum(t.look.complete for t in trials), before, after, error, len(newest))


def _gain(before: Sequence[float], after: Sequence[float], weights: Sequence[float]) -> tuple[float, float]:
    """Mean gain in log score, and its standard error."""
    gains = [a - b for a, b in zip(before, after, strict=True)]
    gain = _mean(gains, weights)
    return gain, math.sqrt(_mean([(g - gain) ** 2 for g in gains], weights) / len(gains))


def _fitted(catalog: Catalog, trials: Sequence[Trial], parts: tuple[bool, bool]) -> tuple[Local, dict[str, Count]]:
    bases, links, leaks = dict[str, float](), dict[LinkKey, float](), dict[LeakKey, float]()
    counts: dict[str, Count] = {}
    if parts[0]:
        bases, counts = fit_bases(catalog, trials)
    if parts[1]:
        links, leaks, more = fit_links(catalog, trials)
        counts |= more
    kept = Local(
        {c: round(s, 6) for c, s in bases.items() if abs(s) >= SHOWN_SHIFT},
        {k: round(q, 6) for k, q in links.items() if abs(q - _cited(catalog, k)) >= SHOWN_CHANGE},
        {k: round(q, 6) for k, q in leaks.items() if abs(q - _cited(catalog, k)) >= SHOWN_CHANGE},
    )
    return kept, counts


def score(catalog: Catalog, local: Local, trials: Sequence[Trial]) -> float:
    """Mean log score of confirmed looks, weighted; lower is better."""
    return _mean(losses_of(catalog, local, trials), [t.look.weight for t in trials])


def _mean(values: Sequence[float], weights: Sequence[float]) -> float:
    total = math.fsum(weights)
    return math.fsum(v * w for v, w in zip(values, weights, strict=True)) / total if total else 0.0


def losses_of(catalog: Catalog, local: Local, trials: Sequence[Trial], lanes: Lanes | None = None) -> list[float]:
    """Log score of each look.

    Where everything was judged: over all causes. Where one cause was confirmed: of that cause among all.
    """
    found = Weigher(catalog, local, lanes).weigh(cohort_of(catalog, [trial.look.answers for trial in trials]))
    nodes, losses = tuple(catalog.causes), list[float]()
    for row, trial in enumerate(trials):
        if found.hard[row]:
            case = Builder(catalog, local).build(trial.look.answers, trial.chained)
            named = dict(zip(case.nodes[:-1], weigh(case.network).posterior[:-1, 0].tolist(), strict=True))
        else:
            named = {nodes[k]: float(found.posterior[row, k]) for k in np.flatnonzero(found.applies[row])}
        p = {name: min(max(x, _FLOOR), 1 - _FLOOR) for name, x in named.items()}
        if trial.look.complete:
            loss = -math.fsum(math.log(x if c in trial.look.causes else 1 - x) for c, x in p.items())
        else:
            whole = math.fsum(p.values())
            loss = -math.fsum(math.log(p[c] / whole) for c in sorted(trial.look.causes) if c in p)
        losses.append(loss)
    return losses


def _cited(catalog: Catalog, key: LinkKey | LeakKey) -> float:
    if len(key) == 3:
        return catalog.value("frequency", link_at(catalog, key).seen)
    return catalog.value("frequency", catalog.signs[key[0]].on_sound_rinds[key[1]].seen)


def _spread(catalog: Catalog, key: LinkKey | LeakKey) -> float:
    if len(key) == 3:
        return SPREAD[catalog.grade(link_at(catalog, key).sources)]
    return SPREAD[catalog.grade(catalog.signs[key[0]].on_sound_rinds[key[1]].sources)]


def _weight(catalog: Catalog, key: LinkKey | LeakKey, q: float) -> float:
    return max(LEAST_WEIGHT, 1 / (q * (1 - q) * _spread(catalog, key) ** 2) - 1)


def _banded(catalog: Catalog, key: LinkKey | LeakKey, cited: float, q: float) -> float:
    room = BAND * _spread(catalog, key)
    middle = log_odds(cited)
    return chance(max(middle - room, min(middle + room, log_odds(q, 1e-9))))
