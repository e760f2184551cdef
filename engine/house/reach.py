"""How far a rule can move a probability, against the strongest packaged statement about the same cause.

Worked out at the base rate, with everything the rule says about a cause at its most telling: the
sign clearly there, the circumstance holding. Moves are in log-odds (natural); a Bayes factor of 10
is 2.3. The same sums as ``engine/network.py``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..catalog import Catalog
from ..model import Cause
from ..network import Builder, balanced, reliability
from ..odds import log_odds, moved
from .shapes import Change, HouseRule

ROUNDING = 0.1
"""Log-odds by which two words of the same weight may differ, through what they are tied to."""


@dataclass(frozen=True, slots=True)
class Reach:
    """What one rule can do to one cause at the most."""

    cause: str
    base: float
    """Probability before any answer, 0 to 1."""
    moved: float
    """Probability with everything the rule says about it in play."""
    log_odds: float
    cited: float
    """Log-odds of the strongest packaged statement about it the same way, or about any cause where there is none; 0 for
    a cause of the house."""

    @property
    def overwhelms(self) -> bool:
        """Whether it outweighs everything packaged about a packaged cause."""
        return self.cited > 0 and abs(self.log_odds) > self.cited + ROUNDING


class Ruler:
    """Measures rules against one layered knowledge and the packaged one below it."""

    def __init__(self, catalog: Catalog, packaged: Catalog) -> None:
        self._catalog = catalog
        self._packaged = packaged
        self._builder = Builder(catalog)
        self._below = Builder(packaged)
        self._strongest: dict[str, tuple[float, float]] = {}
        self._any: tuple[float, float] | None = None

    def reach(self, rule: HouseRule) -> list[Reach]:
        """What a rule can do to each cause it speaks of, furthest first."""
        moves: dict[str, dict[str, float]] = {}
        """By cause: what each thing that is said of it can do; a word for the same tie counts once."""

        def note(cause: str, about: str, move: float) -> None:
            if cause in self._catalog.causes:
                moves.setdefault(cause, {})[about] = move

        for link in rule.link:
            note(link.cause, link.sign, self._sign(self._builder, link.sign, link.seen))
        for shift in rule.likelier:
            note(shift.cause, shift.when, self._circumstance(self._builder, shift.when, shift.strength, 1))
        for x in rule.against:
            note(x.cause, f"not {x.sign or x.when}", self._denied(self._builder, x.sign, x.when, x.strength))
        for cause in rule.cause:
            for n, move in enumerate(self._all(self._builder, cause)):
                note(cause.id, f"own {n}", move)
        for change in rule.change:
            for id, about, move in self._changed(change):
                note(id, about, move)
        told_anew = {x.cause for x in rule.change if x.cause in moves and not (x.sign or x.when or x.leads_to)}
        found = []
        for id, each in sorted(moves.items()):
            total = math.fsum(each.values())
            before = self._packaged if id in told_anew else self._catalog
            base = before.value("base_rate", before.causes[id].base_rate)
            up, down = self._cited(id)
            cited = up if total > 0 else down
            found.append(Reach(id, base, moved(base, total), total, cited))
        return sorted(found, key=lambda r: (-abs(r.log_odds), r.cause))

    def _changed(self, change: Change) -> Iterator[tuple[str, str, float]]:
        """The causes whose probability a changed word bears on, what it is about, and the most it can do now."""
        if not change.cause:  # a rate of sound rinds, or for how many makers it holds: it bears on all tied to it
            about = change.sign or change.circumstance
            for cause in self._catalog.causes.values():
                for link in (x for x in cause.signs if x.sign == change.sign):
                    yield cause.id, about, self._sign(self._builder, about, link.seen)
                for shift in (x for x in cause.likelier if x.when == change.circumstance):
                    yield cause.id, about, self._circumstance(self._builder, about, shift.strength, 1)
            return
        old = self._packaged.causes.get(change.cause)
        if old is None or change.leads_to:
            return
        if any(x.sign == change.sign for x in old.signs):
            yield old.id, change.sign, self._sign(self._builder, change.sign, change.to)
        elif change.when and any(x.when == change.when for x in old.likelier):
            yield old.id, change.when, self._circumstance(self._builder, change.when, change.to, 1)
        elif change.sign or change.when:
            about = f"not {change.sign or change.when}"
            yield old.id, about, self._denied(self._builder, change.sign, change.when, change.to)
        else:
            was, now = (self._packaged.value("base_rate", word) for word in (old.base_rate, change.to))
            yield old.id, "", log_odds(now) - log_odds(was)

    def _cited(self, id: str) -> tuple[float, float]:
        """The strongest packaged statement for a cause, and the strongest against it."""
        if id not in self._packaged.causes:
            return 0.0, 0.0
        up, down = self._own(id)
        if not (up and down) and self._any is None:
            each = [self._own(name) for name in self._packaged.causes]
            self._any = (max(u for u, _ in each), max(d for _, d in each))
        return up or (self._any or (0.0, 0.0))[0], down or (self._any or (0.0, 0.0))[1]

    def _own(self, id: str) -> tuple[float, float]:
        if id not in self._strongest:
            moves = self._all(self._below, self._packaged.causes[id])
            self._strongest[id] = (max((m for m in moves if m > 0), default=0.0),
                                   max((-m for m in moves if m < 0), default=0.0))  # fmt: skip
        return self._strongest[id]

    def _all(self, builder: Builder, cause: Cause) -> list[float]:
        moves = [self._sign(builder, x.sign, x.seen) for x in cause.signs]
        moves += [self._circumstance(builder, x.when, x.strength, 1) for x in cause.likelier]
        moves += [self._denied(builder, x.sign, x.when, x.strength) for x in cause.against]
        return moves

    def _denied(self, builder: Builder, sign: str, when: str, strength: str) -> float:
        if sign:
            leak = self._leak(builder, sign)
            return balanced(-math.log(builder.catalog.value("strength", strength)), leak, True)
        return self._circumstance(builder, when, strength, -1)

    def _circumstance(self, builder: Builder, when: str, strength: str, way: int) -> float:
        if when not in builder.catalog.circumstances:
            return 0.0
        return builder.move(when, way * math.log(builder.catalog.value("strength", strength)), True)

    def _leak(self, builder: Builder, sign: str) -> float:
        found = builder.catalog.signs.get(sign)
        return builder.catalog.value("frequency", found.on_sound_rinds[0].seen) if found else 1.0

    def _sign(self, builder: Builder, id: str, seen: str) -> float:
        """The Bayes factor of the sign clearly there, in log-odds, with the usual slips of answers."""
        c = builder.catalog
        sign = c.signs.get(id)
        if sign is None:
            return 0.0
        question = c.questions[builder.question_of(sign)]
        graded = question.kind == "scale" and sign.when is None
        there, absent = reliability(c.noise[question.about], "not there" if sign.healthy else "there", graded)
        leak, often = self._leak(builder, id), c.value("frequency", seen)
        if sign.healthy:
            with_it, without = often, leak
            return math.log((with_it * there + (1 - with_it) * absent) / (without * there + (1 - without) * absent))
        with_it = 1 - (1 - leak) * (1 - often)
        return math.log((with_it * there + (1 - with_it) * absent) / (leak * there + (1 - leak) * absent))
