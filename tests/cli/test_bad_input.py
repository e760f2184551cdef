"""Bad input gets one clear sentence, the documented exit code, and no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from .conftest import Program


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (b"", "There is nothing here; write {}"),
        (b"humidity_pct: 950", '"humidity_pct" cannot be 950; expected a number from 5 to 100 %'),
        (b"age_days: -3", '"age_days" cannot be -3'),
        (b"temp_low_c: 12 furlongs", 'does not know the unit "furlongs"'),
        (b"slimmy_wet: clear", 'did you mean "slimy_wet"?'),
        (b"[1, 2]", "Expected a map"),
        (b"box_lid: {a: b}", "takes an answer, not a map"),
        (b"style: [small_soft, alpine]", "takes one answer, not a list"),
        (b"age_days:", "has no answer"),
        (b"a: &x [1]\nb: *x", "Anchors (&x) are not used here"),
        (b"\x00\x01\x02", "is a binary file"),
        (b"\xff\xfe\x00", "is not text in UTF-8"),
        (b"age_days: 1\nage_days: 2", "a second time"),
        (b"[" * 100, "Nested more than"),
        (b"age_days: [", "This is not YAML"),
        (b"answers:\n", '"answers" holds no answers'),
        (b"answers: [a]", '"answers" holds no answers'),
    ],
)
def test_one_sentence_each(program: Program, typed: bytes, sentence: str) -> None:
    done = program("weigh", "-", typed=typed)
    assert done.returncode == 3
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_all_faults_at_once_in_order(program: Program) -> None:
    done = program("weigh", "-", typed=b"humidity_pct: 950\nage_days: -3\nslimmy_wet: clear\n")
    lines = done.stderr.splitlines()
    assert [line.split(": ")[0] for line in lines] == [
        "standard input:1:15",
        "standard input:2:11",
        "standard input:3:1",
    ]


@pytest.mark.parametrize("under", ["", "answers:\n"])
def test_very_many_wrong_lines_are_told_in_part(program: Program, under: str) -> None:
    lines = "".join(f"{'  ' * bool(under)}nothing_{k}: yes\n" for k in range(20_000))
    done = program("weigh", "-", typed=under + lines)
    assert done.returncode == 3
    told = done.stderr.splitlines()
    assert len(told) == 51
    assert "standard input: 19950 more lines are no questions either." in told


def test_an_empty_map_is_a_case(program: Program) -> None:
    done = program("weigh", "-", typed=b"{}")
    assert done.returncode == 0
    assert "Undecided" in done.stdout
    assert program("weigh", "-", "--strict", typed=b"{}").returncode == 4


def test_folder_missing_file_and_huge_file(program: Program, tmp_path: Path) -> None:
    assert "is a folder" in program("weigh", ".").stderr
    assert "does not exist" in program("weigh", "gone.yaml").stderr
    with (tmp_path / "huge.yaml").open("wb") as file:
        file.truncate(100_000_000)
    done = program("weigh", "huge.yaml")
    assert done.returncode == 3
    assert "100 MB" in done.stderr


def test_wrong_use(program: Program) -> None:
    for arguments in (("weigh",), ("wiegh",), ("card",), ("ask", "--nonsense")):
        done = program(*arguments)
        assert done.returncode == 2
        assert "Traceback" not in done.stderr
        assert len(done.stderr.splitlines()) == 1


def test_near_words_of_cards(program: Program) -> None:
    done = program("card", "box_to_wet")
    assert done.returncode == 3
    assert 'did you mean "box_too_wet"?' in done.stderr
    assert "rindwright card eaters" in program("card", "pregnant").stderr  # an answer: its question is named


def test_a_home_that_cannot_be_written_loses_nothing_said(program: Program, tmp_path: Path) -> None:
    # A file where the folder should be: writing fails for every user, root too.
    (tmp_path / "home").write_text("not a folder")
    done = program("ask", typed="1\n1\n20\nleave\n")
    assert "could not be saved" in done.stdout
    assert "Traceback" not in done.stderr
    assert done.returncode == 0
