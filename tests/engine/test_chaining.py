"""Forward chaining against a plain loop, against the conditions themselves, and against its own order."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Iterable, Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import AGE, MADE, UNKNOWN, Answers, is_known
from rindwright.engine.catalog import Catalog, Cheese
from rindwright.engine.chaining import ALTERNATIVES_CAP, Chainer, ChainRule, RuleRunner, Settled, unfold
from rindwright.engine.conditions import View, leaves, truth
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Condition

from tests.strategies import answers_of, value_of


def plain_loop(rules: Iterable[ChainRule], given_facts: Mapping[str, bool]) -> tuple[set[Settled], list[ChainRule]]:
    """The same rules by the simplest means: go round until nothing new comes of it."""
    facts = set(given_facts.items())
    waiting = list(rules)
    fired: list[ChainRule] = []
    while True:
        ready = [rule for rule in waiting if facts.issuperset(rule.premises)]
        if not ready:
            return facts, sorted(fired)
        waiting = [rule for rule in waiting if rule not in ready]
        fired += ready
        facts |= {rule.concludes for rule in ready}


def random_rules(rng: random.Random, coherent: bool) -> tuple[tuple[ChainRule, ...], dict[str, bool]]:
    """Rules over a few propositions, loops and repeats among them, and some given facts.

    Coherent: no proposition can be concluded both ways, and none that is given is concluded otherwise.
    """
    names = [f"p{k}" for k in range(rng.randint(2, 12))]
    way = {name: rng.random() < 0.5 for name in names}

    def settled(concluding: bool) -> Settled:
        name = rng.choice(names)
        free = rng.random() < (0.5 if not coherent else 0.2 if not concluding else 0.0)
        return name, (rng.random() < 0.5) if free else way[name]

    rules = []
    for k in range(rng.randint(0, 18)):
        premises = {settled(False) for _ in range(rng.choice((0, 1, 1, 1, 2, 2, 3)))}
        rules.append(ChainRule(f"r{k}", settled(True), tuple(sorted(premises))))
    chosen = rng.sample(names, rng.randint(0, len(names) // 2))
    return tuple(rules), {name: way[name] if coherent else rng.random() < 0.5 for name in chosen}


def test_equals_a_plain_loop_on_random_rules() -> None:
    chained_on = 0
    for seed in range(2500):
        rng = random.Random(seed)
        rules, given_facts = random_rules(rng, coherent=seed % 5 != 0)
        found = RuleRunner(rules).run(given_facts)
        facts, fired = plain_loop(rules, given_facts)
        assert list(found.trail) == fired
        assert set(found.settled) == {name for name, _ in facts}
        # A proposition settled both ways (only where the rules are not coherent) shows either.
        assert set(found.settled.items()) <= facts
        if seed % 5:
            assert set(found.settled.items()) == facts
        chained_on += any(p not in given_facts.items() for rule in fired for p in rule.premises)
    assert chained_on > 800  # rules fed by rules, not only by what was given


def test_one_runner_keeps_nothing_from_one_run_to_the_next() -> None:
    rng = random.Random(4)
    rules, _ = random_rules(rng, coherent=True)
    runner = RuleRunner(rules)
    names = sorted({name for rule in rules for name, _ in rule.premises})
    way = {name: value for rule in rules for name, value in rule.premises}
    for _ in range(200):
        given_facts = {name: way[name] for name in names if rng.random() < 0.4}
        assert runner.run(given_facts) == RuleRunner(rules).run(given_facts)


def test_a_run_that_goes_on_from_the_last_equals_one_from_the_start() -> None:
    for seed in range(150):
        rng = random.Random(seed)
        rules, _ = random_rules(rng, coherent=True)
        way = {name: value for rule in rules for name, value in rule.premises} | dict(rule.concludes for rule in rules)
        names = rng.sample(sorted(way), len(way))
        runner = RuleRunner(rules)
        for k in range(len(names) + 1):  # a fact more each time; some times one is taken back, or turned round
            given_facts = {name: way[name] for name in names[:k]}
            assert runner.run(given_facts) == RuleRunner(rules).run(given_facts)
            if k and seed % 2:
                given_facts.pop(rng.choice(names[:k]))
                assert runner.run(given_facts) == RuleRunner(rules).run(given_facts)
    rules = (ChainRule("a", ("b", True), (("a", True),)), ChainRule("b", ("c", True), (("a", False),)))
    runner = RuleRunner(rules)
    assert runner.run({"a": True}).settled == {"a": True, "b": True}
    assert runner.run({"a": False}).settled == {"a": False, "c": True}


def test_one_outcome_over_200_shuffles_of_facts_and_rules() -> None:
    rng = random.Random(11)
    while True:
        rules, given_facts = random_rules(rng, coherent=True)
        outcome = RuleRunner(rules).run(given_facts)
        if len(given_facts) >= 4 and len(outcome.trail) >= 8:
            break
    facts = list(given_facts.items())
    order = list(rules)
    for _ in range(200):
        rng.shuffle(facts)
        rng.shuffle(order)
        assert RuleRunner(tuple(order)).run(dict(facts)) == outcome


def test_one_outcome_over_200_shuffles_of_answers(diagnoser: Diagnoser) -> None:
    rng = random.Random(5)
    questions = list(diagnoser.catalog.questions.values())
    pairs = [(q.id, "yes" if q.kind == "yes_no" else "clear") for q in questions if q.kind in ("yes_no", "scale")]
    pairs = rng.sample(pairs, 40)
    outcome = diagnoser.chainer.run(Answers.of(pairs))
    assert outcome.trail
    for _ in range(200):
        rng.shuffle(pairs)
        assert diagnoser.chainer.run(Answers.of(pairs)) == outcome


def test_a_runner_that_broke_down_starts_afresh(monkeypatch: pytest.MonkeyPatch) -> None:
    rules = (ChainRule("a", ("b", True), (("a", True),)), ChainRule("b", ("c", False), (("b", True),)))
    runner = RuleRunner(rules)
    whole = RuleRunner(rules).run({"a": True})
    runner.run({})

    def broken(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(runner, "arrived", broken)
        with pytest.raises(KeyboardInterrupt):
            runner.run({"a": True})
    assert runner.run({"a": True}) == whole
    assert whole.settled == {"a": True, "b": True, "c": False}


# --- three-valued logic -----------------------------------------------------------------------

_NOWHERE = Cheese(None, None, None, frozenset(), frozenset({"washed"}), frozenset())
_ATOMS = st.sampled_from(
    [Condition(ask=f"q{k}") for k in range(5)] + [Condition(ask="n", at_least=3.0), Condition(ask="n", below=5.0)]
)


def _joined(parts: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
    some = st.lists(parts, min_size=1, max_size=3).map(tuple)
    return st.one_of(
        some.map(lambda p: Condition(all=p)),
        some.map(lambda p: Condition(any=p)),
        some.map(lambda p: Condition(none=p)),
    )


CONDITIONS = st.recursive(_ATOMS, _joined, max_leaves=8)
_SAID = st.fixed_dictionaries(
    {},
    optional={
        **{f"q{k}": st.sampled_from(("yes", "no", UNKNOWN)) for k in range(5)},
        "n": st.sampled_from((UNKNOWN, 2.0, 3.0, 4.0, 5.0, 6.0)),
    },
)


def _view(answers: Answers) -> View:
    return View(answers, _NOWHERE, lambda _: None, lambda _: None)


@settings(max_examples=400)
@given(CONDITIONS, _SAID)
def test_rules_conclude_exactly_what_the_condition_says(condition: Condition, said: dict[str, str | float]) -> None:
    view = _view(Answers.of(said))
    atoms = {unfold(leaf, True)[0][0][0]: truth(leaf, view) for leaf in leaves(condition)}
    known = {(name, value) for name, value in atoms.items() if value is not None}
    so = any(known.issuperset(way) for way in unfold(condition, True))
    not_so = any(known.issuperset(way) for way in unfold(condition, False))
    assert not (so and not_so)
    assert truth(condition, view) is (True if so else False if not_so else None)


@settings(max_examples=300)
@given(CONDITIONS, _SAID, _SAID)
def test_more_answers_never_turn_a_condition_round(
    condition: Condition, said: dict[str, str | float], later: dict[str, str | float]
) -> None:
    first = Answers.of(said)
    more = Answers.of({**later, **{k: v for k, v in said.items() if is_known(v)}})
    before = truth(condition, _view(first))
    if before is not None:
        assert truth(condition, _view(more)) is before


@settings(max_examples=300)
@given(CONDITIONS, _SAID)
def test_a_condition_known_now_is_so_however_the_rest_turns_out(
    condition: Condition, said: dict[str, str | float]
) -> None:
    known = {k: v for k, v in said.items() if is_known(v)}
    value = truth(condition, _view(Answers.of(known)))
    open_questions = [f"q{k}" for k in range(5) if f"q{k}" not in known]
    outcomes = set()
    for filling in range(2 ** len(open_questions)):
        rest: dict[str, str | float] = {q: "yes" if filling >> k & 1 else "no" for k, q in enumerate(open_questions)}
        for n in (2.0, 4.0, 6.0):
            outcomes.add(truth(condition, _view(Answers.of({"n": n, **rest, **known}))))
    assert None not in outcomes  # all answered: always yes or no
    assert value is None or outcomes == {value}


def test_a_condition_of_too_many_alternatives_is_refused() -> None:
    pair = Condition(any=tuple(Condition(ask=f"q{k}") for k in range(2)))
    deep = Condition(all=tuple(Condition(any=(Condition(ask=f"a{k}"), Condition(ask=f"b{k}"))) for k in range(9)))
    assert len(unfold(Condition(all=(pair,) * 8), True)) <= ALTERNATIVES_CAP
    with pytest.raises(ValueError, match="512 alternatives"):
        unfold(deep, True)
    assert len(unfold(deep, False)) == 9


# --- the packaged knowledge -------------------------------------------------------------------


def directly(catalog: Catalog, answers: Answers) -> tuple[dict[str, bool | None], dict[str, bool | None]]:
    """Every circumstance and sign from its condition, each after those it rests on."""
    cheese = answers.cheese(catalog)
    holds: dict[str, bool | None] = {}
    signs: dict[str, bool | None] = {}

    def circumstance(id: str) -> bool | None:
        if id not in holds:
            holds[id] = truth(catalog.circumstances[id].when, view)
        return holds[id]

    def sign(id: str) -> bool | None:
        if id not in signs:
            signs[id] = truth(catalog.signs[id].when or Condition(ask=id), view)
        return signs[id]

    view = View(answers, cheese, circumstance, sign)
    for id in catalog.circumstances:
        circumstance(id)
    for id in catalog.signs:
        sign(id)
    return holds, signs


@settings(max_examples=200)
@given(st.data())
def test_the_packaged_rules_conclude_what_the_conditions_say(diagnoser: Diagnoser, data: st.DataObject) -> None:
    answers = data.draw(answers_of(diagnoser.catalog, max_size=60))
    chained = diagnoser.chainer.run(answers)
    holds, signs = directly(diagnoser.catalog, answers)
    assert {id: chained.circumstance(id) for id in holds} == holds
    assert {id: chained.sign(id) for id in signs} == signs


@settings(max_examples=100)
@given(st.data())
def test_every_step_of_the_trail_rests_on_settled_facts(diagnoser: Diagnoser, data: st.DataObject) -> None:
    chained = diagnoser.chainer.run(data.draw(answers_of(diagnoser.catalog, max_size=40)))
    for rule in chained.trail:
        assert chained.settled[rule.concludes[0]] is rule.concludes[1]
        assert all(chained.settled[name] is value for name, value in rule.premises)
    concluded = {rule.concludes[0] for rule in chained.trail}
    assert all(name in concluded for name in chained.settled if not name.startswith("answer "))


def _open_ended(catalog: Catalog) -> set[str]:
    """Circumstances and signs that rest on a question *not* being answered, which an answer ends."""
    found: set[str] = set()
    while True:
        more = {
            name + thing.id
            for name, things in (("circumstance ", catalog.circumstances), ("sign ", catalog.signs))
            for thing in things.values()
            for leaf in (leaves(thing.when) if thing.when else ())
            if leaf.unanswered
            or leaf.may_be
            or leaf.paste
            or "circumstance " + leaf.holds in found
            or "sign " + leaf.sign in found
        }
        if more == found:
            return found
        found = more


@settings(max_examples=200)
@given(st.data())
def test_more_answers_never_turn_a_settled_fact_round(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    open_ended = _open_ended(catalog)
    first = data.draw(answers_of(catalog, max_size=25))
    more = first
    names = [name for name in catalog.questions if not is_known(first.get(name))]
    if is_known(first.get(MADE)):  # the day of making stands in for the age: to give the age then corrects it
        names = [name for name in names if name != AGE]
    for name in data.draw(st.lists(st.sampled_from(names), unique=True, max_size=15)):
        more = more.adding(name, data.draw(value_of(catalog, name)))
    before, after = diagnoser.chainer.run(first), diagnoser.chainer.run(more)
    for name, value in before.settled.items():
        if name not in open_ended and not name.endswith(" not answered") and " may be " not in name:
            assert after.settled[name] is value
    assert {rule.id for rule in before.trail if rule.concludes[0] not in open_ended} <= {
        rule.id for rule in after.trail
    }


def test_few_facts_rest_on_silence(diagnoser: Diagnoser) -> None:
    # The test above would be hollow if most facts were let off.
    total = len(diagnoser.catalog.circumstances) + len(diagnoser.catalog.signs)
    assert 0 < len(_open_ended(diagnoser.catalog)) < 0.1 * total


def test_nothing_is_concluded_from_no_answers(diagnoser: Diagnoser) -> None:
    chained = Chainer(diagnoser.catalog).run(Answers())
    silence = {name for name in chained.settled if name.startswith("answer ")}
    assert all(name.endswith((" not answered", " not known when asked")) or " may be " in name for name in silence)
    assert set(chained.settled) - silence <= _open_ended(diagnoser.catalog)


# --- experta and the process it runs in ---------------------------------------------------------

_PROBE = """
import collections, logging, sys
if {own_handler}:
    logging.root.addHandler(logging.NullHandler())
logging.root.setLevel({level})
before = (list(logging.root.handlers), logging.root.level, logging.getLoggerClass(), logging.root.disabled)
import rindwright.engine.diagnosis
assert "experta" not in sys.modules, "opened before it is needed"
import rindwright.engine._experta
assert "experta" in sys.modules
after = (list(logging.root.handlers), logging.root.level, logging.getLoggerClass(), logging.root.disabled)
assert before == after, (before, after)
assert not hasattr(collections, "Mapping"), "a lent name was not taken back"
"""


@pytest.mark.parametrize("own_handler", [True, False])
@pytest.mark.parametrize("level", ["logging.WARNING", "logging.ERROR"])
def test_experta_leaves_logging_and_the_library_as_they_were(level: str, own_handler: bool) -> None:
    probe = _PROBE.format(level=level, own_handler=own_handler)
    done = subprocess.run([sys.executable, "-W", "ignore", "-c", probe], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout == done.stderr == ""
