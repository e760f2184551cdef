"""House rules and the archive: what a look keeps of them, and what the commands that look back know of them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from rindwright.cli.main import cli
from rindwright.cli.pen import Pen

from .conftest import RED_DUST, Program, flat, head

CEDAR = head("cedar") + (
    "cause: {id: cedar_oil, kind: fault, name: Cedar oil, what: The oil burns the rind., rinds: [washed],\n"
    "  base_rate: common, signs: [{sign: red_dust, seen: nearly always}], today: [{act: wait, do: Wait a day.}],\n"
    "  look_again: {after_days: 4, expect: The burn pales., otherwise: Ask the joiner.}}\n"
)
NOTHING_GRAVE = "none\n8\n1\nnone\n7\n1\n1\nnone\n1\n"
TYPED = f"washed\nsmall_soft\n20\nred dust\nall\n1\n{NOTHING_GRAVE}enough\n"
MARK = {"rule": "cedar", "owner": "Marta", "date": "2026-11-27"}


@pytest.fixture
def looked(program: Program, tmp_path: Path) -> Path:
    """A home with two rules and one look that they speak on, weighed and kept."""
    house = tmp_path / "home" / "house"
    house.mkdir(parents=True)
    (house / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    (house / "cedar.yaml").write_text(CEDAR, encoding="utf-8")
    done = program("ask", "--name", "old", typed=TYPED)
    assert done.returncode == 0, done.stderr
    return house


def test_a_look_keeps_both_hashes_and_whose_word_it_was(program: Program, looked: Path) -> None:
    weighed = json.loads(program("past", "show", "old", "--json").stdout)["weighed"]
    assert len(weighed["knowledge"]) == len(weighed["house"]) == 64
    cedar = weighed["causes"][0]
    assert (cedar["id"], cedar["house"]) == ("cedar_oil", [MARK])
    assert any(r["by"] == "red_dust" and r["house"][-1]["rule"] == "red_dust" for r in cedar["for"])
    assert any(s.get("house") == [MARK] for s in weighed["today"])
    shown = flat(program("past", "show", "old").stdout)
    assert "Cedar oil (cedar_oil): " in shown
    assert "[house rule cedar, Marta, 2026-11-27]" in shown
    assert f"house rules {weighed['house'][:12]}" in shown
    for rule in ("cedar", "red_dust"):  # and it still says so when the rules are gone
        assert program("rules", "take-back", rule, "--because", "The shelves are gone.").returncode == 0
    assert "[house rule cedar, Marta, 2026-11-27]" in flat(program("past", "show", "old").stdout)
    assert "old" in program("past", "list", "--cause", "cedar_oil").stdout


def test_a_house_cause_is_an_outcome_a_filter_and_replayed(program: Program, looked: Path) -> None:
    done = program("past", "outcome", "old", "cedar_oil", "--known-by", "lens")
    assert done.returncode == 0, done.stderr
    assert done.stdout == "Kept: cedar oil [house rule cedar, Marta, 2026-11-27].\n"
    assert "Turned out: cedar oil [house rule cedar, Marta, 2026-11-27]." in flat(
        program("past", "list", "--cause", "cedar_oil").stdout
    )
    assert program("past", "list", "--cause", "cedar_oyl").returncode == 3
    assert "1 look confirmed" in flat(program("learn").stdout)
    replayed = flat(program("past", "replay").stdout)
    assert "and house rules" in replayed
    assert "0 looks would be told differently" in replayed
    assert "the first cause was right in 1 then, and is in 1 today" in replayed
    program("rules", "off", "cedar", "--because", "The shelves are gone.")
    replayed = flat(program("past", "replay").stdout)
    assert "1 look would be told differently" in replayed
    assert "right in 1 then, and is in 0 today" in replayed
    assert "Then: undecided, cedar_oil" in replayed


def test_a_rule_is_tried_on_every_look_of_the_archive(program: Program, looked: Path) -> None:
    assert program("ask", "--name", "other", typed=TYPED.replace("red dust", "slimy")).returncode == 0
    tried = flat(program("rules", "try", "cedar").stdout)
    assert 'Tried "cedar" on 2 looks.' in tried
    assert "1 first cause" in tried
    assert "look old - " in tried
    assert "first: Dirty or stale mats and boards (" in tried
    assert "Cedar oil: under 2% before" in tried
    assert "new step: Wait a day. [house rule cedar, Marta, 2026-11-27]" in tried


def test_an_export_without_words_names_nobody(program: Program, looked: Path, tmp_path: Path) -> None:
    assert program("past", "export", "all.jsonl").returncode == 0
    assert "Marta" in (tmp_path / "all.jsonl").read_text(encoding="utf-8")
    assert program("past", "import", "all.jsonl", "--archive", "copy.db").returncode == 0
    assert program("past", "export", "again.jsonl", "--archive", "copy.db").returncode == 0
    assert (tmp_path / "again.jsonl").read_bytes() == (tmp_path / "all.jsonl").read_bytes()
    assert program("past", "export", "bare.jsonl", "--without-words").returncode == 0
    bare = (tmp_path / "bare.jsonl").read_text(encoding="utf-8")
    assert not [
        word for word in ("Marta", "Cedar oil", "Wait a day", "ed dust below", "burn pales", "joiner") if word in bare
    ]
    assert program("past", "import", "bare.jsonl", "--check-only").returncode == 0


NEEDS_NO_HOUSE = {
    "past seen", "past did", "past note", "past backup", "past check", "past mend", "knowledge check",
}  # fmt: skip
"""Commands that open no rule: they keep a word of the maker, look after the file, or read the packaged knowledge."""


def commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    """Every command with the words that call it; sums know no rules at all."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group) and name != "sums":
            yield from commands(command, f"{before}{name} ")
        elif name != "sums":
            yield before + name, command


