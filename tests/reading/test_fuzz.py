"""Whatever stands in the files: faults with a place, and never an error of the reader itself."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine import model
from rindwright.engine.errors import Fault
from rindwright.engine.reading.loader import load
from rindwright.engine.reading.nodes import Data, read_yaml
from rindwright.engine.reading.review import review

# A part of the knowledge that holds every kind of file, small enough to be read some hundred times.
KEPT = [
    "families.yaml",
    "words.yaml",
    "normal.yaml",
    "remedies.yaml",
    "derive/air_box_and_shelf.yaml",
    "causes/washed/box_too_wet.yaml",
]
SHORTENED = ["signs.yaml", "questions.yaml", "cautions.yaml", "organisms.yaml", "sources.yaml"]
FILES = [*KEPT, *SHORTENED]


class Texts(dict[str, str]):
    """File names and texts; shown in a failing example by their names alone."""

    def __repr__(self) -> str:
        return f"Texts of {', '.join(self)}"


@pytest.fixture(scope="module")
def texts(knowledge_folder: Path) -> Texts:
    found = Texts({name: (knowledge_folder / name).read_text(encoding="utf-8") for name in FILES})
    for name in SHORTENED:  # the first few records
        starts = [m.start() for m in re.finditer(r"^- id:", found[name], re.MULTILINE)]
        found[name] = found[name][: starts[6]]
    return found


def height(text: str) -> int:
    """How many lines a text has, with the breaks that YAML knows."""
    return len(re.split("\r\n|[\n\r\x85\u2028\u2029]", text))


def faults_of(place: Path, texts: Mapping[str, str]) -> list[Fault]:
    """Faults of a folder that holds these texts; that none is raised is half of each test."""
    shutil.rmtree(place, ignore_errors=True)
    for name, text in texts.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    loaded = load(place)
    review(loaded)
    for fault in loaded.faults:
        assert fault.file in texts, fault
        assert 1 <= fault.line <= height(texts[fault.file]), fault
        assert fault.column >= 1, fault
        assert fault.sentence, fault
        assert "\n" not in fault.sentence or "\n" in texts[fault.file], fault
    return loaded.faults


# What hands do to a line.
RETYPED = st.sampled_from(
    ["", ":", "-", "- ", "[", "]", "{", "}", "'", '"', "#", "&a ", "*a", "!!int ", "|", ">", "\t", "?", "%", "@", ",",
     "no", "~", "1.10", "---", "...", "<<: ", "\x00", "\x85", "\u2028", "\ufeff", "é", "nan", "-1", "1e999", "id: x"]
)  # fmt: skip


@st.composite
def spoilt(draw: st.DrawFn, text: str) -> str:
    lines = text.splitlines(keepends=True)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        line = lines[at]
        change = draw(st.sampled_from(["drop", "double", "retype", "insert", "indent", "dedent", "swap", "cut"]))
        if change == "drop":
            lines[at] = ""
        elif change == "double":
            lines[at] = line + line
        elif change == "retype":
            word = draw(st.sampled_from(re.findall(r"\w+|\W", line) or [""]))
            lines[at] = line.replace(word, draw(RETYPED), 1)
        elif change == "insert":
            cut = draw(st.integers(0, len(line)))
            lines[at] = line[:cut] + draw(RETYPED | st.text(max_size=5)) + line[cut:]
        elif change == "indent":
            lines[at] = " " * draw(st.integers(1, 5)) + line
        elif change == "dedent":
            lines[at] = line[draw(st.integers(1, 3)) :]
        elif change == "swap":
            other = draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
        else:
            lines[at] = line[: draw(st.integers(0, len(line)))]
    return "".join(lines)


@given(st.data())
@settings(deadline=None, max_examples=40)
def test_spoilt_lines_give_faults_and_never_raise(
    texts: Texts, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    chosen = data.draw(st.lists(st.sampled_from(FILES), min_size=1, max_size=3, unique=True))
    changed = {name: data.draw(spoilt(texts[name])) for name in chosen}
    faults_of(tmp_path_factory.getbasetemp() / "spoilt", {**texts, **changed})


ANY_TEXT = st.text(max_size=200) | st.text(alphabet="ab: -[]{}'\"\n\t#&*!|>?%@,~\r", max_size=80)


@given(st.dictionaries(st.sampled_from(FILES), ANY_TEXT, min_size=1, max_size=4))
@settings(deadline=None, max_examples=30)
def test_any_text_in_the_place_of_a_file(
    texts: Texts, tmp_path_factory: pytest.TempPathFactory, changed: dict[str, str]
) -> None:
    faults_of(tmp_path_factory.getbasetemp() / "any_text", {**texts, **changed})


# Well-formed YAML that says the wrong things: known keys in odd places, above ids that are known and not.
KEYS = sorted({name for thing in vars(model).values() for name in getattr(thing, "__dataclass_fields__", {})})
WORDS = [
    "box_too_wet", "slimy_wet", "box_full", "humidity_pct", "air_feel", "judgement", "washed", "frequency", "look",
    "often", "small", "common", "many makers", "fault", "stop", "number", "one_of", "yes", "no", "1", "-1", "nan", "",
    "note", "air", "family", "some_of", "yes_no", "glance",
]  # fmt: skip
ODD = st.recursive(
    st.none() | st.sampled_from(WORDS),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=12,
)


@st.composite
def misplaced(draw: st.DrawFn, text: str) -> str:
    """The data of a text with up to three values changed for odd ones, keys dropped and keys added; as JSON."""
    data: Data = read_yaml(text, "f").data
    for _ in range(draw(st.integers(1, 3))):
        here: Data = data
        while isinstance(here, (list, dict)) and here:
            key: int | str
            if isinstance(here, list):
                key = draw(st.integers(0, len(here) - 1))
                inner = here[key]
            else:
                key = draw(st.sampled_from(sorted(here)))
                inner = here[key]
            if not isinstance(inner, (list, dict)) or not inner or draw(st.integers(0, 3)) == 0:
                change = draw(st.sampled_from(["replace", "drop", "add"]))
                if change == "drop":
                    del here[key]  # type: ignore[arg-type]
                elif isinstance(here, list):
                    here.insert(int(key), draw(ODD)) if change == "add" else here.__setitem__(int(key), draw(ODD))
                else:
                    here[str(key) if change == "replace" else draw(st.sampled_from(KEYS))] = draw(ODD)
                break
            here = inner
    return json.dumps(data, indent=1)


@given(st.data())
@settings(deadline=None, max_examples=40)
def test_odd_values_give_faults_and_never_raise(
    texts: Texts, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    chosen = data.draw(st.lists(st.sampled_from(FILES), min_size=1, max_size=3, unique=True))
    changed = {name: data.draw(misplaced(texts[name])) for name in chosen}
    faults_of(tmp_path_factory.getbasetemp() / "odd", {**texts, **changed})


@given(st.dictionaries(st.sampled_from(FILES), ODD.map(json.dumps), min_size=1, max_size=6))
@settings(deadline=None, max_examples=60)
def test_odd_files_give_faults_and_never_raise(tmp_path_factory: pytest.TempPathFactory, odd: dict[str, str]) -> None:
    # Most files are missing here, and words.yaml, when missing, is a fault of its own.
    place = tmp_path_factory.getbasetemp() / "odd_files"
    faults = faults_of(place, {"words.yaml": "~", **odd})
    assert faults


def test_the_part_that_is_spoilt_reads_soundly_by_itself(texts: Texts, tmp_path: Path) -> None:
    """So that the faults of the tests above come from what was spoilt: shapes are right, only the rest is missing."""
    shutil.rmtree(tmp_path)
    for name, text in texts.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    loaded = load(tmp_path)
    assert loaded.faults == []
    assert len(loaded.knowledge.signs) == 6


@given(st.text(st.characters(), max_size=300) | ANY_TEXT)
@settings(deadline=None, max_examples=400)
def test_any_text_at_all_gives_data_or_faults_inside_it(text: str) -> None:
    read = read_yaml(text, "f")
    assert read.empty == (read.data is None and not read.faults)
    for fault in read.faults:
        assert fault.file == "f"
        assert 1 <= fault.line <= height(text)
        assert fault.column >= 1
        assert "\n" not in fault.sentence
