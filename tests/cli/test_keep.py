"""Weighing a file and keeping it: the same look that the questionnaire would have kept."""

from __future__ import annotations

import json
from pathlib import Path

from .conftest import Program

ANSWERS = "{family: washed, style: small_soft, age_days: 20, slimy_wet: clear, never_dries: yes, listed_all: yes}"


def test_a_weighed_file_becomes_a_look(program: Program) -> None:
    plain = program("weigh", "-", typed=ANSWERS)
    done = program("weigh", "-", "--keep", "--name", "from file", typed=ANSWERS, RINDWRIGHT_NOW="2026-10-01T09:00")
    assert (done.returncode, done.stdout) == (0, plain.stdout)
    assert 'past show "from file"' in done.stderr
    record = json.loads(program("past", "show", "from file", "--json").stdout)
    assert [a[:2] for a in record["answers"]] == [
        ["age_days", 20.0], ["family", "washed"], ["never_dries", "yes"], ["slimy_wet", "clear"],
        ["style", "small_soft"],
    ]  # fmt: skip
    assert record["looked_on"] == "2026-10-01"
    assert record["finished"]
    assert record["listed_all"]
    told = json.loads(program("weigh", "-", "--json", typed=ANSWERS).stdout)
    assert [(c["id"], c["probability"]) for c in record["weighed"]["causes"]] == [
        (c["id"], c["probability"]) for c in told["causes"]
    ]
    assert record["follow_up"]["due_on"] > "2026-10-01"
    assert "0 looks would be told" in " ".join(program("past", "replay").stdout.split())
    again = program("ask", "--resume", "from file", typed="leave\n").stdout
    assert 'Going on with "from file": 5 answers' in again


def test_at_a_wheel_it_needs_only_what_is_new(program: Program) -> None:
    made = ("make", "spring", "--new", "--meant", "small_soft", "--salted", "2026-09-03", "--fact", "milk_heat=raw")
    assert program(*made, RINDWRIGHT_NOW="2026-09-30T09:00").returncode == 0
    arguments = ("weigh", "-", "--keep", "--wheel", "spring", "--on", "2026-09-13", "--notice", "slimy", "--json")
    done = program(*arguments, typed="{humidity_pct: 96}", RINDWRIGHT_NOW="2026-09-30T09:00")
    assert done.returncode == 0, done.stderr
    record = json.loads(program("past", "show", "--json").stdout)
    assert record["looked_on"] == "2026-09-13"
    assert {q: (v, since) for q, v, since in record["answers"]} == {
        "family": ("washed", "2026-09-03"), "style": ("small_soft", "2026-09-03"), "age_days": (10.0, "2026-09-13"),
        # what was entered with the make is known from the day it was made
        "milk_heat": ("raw", "2026-09-03"), "humidity_pct": (96.0, None), "slimy_wet": ("clear", None),
    }  # fmt: skip
    assert record["words"] == ["slimy"]
    assert "Since look 2026-09-13-1" in " ".join(program(*arguments[:-1], "--name", "next", typed="{}").stdout.split())


def test_without_the_word_nothing_is_kept(program: Program, tmp_path: Path) -> None:
    assert program("weigh", "-", typed=ANSWERS).returncode == 0
    assert not (tmp_path / "home" / "archive.db").exists()
    refused = program("weigh", "-", "--name", "x", typed=ANSWERS)
    assert refused.returncode == 2
    assert "--keep" in refused.stderr


def test_what_cannot_be_kept_is_shown_all_the_same_and_said_last(program: Program, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "archive.db").write_bytes(b"x" * 5000)
    done = program("weigh", "-", "--keep", typed=ANSWERS)
    assert done.returncode == 3
    assert "What it is" in done.stdout
    assert "could not be kept" in done.stderr
    assert "Traceback" not in done.stderr
    taken = program("weigh", "-", "--keep", "--name", "../x", typed=ANSWERS)
    assert (taken.returncode, taken.stdout) == (3, "")
