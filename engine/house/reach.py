"""How far a rule can move a probability, against the strongest packaged statement about the same cause.

Worked out at the base rate, with everything the rule says about a cause at its most telling: the
sign clearly there, the circumstance holding. Moves are in log-odds (natural); a Bayes factor of 10
is 2.3. The same sums as ``engine/network.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..catalog import Catalog
from ..model import Cause
from ..network import Builder, reliability
from .shapes import HouseRule


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
    """Log-odds of the strongest packaged statement the same way; 0 when there is none."""

    @property
    def overwhelms(self) -> bool:
        """Whether it outweighs everything packaged about a packaged cause."""
        return self.cited > 0 and abs(self.log_odds) > self.cited + 0.4


class Ruler:
    """Measures rules against one layered knowledge and the packaged one below it."""

    def __init__(self, catalog: Catalog, packaged: Catalog) -> None:
        self._catalog = catalog
        self._packaged = packaged
        self._builder = Builder(catalog)
        self._below = Builder(packaged)
        self._strongest: dict[str, tuple[float, float]] = {}

    def reach(self, rule: HouseRule) -> list[Reach]:
        """What a rule can do to each cause it speaks of, furthest first."""
        moves: dict[str, list[float]] = {}

        def note(cause: str, move: float) -> None:
            if cause in self._catalog.causes:
                moves.setdefault(cause, []).append(move)

        for link in rule.link:
            note(link.cause, self._sign(self._builder, link.sign, link.seen))
        for shift in rule.likelier:
            note(shift.cause, self._circumstance(self._builder, shift.when, shift.strength, 1))
        for against in rule.against:
            note(against.cause, self._denied(self._builder, against.sign, against.when, against.strength))
        for cause in rule.cause:
            for move in self._all(self._builder, cause):
                note(cause.id, move)
        for change in rule.change:
            self._changed(change.cause, change.to, change, note)
        found = []
        for id, each in sorted(moves.items()):
            total = math.fsum(each)
            base = self._catalog.value("base_rate", self._catalog.causes[id].base_rate)
            up, down = self._cited(id)
            cited = up if total > 0 else down
            found.append(Reach(id, base, _moved(base, total), total, cited))
        return sorted(found, key=lambda r: (-abs(r.log_odds), r.cause))

    def _changed(self, cause: str, to: str, change: object, note) -> None:  # type: ignore[no-untyped-def]
        sign, when = getattr(change, "sign", ""), getattr(change, "when", "")
        if not cause or cause not in self._packaged.causes:
            return
        old = self._packaged.causes[cause]
        if sign:
            for link in old.signs:
                if link.sign == sign:
                    note(cause, self._sign(self._builder, sign, to))
                    return
        elif when:
            for shift in old.likelier:
                if shift.when == when:
                    note(cause, self._circumstance(self._builder, when, to, 1))
                    return
        elif not getattr(change, "leads_to", ""):
            was = self._packaged.value("base_rate", old.base_rate)
            now = self._packaged.value("base_rate", to)
            note(cause, _logit(now) - _logit(was))

    def _cited(self, id: str) -> tuple[float, float]:
        """The strongest packaged statement for a cause, and the strongest against it."""
        if id not in self._strongest:
            cause = self._packaged.causes.get(id)
            moves = self._all(self._below, cause) if cause is not None else []
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
            weight = -math.log(builder.catalog.value("strength", strength))
            return weight - math.log1p(leak * math.expm1(weight))
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


def _logit(p: float) -> float:
    return math.log(p / (1 - p))


def _moved(base: float, log_odds: float) -> float:
    return 1 / (1 + math.exp(-(_logit(base) + log_odds)))
