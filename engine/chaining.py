"""Answers to facts, forward, with experta.

Every circumstance, and every sign that is read off another question, becomes rules: some
conclude that it holds, some that it does not (three-valued logic, so nothing is ever
concluded from silence). All rules are conjunctions of *settled* premises and only ever add
facts: the outcome is a function of the set of answers, whatever order they came in, and
nothing has to be withdrawn.

experta carries the working memory and the agenda. One production takes each settled fact and
lowers the counters of the rules that wait for it; a rule whose counter is at zero asserts its
conclusion as the next fact. A fact that no rule waits for can bring nothing about and is noted
without a turn through the memory. One production *per rule* was measured against this on the same
knowledge and takes some twenty times as long for each answer (``tests/benchmarks``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from .answers import Answers
from .catalog import Catalog, Cheese
from .conditions import describe, leaf_truth, leaves
from .model import Condition

Settled = tuple[str, bool]
"""A proposition and whether it is so."""

ALTERNATIVES_CAP = 256
"""Most rules one condition may unfold into."""


@dataclass(frozen=True, slots=True, order=True)
class ChainRule:
    """If all premises are settled as stated, so is the conclusion."""

    id: str
    concludes: Settled
    premises: tuple[Settled, ...]


@dataclass(frozen=True, slots=True)
class Chained:
    """What follows from the answers, and the trail of how."""

    settled: Mapping[str, bool]
    trail: tuple[ChainRule, ...]
    """Every rule that fired, by id; a rule's premises are the facts it used."""

    def circumstance(self, id: str) -> bool | None:
        """Whether a circumstance holds; None when that is not known."""
        return self.settled.get("circumstance " + id)

    def sign(self, id: str) -> bool | None:
        """Whether a sign is there; None when that is not known."""
        return self.settled.get("sign " + id)


class Chainer:
    """The rules of one knowledge base, ready to run on any answers."""

    def __init__(self, catalog: Catalog) -> None:
        self._catalog = catalog
        self._leaf: dict[str, Condition] = {}
        self.rules: tuple[ChainRule, ...] = tuple(sorted(self._compile()))
        self._runner = RuleRunner(self.rules)

    def run(self, answers: Answers, cheese: Cheese | None = None) -> Chained:
        """All that follows from a set of answers."""
        cheese = cheese or answers.cheese(self._catalog)
        given: dict[str, bool] = {}
        for name, condition in self._leaf.items():
            value = leaf_truth(condition, answers, cheese)
            if value is not None:
                given[name] = value
        return self._runner.run(given)

    def _compile(self) -> Iterator[ChainRule]:
        for circumstance in self._catalog.circumstances.values():
            yield from self._rules("circumstance " + circumstance.id, circumstance.when)
        for sign in self._catalog.signs.values():
            yield from self._rules("sign " + sign.id, sign.when or Condition(ask=sign.id))

    def _rules(self, name: str, condition: Condition) -> Iterator[ChainRule]:
        for leaf in leaves(condition):
            if not leaf.holds and not leaf.sign:
                self._leaf.setdefault("answer " + describe(leaf), leaf)
        for value, mark in ((True, "+"), (False, "-")):
            for k, premises in enumerate(unfold(condition, value)):
                yield ChainRule(f"{name} {mark}{k}", (name, value), premises)


def unfold(condition: Condition, value: bool) -> list[tuple[Settled, ...]]:
    """The ways a condition comes to be so (or not so), each a set of settled premises.

    Raises ``ValueError`` when there are more than ``ALTERNATIVES_CAP``.
    """
    ways = _unfold(condition, value)
    return sorted({tuple(sorted(set(way))) for way in ways if not _contradicts(way)})


