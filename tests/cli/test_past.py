"""Following a wheel: golden screens at three widths, and what each command says and refuses.

The make, its wheels and all that is said of them are invented.
"""

from __future__ import annotations

import importlib.util
import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from .conftest import Program, run_in
from .test_transcripts import golden

NOTHING_GRAVE = "none\n8\n1\nnone\n7\n1\nnone\n1\nenough\n"
"""The safety screen of a raw-milk wheel, answered without a flag, and then enough."""
DAY_10 = "slimy, and it stays wet. drops on the lid\nall\n1\n" + NOTHING_GRAVE
DAY_17 = "drops on the lid\nall\n1\n" + NOTHING_GRAVE
DAY_27 = "orange, tacky\nall\n1\n" + NOTHING_GRAVE
At = Callable[..., str]


STEPS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    (
        "2026-09-01",
        (
            "make", "spring", "--new", "--meant", "small_soft", "--made", "2026-09-01", "--salted", "2026-09-03",
            "--milk", "raw, two cows", "--culture", "Invented culture=1 dose", "--fact", "milk_heat=raw",
            "--plan", "box_fill=third", "--plan", "wash_interval_days=2", "--wheel", "a", "--wheel", "b",
        ),
        "",
    ),
    (
        "2026-09-13",
        ("ask", "--wheel", "spring/a", "--name", "day 10", "--fact", "weight_g=640", "--fact", "humidity_pct=96"),
        DAY_10,
    ),
    ("2026-09-13", ("past", "did", "day 10", "1"), ""),
    ("2026-09-13", ("make", "spring", "--fact", "box_fill=half"), ""),
    ("2026-09-16", ("past", "outcome", "day 10", "box_too_wet", "--known-by", "remedy"), ""),
    ("2026-09-20", ("ask", "--wheel", "spring/a", "--name", "day 17", "--fact", "weight_g=1.3 lb"), DAY_17),
    ("2026-09-20", ("past", "seen", "day 10", "better"), ""),
    ("2026-09-30", ("ask", "--wheel", "spring/b", "--name", "day 27"), DAY_27),
    ("2026-09-30", ("past", "outcome", "day 27", "nothing", "--known-by", "own", "--taste", "good"), ""),
    ("2026-09-30", ("past", "note", "day 27", "the lid stood open half the night"), ""),
)  # fmt: skip


