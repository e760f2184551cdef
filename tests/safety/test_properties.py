"""Whatever else is answered: a stop is a stop, a red flag never helps, and nothing is tasted meanwhile."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import UNKNOWN, Answers
from rindwright.engine.cautions import LEVELS, rests_on
from rindwright.engine.diagnosis import Diagnoser, Diagnosis
from rindwright.engine.gates import FIRST, screened
from rindwright.engine.planning import QUIET_ACTS
from rindwright.engine.reading.answers_file import read_answers

from tests.strategies import answers_of

from .decisions import Row, rows, screened_by

RED_FLAGS: dict[str, object] = {
    "someone_ill": "yes", "ate_burning": "yes", "lab_found": "yes", "recalled": "yes", "handler_ill": "yes",
    "not_food_grade": "yes", "larvae": "yes", "swollen_early": "yes", "pack_swollen": "yes", "odd_growth": "yes",
    "paste_stinks": "yes", "mould_in_paste": "yes", "milk_animal_ill": "yes", "contact": ("flood",),
    "souring": "never", "starter": "none", "swelling_late": "yes", "purple": "yes",
}  # fmt: skip
"""One answer each that can only speak against a cheese. Warm hours and an airless pack need others beside them."""


def gravity(level: str | None) -> int:
    return 0 if level is None else 3 - LEVELS.index(level)  # type: ignore[arg-type]


def no_rescue(diagnoser: Diagnoser, d: Diagnosis) -> None:
    assert d.verdict == "stop"
    assert d.plan.today == ()
    assert d.plan.left_out == ()
    assert d.plan.look_again_days is None
    assert d.cautions[0].level == "stop"
    assert d.next_question is None or not diagnoser.catalog.questions[d.next_question.id].tasting


def injected(diagnoser: Diagnoser, row: Row, other: Answers) -> Answers | None:
    """Other answers around a row of the table; nothing more on the very thing that the row is about."""
    about = set(rests_on(diagnoser.catalog, diagnoser.catalog.cautions[row.caution].when))
    kept = {k: v for k, v in other if k not in about and k not in (*FIRST, "made_days_ago")}
    return Answers.of({**kept, **dict(row.answers)}, other.listed_all)


@settings(max_examples=40)
@given(st.data())
def test_no_answers_beside_it_turn_a_stop_into_anything_else(diagnoser: Diagnoser, data: st.DataObject) -> None:
    stops = [r for r in rows(diagnoser.catalog)
             if r.column == "fires" and diagnoser.catalog.cautions[r.caution].level == "stop"]  # fmt: skip
    row = data.draw(st.sampled_from(stops))
    answers = injected(diagnoser, row, data.draw(answers_of(diagnoser.catalog, max_size=25)))
    assert answers is not None
    skipped = frozenset(data.draw(st.lists(st.sampled_from(list(diagnoser.catalog.questions)), max_size=10)))
    d = diagnoser.diagnose(answers, skipped - {k for k, _ in answers})
    assert row.caution in {c.id for c in d.cautions} or d.verdict == "stop"
    no_rescue(diagnoser, d)


@settings(max_examples=40)
@given(st.data())
def test_what_the_screen_says_rules_the_verdict(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    answers = data.draw(answers_of(catalog, max_size=35))
    safety = diagnoser.prepare(answers)[2]
    d = diagnoser.diagnose(answers)
    if safety.level == "stop":
        no_rescue(diagnoser, d)
    elif safety.level == "hold":
        assert d.verdict == "hold"
        assert {s.act for s in d.plan.today} <= QUIET_ACTS
    else:
        assert d.verdict in ("normal", "causes", "undecided")
    # Cautions of causes only add notes, and nothing drops or reorders what stands.
    shown = [c.id for c in d.cautions]
    assert set(shown) >= {c.id for c in safety.cautions}
    assert [gravity(c.level) for c in d.cautions] == sorted((gravity(c.level) for c in d.cautions), reverse=True)


@settings(max_examples=40)
@given(st.data())
def test_a_red_flag_never_lowers_the_level(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    answers = data.draw(answers_of(catalog, max_size=30))
    flag = data.draw(st.sampled_from([f for f in RED_FLAGS if f in catalog.questions]))
    known = answers.get(flag)
    assume(known is None or known == UNKNOWN or known in ("no", "on_time", ("nothing",)))
    value = RED_FLAGS[flag]
    if catalog.questions[flag].kind == "scale":
        value = "clear"
    before = screened_by(diagnoser, answers)
    after = screened_by(diagnoser, answers.adding(flag, value))  # type: ignore[arg-type]
    assert gravity(after.level) >= gravity(before.level), flag


@settings(max_examples=40)
@given(st.data())
def test_not_knowing_is_never_milder_than_no(diagnoser: Diagnoser, data: st.DataObject) -> None:
    """Of a grave thing, "don't know" may not score below "no", nor below silence."""
    answers = data.draw(answers_of(diagnoser.catalog, max_size=25))
    flag = data.draw(st.sampled_from([f for f in RED_FLAGS if diagnoser.catalog.questions[f].kind == "yes_no"]))
    answers = answers.without(flag)
    levels = [
        gravity(screened_by(diagnoser, a).level)
        for a in (answers, answers.adding(flag, "no"), answers.adding(flag, UNKNOWN))
    ]
    assert levels[2] >= max(levels[:2])


@settings(max_examples=40)
@given(st.data())
def test_no_taste_is_asked_before_the_screen_is_through(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    answers = data.draw(answers_of(catalog, max_size=30))
    case, _, safety = diagnoser.prepare(answers)
    offered = diagnoser.asker.open(case.view.answers, case.view, safety, frozenset())
    if safety.untold or safety.level in ("stop", "hold") or answers.get("milk_heat") != "pasteurised":
        assert not any(q.tasting for q in offered)


def test_taste_is_asked_of_a_cheese_that_came_through(diagnoser: Diagnoser) -> None:
    """Or the test above shows little."""
    answers = through(diagnoser, {"family": "washed", "style": "small_soft", "age_days": 25.0})
    case, _, safety = diagnoser.prepare(answers)
    assert safety.untold == ()
    offered = diagnoser.asker.open(answers, case.view, safety, frozenset())
    assert any(q.tasting for q in offered)


def test_the_screen_comes_before_any_other_question(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    for family, style in ((f.id, f.styles[0].id) for f in catalog.families.values()):
        answers = Answers.of({"family": family, "style": style, "age_days": 25.0, "blue_green_spot": "no"})
        asked = []
        while (name := diagnoser.next_questions(answers)[0].question) in screened(catalog):
            asked.append(name)
            answers = answers.adding(name, BENIGN.get(name, "no"))  # type: ignore[arg-type]
            assert len(asked) < 40
        assert {"someone_ill", "contact", "larvae", "swollen_early", "eaters", "milk_heat", "souring"} <= set(asked)
        assert not diagnoser.prepare(answers)[2].untold


BENIGN: dict[str, object] = {
    "contact": ("nothing",), "form": "whole", "eaters": ("others",), "for_sale": "home", "milk_heat": "pasteurised",
    "heat_log": "bought", "souring": "on_time",
}  # fmt: skip
"""The screen of a cheese without a flag; every other question of it is answered no."""


def through(diagnoser: Diagnoser, given: dict[str, object]) -> Answers:
    """Answers with the whole screen answered, and nothing found."""
    answers = Answers.of(given)  # type: ignore[arg-type]
    while untold := screened_by(diagnoser, answers).untold:
        for name in untold:
            answers = answers.adding(name, BENIGN.get(name, "no"))  # type: ignore[arg-type]
    return answers


def test_a_screen_without_a_flag_scares_nobody(diagnoser: Diagnoser) -> None:
    """On every style and at several ages only notes stand, and the number of screens to answer is small."""
    for family in diagnoser.catalog.families.values():
        for style in family.styles:
            for age in (3.0, 90.0):
                given = {"family": family.id, "style": style.id, "age_days": age}
                answers = through(diagnoser, given)
                safety = screened_by(diagnoser, answers)
                assert {c.level for c in safety.cautions} <= {"note"}, style.id
                asked = [diagnoser.catalog.questions[k] for k, _ in answers if k not in FIRST]
                assert len({q.block or q.id for q in asked}) <= 12


CASES = sorted(Path(str(files("rindwright.cases"))).glob("normal/*.yaml"))


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_what_is_normal_at_its_age_raises_nothing_but_notes(diagnoser: Diagnoser, path: Path) -> None:
    """As it stands in its file, and with the whole screen answered as well."""
    told = read_answers(diagnoser.catalog, path.read_text(encoding="utf-8"), path.name)
    for answers in (told, through(diagnoser, dict(told))):
        found = screened_by(diagnoser, answers)
        assert [c.id for c in found.cautions if c.level != "note"] == []
