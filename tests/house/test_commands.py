"""The commands of house rules, as a person or a program runs them."""

from __future__ import annotations

import json
import re
import sys
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from .conftest import RED_DUST, Program, flat, head
from .test_hostile import HARMFUL

ANSWERS = "{family: washed, style: small_soft, age_days: 20, red_dust: yes, sticks_mat: slight}\n"


@pytest.fixture
def settled(tmp_path: Path) -> Path:
    """A home with one rule, and an answers file that it speaks on."""
    house = tmp_path / "home" / "house"
    house.mkdir(parents=True)
    (house / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    (tmp_path / "a.yaml").write_text(ANSWERS, encoding="utf-8")
    return house


def test_list_shows_the_layer_of_everything(program: Program, settled: Path) -> None:
    (settled / "wet.yaml").write_text(head("wet") + "change: {cause: box_too_wet, to: rare}\n", encoding="utf-8")
    (settled / "cold.yaml").write_text(head("cold") + "off: {cause: too_cold}\n", encoding="utf-8")
    (settled / "bad.yaml").write_text("rule: bad\n", encoding="utf-8")
    shown = flat(program("rules", "list", "--all").stdout)
    assert "red_dust: in force. Marta, 2026-11-27." in shown
    assert "does not count: bad.yaml:1:1" in shown
    assert "box_too_wet: packaged, changed by wet" in shown
    assert "too_cold: packaged, switched off by cold" in shown
    assert "stale_air: packaged" in shown
    shape = json.loads(program("rules", "list", "--json").stdout)
    documented = files("rindwright.cli").joinpath("shapes", "rules.schema.json").read_text(encoding="utf-8")
    jsonschema.validate(shape, json.loads(documented))
    assert [r["rule"] for r in shape["rules"]] == ["cold", "red_dust", "wet"]
    assert all(r["layer"] == "house" and r["owner"] and r["date"] for r in shape["rules"])
    assert shape["house"]
    assert shape["faults"]


def test_show_a_rule_a_packaged_thing_and_nothing(program: Program, settled: Path) -> None:
    shown = flat(program("rules", "show", "red_dust").stdout)
    assert "House rule red_dust, Marta, 2026-11-27" in shown
    assert "Because: Since the cedar shelves came" in shown
    assert "With dirty or stale mats and boards, red dust below shows often." in shown
    assert "Layer: packaged" in program("rules", "show", "box_too_wet").stdout
    wrong = program("rules", "show", "red_dusk")
    assert wrong.returncode == 3
    assert 'did you mean "red_dust"' in wrong.stderr


def test_off_and_on_with_a_reason(program: Program, settled: Path, tmp_path: Path) -> None:
    before = program("weigh", "a.yaml", "--json").stdout
    off = program("rules", "off", "red_dust", typed="The shelves are gone.\n")
    assert off.returncode == 0, off.stderr
    assert "resting since" in flat(program("rules", "list").stdout)
    assert "The shelves are gone." in flat(program("rules", "list").stdout)
    assert '"red_dust" is not a question' in program("weigh", "a.yaml").stderr
    assert "rests already" in program("rules", "off", "red_dust", "--because", "again").stderr
    on = program("rules", "on", "red_dust", "--because", "They are back.")
    assert on.returncode == 0, on.stderr
    assert (settled / "red_dust.yaml").read_text(encoding="utf-8") == RED_DUST
    assert program("weigh", "a.yaml", "--json").stdout == before
    diary = (settled / "diary.txt").read_text(encoding="utf-8")
    assert "off  red_dust  The shelves are gone." in diary
    assert "on  red_dust  They are back." in diary


def test_a_packaged_cause_is_switched_off_and_on(program: Program, tmp_path: Path) -> None:
    case = str(files("rindwright.cases").joinpath("worked", "box_too_wet.yaml"))
    before = program("weigh", case, "--json").stdout
    off = program("rules", "off", "box_too_wet", "--because", "Our box has no lid.", "--owner", "Marta")
    assert off.returncode == 0, off.stderr
    assert program("rules", "check").stdout.startswith(
        "1 rule in force, 0 faults, 0 doubts"
    )  # examples are written too
    assert flat(program("rules", "show", "off_box_too_wet").stdout).startswith("House rule off_box_too_wet, Marta, ")
    assert "Switches off something packaged: box too wet." in program("rules", "show", "off_box_too_wet").stdout
    gone = program("rules", "show", "box_too_wet").stdout
    assert "packaged; switched off in this house (house rule off_box_too_wet, Marta, " in flat(gone)
    assert "Box too wet (box_too_wet)" in gone
    refused = program("card", "box_too_wet")
    assert refused.returncode == 3
    assert "is switched off here (house rule off_box_too_wet, Marta, " in refused.stderr
    shown = flat(program("weigh", case).stdout)
    assert "Box too wet" not in shown.split("House rules")[0]
    assert "Switched off here: cause box_too_wet (off_box_too_wet)." in shown
    on = program("rules", "on", "box_too_wet", "--because", "It has one now.")
    assert on.returncode == 0, on.stderr
    assert program("weigh", case, "--json").stdout == before


def test_one_tie_is_switched_off(program: Program, tmp_path: Path) -> None:
    done = program("rules", "off", "box_too_wet", "--sign", "lid_drops", "--because", "Our lid is cold.")
    assert done.returncode == 0, done.stderr
    assert 'The tie of "box_too_wet" to "lid_drops" is switched off' in flat(done.stdout)
    card = program("card", "box_too_wet").stdout
    assert "- Drops on the lid" not in card
    assert "- drops on the lid" not in card
    assert program("rules", "off", "box_too_wet", "--sign", "sage_tinge", "--because", "no").returncode == 3


def test_the_undo_of_a_tie_undoes_just_that(program: Program, tmp_path: Path) -> None:
    for sign in ("lid_drops", "wet_base"):
        done = program("rules", "off", "box_too_wet", "--sign", sign, "--because", "Our lid is cold.")
        assert done.returncode == 0, done.stderr
    undo = re.findall(r"Undo it: rindwright (.+)", flat(done.stdout))[0].split()
    assert program(*undo, "--because", "It is warm again.").returncode == 0
    left = {p.name for p in (tmp_path / "home").rglob("off_*.yaml") if p.parent.name != "taken_back"}
    assert left == {"off_box_too_wet_lid_drops.yaml"}


UNFIT = [
    (("lid_drops", "--sign", "tacky"), '"lid_drops" is no cause but a sign', "rindwright rules off"),
    (("lid_drops", "--when", "box_full"), '"lid_drops" is no cause but a sign', "--sign lid_drops"),
    (("box_full", "--sign", "lid_drops"), '"box_full" is no cause but a circumstance', "--when box_full"),
    (("box_too_wet", "--when", "zork"), '"zork" is not a packaged circumstance', "box_full"),
    (("box_too_wet", "--when", "box_ful"), '"box_ful" is not', 'did you mean "box_full"?'),
    (("box_too_wet", "--sign", "lid_drop"), '"lid_drop" is not a packaged sign', 'did you mean "lid_drops"?'),
    (("box_too_wet", "--sign", "tacky"), 'has no tie to the sign "tacky"', "lid_drops"),
    (("box_too_wet", "--sign", "lid_drops", "--when", "box_full"), "One tie at a time", "not both"),
    (("red_dust", "--sign", "tacky"), "is a rule of your house", "rules off red_dust"),
    (("red_dus", "--sign", "tacky"), "There is no rule", 'did you mean "red_dust"?'),
]


@pytest.mark.parametrize(("given", "said", "hint"), UNFIT)
def test_a_tie_that_is_not_there(program: Program, settled: Path, given: tuple[str, ...], said: str, hint: str) -> None:
    before = sorted(settled.rglob("*.yaml"))
    done = program("rules", "off", *given, "--because", "A long reason.")
    assert done.returncode == 3
    assert said in flat(done.stderr)
    assert hint in flat(done.stderr)
    assert len(done.stderr.strip().splitlines()) == 1
    assert sorted(settled.rglob("*.yaml")) == before


UNKNOWN = [
    ("check", "zork.yaml"), ("show", "zork"), ("show", "../zork"), ("try", "zork"), ("try", "zork.yaml"),
    ("try", "red_dust", "--on", "zork.yaml"), ("on", "zork", "--because", "why not so"),
    ("off", "zork", "--because", "why not so"), ("take-back", "zork", "--because", "why not so"),
    ("take-back", "../zork", "--because", "why not so"), ("take-in", "zork", "--yes"),
    ("off", "box_too_wet", "--owner", "", "--because", "why not so"),
]  # fmt: skip


@pytest.mark.parametrize("given", UNKNOWN)
def test_an_unknown_name_is_one_sentence(program: Program, settled: Path, given: tuple[str, ...]) -> None:
    done = program("rules", *given)
    assert done.returncode == 3, done.stdout
    assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize("name", ["stop_larvae", "larvae", "past_ready", "nothing_at_all"])
def test_what_may_not_be_switched_off(program: Program, tmp_path: Path, name: str) -> None:
    done = program("rules", "off", name, "--because", "We want to.")
    assert done.returncode == 3
    assert len(done.stderr.strip().splitlines()) == 1
    assert not list((tmp_path / "home").rglob("*.yaml"))


def test_a_reason_is_needed(program: Program, settled: Path) -> None:
    for command in ("off", "take-back"):
        done = program("rules", command, "red_dust", typed="\n")
        assert done.returncode == 2
        assert "reason is needed" in done.stderr
        done = program("rules", command, "red_dust", "--because", "x")
        assert done.returncode == 2
        assert 'The reason "x" is too short: at least 3 letters' in flat(done.stderr)
        assert "is needed" not in done.stderr
    assert (settled / "red_dust.yaml").exists()


def test_try_before_it_counts(program: Program, settled: Path, tmp_path: Path) -> None:
    (settled / "red_dust.yaml").rename(tmp_path / "red_dust.yaml")
    (tmp_path / "b.yaml").write_text("{style: small_soft, age_days: 20, slimy_wet: clear}\n", encoding="utf-8")
    done = program("rules", "try", "./red_dust.yaml", "--on", "a.yaml", "--on", "b.yaml")
    assert done.returncode == 0, done.stderr
    shown = flat(done.stdout)
    assert 'Tried "red_dust" on 2 looks. Nothing is changed by trying.' in shown
    assert "Dirty or stale mats and boards: 8% before" in shown
    assert "b.yaml" not in done.stdout  # nothing changes there
    assert not (settled / "red_dust.yaml").exists()
    own = program("rules", "try", "./red_dust.yaml")
    assert "its own example 1" in own.stdout
    none = program("rules", "try")
    assert none.returncode == 3
    assert "nothing to try it on" in none.stderr


def test_everything_shown_says_whose_it_is(program: Program, settled: Path) -> None:
    shown = flat(program("weigh", "a.yaml").stdout)
    assert "Red dust below; seen with it: often (house rule red_dust, Marta, 2026-11-27)" in shown
    assert "For: dirty or stale mats and boards. house rule red_dust, Marta, 2026-11-27" in shown
    assert "1 house rule is in force beside the packaged knowledge" in shown
    assert "house rule red_dust, Marta, 2026-11-27" in flat(program("card", "dirty_or_stale_mats").stdout)
    assert "house rule red_dust, Marta, 2026-11-27" in flat(program("card", "red_dust").stdout)
    assert "house rule red_dust, Marta, 2026-11-27" in flat(program("questions").stdout)


def test_a_house_cause_and_a_house_derivation_say_so_too(program: Program, settled: Path, tmp_path: Path) -> None:
    (settled / "cedar.yaml").write_text(
        head("cedar")
        + "cause: {id: cedar_oil, kind: fault, name: Cedar oil, what: The oil burns the rind., rinds: [washed],\n"
        "  base_rate: common, signs: [{sign: red_dust, seen: nearly always}], today: [{act: wait, do: Wait a day.}]}\n"
        "derive: {circumstance: air_very_wet, when: {ask: sticks_mat}}\n",
        encoding="utf-8",
    )
    shown = flat(program("weigh", "a.yaml").stdout)
    assert "[house rule cedar, Marta, 2026-11-27]" in shown
    d = json.loads(program("weigh", "a.yaml", "--json").stdout)
    mine = next(c for c in d["causes"] if c["id"] == "cedar_oil")
    assert mine["house"] == [{"rule": "cedar", "owner": "Marta", "date": "2026-11-27"}]
    reasons = [r for c in d["causes"] for r in c["reasons"]["for"] if r["by"] == "air_very_wet"]
    assert reasons
    assert all(r["house"][0]["rule"] == "cedar" for r in reasons)  # packaged word, house ground
    assert any(s["house"] for s in d["today"])


def test_json_carries_both_hashes_and_keeps_its_shape(program: Program, settled: Path, tmp_path: Path) -> None:
    schema = json.loads(files("rindwright.cli").joinpath("shapes", "diagnosis.schema.json").read_text(encoding="utf-8"))
    with_it = json.loads(program("weigh", "a.yaml", "--json", "--beside").stdout)
    jsonschema.validate(with_it, schema)
    jsonschema.validate(with_it["beside"], schema)
    assert len(with_it["house"]["version"]) == 64
    assert with_it["house"]["rules"][0]["owner"] == "Marta"
    assert with_it["beside"]["house"] == {"version": "", "rules": []}
    assert with_it["beside"]["knowledge"] == with_it["knowledge"]
    assert with_it["causes"] != with_it["beside"]["causes"]


def test_the_house_is_chosen_by_option_or_environment(program: Program, settled: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    assert "No house rules yet" in flat(program("rules", "list", "--house", "other").stdout)
    assert "No house rules yet" in flat(program("rules", "list", RINDWRIGHT_HOUSE=str(other)).stdout)
    assert program("weigh", "a.yaml", "--house", "other").returncode == 3
    assert "othre is not a folder of house rules" in program("weigh", "a.yaml", "--house", "othre").stderr
    assert program("weigh", "a.yaml").returncode == 0


def test_an_empty_house_changes_no_byte(program: Program, tmp_path: Path) -> None:
    case = str(files("rindwright.cases").joinpath("worked", "box_too_wet.yaml"))
    for arguments in (("weigh", case), ("weigh", case, "--json"), ("card", "box_too_wet"), ("questions",)):
        alone = program(*arguments)
        (tmp_path / "empty").mkdir(exist_ok=True)
        housed = program(*arguments, "--house", "empty")
        assert (alone.stdout, alone.stderr) == (housed.stdout, housed.stderr)


def test_the_questionnaire_asks_house_questions_and_says_whose(program: Program, settled: Path) -> None:
    (settled / "red_dust.yaml").write_text(
        RED_DUST.replace("on_sound_rinds: rarely", "on_sound_rinds: almost never").replace(
            "seen: often", "seen: usually"
        ),
        encoding="utf-8",
    )
    done = program("ask", "--name", "x", typed="1\n1\n20\nred dust\nall\n1\n" + "2\n" * 60)
    assert "red dust below" in done.stdout
    assert done.returncode == 0
    assert "house rule red_dust, Marta, 2026-11-27" in flat(done.stdout)


def test_a_broken_house_is_said_and_the_rest_works(program: Program, settled: Path) -> None:
    for k, (text, _) in enumerate(HARMFUL.values()):
        (settled / f"harm_{k}.yaml").write_bytes(text.encode("utf-8", "surrogatepass"))
    for arguments in (
        ("weigh", "a.yaml"), ("questions",), ("card", "red_dust"), ("rules", "list"), ("rules", "list", "--all"),
        ("rules", "show", "red_dust"), ("rules", "try", "red_dust", "--on", "a.yaml"),
    ):  # fmt: skip
        done = program(*arguments)
        assert done.returncode == 0, (arguments, done.stderr)
        assert "Traceback" not in done.stderr
        assert "\x1b" not in done.stdout + done.stderr
    assert "A house rule is left out." in program("weigh", "a.yaml").stderr
    checked = program("rules", "check")
    assert checked.returncode == 3
    assert "1 rule in force" in checked.stdout
    assert all(f"harm_{k}.yaml" in checked.stdout for k in range(len(HARMFUL)))
    assert program("rules", "take-back", "harm_0", "--because", "Broken.").returncode == 0
    assert not (settled / "harm_0.yaml").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="links")
def test_nothing_is_written_through_a_link(program: Program, settled: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "diary.txt").write_text("mine", encoding="utf-8")
    (settled / "taken_back").symlink_to(outside)
    (settled / "diary.txt").symlink_to(outside / "diary.txt")
    refused = program("rules", "take-back", "red_dust", "--because", "no use")
    assert refused.returncode == 3
    assert "link to somewhere else" in refused.stderr
    assert program("rules", "off", "red_dust", "--because", "rest").returncode == 0
    assert (outside / "diary.txt").read_text(encoding="utf-8") == "mine"
    assert [p.name for p in outside.iterdir()] == ["diary.txt"]


def test_check_a_single_file_beside_the_house(program: Program, settled: Path, tmp_path: Path) -> None:
    draft = tmp_path / "draft.yaml"
    draft.write_text(head("draft") + "link: {cause: too_cold, sign: red_dust, seen: offen}\n", encoding="utf-8")
    done = program("rules", "check", "draft.yaml")
    assert done.returncode == 3
    assert 'did you mean "often"' in flat(done.stdout)
    draft.write_text(head("draft") + "link: {cause: too_cold, sign: red_dust, seen: often}\n", encoding="utf-8")
    done = program("rules", "check", "draft.yaml")
    assert done.returncode == 0  # its sign comes from the house
    assert "An example is missing" in flat(done.stdout)


@pytest.mark.parametrize("columns", [40, 120])
def test_screens_keep_to_their_width(program: Program, settled: Path, columns: int) -> None:
    for arguments in (("rules", "list", "--all"), ("rules", "show", "red_dust"), ("weigh", "a.yaml", "--beside")):
        done = program(*arguments, columns=columns)
        long = [x for x in done.stdout.splitlines() if len(x) > columns]
        assert all(" " not in x.strip().removeprefix("- ") for x in long), long  # only a path may stand out
