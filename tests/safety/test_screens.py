"""The screen as it is put and as its results are shown, line by line."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import lru_cache
from itertools import count
from pathlib import Path

import pytest
from rindwright.cli.ask.look import new, reopen
from rindwright.cli.ask.questionnaire import Questionnaire
from rindwright.cli.context import console
from rindwright.cli.pen import Pen
from rindwright.cli.report import NO_FINDING_OF_SAFETY, show
from rindwright.engine.answers import UNKNOWN, Answers
from rindwright.engine.archive.changes import changed
from rindwright.engine.archive.cohort import VERDICTS
from rindwright.engine.archive.replay import replay
from rindwright.engine.archive.store import open_archive
from rindwright.engine.diagnosis import Diagnoser, Diagnosis
from rindwright.engine.model import Caution

from .decisions import rows


@lru_cache(maxsize=1)
def first_of_each(diagnoser: Diagnoser) -> tuple[tuple[Caution, Diagnosis], ...]:
    """Each stop, hold and urgent note, with the diagnosis of the first row on which it fires."""
    catalog = diagnoser.catalog
    found = {r.caution: r for r in reversed(rows(catalog)) if r.column == "fires"}
    grave = [c for c in catalog.cautions.values() if c.level != "note" or c.urgent]
    return tuple((c, diagnoser.diagnose(found[c.id].answers)) for c in grave)


COUNT = count()
"""A fresh archive for each conversation."""
OPENING = ["washed", "monastery", "20", ""]
CLEAR = ["none", "8", "1", "none", "7", "1", "3", "1", "1"]
"""People, contact, form, cheese, eaters, sale, milk, record, acid: nothing found."""


@pytest.fixture
def converse(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[dict[str, object], str]]:
    def run(lines: list[str], columns: int = 80) -> tuple[dict[str, object], str]:
        look = new(tmp_path / f"{next(COUNT)}.db", "test", diagnoser.catalog)
        given = iter(lines)

        def read() -> str:
            line = next(given, None)
            assert line is not None, capsys.readouterr().out[-600:]
            return line

        Questionnaire(diagnoser.catalog, look, Pen(console(), columns), read).run()
        return dict(look.given), " ".join(capsys.readouterr().out.split())

    return run


Converse = Callable[..., tuple[dict[str, object], str]]


def test_a_clear_screen_is_nine_replies(converse: Converse) -> None:
    answers, out = converse([*OPENING, *CLEAR, "enough"])
    assert answers["someone_ill"] == "no"
    assert answers["shared_wash"] == "no"
    assert answers["souring"] == "on_time"
    assert "HOLD" not in out
    assert "STOP" not in out
    assert "No red flag stands among the answers given." in out
    assert "Not asked, or not known: nothing of these questions." in out


def test_one_line_answers_a_block(converse: Converse, diagnoser: Diagnoser) -> None:
    block = [q.id for q in diagnoser.catalog.questions.values() if q.block == "people"]
    answers, _ = converse([*OPENING, "2, 5?", "leave"])
    assert [answers[id] for id in block] == ["no", "yes", "no", "no", UNKNOWN, "no", "no"]
    for word, value in (("dk", UNKNOWN), ("skip", UNKNOWN), ("none", "no"), ("NO", "no"), ("0", "no")):
        answers, _ = converse([*OPENING, word, "leave"])
        assert {answers[id] for id in block} == {value}, word


@pytest.mark.parametrize("typed", ["", "9", "yes", "1 x", "-1", "1-3", "99", "1 ??", "perhaps"])
def test_a_reply_that_is_none_is_asked_again(converse: Converse, typed: str) -> None:
    answers, out = converse([*OPENING, typed, "leave"])
    assert "someone_ill" not in answers
    assert "none, or dk" in out


def test_helping_words_answer_nothing(converse: Converse) -> None:
    answers, out = converse([*OPENING, "?", "why", "guess", "help", "list", "", "leave"])
    assert set(answers) == {"family", "style", "age_days"}
    assert "A dangerous cheese can look right" in out
    assert "so far this is about the rind only" in out


def test_back_goes_to_the_line_before(converse: Converse) -> None:
    answers, _ = converse([*OPENING, "none", "back", "yes", "leave"])
    assert [k for k, v in answers.items() if v == "yes"] == ["room_ill"]


def test_passing_over_a_single_question_is_dont_know(converse: Converse) -> None:
    answers, out = converse([*OPENING, "none", "", "skip", "leave"])
    assert answers["contact"] == UNKNOWN
    assert "This one is for safety" in out
    assert "Taken as don't know" in out


def test_a_result_asked_for_early_is_a_hold(converse: Converse) -> None:
    _, out = converse([*OPENING, "enough"])
    assert "HOLD: A grave question is open" in out
    assert "Not asked, or not known: illness after eating" in out


@pytest.mark.parametrize("lines", [["enough"], ["3?", "enough"], ["none", "8", "2", "enough"]], ids=str)
def test_an_early_result_weighs_the_same_again(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str], lines: list[str]
) -> None:
    """What was passed over is kept as "don't know"; whoever goes on with the look is asked it after all."""
    catalog, path = diagnoser.catalog, tmp_path / "early.db"
    look = new(path, "early", catalog)
    given = iter([*OPENING, *lines])
    Questionnaire(catalog, look, Pen(console(), 80), lambda: next(given)).run()
    assert "HOLD: A grave question is open" in capsys.readouterr().out
    table = replay(open_archive(path), diagnoser.knowledge)
    assert VERDICTS[table["verdict"][0]] == "hold"
    assert changed(table, tuple(catalog.causes)) == []
    again = reopen(path, "early", catalog)
    told = [k for k, v in again.given if v == UNKNOWN]
    assert told == (["lab_found"] if "3?" in lines else [])  # what was answered stays answered
    _, _, safety = diagnoser.prepare(again.answers, frozenset(again.skipped))
    assert {"milk_heat", "souring"} <= set(safety.untold)
    assert diagnoser.next_questions(again.answers, frozenset(again.skipped))[0].question in safety.untold


def test_a_stop_ends_rescue_keeps_the_case_and_shows_the_next_make(converse: Converse) -> None:
    answers, out = converse(["1", "1", "20", "blue spots", "all", "1", "1", "finish"])
    assert answers["someone_ill"] == "yes"
    after = out.split("Finish, or go on?")[1]
    for told in ("STOP: Someone fell ill", "What it touched:", "No rescue and no tasting", "Keep the record of it",
                 "At the next make"):  # fmt: skip
        assert told in after, told
    assert "Look again" not in after
    assert "Normal at this age" not in after
    assert "No fault of the rind" not in after


def test_a_second_stop_is_said_too(converse: Converse) -> None:
    _, out = converse([*OPENING, "1", "go on", "4", "finish"])
    first, second = out.split("Finish, or go on?")[:2]
    assert "STOP: Someone fell ill" in first
    assert "STOP: Pests, pets" in second
    assert "STOP: Someone fell ill" not in second  # said once


def test_a_danger_to_a_person_is_said_at_once(converse: Converse) -> None:
    _, out = converse([*OPENING, "7", "leave"])
    assert "Take care: Leave the room, and air it" in out


def test_a_hold_names_test_sample_and_waiting(converse: Converse) -> None:
    _, out = converse([*OPENING[:3], "blue spots", "all", "1", *CLEAR, "enough"])
    assert "HOLD: Blue-green mould" in out
    for label in ("Test: ", "Sample: ", "While you wait: ", "Advice differs: "):
        assert label in out


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_every_grave_result_fits_the_width_and_says_what_it_is_not(
    diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str], columns: int
) -> None:
    pen = Pen(console(no_color=True), columns)
    shown = first_of_each(diagnoser)
    for caution, d in shown:
        show(pen, diagnoser.catalog, d)
        out = capsys.readouterr().out
        assert max(len(line) for line in out.splitlines()) <= columns, caution.id
        flat = " ".join(out.split())
        assert NO_FINDING_OF_SAFETY in flat
        assert "Asked for safety, and answered" in flat
        assert flat.index(caution.title) < flat.index("What it is")
        if caution.level == "hold" and d.verdict == "stop":
            assert f"- {caution.title}. {' '.join(caution.while_waiting.split())}" in flat
            continue
        word = "Take care" if caution.urgent else caution.level.upper()
        assert f"{word}: {caution.title}" in flat
        parts = (caution.text, *caution.do, caution.touched, caution.test, caution.sample)
        for told in (*parts, caution.while_waiting, caution.differs):
            assert " ".join(told.split()) in flat, (caution.id, told)
    whole = [c for c, d in shown if c.level == "hold" and d.verdict == "hold"]
    assert len(whole) > 20
    assert len(shown) > 45


def test_notes_are_printed_with_every_verdict(diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str]) -> None:
    pen = Pen(console(no_color=True), 80)
    for given in (
        {"slimy_wet": "clear", "lid_drops": "yes"},
        {"someone_ill": "yes"},
        {"blue_green_spot": "clear"},
        {"tacky": "slight"},
    ):
        answers = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0, **given})
        d = diagnoser.diagnose(answers)
        show(pen, diagnoser.catalog, d)
        flat = " ".join(capsys.readouterr().out.split())
        notes = [c for c in d.cautions if c.level == "note"]
        assert {"note_listeria_rind", "note_vulnerable_eaters", "note_raw_milk"} <= {c.id for c in notes}
        for c in notes:
            assert " ".join(c.text.split()) in flat, c.id


def test_json_tells_the_screen(diagnoser: Diagnoser) -> None:
    from rindwright.cli import as_json

    d = diagnoser.diagnose(Answers.of({"style": "small_soft", "someone_ill": "no", "milk_heat": "raw"}))
    shape = json.loads(as_json.text(as_json.diagnosis(diagnoser.catalog, d)))
    assert shape["safety_screen"]["answered"] == ["someone_ill", "milk_heat"]
    assert "larvae" in shape["safety_screen"]["not_known"]
    assert set(shape["cautions"][0]) >= {
        "id",
        "level",
        "touched",
        "test",
        "sample",
        "while_waiting",
        "differs",
        "urgent",
    }
