"""No layer of house rules can switch off, weaken or shadow what safety rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.cautions import rests_on
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import screened
from rindwright.engine.house.layering import layer
from rindwright.engine.model import Caution, Condition, Knowledge, Option, Question, Sign, SoundRate
from rindwright.engine.protection import protected, weakened

from tests.house_rules import entry_of


def changed(knowledge: Knowledge, kind: str, id: str, **fields: Any) -> Knowledge:
    """Knowledge with one record replaced."""
    entries = tuple(replace(e, **fields) if e.id == id else e for e in getattr(knowledge, kind))
    assert entries != getattr(knowledge, kind)
    return replace(knowledge, **{kind: entries})


def options_of(knowledge: Knowledge, id: str) -> tuple[Option, ...]:
    return next(q for q in knowledge.questions if q.id == id).options


def without(knowledge: Knowledge, kind: str, id: str) -> Knowledge:
    return replace(knowledge, **{kind: tuple(e for e in getattr(knowledge, kind) if e.id != id)})


def added(knowledge: Knowledge, kind: str, entry: object) -> Knowledge:
    return replace(knowledge, **{kind: (*getattr(knowledge, kind), entry)})


def test_what_is_protected_reaches_the_bottom(knowledge: Knowledge) -> None:
    catalog = Catalog(knowledge)
    kept = protected(knowledge)
    assert kept.cautions == set(catalog.cautions)
    assert set(screened(catalog)) <= kept.questions
    assert {"family", "style", "age_days"} <= kept.questions
    for c in knowledge.cautions:
        assert set(rests_on(catalog, c.when)) <= kept.questions, c.id
    for id in ("milk_counts_as_raw", "bad_growth", "past_ready"):
        assert id in kept.circumstances
    for id in ("blue_green_spot", "putrid", "larvae", "swelling_late"):
        assert id in kept.signs
    for id in ("stop_larvae", "larvae", "milk_counts_as_raw", "trim", "washed"):
        assert id in kept
    assert "box_too_wet" not in kept
    assert all(q.id in kept.questions for q in knowledge.questions if q.tasting)


def test_the_packaged_knowledge_weakens_nothing(knowledge: Knowledge) -> None:
    assert weakened(knowledge, knowledge) == ()


HARMLESS_LAYERS: dict[str, Callable[[Knowledge], Knowledge]] = {
    "a caution of one's own": lambda k: added(
        k, "cautions", Caution("house_hold", "hold", "t", "x", Condition(sign="slimy_wet"), ("practice",))
    ),
    "one more option and one more word": lambda k: changed(
        k,
        "questions",
        "contact",
        options=(*options_of(k, "contact"), Option("goat", "the goat", ("our billy",))),
    ),
    "a why in the house's words": lambda k: changed(k, "questions", "someone_ill", why="Our doctor asked for it."),
    "a cause given up": lambda k: without(k, "causes", "box_too_wet"),
    "a question of one's own": lambda k: added(
        k, "questions", Question("our_cave", "Which cave?", "yes_no", "who", "glance")
    ),
    "words for a sign": lambda k: changed(
        k, "signs", "putrid", words=(*next(s for s in k.signs if s.id == "putrid").words, "old boots of uncle")
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HARMLESS_LAYERS)
def test_a_layer_may_add(knowledge: Knowledge, name: str) -> None:
    assert weakened(knowledge, HARMLESS_LAYERS[name](knowledge)) == ()


WEAKENING: dict[str, tuple[Callable[[Knowledge], Knowledge], str]] = {
    "a stop switched off": (lambda k: without(k, "cautions", "stop_larvae"), "stop_larvae"),
    "a stop made a note": (lambda k: changed(k, "cautions", "stop_larvae", level="note"), "level"),
    "a stop with a condition that never holds": (
        lambda k: changed(k, "cautions", "stop_larvae", when=Condition(ask="larvae", one_of=("no",))), "when"),
    "a softer text": (lambda k: changed(k, "cautions", "hold_purple", text="Put it aside."), "text"),
    "an act dropped from a stop": (lambda k: changed(k, "cautions", "stop_someone_ill", do=()), "do"),
    "a grave question switched off": (lambda k: without(k, "questions", "someone_ill"), "someone_ill"),
    "a grave question taken off the screen": (lambda k: changed(k, "questions", "larvae", screen=False), "screen"),
    "a grave question asked of few": (lambda k: changed(k, "questions", "larvae", rinds=("hard",)), "rinds"),
    "a grave question never asked": (
        lambda k: changed(k, "questions", "larvae", ask_if=Condition(ask="for_sale", one_of=("sold",))), "ask_if"),
    "an option dropped": (lambda k: changed(k, "questions", "eaters", options=k.questions[0].options), "options"),
    "options in another order": (
        lambda k: changed(k, "questions", "contact",
                          options=tuple(reversed(options_of(k, "contact")))), "options"),
    "a limit of a number moved": (lambda k: changed(k, "questions", "ph_24h", maximum=5.0), "maximum"),
    "the screen in another order": (lambda k: replace(k, questions=tuple(reversed(k.questions))), "order"),
    "a sign read off something else": (
        lambda k: changed(k, "signs", "putrid", when=Condition(ask="larvae", one_of=("yes",))), "when"),
    "a circumstance loosened": (
        lambda k: changed(k, "circumstances", "milk_counts_as_raw", when=Condition(ask="milk_heat", one_of=("raw",))),
        "when"),
    "a soft style called hard": (
        lambda k: replace(k, families=tuple(
            replace(f, styles=tuple(replace(s, hardness="hard") for s in f.styles)) for f in k.families)), "styles"),
    "hygiene dropped": (lambda k: changed(k, "acts", "brush", hygiene=("Brush it.",)), "hygiene"),
    "a taste question offered freely": (
        lambda k: changed(k, "questions", next(q.id for q in k.questions if q.tasting), tasting=False), "tasting"),
    "grave words given to a harmless sign": (
        lambda k: added(k, "signs", Sign("our_sign", "our sign", (SoundRate("often", ("practice",)),),
                                         words=("got sick",))), "got sick"),
    "grave words given to a harmless option": (
        lambda k: added(k, "questions", Question("ours", "Which?", "one_of", "who", "glance",
                                                 options=(Option("a", "a", ("mouse droppings",)), Option("b", "b")))),
        "mouse droppings"),
}  # fmt: skip


@pytest.mark.parametrize("name", WEAKENING)
def test_a_layer_may_not_weaken(knowledge: Knowledge, name: str) -> None:
    layer, named = WEAKENING[name]
    faults = weakened(knowledge, layer(knowledge))
    assert faults
    assert any(named in fault for fault in faults), faults
    assert all(fault.endswith(".") for fault in faults)


@settings(max_examples=25)
@given(st.data())
def test_dropping_any_protected_record_is_seen(knowledge: Knowledge, data: st.DataObject) -> None:
    kept = protected(knowledge)
    kind = data.draw(st.sampled_from(["cautions", "questions", "signs", "circumstances", "acts", "families"]))
    id = data.draw(st.sampled_from(sorted(getattr(kept, kind))))
    faults = weakened(knowledge, without(knowledge, kind, id))
    assert f'"{id}" cannot be switched off: safety rests on it.' in faults


def test_a_layer_that_passes_changes_no_safety_result(knowledge: Knowledge, diagnoser: Diagnoser) -> None:
    """The guarantee itself: with an allowed layer on top, what stood still stands."""
    from .decisions import rows

    layered = knowledge
    for added_to in HARMLESS_LAYERS.values():
        layered = added_to(layered)
    assert weakened(knowledge, layered) == ()
    over = Diagnoser(layered)
    for row in rows(diagnoser.catalog)[::11]:
        before = [c.id for c in diagnoser.prepare(row.answers)[2].cautions]
        after = [c.id for c in over.prepare(row.answers)[2].cautions if c.id != "house_hold"]
        assert after == before, row


HOUSE_CAUSE = """
rule: pear_dust
owner: Marta, invented
date: 2026-11-27
because: This rule is invented for a test.
question: {id: pear_dust, ask: Is there pear dust?, kind: yes_no, about: look, effort: glance}
sign: {id: pear_dust, name: pear dust, on_sound_rinds: almost never, words: [pear dust]}
cause:
  id: pear_dust_spread
  kind: takeover
  name: Pear dust spreads
  what: It spreads. Invented.
  rinds: [washed]
  base_rate: common
  signs: [{sign: pear_dust, seen: nearly always}]
  today:
    - {act: wait, do: Wash it twice with strong brine.}
    - {act: boards, do: Rub the dust into the rind.}
  look_again: {after_days: 2, expect: The wash has done its work., otherwise: Wash again.}
