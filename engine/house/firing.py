"""Whether a condition can ever be true: whether any answers at all would make it so.

A condition is unfolded into its alternatives; an alternative is possible when every question in it
has an answer that meets all of its demands at once, and the cheese (family, style, age) fits the
rest. The search is bounded: where it would grow too large, the condition gets the benefit of the doubt.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise, product

from ..answers import AGE, MADE, UNKNOWN, Answers, Value, as_text
from ..catalog import Catalog
from ..conditions import JOINS, LIMITS, describe, leaf_truth, leaves, question_in
from ..model import Condition, Question
from .fitting import answers_of

MOST_TRIES = 400
"""Alternatives looked at for one condition."""

OF_CHEESE = ("family", "style", AGE, MADE)
"""Questions about the cheese itself. What is not known of one may follow from another."""
UNASKED = ""
"""Stands for leaving a question out."""
Demand = tuple[Condition, bool]
"""An atom on an answer or the cheese, and whether it must be so."""


def can_be(catalog: Catalog, condition: Condition) -> bool:
    """Whether any answers make a condition true."""
    ways = _ways(catalog, condition, True, 0)
    return ways is None or any(_possible(catalog, way) for way in ways[:MOST_TRIES])


def answers_for(catalog: Catalog, condition: Condition, so: bool = True) -> dict[str, str | list[str]] | None:
    """Answers, as written in a file, that make a condition true (or false); None when none are found."""
    for way in (_ways(catalog, condition, so, 0) or [])[:MOST_TRIES]:
        found = _found(catalog, way)
        if found is not None:
            return {
                key: list(value) if isinstance(value, tuple) else as_text(value) for key, value in found.items()
            }  # fmt: skip
    return None


def _ways(catalog: Catalog, c: Condition, so: bool, depth: int) -> list[tuple[Demand, ...]] | None:
    """Alternatives as demands on answers alone; None when there are too many to look at."""
    parts = c.all or c.any or c.none
    if parts:
        wanted = so if not c.none else not so
        inner = [_ways(catalog, part, wanted, depth) for part in parts]
        together = so if (c.all or c.none) else not so
        if not together:
            ways: list[tuple[Demand, ...]] = []
            for one in inner:
                if one is None:
                    return None
                ways += one
        else:
            size = 1
            for one in inner:
                size *= MOST_TRIES + 1 if one is None else len(one)
                if size > MOST_TRIES:
                    return None
            ways = [tuple(d for way in choice for d in way) for choice in product(*(one or [] for one in inner))]
        return ways if len(ways) <= MOST_TRIES else None
    if depth > 20:
        return None
    if c.holds:
        circumstance = catalog.circumstances.get(c.holds)
        return _ways(catalog, circumstance.when, so, depth + 1) if circumstance else []
    if c.sign:
        sign = catalog.signs.get(c.sign)
        return _ways(catalog, sign.when or Condition(ask=sign.id), so, depth + 1) if sign else []
    return [((c, so),)]


def _possible(catalog: Catalog, way: Iterable[Demand]) -> bool:
    return _found(catalog, way) is not None


def _found(catalog: Catalog, way: Iterable[Demand]) -> dict[str, Value] | None:
    """Answers that meet every demand of one alternative, or None."""
    found: dict[str, Value] = {}
    by_question: dict[str, list[Demand]] = {}
    of_cheese: list[Demand] = []
    for demand in way:
        name = question_in(demand[0])
        if name and name not in OF_CHEESE:
            by_question.setdefault(name, []).append(demand)
        else:
            of_cheese.append(demand)
    for name, demands in by_question.items():
        question = catalog.questions.get(name)
        value = _answer(catalog, question, demands) if question is not None else None
        if value is None:
            return None
        if value != UNASKED:
            found[name] = value
    cheese = _cheese(catalog, of_cheese) if of_cheese else {}
    return None if cheese is None else {**found, **cheese}


def _answer(catalog: Catalog, question: Question, demands: list[Demand]) -> Value | None:
    """An answer that meets every demand on one question; ``UNASKED`` for leaving it out."""
    nobody = catalog.cheese(None, None, None)
    for value in (UNASKED, *_values(question, demands), UNKNOWN):
        answers = Answers.of({} if value == UNASKED else {question.id: value})
        if all(leaf_truth(c, answers, nobody) is so for c, so in demands):
            return value
    return None


def _values(question: Question, demands: list[Demand]) -> list[Value]:
    """Answers that between them meet any set of demands that can be met."""
    if question.kind == "number":
        return [*_numbers(question, _limits(demands, question.id))]
    words = answers_of(question)
    if question.kind != "some_of":
        return list(words)
    barred = {w for c, so in demands if not so for w in c.one_of}
    free = tuple(sorted(w for w in words if w not in barred))
    return [free] if free else []


def _limits(demands: list[Demand], name: str) -> set[float]:
    """Every limit that demands set on a question."""
    return {x for c, _ in demands if c.ask == name for key in LIMITS if (x := getattr(c, key)) is not None}


def _numbers(question: Question, limits: set[float]) -> list[float]:
    """The limits, and numbers between and beyond them, as far as the question takes them."""
    cuts = sorted(limits)
    between = [(a + b) / 2 for a, b in pairwise(cuts)]
    outer = [cuts[0] - 1, cuts[-1] + 1] if cuts else []
    low = question.minimum if question.minimum is not None else float("-inf")
    high = question.maximum if question.maximum is not None else float("inf")
    return [x for x in (*cuts, *between, *outer, low, high) if low <= x <= high and abs(x) != float("inf")]


def _cheese(catalog: Catalog, demands: list[Demand]) -> dict[str, Value] | None:
    """Answers about the cheese itself that meet every demand: family, style and age bear on each other."""
    asked = {question_in(c) for c, _ in demands}
    for place in _places(catalog, not asked.isdisjoint(("family", "style"))):
        for days in _days(catalog, demands, asked, place):
            answers = Answers.of({k: v for k, v in {**place, **days}.items() if v != UNASKED})
            cheese = answers.cheese(catalog)
            if all(leaf_truth(c, answers, cheese) is so for c, so in demands):
                return dict(answers.given)
    return None


def _places(catalog: Catalog, asked: bool) -> Iterator[Mapping[str, Value]]:
    """What may be told of family and style: nothing, a style, a family; where a demand asks for them, all there is."""
    if not asked:
        yield {}
        yield from ({"style": s} for s in catalog.styles)
        yield from ({"family": f} for f in catalog.families)
        return
    for family, style in product((UNASKED, UNKNOWN, *catalog.families), (UNASKED, UNKNOWN, *catalog.styles)):
        if family not in catalog.families or catalog.home.get(style, family) == family:
            yield {"family": family, "style": style}


def _days(
    catalog: Catalog, demands: list[Demand], asked: set[str], place: Mapping[str, Value]
) -> Iterator[dict[str, Value]]:
    """What may be told of its age, in days since salting or, where that stays open, since it was made."""
    age, made = catalog.questions.get(AGE), catalog.questions.get(MADE)
    ages: list[Value] = [UNASKED]
    since: list[Value] = [UNASKED]
    if age is not None and AGE in asked:
        ages += [*_values(age, demands), UNKNOWN]
    if made is not None and (MADE in asked or any(AGE in (c.unanswered, c.dont_know) for c, _ in demands)):
        salting = catalog.salting_ends_day(Answers.of(place).cheese(catalog))
        limits = _limits(demands, MADE) | {x + salting for x in _limits(demands, AGE)}
        since += [*_numbers(made, limits), UNKNOWN]
    yield from ({MADE: m, AGE: a} for m, a in product(since, ages))


def reads(condition: Condition) -> str:
    """A condition as one stable text, for finding two that say the same."""
    for key in JOINS:
        parts = getattr(condition, key)
        if parts:
            return f"{key}({'; '.join(sorted(reads(p) for p in parts))})"
    return describe(next(iter(leaves(condition))))