def test_every_command_that_opens_the_knowledge_takes_another_house() -> None:
    without = {
        words for words, command in commands(cli)
        if "house" not in {p.name for p in command.params}
    }  # fmt: skip
    assert without == NEEDS_NO_HOUSE


def test_looking_back_with_another_house(program: Program, looked: Path, tmp_path: Path) -> None:
    """The look stands as it was told; what is worked out now knows only the rules of the folder named."""
    (tmp_path / "other").mkdir()
    other = ("--house", "other")
    assert program("past", "outcome", "old", "cedar_oil", "--known-by", "lens", *other).returncode == 3
    assert program("past", "outcome", "old", "cedar_oil", "--known-by", "lens").returncode == 0
    assert "Cedar oil" in program("past", "list").stdout
    assert "cedar_oil" in program("past", "list", *other).stdout  # no name for it there
    assert "[house rule cedar, Marta, 2026-11-27]" in flat(program("past", "show", "old", *other).stdout)
    mine, theirs = (flat(program("past", "replay", *more).stdout) for more in ((), other))
    assert "and house rules" in mine
    assert "and house rules" not in theirs
    assert "1 look would be told differently" in theirs
    program("past", "export", "mine.csv")
    program("past", "export", "theirs.csv", *other)
    heads = [(tmp_path / f"{who}.csv").read_text(encoding="utf-8").splitlines()[0] for who in ("mine", "theirs")]
    assert ["answer_red_dust" in head for head in heads] == [True, False]
    assert program("make", "spring", "--new", "--plan", "red_dust=yes", *other).returncode == 3
    assert program("make", "summer", "--new", "--plan", "red_dust=yes").returncode == 0
    assert "red dust on the underside" in program("make", "summer").stdout
    assert "red dust on the underside" not in program("make", "summer", *other).stdout
    for arguments in (("learn",), ("past", "due"), ("past", "alike", "old"), ("past", "compare", "old", "old")):
        done = program(*arguments, *other)
        assert (done.returncode, done.stderr) == (0, ""), arguments


def test_a_rule_is_tried_on_the_archive_that_is_named(program: Program, looked: Path) -> None:
    assert "on 1 look" in flat(program("rules", "try", "cedar").stdout)
    assert "no past look" in program("rules", "try", "cedar", "--archive", "elsewhere.db").stderr


