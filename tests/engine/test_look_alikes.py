"""Two causes that are taken for each other are told apart by the question that their pages name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import screened
from rindwright.engine.model import Cause, Condition, Knowledge, Question

EVEN = 0.4
"""Odds of each of the two before anything is answered, so that just these two are in play."""
SOON = 3
LAST = 10**6
PAST_READY = 1.3
"""A style is looked at up to this many times its ready day."""


def pairs(knowledge: Knowledge) -> Iterator[tuple[Cause, Cause, str]]:
    causes = {c.id: c for c in knowledge.causes if not c.replaced_by}
    for cause in causes.values():
        for look in cause.mistaken_for:
            if look.question and look.cause in causes:
                yield cause, causes[look.cause], look.question


def frames(catalog: Catalog, a: Cause, b: Cause, question: Question) -> Iterator[dict[str, Value]]:
    """Cheeses on which both can be there and the question can be asked."""
    for family in catalog.families.values():
        for style in family.styles:
            names = {family.id, style.group, style.id}
            if any(names.isdisjoint(rinds) for rinds in (a.rinds, b.rinds, question.rinds or tuple(names))):
                continue
            ends = (a.to_day, b.to_day, question.to_day, int(style.ready_day * PAST_READY))
            first, last = max(a.from_day, b.from_day, question.from_day), min(x for x in ends if x is not None)
            for day in {first, (first + last) // 2, last} if first <= last else ():
                yield {"family": family.id, "style": style.id, "age_days": float(day)}


def opening(catalog: Catalog, condition: Condition | None) -> dict[str, Value]:
    """Answers under which a question makes sense that is asked only if something else was said."""
    if condition is None:
        return {}
    for part in condition.all or condition.any or (condition,):
        if part.sign:
            shown_by = catalog.signs[part.sign].when
            return {part.sign: "clear"} if shown_by is None else opening(catalog, shown_by)
        if part.ask:
            return {part.ask: part.one_of[0] if part.one_of else "yes"}
    return {}


Places = dict[tuple[str, str, str], dict[str, int]]


@pytest.fixture(scope="module")
def asked_soon(knowledge: Knowledge, diagnoser: Diagnoser) -> Places:
    """By family, the best place that each named question takes over the cheeses on which both can be there."""
    scales = tuple(
        replace(s, words=tuple(replace(w, value=EVEN) for w in s.words)) if s.id == "base_rate" else s
        for s in knowledge.words.scales
    )
    words = replace(knowledge.words, scales=scales)
    places: Places = {}
    for a, b, name in pairs(knowledge):
        question = diagnoser.catalog.questions[name]
        two = Diagnoser(replace(knowledge, causes=(a, b), words=words, version=f"{a.id} {b.id}"))
        two.__dict__["chainer"] = diagnoser.chainer  # rules do not depend on causes
        best: dict[str, int] = {}
        for frame in frames(two.catalog, a, b, question):
            family = str(frame["family"])
            if best.get(family, LAST) <= SOON:
                continue
            answers = Answers.of({**opening(two.catalog, question.ask_if), **frame})
            order = [w.question for w in two.next_questions(answers, skipped=frozenset(screened(two.catalog)) - {name})]
            if name in order:
                best[family] = min(best.get(family, LAST), order.index(name) + 1)
        places[(a.id, b.id, name)] = best
    return places


def test_the_named_question_comes_soon_on_every_family(diagnoser: Diagnoser, asked_soon: Places) -> None:
    late = {pair: best for pair, best in asked_soon.items() if any(place > SOON for place in best.values())}
    assert late == {}
    assert {family for best in asked_soon.values() for family in best} == set(diagnoser.catalog.families)


def test_every_named_question_can_be_asked_of_some_cheese_with_both(
    knowledge: Knowledge, diagnoser: Diagnoser, asked_soon: Places
) -> None:
    """Or the two are never there on the same day, and their age alone tells them apart."""
    unasked = {pair for pair, place in asked_soon.items() if not place}
    apart = {
        (a.id, b.id, q)
        for a, b, q in pairs(knowledge)
        if not list(frames(diagnoser.catalog, a, b, replace(diagnoser.catalog.questions[q], from_day=0, to_day=None)))
    }
    assert unasked <= apart
