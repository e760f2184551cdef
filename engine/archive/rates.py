"""How far local base rates differ from the cited ones, by counts of what was confirmed and what was expected.

Cause by cause the counts are few. Together they tell two things that no single cause can: how often faults come at
all beside what the knowledge expects (the *level*), and how far the causes differ from each other in that. The second
is the spread of a gamma distribution, told as *a* pseudo-looks: with few of them a cause is soon believed, with very
many the cited rates hold. Given both, a rate moves by the shrunken ratio level * (a + O) / (a + level * E), and O is
negative-binomial. Neither is known, so the ratio is averaged over both, each weighed by how well it foretells all
counts. Where the cited rates hold the counts say so, and next to nothing moves.

Rates of disease by district are estimated in the same way (Clayton and Kaldor 1987, Biometrics 43:671-681; cited from
memory). There the two numbers are fitted; here they are averaged over, since a maker has few looks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

PSEUDO = (1.0, 1.4, 2.0, 2.8, 4.0, 8.0, 16.0, 32.0)
"""Pseudo-looks behind a cause, equally likely beforehand: rates that differ by a factor of 2.7 down to 1.2."""
AS_CITED = 1_000.0
"""Pseudo-looks with which nothing moves; as likely beforehand as all of ``PSEUDO`` together."""
LEVELS = tuple(math.exp(k / 5) for k in range(-5, 6))
LEVEL_SPREAD = 0.5
"""Standard deviation of the logarithm of the level beforehand."""


@dataclass(frozen=True, slots=True)
class Count:
    """What was counted for one number: of a base rate O and E, of a link activations and trials."""

    seen: float
    of: float


@dataclass(frozen=True, slots=True)
class Manner:
    """One way in which local rates may differ, and how far the counts speak for it."""

    pseudo: float
    level: float
    share: float

    def ratio(self, count: Count) -> float:
        """The factor by which a rate moves."""
        return self.level * (self.pseudo + count.seen) / (self.pseudo + self.level * count.of)


def manners(counts: Iterable[Count]) -> list[Manner]:
    """Every way in which rates may differ, weighed by how well it foretells the counts."""
    some = [count for count in counts if count.of > 0]
    beforehand = [(a, 1.0) for a in PSEUDO] + [(AS_CITED, float(len(PSEUDO)))]
    found: list[tuple[float, float, float]] = []
    for pseudo, weight in beforehand:
        own = math.log(weight) + math.fsum(math.lgamma(pseudo + n.seen) - math.lgamma(pseudo) for n in some)
        for level in LEVELS:
            log_share = own - 0.5 * (math.log(level) / LEVEL_SPREAD) ** 2
            for n in some:
                mean = level * n.of
                log_share += pseudo * math.log(pseudo / (pseudo + mean)) + n.seen * math.log(mean / (pseudo + mean))
            found.append((pseudo, level, log_share))
    top = max(log_share for *_, log_share in found)
    total = math.fsum(math.exp(log_share - top) for *_, log_share in found)
    return [Manner(pseudo, level, math.exp(log_share - top) / total) for pseudo, level, log_share in found]


def shifts(counts: Mapping[str, Count], cap: float) -> dict[str, float]:
    """Shifts in log-odds by cause, at most ``cap`` either way; none where no look could have shown the cause."""
    ways = manners(counts.values())
    found = dict.fromkeys(counts, 0.0)
    for cause, count in counts.items():
        if not count.of:
            continue
        ratio = math.fsum(w.share * w.ratio(count) for w in ways)
        found[cause] = max(-cap, min(cap, math.log(ratio)))
    return found