HOUSE_WORDS = ("edar oil", "ed dust", "oil burns", "burn pales", "Brush the cedar", "Wait a day")
"""Whatever these rules bring, by a piece of each of its texts."""
MAY_STAND_BARE = (
    "Cedar oil: what speaks for it",  # the rule stands below, after what it says of it
    "The oil burns the rind.",
    "Cedar oil (cedar_oil)",  # the head of a card, and its first line
    "Red dust below (red_dust)",
    "> red dust",  # the maker's own words
    '- In your words: "red dust"',
)


def test_whatever_a_rule_brings_says_whose_it_is_on_every_screen(
    program: Program, looked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        made = Pen.__init__
        patch.setattr(Pen, "__init__", lambda pen, screen, _: made(pen, screen, 10_000))  # one item, one line
        (tmp_path / "a.yaml").write_text("{style: small_soft, age_days: 20, red_dust: yes}\n", encoding="utf-8")
        asked = program("ask", "--name", "new", typed=TYPED.replace("enough", "guess\nlist\n\nwhy\nenough"))
        assert program("make", "spring", "--new", "--wheel", "a", "--plan", "red_dust=yes").returncode == 0
        assert program("ask", "--name", "day 9", "--wheel", "spring/a", typed=TYPED).returncode == 0
        assert program("past", "did", "old", "1").returncode == 0
        assert program("past", "outcome", "old", "cedar_oil", "--known-by", "lens").returncode == 0
        screens = {"ask": asked.stdout}
        for command in (
            "weigh a.yaml", "weigh a.yaml --beside", "questions", "card cedar_oil", "card red_dust", "card wait",
            "card boards", "card dirty_or_stale_mats", "past list", "past show old", "past show old --beside",
            "past due --until 2099-01-01", "past wheel spring/a", "past compare old new", "past alike old",
            "past replay", "make spring", "learn", "rules try cedar",
        ):  # fmt: skip
            done = program(*command.split())
            assert done.returncode == 0, (command, done.stderr)
            screens[command] = done.stdout
        screens["notice"] = program("weigh", "--notice", "red dust").stdout
    said = 0
    for command, screen in screens.items():
        lines = [line.strip() for line in screen.splitlines()]
        for k, line in enumerate(lines):
            if not any(words in line for words in HOUSE_WORDS) or line in MAY_STAND_BARE:
                continue
            if line.startswith("Done: ") or ", done: " in line or "At the most it moves" in line or line.endswith("#"):
                continue  # what the maker did; a rule that speaks of itself; a row of a grid, named below it
            below = [x for x in lines[k + 1 : k + 2] if x.startswith("For: ")]  # a step, and on what ground
            said += 1
            assert any("house rule" in x and "Marta, 2026-11-27" in x for x in (line, *below)), (command, line)
    assert said > 40


def test_a_past_look_stands_beside_the_packaged_knowledge_alone(program: Program, looked: Path) -> None:
    shown = flat(program("past", "show", "old", "--beside").stdout)
    beside = shown.split("Beside it: the packaged knowledge alone")[1]
    assert "Cedar oil: under 2% alone, " in beside
    assert "with the house [house rule cedar, Marta, 2026-11-27]" in beside
    assert "another one since then" not in beside
    shape = json.loads(program("past", "show", "old", "--beside", "--json").stdout)
    assert shape["beside"]["house"]["version"] == ""
    assert "cedar_oil" not in [c["id"] for c in shape["beside"]["causes"]]
    for rule in ("cedar", "red_dust"):  # what it said then does not hang on the rules of today
        program("rules", "take-back", rule, "--because", "The shelves are gone.")
    again = flat(program("past", "show", "old", "--beside").stdout).split("Beside it:")[1]
    assert "Cedar oil: under 2% alone, " in again
    assert program("ask", "--name", "open", typed="washed\nsmall_soft\n20\nleave\n").returncode == 0
    refused = program("past", "show", "open", "--beside")
    assert (refused.returncode, refused.stdout) == (3, "")
    assert "not finished" in refused.stderr


def test_the_questionnaire_names_the_command_that_shows_it_beside(program: Program, looked: Path) -> None:
    done = flat(program("ask", "--name", "day 10", typed=TYPED).stdout)
    assert 'What the packaged knowledge alone says: rindwright past show "day 10" --beside' in done