def _unfold(condition: Condition, value: bool) -> list[tuple[Settled, ...]]:
    parts = condition.all or condition.any or condition.none
    if not parts:
        return [((_name(condition), value),)]
    wanted = value if not condition.none else not value
    together = value if (condition.all or condition.none) else not value
    inner = [_unfold(part, wanted) for part in parts]
    if not together:
        ways = [way for part in inner for way in part]
    else:
        size = 1
        for part in inner:
            size *= len(part)
        if size > ALTERNATIVES_CAP:
            raise ValueError(f"unfolds into {size} alternatives; {ALTERNATIVES_CAP} is the most")
        ways = [tuple(s for way in choice for s in way) for choice in product(*inner)]
    if len(ways) > ALTERNATIVES_CAP:
        raise ValueError(f"unfolds into {len(ways)} alternatives; {ALTERNATIVES_CAP} is the most")
    return ways


def _name(leaf: Condition) -> str:
    if leaf.holds:
        return "circumstance " + leaf.holds
    if leaf.sign:
        return "sign " + leaf.sign
    return "answer " + describe(leaf)


def _contradicts(way: tuple[Settled, ...]) -> bool:
    return any((name, not value) in way for name, value in way)


class RuleRunner:
    """A fixed set of rules behind experta: given facts in, settled facts and trail out."""

    def __init__(self, rules: tuple[ChainRule, ...]) -> None:
        self._rules = rules
        self._waiting: dict[Settled, list[int]] = {}
        for k, rule in enumerate(rules):
            for premise in rule.premises:
                self._waiting.setdefault(premise, []).append(k)
        self._awaited = list(self._waiting)
        self._number = {fact: n for n, fact in enumerate(self._awaited)}
        """A working memory holds facts by number: one small field to match instead of two."""
        self._bare = [rule for rule in rules if not rule.premises]
        self._missing: list[int] = []
        self._fired: list[ChainRule] = []
        self._settled: dict[str, bool] = {}
        self._engine = None

    def run(self, given: Mapping[str, bool]) -> Chained:
        """Everything that follows from the given facts."""
        self._missing = [len(rule.premises) for rule in self._rules]
        self._fired, self._settled = [], {}
        engine, self._engine = self._engine or _engine(self), None
        engine.reset()
        facts = [rule.concludes for rule in self._bare] + sorted(given.items())
        self._fired += self._bare
        self._settle(engine, facts)
        engine.run()
        self._engine = engine  # kept only when it came through whole
        return Chained(dict(sorted(self._settled.items())), tuple(sorted(self._fired)))

    def arrived(self, engine: object, number: int) -> None:
        """A settled fact reached the working memory: wake the rules that waited for it."""
        fact = self._awaited[number]
        self._settled[fact[0]] = fact[1]
        ready = []
        for k in self._waiting[fact]:
            self._missing[k] -= 1
            if not self._missing[k]:
                ready.append(self._rules[k])
        self._fired += ready
        self._settle(engine, (rule.concludes for rule in ready))

    def _settle(self, engine: object, facts: Iterable[Settled]) -> None:
        awaited = []
        for fact in facts:
            number = self._number.get(fact)
            if number is None:
                self._settled[fact[0]] = fact[1]
            else:
                awaited.append(number)
        if awaited:
            engine.settle(awaited)  # type: ignore[attr-defined]


def _engine(runner: RuleRunner):  # type: ignore[no-untyped-def]
    # experta is opened on first use: screens that do not reason start without it.
    from ._experta import MATCH, Fact, KnowledgeEngine, Rule

    class SettledFact(Fact):  # type: ignore[misc]
        """A proposition that is known to be so, or known not to be, by its number."""

    class Engine(KnowledgeEngine):  # type: ignore[misc]
        """Working memory and agenda."""

        def settle(self, numbers: list[int]) -> None:
            self.declare(*(SettledFact(number=n) for n in numbers))

        @Rule(SettledFact(number=MATCH.number))  # type: ignore[untyped-decorator]
        def take(self, number: int) -> None:
            runner.arrived(self, number)

    return Engine()