examples: {speaks: [{pear_dust: "yes"}], silent: [{pear_dust: "no"}]}
"""
"""A wash filed under an act that a hold leaves in."""


def test_a_house_cannot_file_a_wash_under_a_quiet_act(knowledge: Knowledge) -> None:
    layered = layer(knowledge, [entry_of(HOUSE_CAUSE)])
    assert layered.in_force == ("pear_dust",), layered.faults
    diagnoser = Diagnoser(layered.knowledge)
    told = {"style": "tilsit", "age_days": 30.0, "pear_dust": "yes"}
    free = diagnoser.diagnose(Answers.of(told))
    assert free.lead is not None
    assert free.lead.id == "pear_dust_spread"
    assert "Wash it twice" in free.plan.today[0].do
    assert free.plan.expect == "The wash has done its work."
    for grave, verdict in (({"odd_growth": "yes"}, "hold"), ({"someone_ill": "yes"}, "stop")):
        d = diagnoser.diagnose(Answers.of({**told, **grave}))
        assert d.verdict == verdict
        assert d.lead is not None
        assert d.lead.id == "pear_dust_spread"
        assert not [s.do for s in d.plan.today if "house_pear_dust" in s.sources]
        assert d.plan.look_again_days is None


def test_a_house_cannot_take_a_step_off_a_hold_by_saying_it_too(knowledge: Knowledge, diagnoser: Diagnoser) -> None:
    """A rule that repeats a packaged step becomes one more source of it; the step stays the knowledge's own."""
    given = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0, "blue_green_spot": "clear"})
    before = diagnoser.diagnose(given)
    assert before.verdict == "hold"
    step = next(s for s in before.plan.today if s.act == "box")
    rule = {
        "rule": "said_again", "owner": "Marta, invented", "date": "2026-11-27",
        "because": "This rule is invented for a test.",
        "remedy": {"cause": step.causes[0], "at": "today", "act": step.act, "do": step.do},
    }  # fmt: skip
    layered = layer(knowledge, [entry_of(rule)])
    assert layered.in_force == ("said_again",), layered.faults
    after = Diagnoser(layered.knowledge).diagnose(given)
    assert step.do in [s.do for s in after.plan.today]