@pytest.fixture(scope="module")
def four_weeks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The home of a maker who has followed a make for four weeks."""
    folder = tmp_path_factory.mktemp("four weeks")
    for day, arguments, typed in STEPS:
        done = run_in(folder)(*arguments, typed=typed, RINDWRIGHT_NOW=f"{day}T09:00")
        assert done.returncode == 0, done.stderr
    return folder / "home"


@pytest.fixture
def followed(program: Program, four_weeks: Path, tmp_path: Path) -> At:
    """A copy of that home, and a function to run a command in it on the first of October."""
    shutil.copytree(four_weeks, tmp_path / "home")

    def at(*arguments: str, typed: str = "", columns: int = 80) -> str:
        done = program(*arguments, typed=typed, columns=columns, RINDWRIGHT_NOW="2026-10-01T09:00")
        assert done.returncode == 0, done.stderr
        return done.stdout

    return at


SCREENS = (
    ("past",),
    ("past", "show", "day 10"),
    ("past", "due", "--until", "2026-12-31"),
    ("past", "wheel", "spring/a"),
    ("past", "compare", "day 10", "day 17"),
    ("past", "alike", "day 17", "--most", "2"),
    ("past", "repeat", "spring/b"),
    ("make",),
    ("make", "spring"),
    ("learn",),
)


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_screens(followed: At, columns: int) -> None:
    shown = []
    for arguments in SCREENS:
        text = followed(*arguments, columns=columns)
        assert "\x1b" not in text
        assert max(len(line) for line in text.splitlines()) <= columns, arguments
        shown.append(f"$ rindwright {' '.join(arguments)}\n{text}")
    golden(f"past-{columns}", "\n".join(shown))


def test_a_second_look_asks_only_what_is_new(followed: At) -> None:
    text = followed("ask", "--wheel", "spring/a", typed="leave\n")
    assert "spring/a: " in text
    assert "carried over, the oldest from 2026-09-01" in " ".join(text.split())
    assert "What do you notice?" in text  # neither family, style nor age is asked again
    assert "How old is the cheese" not in text
    listed = followed("ask", "--wheel", "spring/a", typed="list\n\nslimy\nall\n1\nlist\n\nleave\n")
    assert "raw (said on 2026-09-01)" in listed


def test_the_next_look_reminds_of_what_should_be_seen(program: Program) -> None:
    for day, arguments, typed in STEPS[:2]:
        assert program(*arguments, typed=typed, RINDWRIGHT_NOW=f"{day}T09:00").returncode == 0
    listed = program("past", RINDWRIGHT_NOW="2026-09-20T09:00").stdout
    assert "1 look to be followed up" in listed
    text = program("ask", "--wheel", "spring/a", typed="leave\n", RINDWRIGHT_NOW="2026-09-20T09:00").stdout
    assert "Since look day 10 of 2026-09-13 you should see" in " ".join(text.split())
    told = program("past", "seen", "day 10", "worse", RINDWRIGHT_NOW="2026-09-20T09:00").stdout
    assert 'rindwright ask --wheel "spring/a"' in told


def test_filters_and_json(followed: At) -> None:
    assert "day 27" not in followed("past", "list", "--cause", "box_too_wet")
    assert "day 10" in followed("past", "list", "--cause", "box_too_wet")
    assert followed("past", "list", "--text", "half the night").startswith("day 27")
    assert "No look fits" in followed("past", "list", "--text", "nowhere")
    assert followed("past", "list", "--text", "two cows").startswith("day 27")  # noted of its make
    rows = json.loads(followed("past", "list", "--json"))
    assert [row["look"] for row in rows] == ["day 27", "day 17", "day 10"]
    record = json.loads(followed("past", "show", "day 10", "--json"))
    assert record["outcomes"][0]["known_by"] == "remedy worked"
    assert record["weighed"]["causes"]


def test_several_steps_are_kept_each_by_itself(followed: At) -> None:
    told = followed("past", "did", "day 10", "2", "1").splitlines()
    kept = json.loads(followed("past", "show", "day 10", "--json"))
    assert [f"Kept: {deed['what']}" for deed in kept["deeds"][-2:]] == told
    assert len(told) == 2
    steps = [f"{step['do']} {step['amount']}".strip() for step in kept["weighed"]["today"]]
    assert [deed["what"] for deed in kept["deeds"][-2:]] == [steps[1], steps[0]]
    followed("past", "did", "day 10", "2", "cm of gap under the lid")
    assert json.loads(followed("past", "show", "day 10", "--json"))["deeds"][-1]["what"] == "2 cm of gap under the lid"


def test_two_makes_side_by_side(followed: At) -> None:
    followed("make", "autumn", "--new", "--meant", "small_soft", "--milk", "one cow", "--fact", "milk_heat=raw")
    text = " ".join(followed("past", "compare", "spring", "autumn", "--makes").split())
    assert "Milk: raw, two cows, then one cow" in text
    assert "Cultures: Invented culture 1 dose, then not said" in text
    assert "Turned out: box too wet (day 10); nothing was wrong (day 27), then not said" in text


def test_alike_names_what_a_published_case_was(followed: At) -> None:
    text = " ".join(followed("past", "alike", "day 10", "--most", "3").split())
    assert "Published: " in text
    assert "There it was: " in text
    assert "Source: " in text
    assert "grubs" not in text  # what everyone answers for safety makes no two rinds alike


def test_out_and_in_again(followed: At, program: Program, tmp_path: Path) -> None:
    text = followed("past", "export", "-")
    place = tmp_path / "out.jsonl"
    followed("past", "export", str(place))
    assert place.read_text(encoding="utf-8") == text
    other = str(tmp_path / "other.db")
    assert "No fault found: 4 records" in followed("past", "import", str(place), "--check-only")
    assert "Taken: 1 make, 3 looks" in followed("past", "import", str(place), "--archive", other)
    again = program("past", "export", "-", RINDWRIGHT_ARCHIVE=other)
    assert again.stdout == text
    for number, form in enumerate(("csv", "parquet")):
        if form == "parquet" and importlib.util.find_spec("pyarrow") is None:
            continue
        followed("past", "export", str(tmp_path / f"out.{form}"))
        other = str(tmp_path / f"other {number}.db")
        followed("past", "import", str(tmp_path / f"out.{form}"), "--archive", other)
        assert program("past", "export", "-", RINDWRIGHT_ARCHIVE=other).stdout == text
    with (tmp_path / "out.csv").open(encoding="utf-8") as file:
        assert file.readline().startswith("kind,look,looked_on,make,wheel,")
    wrong = program("past", "import", str(tmp_path / "out.csv"), "--as", "jsonl")
    assert wrong.returncode == 3
    assert len(wrong.stderr.splitlines()) == 1
    place.write_text(text.replace("small_soft", "small_sofa", 1), encoding="utf-8")
    refused = program("past", "import", str(place))
    assert refused.returncode == 3
    assert "out.jsonl:2:1" in refused.stderr
    assert "digest" in refused.stderr


def test_only_an_earlier_export_gives_way(followed: At, program: Program, tmp_path: Path) -> None:
    home = tmp_path / "home"
    followed("past", "backup")
    (tmp_path / "mine.csv").write_text("day,grams\n1,640\n", encoding="utf-8")
    before = {path: path.read_bytes() for path in (*home.rglob("*.db"), tmp_path / "mine.csv")}
    for path in before:
        for form in ("jsonl", "csv"):
            done = program("past", "export", str(path), "--as", form)
            assert done.returncode == 3
            assert "is no earlier export" in done.stderr
    assert before == {path: path.read_bytes() for path in before}
    for form in ("jsonl", "csv"):
        for _ in range(2):
            followed("past", "export", str(tmp_path / f"out.{form}"))


def test_a_sound_archive_is_left_alone(followed: At) -> None:
    before = followed("past", "export", "-")
    assert followed("past", "mend") == "There is nothing to mend: 1 make, 3 looks.\n"
    assert followed("past", "export", "-") == before


def test_outcomes_by_name_and_steps_by_comma(followed: At) -> None:
    assert followed("past", "outcome", "day 17", "Box too wet", "--known-by", "own") == "Kept: box too wet.\n"
    assert len(followed("past", "did", "day 10", "1,", "2").splitlines()) == 2
    assert "(box_too_wet): " in followed("past", "show", "day 10")


def test_standard_output_is_utf_8_whatever_the_locale(followed: At, program: Program) -> None:
    followed("past", "note", "day 10", "Käse – 乳酪")
    for form in ("jsonl", "csv"):
        done = program("past", "export", "-", "--as", form, PYTHONUTF8="0", PYTHONIOENCODING="latin-1")
        assert "Käse – 乳酪" in done.stdout


def test_what_a_terminal_would_obey_is_not_kept(followed: At, program: Program) -> None:
    assert followed("past", "note", "day 10", "red \x1b[31m alert") == "Kept.\n"
    shown = followed("past", "show", "day 10")
    assert "\x1b" not in shown
    assert "alert" in shown


def test_care_of_the_file(followed: At, program: Program, tmp_path: Path) -> None:
    path = tmp_path / "home" / "archive.db"
    assert "Sound: 1 make, 3 looks" in followed("past", "check")
    assert "Copied and checked" in followed("past", "backup", str(tmp_path / "copy.db"))
    assert "is there already" in program("past", "backup", str(tmp_path / "copy.db")).stderr
    followed("past", "backup")
    before = followed("past", "export", "-")
    with sqlite3.connect(path) as db:
        db.execute("UPDATE said SET answers = '[]'")
    db.close()
    done = program("past", "check")
    assert done.returncode == 3
    assert "is not what was saved" in done.stderr
    assert "past mend" in program("past", "show", "day 10").stderr
    assert "Whole again: 1 make, 3 looks" in followed("past", "mend")
    assert followed("past", "export", "-") == before


def test_replay_says_what_changed(followed: At, program: Program, tmp_path: Path) -> None:
    text = " ".join(followed("past", "replay").split())
    assert "3 looks weighed again" in text
    assert "0 looks would be told differently" in text
    path = tmp_path / "home" / "archive.db"
    with sqlite3.connect(path) as db:
        db.execute("UPDATE look SET first_cause = 'stale_air', first_probability = 0.9 WHERE name = 'day 10'")
    db.close()
    text = " ".join(followed("past", "replay").split())
    assert "1 look would be told differently" in text
    assert "Then: " in text
    assert "dask" in program("past", "replay", "--dask", "nowhere:1").stderr


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("past", "show", "dya 27"), 'did you mean "day 27"?'),
        (("past", "list", "--cause", "box_to_wet"), 'did you mean "box_too_wet"?'),
        (("past", "list", "--family", "washd"), 'did you mean "washed"?'),
        (("past", "outcome", "day 10", "box_to_wet", "--known-by", "own"), 'did you mean "box_too_wet"?'),
        (("past", "did", "day 10", "99"), "there is no step 99"),
        (("past", "did", "day 10", "1", "98", "99"), "there is no step 98 or 99"),
        (("past", "did", "day 10", " "), "Nothing was said; expected what was done"),
        (("past", "note", "day 10", ""), "Nothing was said; expected the note"),
        (("past", "outcome", "day 10", "nothing", "box_too_wet", "--known-by", "own"), "not both"),
        (("past", "did", "day 10", "aired", "--on", "31.10."), "is not a date"),
        (("past", "did", "day 10", "aired", "--on", "2026-09-12"), "lies before the look (2026-09-13)"),
        (("past", "note", "day 10", "x", "--on", "2026-10-02"), "is still to come"),
        (("past", "outcome", "day 10", "nothing", "--known-by", "own", "--on", "2026-09-01"), "before the look"),
        (("past", "seen", "day 17", "better", "--on", "tomorrow"), "is still to come"),
        (("make", "spring", "--note", "x", "--on", "2026-12-01"), "is still to come"),
        (("ask", "--on", "2026-10-02"), "is still to come"),
        (("ask", "--wheel", "spring/a", "--on", "2026-08-31"), "lies before the make (2026-09-01)"),
        (("past", "did", "day 10", "aired", "--on", "9999-12-31"), "out of all time"),
        (("ask", "--on", "0001-01-01"), "out of all time"),
        (("past", "note", "day 10", "x" * 20_001), "at most 20000 are kept"),
        (("past", "seen", "day 27", "better"), "not waiting"),
        (("past", "wheel", "spring"), "more than one wheel"),
        (("past", "wheel", "sprng/a"), 'did you mean "spring"?'),
        (("past", "repeat", "spring/a"), "did not turn out well"),
        (("past", "export", "file.xyz"), "does not say what to write"),
        (("past", "import", "nowhere.jsonl"), "does not exist"),
        (("make", "other"), "There is no make"),
        (("make", "spring", "--new"), "already"),
        (("make", "spring", "--meant", "small_sofa"), 'did you mean "small_soft"?'),
        (("make", "spring", "--fact", "humidity_pct=950"), "cannot be 950"),
        (("make", "../x", "--new"), "cannot name"),
        (("make", "--new", "--meant", "small_soft"), "Which make is meant?"),
        (("ask", "--wheel", "nowhere/a"), "There is no make"),
        (("ask", "--on", "soon"), "is not a date"),
        (("ask", "--fact", "weight_g"), "question=answer"),
        (("make", "later", "--new", "--fact", "milk_heat"), '"milk_heat" lacks its answer: write question=answer'),
        (("make", "later", "--new", "--fact", "milk_heet"), 'did you mean "milk_heat"?'),
    ],
)
def test_one_sentence_each(four_weeks: Path, arguments: tuple[str, ...], sentence: str) -> None:
    done = run_in(four_weeks.parent)(*arguments, RINDWRIGHT_NOW="2026-10-01T09:00")
    assert done.returncode == 3
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr


def test_every_fault_of_a_make_is_told_and_nothing_is_kept(program: Program) -> None:
    given = (
        "--meant", "softt", "--made", "2026-09-31", "--salted", "2027-09-03", "--fact", "milk_heat=rawish",
        "--fact", "boxfill=third", "--fact", "style=tilsit", "--fact", "slimy_wet=clear", "--plan", "box_fill=much",
        "--wheel", "a/b",
    )  # fmt: skip
    done = program("make", "autumn", "--new", *given, RINDWRIGHT_NOW="2026-10-01T09:00")
    assert done.returncode == 3
    told = done.stderr.splitlines()
    for words in (
        '"softt" is not a style; expected small_soft,', '"2026-09-31" is not a date', "lies too far ahead",
        'did you mean "raw"?', 'did you mean "box_fill"?', "--meant STYLE", "is for the day of a look",
        '"box_fill" does not take "much"', '"a/b" cannot name',
    ):  # fmt: skip
        assert sum(words in line for line in told) == 1, words
    assert len(told) == 9
    assert "There is no archive" in program("make", "autumn").stderr
    assert program("make", "autumn", "--new", "--salted", "2026-09-03").returncode == 0
    done = program("make", "autumn", "--made", "2026-09-05")
    assert done.stderr == "Salting cannot end (2026-09-03) before the make (2026-09-05).\n"


def test_every_fault_of_what_is_known_is_told(program: Program) -> None:
    done = program("ask", "--fact", "weight_g=heavy", "--fact", "boxfill=third", "--fact", "box_fill=half")
    assert done.returncode == 3
    assert '"weight_g"' in done.stderr
    assert '"boxfill=third"' in done.stderr


def test_no_archive_yet(program: Program) -> None:
    done = program("past")
    assert done.returncode == 3
    assert "begins with the first look" in done.stderr
    assert program("learn", "--take", "--reset").returncode == 2
    assert "RINDWRIGHT_NOW" in program("ask", RINDWRIGHT_NOW="soon").stderr
