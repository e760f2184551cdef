"""Planted faults come back all at once, each where it stands, in the words of the one who can mend it."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.errors import Fault, KnowledgeError
from rindwright.engine.reading.loader import load, load_checked
from rindwright.engine.reading.review import review


@pytest.fixture
def folder(tmp_path: Path, knowledge_folder: Path) -> Path:
    place = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder, place, ignore=shutil.ignore_patterns("*.md", "*.json", "*.py*", "catalogue"))
    return place


def faults_of(folder: Path) -> list[Fault]:
    loaded = load(folder)
    review(loaded)
    return loaded.faults


def plant(folder: Path, file: str, old: str, new: str) -> int:
    """Replace the first occurrence; the line it stands on."""
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


WET = "causes/washed/box_too_wet.yaml"
PLANTED = [
    (WET, "kind: fault", "kind: falt", 'did you mean "fault"?'),
    (WET, "base_rate: common", "base_rate: comon", 'did you mean "common"?'),
    (WET, "name: Box too wet", "nmae: Box too wet", '"nmae" is not a key here (did you mean "name"?)'),
    (WET, "sign: slimy_wet", "sign: slimy_wett", 'not a known sign (did you mean "slimy_wet"?)'),
    (WET, "when: box_sealed_and_full", "when: box_sealed_and_ful", "not a known circumstance"),
    (WET, "cause: stale_air", "cause: stale_airs", "not a known cause"),
    (WET, "act: dry", "act: dri", "not a known act"),
    (WET, "after_days: 3", "after_days: soon", "must be a number"),
    (WET, "id: box_too_wet", "id: box_too_damp", "differs from the file's name"),
    ("derive/air_box_and_shelf.yaml", "below: 85", "below: 850", "lies outside what"),
    ("derive/air_box_and_shelf.yaml", "one_of: [dripping]", "one_of: [driping]", 'did you mean "dripping"?'),
    ("derive/air_box_and_shelf.yaml", "{ask: humidity_pct, below", "{ask: humidty, below", "not a known question"),
    ("derive/air_box_and_shelf.yaml", "{ask: swings, one_of", "{ask: swings, holds: dark, one_of", "exactly one of"),
    ("signs.yaml", "- id: sage_tinge", "- id: purple", 'The id "purple" is taken'),
    ("questions_signs.yaml", "- id: potato", "- id: potatoes", 'No question asks for the sign "potato"'),
    ("normal.yaml", "why: ", "why: It is quite harmless. ", "nothing here may promise that"),
    ("sources.yaml", "- id: amato_2012", "- id: amato_2013", "is not used by any claim"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "words"), PLANTED)
def test_each_fault_is_found(folder: Path, file: str, old: str, new: str, words: str) -> None:
    assert faults_of(folder) == []
    plant(folder, file, old, new)
    found = faults_of(folder)
    assert any(words in f.sentence for f in found), [str(f) for f in found]


def test_a_fault_names_file_line_and_column(folder: Path) -> None:
    line = plant(folder, WET, "sign: slimy_wet", "sign: slimy_wett")
    fault = next(f for f in faults_of(folder) if "slimy_wett" in f.sentence)
    assert (fault.file, fault.line) == (WET, line)
    assert fault.column == 12


def test_all_faults_come_in_one_run(folder: Path) -> None:
    wanted = []
    for file, old, new, words in PLANTED:
        if file == WET and "sign:" not in old and "when:" not in old and "act:" not in old:
            continue  # faults of shape hide faults of meaning in the same record
        if "promise" in words or "taken" in words or "outside" in words:
            continue
        plant(folder, file, old, new)
        wanted.append(words)
    with pytest.raises(KnowledgeError) as caught:
        load_checked(folder)
    sentences = "\n".join(str(f) for f in caught.value.faults)
    assert all(words in sentences for words in wanted), sentences


def test_rings_are_named(folder: Path) -> None:
    plant(
        folder,
        "causes/washed/stale_air.yaml",
        "mistaken_for:",
        "leads_to:\n  - {cause: box_too_wet, strength: small, sources: [judgement]}\nmistaken_for:",
    )
    plant(folder, "derive/air_box_and_shelf.yaml", "when: {ask: light, one_of: [dark]}", "when: {holds: dark}")
    sentences = "\n".join(f.sentence for f in faults_of(folder))
    assert "leads back to itself: box_too_wet -> stale_air -> box_too_wet" in sentences
    assert '"dark" rests on itself' in sentences


def test_an_empty_file_and_a_cause_without_signs(folder: Path) -> None:
    (folder / "normal.yaml").write_text("")
    assert any("The file is empty" in f.sentence for f in faults_of(folder))


@given(st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_mangled_knowledge_gives_faults_and_never_raises(
    knowledge_folder: Path, tmp_path_factory: pytest.TempPathFactory, chance: random.Random
) -> None:
    place = tmp_path_factory.mktemp("mangled")
    names = ["words.yaml", "signs.yaml", "normal.yaml", "derive/washing.yaml", WET]
    for name in names:
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        lines = (knowledge_folder / name).read_text(encoding="utf-8").splitlines()
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(lines))
            change = chance.randrange(5)
            if change == 0:
                del lines[at]
            elif change == 1:
                lines.insert(at, lines[at])
            elif change == 2:
                lines[at] = "  " + lines[at]
            elif change == 3:
                lines[at] = lines[at].replace(":", chance.choice([" [", ": {", ":"]), 1)
            else:
                lines[at] = "".join(chance.sample(lines[at], len(lines[at])))
        (place / name).write_text("\n".join(lines), encoding="utf-8")
    for fault in faults_of(place):
        if fault.file:
            height = (place / fault.file).read_text(encoding="utf-8").count("\n") + 2
            assert 1 <= fault.line <= height
