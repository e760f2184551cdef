"""The questionnaire: every way through it, and nothing lost."""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from rindwright.cli.ask.look import Look, new, reopen
from rindwright.cli.ask.questionnaire import Questionnaire
from rindwright.cli.context import console
from rindwright.cli.pen import Pen
from rindwright.engine.archive.store import ArchiveProblem, open_archive
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser

from .conftest import Program

OPENING = ["1", "1", "20 days"]


def converse(catalog: Catalog, path: Path, lines: list[str], look: Look | None = None) -> Look:
    look = look or new(path / "archive.db", "test", catalog)
    given = iter(lines)

    def read() -> str:
        line = next(given, None)
        if line is None:
            raise EOFError("the script ran out")
        return line

    Questionnaire(catalog, look, Pen(console(), 80), read).run()
    return look


def test_answers_by_number_word_and_unit(diagnoser: Diagnoser, tmp_path: Path) -> None:
    look = converse(diagnoser.catalog, tmp_path, ["washed", "monastery", "3 weeks", "leave"])
    assert dict(look.given) == {"family": "washed", "style": "monastery", "age_days": 21.0}


def test_words_are_shown_back_and_only_confirmed_ones_taken(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = "there are blue spots, and it is slimy, drops on the lid"
    look = converse(diagnoser.catalog, tmp_path, [*OPENING, said, "1", "3", "leave"])
    assert "I understood" in capsys.readouterr().out
    assert dict(look.given)["blue_green_spot"] == "clear"
    assert "slimy_wet" not in dict(look.given)


def test_a_style_is_chosen_among_those_of_its_family_and_asked_anew_after_a_change(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    look = converse(diagnoser.catalog, tmp_path, ["blue", "2", "20", "leave"])
    assert dict(look.given) == {"family": "blue", "style": "blue_moist", "age_days": 20.0}
    shown = capsys.readouterr().out
    assert "roquefort type" in shown
    assert "monastery type" not in shown
    changed = converse(diagnoser.catalog, tmp_path, ["", "list", "1", "lactic", "1", "leave"], look)
    assert dict(changed.given) == {"family": "lactic", "style": "lactic_white", "age_days": 20.0}


def test_who_knows_only_the_day_of_making_is_asked_for_that(diagnoser: Diagnoser, tmp_path: Path) -> None:
    look = converse(diagnoser.catalog, tmp_path, ["blue", "2", "dk", "30 days", "leave"])
    assert dict(look.given)["made_days_ago"] == 30.0
    assert look.answers.cheese(diagnoser.catalog).age_days == 23.0


def test_free_words_do_not_change_the_rind_that_was_named(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    look = converse(diagnoser.catalog, tmp_path, ["bloomy", "1", "20", "orange rind, blue spots", "all", "1", "leave"])
    assert dict(look.given)["family"] == "bloomy"
    assert dict(look.given)["blue_green_spot"] == "clear"


def test_back_skip_dont_know_and_change(diagnoser: Diagnoser, tmp_path: Path) -> None:
    look = converse(
        diagnoser.catalog,
        tmp_path,
        [*OPENING, "", "back", "25", "none", "8", "1", "none", "7", "1", "3", "1", "1", "dk", "skip", "leave"],
    )
    answers = dict(look.given)
    assert answers["age_days"] == 25.0
    assert "unknown" in answers.values()
    assert look.skipped
    changed = converse(diagnoser.catalog, tmp_path, ["list", "2", "6", "leave"], look)
    assert dict(changed.given)["style"] == "alpine"


def test_how_why_and_guess_never_answer(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    look = converse(diagnoser.catalog, tmp_path, [*OPENING, "", "?", "why", "guess", "help", "leave"])
    assert len(look.given) == 3
    assert "Best guess so far" in capsys.readouterr().out


def test_the_words_of_every_prompt_are_known_where_one_says_what_strikes(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        "help",
        "?",
        "why",
        "guess",
        "list",
        "",
        "back",
        "21 days",
        "slimy",
        "perhaps",
        "back",
        "tacky",
        "all",
        "3",
    ]
    with contextlib.suppress(EOFError):
        converse(diagnoser.catalog, tmp_path, [*OPENING, *lines])
    shown = " ".join(capsys.readouterr().out.split())
    assert "I know none of these words" not in shown
    assert "as you would to a friend" in shown
    assert "spares you questions" in shown
    assert "or back, to say it in other words" in shown
    again = reopen(tmp_path / "archive.db", "test", diagnoser.catalog)
    assert again.words == ["tacky"]  # what was said first was taken back
    assert dict(again.given)["age_days"] == 21.0
    assert "slimy_wet" not in dict(again.given)


def test_that_it_was_everything_can_be_changed(diagnoser: Diagnoser, tmp_path: Path) -> None:
    look = converse(diagnoser.catalog, tmp_path, [*OPENING, "slimy", "all", "1", "list", "5", "3", "enough"])
    assert not look.listed_all
    assert look.noticed


def test_a_stop_is_said_at_once(diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    converse(diagnoser.catalog, tmp_path, [*OPENING, "", "1", "finish"])
    out = capsys.readouterr().out
    assert "STOP" in out
    assert "No rescue and no tasting" in out


def test_it_stops_itself_and_can_go_on(
    diagnoser: Diagnoser, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [*OPENING, "", *["dk"] * 200]
    look = new(tmp_path / "archive.db", "test", diagnoser.catalog)
    given = iter(lines)
    asked = 0

    def read() -> str:
        nonlocal asked
        asked += 1
        out = capsys.readouterr().out
        return "finish" if "or finish?" in out else next(given)

    Questionnaire(diagnoser.catalog, look, Pen(console(), 80), read).run()
    assert asked < 60


def test_saved_after_every_answer_and_resumed(diagnoser: Diagnoser, tmp_path: Path) -> None:
    look = converse(diagnoser.catalog, tmp_path, ["1", "1", "leave"])
    again = reopen(tmp_path / "archive.db", "test", diagnoser.catalog)
    assert again.given == look.given


def test_kill_loses_nothing(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "rindwright.cli", "ask", "--name", "killed"],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        env={**__import__("os").environ, "RINDWRIGHT_HOME": str(tmp_path)},
    )
    assert process.stdin is not None
    process.stdin.write(b"1\n1\n20\n")
    process.stdin.flush()
    path = tmp_path / "archive.db"

    def kept() -> list[str]:
        with contextlib.suppress(ArchiveProblem), open_archive(path, writable=False, create=False) as archive:
            row = archive.db.execute("SELECT answers FROM said").fetchone()
            return [answer[0] for answer in json.loads(row[0])] if row else []
        return []

    until = time.monotonic() + 30
    while time.monotonic() < until and len(kept()) < 3:
        time.sleep(0.05)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert kept() == ["family", "style", "age_days"]


def test_end_of_input_shows_the_result_and_keeps_the_look(program: Program) -> None:
    done = program("ask", typed="1\n1\n20\n")
    assert done.returncode == 0
    assert "Kept. Go on with" in done.stdout
    assert "What it is" in done.stdout
    assert "3 answers so far" in program("ask", "--resume", typed="leave\n").stdout


def test_no_answers_at_all(program: Program) -> None:
    done = program("ask", typed="")
    assert done.returncode == 2
    assert "No answers came in" in done.stderr


def test_json_keeps_standard_output_clean(program: Program) -> None:
    done = program("ask", "--json", typed="1\n1\n20\n\nenough\n")
    assert json.loads(done.stdout)["schema"] == "rindwright-diagnosis/1"


def test_a_damaged_archive_does_not_hinder_asking(program: Program, tmp_path: Path) -> None:
    program("ask", "--name", "first", typed="1\nleave\n")
    path = tmp_path / "home" / "archive.db"
    path.write_bytes(b"x" * 5000)
    done = program("ask", typed="1\n1\n20\n\nenough\n")
    assert done.returncode == 0
    assert "This could not be saved" in done.stdout
    last = " ".join(done.stdout[done.stdout.rindex("\n\n") :].split())
    assert last.startswith("What this came to could not be saved")
    assert last.endswith("past mend")
    assert "past mend" in done.stdout
    assert "What it is" in done.stdout
    assert "past mend" in program("ask", "--resume", "first").stderr
    assert path.read_bytes() == b"x" * 5000


def test_unknown_and_unfit_names(program: Program) -> None:
    program("ask", "--name", "first", typed="1\nleave\n")
    assert 'did you mean "first"?' in program("ask", "--resume", "frist").stderr
    assert "cannot name" in program("ask", "--name", "../x").stderr
    assert "already" in program("ask", "--name", "first").stderr


def test_two_who_answer_the_same_look_lose_nothing(diagnoser: Diagnoser, tmp_path: Path) -> None:
    path, catalog = tmp_path / "archive.db", diagnoser.catalog
    mine = new(path, "shared", catalog)
    mine.put("family", "washed")
    theirs = reopen(path, "shared", catalog)
    theirs.put("style", "small_soft")
    mine.put("age_days", 20.0)
    theirs.put("cracks", "clear")
    assert not mine.trouble
    assert not theirs.trouble
    again = dict(reopen(path, "shared", catalog).given)
    assert set(again) == {"family", "style", "age_days", "cracks"}
