"""What must stay true of a diagnosis when its input, or the knowledge behind it, is changed in a known way."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import UNKNOWN, Answers, Value, understand
from rindwright.engine.belief import Lane, beliefs
from rindwright.engine.cautions import screen
from rindwright.engine.diagnosis import Diagnoser, Diagnosis
from rindwright.engine.fallback import weigh
from rindwright.engine.model import Cause, Knowledge, Sign

from tests.strategies import answers_of, value_of, ways_of_writing

ONE_OF_EACH = (
    "small_soft", "bloomy_small", "lactic_ash", "mixed_grey",
    "tomme_brushed", "blue_coated", "hard_oiled", "coated_wax",
)  # fmt: skip
"""A style of each family."""
FAMILIES = ("washed", "bloomy", "lactic", "mixed", "natural", "blue", "hard", "coated")


def as_bytes(found: Diagnosis) -> bytes:
    return json.dumps(repr(found)).encode()


def test_random_answers_are_of_every_family(diagnoser: Diagnoser) -> None:
    # Or what is shown below is shown of some rinds only.
    met: set[Value | None] = set()

    @settings(max_examples=60, database=None)
    @given(answers_of(diagnoser.catalog, max_size=0))
    def look(answers: Answers) -> None:
        met.add(answers.get("family"))

    look()
    assert met == {*diagnoser.catalog.families, None}
    assert {diagnoser.catalog.home[style] for style in ONE_OF_EACH} == set(FAMILIES) == set(diagnoser.catalog.families)


# --- the order and the history of answers ---------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
@settings(max_examples=4)
@given(data=st.data())
def test_shuffled_answers_give_the_same_diagnosis_to_the_byte(
    diagnoser: Diagnoser, family: str, data: st.DataObject
) -> None:
    answers = data.draw(answers_of(diagnoser.catalog, family=family))
    found = diagnoser.diagnose(answers)
    pairs = data.draw(st.permutations(answers.given))
    shuffled = Answers.of(pairs, answers.listed_all)
    one_by_one = Answers(listed_all=answers.listed_all)
    for name, value in reversed(pairs):
        one_by_one = one_by_one.adding(name, value)
    for other in (shuffled, one_by_one):
        again = diagnoser.diagnose(other)
        assert again == found
        assert as_bytes(again) == as_bytes(found)


@settings(max_examples=20)
@given(st.data())
def test_what_was_asked_before_leaves_no_mark(diagnoser: Diagnoser, knowledge: Knowledge, data: st.DataObject) -> None:
    answers = data.draw(answers_of(diagnoser.catalog))
    used = diagnoser.diagnose(answers)
    fresh = Diagnoser(knowledge).diagnose(answers)
    assert as_bytes(used) == as_bytes(fresh)


@settings(max_examples=25)
@given(st.data())
def test_an_answer_added_and_taken_back_changes_nothing(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    answers = data.draw(answers_of(catalog))
    found = diagnoser.diagnose(answers)
    name = data.draw(st.sampled_from([name for name in catalog.questions if answers.get(name) is None]))
    added = answers.adding(name, data.draw(value_of(catalog, name)))
    assert added != answers
    diagnoser.diagnose(added)
    assert added.without(name) == answers
    assert as_bytes(diagnoser.diagnose(added.without(name))) == as_bytes(found)


# --- what is not known ----------------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
@settings(max_examples=4)
@given(data=st.data())
def test_dont_know_changes_no_probability(diagnoser: Diagnoser, family: str, data: st.DataObject) -> None:
    # Not with a maker who has named everything: there an unasked sign counts as "not named".
    catalog = diagnoser.catalog
    answers = data.draw(answers_of(catalog, listing=False, family=family))
    names = [name for name in catalog.questions if answers.get(name) is None]
    told = answers
    for name in data.draw(st.lists(st.sampled_from(names), unique=True, min_size=1, max_size=10)):
        told = told.adding(name, UNKNOWN)
    before, after = diagnoser.diagnose(answers), diagnoser.diagnose(told)
    assert after.causes == before.causes
    assert after.unknown_cause == before.unknown_cause
    assert after.normal == before.normal
    assert after.explanations == before.explanations
    # What is not known can only add to the cautions.
    assert {c.id for c in before.cautions} <= {c.id for c in after.cautions}


# --- a sign that speaks for a cause ---------------------------------------------------------------


def strongest(diagnoser: Diagnoser, sign: Sign, answers: Answers) -> Cause | None:
    """The one cause that shows a sign most often on this cheese, "usually" at least."""
    cheese = answers.cheese(diagnoser.catalog)
    found: list[tuple[float, Cause]] = []
    for cause in diagnoser.catalog.causes.values():
        for link in cause.signs:
            if (
                link.sign == sign.id
                and cheese.is_one_of(link.rinds) is not False
                and cheese.in_window(link.from_day, link.to_day) is not False
                and cheese.is_one_of(cause.rinds) is not False
                and cheese.in_window(cause.from_day, cause.to_day) is not False
            ):
                found.append((diagnoser.catalog.value("frequency", link.seen), cause))
    found.sort(key=lambda pair: -pair[0])
    if not found or found[0][0] < diagnoser.catalog.value("frequency", "usually"):
        return None
    if len(found) > 1 and found[1][0] == found[0][0]:
        return None
    return found[0][1]


def supporting(diagnoser: Diagnoser, answers: Answers) -> list[tuple[Sign, Cause]]:
    """Signs not asked yet whose presence speaks for one cause, and for nothing else but through it."""
    case, _, _ = diagnoser.prepare(answers)
    pairs = []
    for sign in diagnoser.catalog.signs.values():
        if sign.when is not None or sign.healthy or answers.get(sign.id) is not None:
            continue
        if not diagnoser.builder.counts(sign, case.cheese) or diagnoser.builder.normal_rows(sign.id, case.view):
            continue
        cause = strongest(diagnoser, sign, answers)
        if cause is not None and not any(a.sign == sign.id for a in cause.against):
            pairs.append((sign, cause))
    return pairs


def node_probability(diagnoser: Diagnoser, answers: Answers, cause: str) -> float:
    case, _, _ = diagnoser.prepare(answers)
    node = case.node(cause)
    assert node is not None
    return float(weigh(case.network).posterior[node, 0])


@pytest.mark.parametrize("family", FAMILIES)
@settings(max_examples=8)
@given(data=st.data())
def test_a_clear_sign_never_lowers_the_cause_that_shows_it_most(
    diagnoser: Diagnoser, family: str, data: st.DataObject
) -> None:
    answers = data.draw(answers_of(diagnoser.catalog, max_size=15, listing=False, family=family))
    pairs = supporting(diagnoser, answers)
    assume(pairs)
    for sign, cause in data.draw(st.lists(st.sampled_from(pairs), min_size=1, max_size=4)):
        clear = "clear" if diagnoser.catalog.questions[sign.id].kind == "scale" else "yes"
        before = node_probability(diagnoser, answers, cause.id)
        after = node_probability(diagnoser, answers.adding(sign.id, clear), cause.id)
        assert after >= before - 1e-12


@pytest.mark.parametrize("style", ONE_OF_EACH)
def test_a_clear_sign_alone_raises_the_cause_that_shows_it_most(diagnoser: Diagnoser, style: str) -> None:
    raised = 0
    for age in (10.0, 25.0):
        answers = Answers.of({"style": style, "age_days": age})
        for sign, cause in supporting(diagnoser, answers)[::3]:
            clear = "clear" if diagnoser.catalog.questions[sign.id].kind == "scale" else "yes"
            before = node_probability(diagnoser, answers, cause.id)
            assert node_probability(diagnoser, answers.adding(sign.id, clear), cause.id) > 1.5 * before
            raised += 1
    assert raised > 4


# --- a knowledge with one cause less, or with other names -------------------------------------------


def without_cause(knowledge: Knowledge, id: str) -> Diagnoser:
    return Diagnoser(replace(knowledge, causes=tuple(c for c in knowledge.causes if c.id != id)))


@pytest.fixture(scope="module")
def lacking(knowledge: Knowledge) -> dict[str, Diagnoser]:
    """Diagnosers that each lack one cause which no other cause brings about."""
    fed = {feed.cause for cause in knowledge.causes for feed in cause.leads_to}
    free = [c.id for c in knowledge.causes if c.id not in fed and not c.replaced_by]
    assert len(free) > 10
    return {id: without_cause(knowledge, id) for id in free}


@settings(max_examples=80)
@given(st.data())
def test_a_missing_cause_equals_one_known_to_be_absent(
    diagnoser: Diagnoser, lacking: Mapping[str, Diagnoser], data: st.DataObject
) -> None:
    # Nothing feeds it, so its being off says nothing more than that it explains no sign.
    id = data.draw(st.sampled_from(sorted(lacking)))
    answers = data.draw(answers_of(diagnoser.catalog, max_size=20))
    case, _, _ = diagnoser.prepare(answers)
    less, _, _ = lacking[id].prepare(answers)
    node = case.node(id)
    assume(node is not None)
    assert node is not None
    off = beliefs(case.network, [Lane(log_odds=((node, -45.0),))])
    rest = [k for k in range(len(case.nodes)) if k != node]
    assert less.nodes == tuple(case.nodes[k] for k in rest)
    found = beliefs(less.network)
    assert np.abs(found.posterior[:, 0] - off.posterior[rest, 0]).max() < 1e-9
    assert abs(found.log_evidence[0] - off.log_evidence[0]) < 1e-9


@settings(max_examples=40)
@given(st.data())
def test_a_cause_that_cannot_be_here_might_as_well_not_be_known(
    diagnoser: Diagnoser, lacking: Mapping[str, Diagnoser], data: st.DataObject
) -> None:
    answers = data.draw(answers_of(diagnoser.catalog, max_size=20))
    case, _, _ = diagnoser.prepare(answers)
    absent = [id for id in sorted(lacking) if case.node(id) is None]
    assume(absent)
    id = data.draw(st.sampled_from(absent))
    less, whole = lacking[id].diagnose(answers), diagnoser.diagnose(answers)
    assert less.causes == whole.causes
    assert less.unknown_cause == whole.unknown_cause
    assert (less.verdict, less.cautions, less.plan, less.normal) == (
        whole.verdict,
        whole.cautions,
        whole.plan,
        whole.normal,
    )


def renamed(thing: Any, name: Callable[[str], str]) -> Any:
    """A value with every text in it passed through ``name``."""
    if isinstance(thing, str):
        return name(thing)
    if isinstance(thing, tuple):
        return tuple(renamed(part, name) for part in thing)
    if isinstance(thing, dict):
        return {name(key): renamed(value, name) for key, value in thing.items()}
    if is_dataclass(thing) and not isinstance(thing, type):
        return replace(thing, **{f.name: renamed(getattr(thing, f.name), name) for f in fields(thing)})
    return thing


@settings(max_examples=20)
@given(st.data())
def test_one_renamed_cause_changes_its_name_only(diagnoser: Diagnoser, data: st.DataObject) -> None:
    taken = diagnoser.catalog.organisms
    old = data.draw(st.sampled_from([id for id in diagnoser.catalog.causes if id not in taken]))

    def name(text: str) -> str:
        return "zz_" + text if text == old else text

    other = Diagnoser(renamed(diagnoser.knowledge, name))
    assert "zz_" + old in other.catalog.causes
    assert old not in other.catalog.causes
    answers = data.draw(answers_of(diagnoser.catalog))
    plain, found = diagnoser.diagnose(answers), other.diagnose(answers)
    # Equal probabilities stand in the order of their names; nothing else may tell the names apart.
    assert {c.id: c for c in found.causes} == {name(c.id): renamed(c, name) for c in plain.causes}
    assert found.unknown_cause == plain.unknown_cause
    assert (found.verdict, found.normal, found.cautions) == (plain.verdict, plain.normal, plain.cautions)
    assert (found.next_question is None) == (plain.next_question is None)
    if plain.next_question and found.next_question:
        assert found.next_question.id == plain.next_question.id


@settings(max_examples=20)
@given(st.data())
def test_all_causes_renamed_in_step_rename_the_diagnosis(diagnoser: Diagnoser, data: st.DataObject) -> None:
    causes = frozenset(diagnoser.catalog.causes)

    def name(text: str) -> str:
        return "cause_" + text if text in causes else text  # keeps the order of names

    other = Diagnoser(renamed(diagnoser.knowledge, name))
    answers = data.draw(answers_of(diagnoser.catalog))
    assert other.diagnose(answers) == renamed(diagnoser.diagnose(answers), name)


# --- answers as they are typed --------------------------------------------------------------------


@settings(max_examples=300)
@given(st.data())
def test_case_spaces_and_unicode_form_of_an_answer_do_not_matter(diagnoser: Diagnoser, data: st.DataObject) -> None:
    question = data.draw(st.sampled_from(list(diagnoser.catalog.questions.values())))
    value = data.draw(value_of(diagnoser.catalog, question.id))
    if isinstance(value, tuple):
        raw: object = [data.draw(ways_of_writing(question, part)) for part in value]
        joined = data.draw(st.sampled_from((", ", " ; ", "+"))).join(value)
        assert understand(question, data.draw(ways_of_writing(question, joined))) == value
    elif isinstance(value, float):
        value = round(value, 6)  # as many digits as an answer keeps
        raw = data.draw(ways_of_writing(question, f"{value:.6f} {question.unit}" if question.unit else f"{value:.6f}"))
        assert understand(question, value) == value
    else:
        raw = data.draw(ways_of_writing(question, value))
    assert understand(question, raw) == value


@settings(max_examples=60)
@given(st.data())
def test_dont_know_is_understood_however_it_is_written(diagnoser: Diagnoser, data: st.DataObject) -> None:
    question = data.draw(st.sampled_from(list(diagnoser.catalog.questions.values())))
    word = data.draw(st.sampled_from((UNKNOWN, "don't know", "don\u2019t know", "not sure", "?")))
    assert understand(question, data.draw(ways_of_writing(question, word))) == UNKNOWN


def test_every_option_is_understood_by_its_id_and_by_its_text(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        for option in question.options:
            expected = (option.id,) if question.kind == "some_of" else option.id
            for text in (option.id, option.text, option.text.upper(), unicodedata.normalize("NFD", option.text)):
                assert understand(question, [text] if question.kind == "some_of" else text) == expected


# --- safety ---------------------------------------------------------------------------------------


def _no_rescue(found: Diagnosis) -> None:
    assert found.verdict == "stop"
    assert found.plan.today == ()
    assert found.plan.left_out == ()
    assert found.plan.look_again_days is None


@settings(max_examples=70)
@given(st.data())
def test_under_a_stop_there_is_no_rescue_and_nothing_is_normal(diagnoser: Diagnoser, data: st.DataObject) -> None:
    answers = data.draw(answers_of(diagnoser.catalog, max_size=40))
    found = diagnoser.diagnose(answers)
    case, _, safety = diagnoser.prepare(answers)
    levels = {caution.level for caution in found.cautions}
    assert (safety.level == "stop") == ("stop" in levels)
    assert {c.id for c in screen(diagnoser.catalog, case.view).cautions} <= {c.id for c in found.cautions}
    if "stop" in levels:
        _no_rescue(found)
    if "hold" in levels:
        assert found.verdict in ("stop", "hold")
    if found.next_question and levels & {"stop", "hold"}:
        assert not diagnoser.catalog.questions[found.next_question.id].tasting


@settings(max_examples=40)
@given(st.data())
def test_no_further_answer_lifts_a_stop_that_rests_on_one_word(diagnoser: Diagnoser, data: st.DataObject) -> None:
    asked = [
        (c.when.ask, c.when.one_of) for c in diagnoser.catalog.cautions.values() if c.level == "stop" and c.when.ask
    ]
    assert asked
    name, words = data.draw(st.sampled_from(asked))
    word = data.draw(st.sampled_from(words or ("yes", "clear")))
    value = (word,) if diagnoser.catalog.questions[name].kind == "some_of" else word
    answers = data.draw(answers_of(diagnoser.catalog, max_size=30)).adding(name, value)
    _no_rescue(diagnoser.diagnose(answers))


def test_random_answers_meet_stops_and_their_absence(diagnoser: Diagnoser) -> None:
    # Or the two tests above show little.
    met: list[bool] = []

    @settings(max_examples=120, database=None)
    @given(answers_of(diagnoser.catalog, max_size=90))
    def look(answers: Answers) -> None:
        met.append(diagnoser.prepare(answers)[2].level == "stop")

    look()
    assert met.count(True) > 5
    assert met.count(False) > 5


def test_illness_is_a_stop_on_every_style(diagnoser: Diagnoser) -> None:
    for style in diagnoser.catalog.styles:
        answers = Answers.of({"age_days": 20.0}).adding("style", style)
        assert diagnoser.diagnose(answers).verdict != "stop"
        _no_rescue(diagnoser.diagnose(answers.adding("someone_ill", "yes")))
