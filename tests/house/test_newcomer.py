"""A newcomer's session: from nothing to a working rule in under ten questions, a mistake mended on the way.

To renew the transcripts on purpose: RENEW=1 pytest tests/house/test_newcomer.py
"""

from __future__ import annotations

import json
import os
import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console
from rindwright.cli.lines import EndOfInput
from rindwright.cli.pen import Pen
from rindwright.cli.rules.guide import Guide
from rindwright.cli.status import Status
from rindwright.engine.house.layering import layer
from rindwright.engine.house.reading import read_shelf
from rindwright.engine.model import Knowledge

from tests.house_rules import entry_of

from .conftest import Program, flat

HERE = Path(__file__).parent / "transcripts"
DAY = re.compile(r"\b20\d\d-\d\d-\d\d\b")
HASH = re.compile(r"\b[0-9a-f]{16}\b")
SESSION = (
    "2",
    "red dust below the wheel",
    "2",
    "box too wet",  # a slip
    "back: dirty mats",
    "3",
    "Scrub the cedar boards with hot water and soda.",
    "Since the cedar shelves came, five wheels of six on them had it.",
    "Marta",
)
ANSWERS = "{family: washed, style: small_soft, age_days: 20, red_dust_below_the_wheel: yes, sticks_mat: slight}\n"


