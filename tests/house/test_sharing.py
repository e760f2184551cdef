"""Somebody else's folder: read as untrusted, taken in without harm to the rules that are there."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.catalog import Catalog
from rindwright.engine.errors import FileProblem
from rindwright.engine.house.layering import layer
from rindwright.engine.house.reading import Shelf
from rindwright.engine.house.sharing import look_into
from rindwright.engine.model import Knowledge

from tests.house_rules import rules_of, text_of

from .conftest import RED_DUST, Program, flat, head
from .test_hostile import HARMFUL


@pytest.fixture
def gift(tmp_path: Path) -> Path:
    folder = tmp_path / "gift"
    folder.mkdir()
    return folder


def shelf_of(*texts: str) -> Shelf:
    from tests.house_rules import entry_of

    return Shelf(tuple(entry_of(t) for t in texts), ())


def test_a_folder_is_taken_in_after_a_question(program: Program, tmp_path: Path, gift: Path) -> None:
    (gift / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    (gift / "README.md").write_text("hello", encoding="utf-8")
    home = tmp_path / "home" / "house"
    no = program("rules", "take-in", "gift", typed="no\n")
    assert no.returncode == 0
    assert "offers 1 rule that can be taken in" in no.stdout
    assert "house rule red_dust, Marta, 2026-11-27" in no.stdout
    assert not home.exists()
    yes = program("rules", "take-in", "gift", typed="yes\n")
    assert "Taken in." in yes.stdout
    assert (home / "red_dust.yaml").read_text(encoding="utf-8") == RED_DUST
    assert sorted(p.name for p in home.iterdir()) == ["diary.txt", "red_dust.yaml"]
    again = program("rules", "take-in", "gift", "--yes")
    assert again.returncode == 0
    assert "In the house already: red_dust." in again.stdout


def test_what_it_would_change_is_said_on_past_looks(program: Program, gift: Path) -> None:
    program("ask", "--name", "old", typed="1\n1\n20\nslimy, sticks to the mat\nall\n1\nleave\n")
    strong = head("mats_dirty") + "change: {cause: dirty_or_stale_mats, sign: sticks_mat, to: nearly always}\n"
    (gift / "mats_dirty.yaml").write_text(strong, encoding="utf-8")
    done = program("rules", "take-in", "gift")
    assert "On your past looks:" in done.stdout
    assert "Of 1 look:" in done.stdout
    assert "Nothing is taken in." in done.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="links")
def test_harm_is_left_and_the_rest_can_be_taken(program: Program, tmp_path: Path, gift: Path) -> None:
    secret = tmp_path / "secret.yaml"
    secret.write_text(RED_DUST.replace("rule: red_dust", "rule: linked"), encoding="utf-8")
    (gift / "linked.yaml").symlink_to(secret)
    (gift / "down").mkdir()
    (gift / "down" / "deeper.yaml").write_text(RED_DUST, encoding="utf-8")
    os.mkfifo(gift / "pipe.yaml")
    for k, (text, _) in enumerate(HARMFUL.values()):
        (gift / f"harm_{k}.yaml").write_bytes(text.encode("utf-8", "surrogatepass"))
    (gift / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    done = program("rules", "take-in", "gift", "--yes")
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert "\x1b" not in done.stdout
    assert done.stdout.count("not taken:") >= len(HARMFUL) + 2
    assert sorted(p.name for p in (tmp_path / "home" / "house").iterdir()) == ["diary.txt", "red_dust.yaml"]


def test_a_rule_of_the_same_name_is_not_written_over(knowledge: Knowledge, gift: Path) -> None:
    (gift / "red_dust.yaml").write_text(RED_DUST.replace("seen: often", "seen: usually"), encoding="utf-8")
    offer = look_into(gift, knowledge, shelf_of(RED_DUST))
    assert offer.taken == ()
    assert "in the house already, of Marta" in offer.faults[0].sentence


def test_a_gift_that_contradicts_or_silences_a_rule_of_the_house_is_left(knowledge: Knowledge, gift: Path) -> None:
    mine = [
        head("mine_one") + "change: {cause: box_too_wet, sign: slimy_wet, to: often}\n",
        head("mine_two") + "link: {cause: too_cold, sign: slimy_wet, seen: often}\n",
    ]
    (gift / "against_one.yaml").write_text(
        head("against_one") + "change: {cause: box_too_wet, sign: slimy_wet, to: rarely}\n"
    )
    (gift / "silences_two.yaml").write_text(head("silences_two") + "off: {cause: too_cold}\n")
    (gift / "red_dust.yaml").write_text(RED_DUST)
    house = shelf_of(*mine)
    offer = look_into(gift, knowledge, house)
    assert [e.name for e in offer.taken] == ["red_dust"]
    assert any("would silence rules of this house: mine_two" in f.sentence for f in offer.faults)
    assert {"mine_one", "mine_two"} <= set(offer.layered.in_force)


def test_a_gift_never_crowds_out_a_rule_of_the_house(
    program: Program, tmp_path: Path, gift: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path / "home" / "house"
    home.mkdir(parents=True)
    (home / "zz_mine.yaml").write_text(RED_DUST.replace("rule: red_dust", "rule: zz_mine"), encoding="utf-8")
    for k in range(3):
        text = head(f"gift_{k}") + f"link: {{cause: too_cold, sign: slimy_wet, seen: often, note: n{k}}}\n"
        (gift / f"gift_{k}.yaml").write_text(text, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("rindwright.engine.house.folder.MOST_RULES", 3)
        done = program("rules", "take-in", "gift", "--yes")
    assert "offers 2 rules that can be taken in" in done.stdout
    assert flat(done.stdout).count("The house is full") == 1
    assert sorted(p.stem for p in home.glob("*.yaml")) == ["gift_0", "gift_1", "zz_mine"]


@settings(max_examples=12)
@given(seed=st.integers(0, 10_000))
def test_nothing_taken_in_ever_silences_the_house(
    knowledge: Knowledge, catalog: Catalog, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    folder = tmp_path_factory.mktemp("gift")
    for rule in rules_of(catalog, 12, seed):
        text = text_of(rule).replace("made_", "gift_")
        (folder / f"{rule['rule'].replace('made_', 'gift_')}.yaml").write_text(text, encoding="utf-8")
    house = shelf_of(*(text_of(r) for r in rules_of(catalog, 12, seed + 1)))
    before = layer(knowledge, house.entries)
    offer = look_into(folder, knowledge, house)
    assert set(before.in_force) <= set(offer.layered.in_force)
    assert {e.name for e in offer.taken} <= set(offer.layered.in_force)


def test_no_folder_and_an_empty_one(knowledge: Knowledge, tmp_path: Path, gift: Path) -> None:
    with pytest.raises(FileProblem, match="not a folder"):
        look_into(tmp_path / "nowhere", knowledge, Shelf((), ()))
    assert look_into(gift, knowledge, Shelf((), ())).taken == ()