def golden(name: str, text: str) -> None:
    """Compare with the recorded text; the day of the clock and every hash stand as one."""
    path, text = HERE / f"{name}.txt", HASH.sub("0" * 16, DAY.sub("2026-11-27", text))
    if os.environ.get("RENEW"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


AGAIN = ("1", "red dust below the wheel", "1", "dirty mats")


def test_what_the_house_says_already_is_said_before_any_more_is_asked(program: Program, tmp_path: Path) -> None:
    program("rules", "new", typed="\n".join(SESSION) + "\n")
    rule = next((tmp_path / "home").rglob("red_dust*.yaml"))
    done = program("rules", "new", typed="\n".join((*AGAIN, "2")) + "\n")
    assert done.returncode == 0, done.stderr
    told = flat(done.stdout)
    assert f'Your house rule "{rule.stem}" ties this to that cause already' in told
    assert f"rindwright rules take-back {rule.stem}" in told
    assert "The packaged word" not in told
    assert "How strongly" not in told
    assert "Nothing is written" in told
    assert list((tmp_path / "home").rglob("*.yaml")) == [rule]


def test_another_cause_can_be_named_then(program: Program, tmp_path: Path) -> None:
    program("rules", "new", typed="\n".join(SESSION) + "\n")
    more = (*AGAIN, "1", "dirty mats", "1", "too warm", "3", "", "Seen in three hot weeks.", "Marta")
    done = program("rules", "new", typed="\n".join(more) + "\n")
    assert done.returncode == 0, done.stderr
    assert flat(done.stdout).count("ties this to that cause already") == 2
    assert "The packaged word" not in done.stdout
    assert "Written: red_dust_below_the_wheel_too.yaml" in flat(done.stdout)
    assert program("rules", "check").returncode == 0


def test_what_it_offers_works(program: Program, tmp_path: Path) -> None:
    """The word altered in the file, as the guide says: the rule counts with it."""
    program("rules", "new", typed="\n".join(SESSION) + "\n")
    told = flat(program("rules", "new", typed="\n".join((*AGAIN, "2")) + "\n").stdout)
    word = re.findall(r'and change "([a-z ]+)" there', told)[0]
    rule = next((tmp_path / "home").rglob("red_dust*.yaml"))
    text = rule.read_text(encoding="utf-8")
    assert text.count(f"seen: {word}") == 1
    rule.write_text(text.replace(f"seen: {word}", "seen: rarely"), encoding="utf-8")
    assert "1 rule in force, 0 faults" in flat(program("rules", "check").stdout)


def test_a_packaged_word_that_the_house_changed_is_not_called_packaged(program: Program) -> None:
    told = ("1", "drops on the lid", "1", "box too wet", "4", "", "Our boxes stand on stone.", "Marta")
    first = program("rules", "new", typed="\n".join(told) + "\n")
    assert first.returncode == 0, first.stderr
    assert 'The packaged word here is "' in flat(first.stdout)
    again = flat(program("rules", "new", typed="\n".join((*told[:4], "2")) + "\n").stdout)
    assert "ties this to that cause already" in again
    assert "The packaged word" not in again


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_a_newcomer_writes_a_rule(real_program: Program, tmp_path: Path, columns: int) -> None:
    done = real_program("rules", "new", typed="\n".join(SESSION) + "\n", columns=columns)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "\x1b" not in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= columns
    golden(f"new-{columns}", done.stdout)
    (file,) = (tmp_path / "home" / "house").glob("*.yaml")
    golden("red_dust-file", file.read_text(encoding="utf-8"))
    if columns == 80:
        (tmp_path / "a.yaml").write_text(ANSWERS, encoding="utf-8")
        weighed = real_program("weigh", "a.yaml", "--beside")
        assert weighed.returncode == 0, weighed.stderr
        golden("weigh-80", weighed.stdout)
        tried = real_program("rules", "try", file.stem, "--on", "a.yaml")
        assert tried.returncode == 0, tried.stderr
        golden("try-80", tried.stdout)


def test_from_nothing_to_a_working_rule_in_under_ten_prompts(program: Program, tmp_path: Path) -> None:
    """Every prompt counts, those of the mistake too; and the rule changes what a diagnosis says."""
    done = program("rules", "new", typed="\n".join(SESSION) + "\n")
    assert done.stdout.count("> ") == len(SESSION) == 9
    assert 'Instead of "box too wet": dirty mats' in done.stdout
    (tmp_path / "a.yaml").write_text(ANSWERS, encoding="utf-8")
    with_it = json.loads(program("weigh", "a.yaml", "--json", "--beside").stdout)
    before, now = (
        next(c["probability"] for c in d["causes"] if c["id"] == "dirty_or_stale_mats")
        for d in (with_it["beside"], with_it)
    )
    assert before < 0.1 < 0.25 < now
    mine = "Scrub the cedar boards with hot water and soda."
    assert mine in [s["do"] for s in with_it["today"]]
    assert mine not in [s["do"] for s in with_it["beside"]["today"]]


def test_what_was_taken_wrongly_is_asked_when_the_same_words_come_again(program: Program, tmp_path: Path) -> None:
    typed = ["2", "clove scent", "back", "clove scent", "2", "box too wet", "back", "box too wet", "2"]
    typed += ["9", "strong", "2", "", "It came with the oil.", "Ada"]
    done = program("rules", "new", typed="\n".join(typed) + "\n")
    assert done.returncode == 0, done.stdout
    assert "Taken as something new that you see, smell or feel. If that is wrong, type back." in flat(done.stdout)
    assert "That is new here. What is it?" in done.stdout
    assert (
        "Type a number from 1 to 6." in done.stdout
    )  # there is no ninth: asked again, with its question on the screen
    assert done.stdout.count("How strongly?") == 2


def test_an_answer_changed_at_once_that_fits_nothing_is_asked_in_full(program: Program) -> None:
    done = program("rules", "new", typed="2\nback: 99\n3\nred dust\nback:\nback\nleave\n")
    assert done.returncode == 0
    assert done.stdout.count("Which rind is it about?") == 3
    assert "There is nothing to go back to." not in done.stdout


def test_words_a_figure_and_a_cause_of_its_own_are_taken_as_they_are(program: Program, tmp_path: Path) -> None:
    typed = "tilsit\ncellar over 14,5 degrees\n1\nfrost bloom\n2\n\nIn August it slips.\nAda\n"
    done = program("rules", "new", typed=typed)
    assert done.returncode == 0, done.stdout
    assert "Taken as: above 14.5 °C." in done.stdout
    assert "taken as one of its own" in flat(done.stdout)
    (file,) = (tmp_path / "home" / "house").glob("*.yaml")
    rule = entry_of(file.read_text(encoding="utf-8")).rule
    assert (rule.cause[0].name, rule.cause[0].what) == ("frost bloom", "In August it slips.")
    assert (rule.circumstance[0].when.all[0].ask, rule.circumstance[0].when.all[0].above) == ("temp_high_c", 14.5)


def test_the_rule_works_at_once_and_is_taken_back(program: Program, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(ANSWERS, encoding="utf-8")
    program("rules", "new", typed="\n".join(SESSION) + "\n")
    assert "1 rule in force, 0 faults, 0 doubts" in program("rules", "check").stdout
    shown = " ".join(program("weigh", "a.yaml").stdout.split())
    assert "house rule red_dust_below_the_wheel_dirty, Marta" in shown
    back = program("rules", "take-back", "red_dust_below_the_wheel_dirty", "--because", "The shelves are gone.")
    assert back.returncode == 0, back.stderr
    done = program("weigh", "a.yaml")
    assert done.returncode == 3  # its question is gone too
    assert '"red_dust_below_the_wheel" is not a question' in done.stderr
    kept = tmp_path / "home" / "house" / "taken_back" / "red_dust_below_the_wheel_dirty.yaml"
    assert kept.exists()
    assert "take back" in (tmp_path / "home" / "house" / "diary.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("typed", ["", "1\n", "leave\n", "1\nx\n\nleave\n", "back\nback\n"])
def test_nothing_is_written_before_the_end(program: Program, tmp_path: Path, typed: str) -> None:
    done = program("rules", "new", typed=typed)
    assert done.returncode in (0, 2)
    assert "Traceback" not in done.stderr
    assert not list((tmp_path / "home").rglob("*.yaml"))


def test_help_at_each_question_and_words_that_promise(program: Program) -> None:
    typed = [
        "?",
        "1",
        "?",
        "slimy",
        "?",
        "1",
        "box too wet",
        "?",
        "3",
        "Eat it up.",
        "?",
        "",
        "It is safe to eat.",
        "We saw it.",
        "Marta",
    ]
    done = program("rules", "new", typed="\n".join(typed) + "\n")
    assert done.returncode == 0, done.stderr + done.stdout
    assert "never calls a cheese fit to eat" in flat(done.stdout)
    assert "may promise that" in done.stdout
    assert 'The packaged word here is "usually"' in done.stdout


def test_a_figure_on_one_rind(program: Program, tmp_path: Path) -> None:
    """Words for a rind, a figure and a cause are taken as they are; a bare number is no deed."""
    typed = "washed rind\ncellar above 14 degrees\n1\nback\n1\nover 13,5\ntoo_warm\n3\n1\n\nIn August it slips.\nAda\n"
    done = program("rules", "new", typed=typed)
    assert done.returncode == 0, done.stderr + done.stdout
    assert "1. What was the highest temperature this week?" in done.stdout
    assert "In words, please; or an empty line." in done.stdout
    (file,) = (tmp_path / "home" / "house").glob("*.yaml")
    (circumstance,) = entry_of(file.read_text(encoding="utf-8")).rule.circumstance
    figure, rind = circumstance.when.all
    assert (figure.ask, figure.above, rind.rind) == ("temp_high_c", 13.5, ("washed",))


REPLIES = (
    "1", "2", "3", "4", "5", "6", "7", "8", "9", "back", "back: 2", "back: slimy", "?", "", "slimy", "box too wet",
    "above 6", "below 80", "over 16", "a new thing of ours", "Marta", "we saw it often", "wash it", "1 2", "small_soft",
    "boards", "red dust", "too warm", "\x1b[2J", "é: #", "cellar over 15", "dirty mats", "how sour it is", "x" * 400,
)  # fmt: skip


@settings(max_examples=40)
@given(st.randoms(use_true_random=False))
def test_whatever_is_typed_a_written_rule_counts(
    knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory, rng: random.Random
) -> None:
    folder, left = tmp_path_factory.mktemp("house"), iter(range(60))

    def read() -> str:
        if next(left, None) is None:
            raise EndOfInput
        return rng.choice(REPLIES)

    with open(os.devnull, "w", encoding="utf-8") as nowhere:
        status = Guide(folder, Pen(Console(file=nowhere, markup=False), 80), read).run()
    shelf = read_shelf(folder)
    assert status in (Status.DONE, Status.USAGE)  # never a draft that cannot be a rule
    assert (status is Status.DONE) == bool(shelf.entries)
    layered = layer(knowledge, shelf.entries)
    assert (shelf.faults, layered.faults) == ((), ())
    assert len(layered.in_force) == len(shelf.entries)
