"""The page that explains the format says what the records and words.yaml say."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path
from typing import get_args

import jsonschema
import pytest
import yaml
from rindwright.engine import model
from rindwright.engine.catalog import Catalog
from rindwright.engine.model import Knowledge
from rindwright.engine.reading import schemas
from rindwright.engine.reading.contents import LISTS
from rindwright.engine.reading.nodes import read_yaml
from rindwright.engine.reading.shape import shaped, shaped_list

SECTIONS: dict[str, tuple[type, ...]] = {
    "Sources and grades": (model.Source,),
    "Words and numbers": (model.Words, model.Scale, model.Word, model.AnswerNoise),
    "Causes": (model.Cause, model.ShowsAfter, model.Shift, model.Link, model.Against, model.Feed, model.LookAlike,
               model.Step, model.Amount, model.LookAgain),
    "Signs": (model.Sign, model.SoundRate),
    "Questions": (model.Question, model.Option),
    "Circumstances and conditions": (model.Circumstance, model.Condition),
    "Normal rows": (model.Normal,),
    "Cautions": (model.Caution,),
    "Acts": (model.Act,),
    "Organisms": (model.Organism,),
    "Families and styles": (model.Family, model.Style),
}  # fmt: skip


@pytest.fixture(scope="module")
def page(knowledge_folder: Path) -> str:
    return (knowledge_folder / "FORMAT.md").read_text(encoding="utf-8")


def section(page: str, title: str) -> str:
    found = re.search(rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", page, re.MULTILINE | re.DOTALL)
    assert found, title
    return found[1]


@pytest.mark.parametrize("title", SECTIONS)
def test_each_key_of_each_record_is_explained(page: str, title: str) -> None:
    prose = re.sub(r"```.*?```", "", section(page, title), flags=re.DOTALL)
    told = set(re.findall(r"`([^`]+)`", prose))
    for record in SECTIONS[title]:
        missing = {f.name for f in fields(record)} - told
        assert not missing, (record.__name__, missing)


def test_every_record_has_its_section() -> None:
    explained = {record for records in SECTIONS.values() for record in records}
    records = {t for t in vars(model).values() if isinstance(t, type) and hasattr(t, "__dataclass_fields__")}
    assert records - explained == {model.Knowledge, model.HouseMark}


def test_each_kind_of_file_and_its_schema_is_listed(page: str) -> None:
    for name in schemas.KINDS:
        assert f"`schema/{name}.json`" in page
    for pattern, _, _ in LISTS:
        assert pattern.replace("*", "") in page.replace("*", ""), pattern


def test_the_words_carry_the_numbers_of_the_file(page: str, knowledge: Knowledge) -> None:
    catalog = Catalog(knowledge)
    rows = {cells[0]: cells[1:] for cells in re.findall(r"^\| `([\w ]+)` \| ([^|]+) \|(?: ([^|]+) \|)?$", page, re.M)}
    for literal, scales in (
        (model.Frequency, ("frequency",)),
        (model.Strength, ("strength", "feeding")),
        (model.BaseRate, ("base_rate",)),
        (model.HowCommon, ("how_common",)),
    ):
        for word in get_args(literal):
            for cell, scale in zip(rows[word], scales, strict=False):
                assert float(cell) == catalog.value(scale, word), (scale, word)
    bands = {w.word: (w.low, w.high) for s in knowledge.words.scales if s.id == "frequency" for w in s.words}
    for word, (low, high) in bands.items():
        assert tuple(map(float, rows[word][1].split(" and "))) == (low, high), word


def test_every_choice_of_words_is_told(page: str) -> None:
    prose = re.sub(r"```.*?```", "", page, flags=re.DOTALL)
    told = set(re.findall(r"`([^`]+)`", prose)) | set(re.findall(r"kind: (\w+)", prose))
    for literal in (model.AnswerKind, model.About, model.Effort, model.SourceKind, model.Checked, model.Level,
                    model.CauseKind):  # fmt: skip
        assert set(get_args(literal)) <= told, set(get_args(literal)) - told


def test_the_rinds_named_are_those_of_the_families(page: str, knowledge: Knowledge) -> None:
    table = re.search(r"^\| family \| groups \| styles \|\n\|[-|]+\n((?:\|.*\n)+)", page, re.MULTILINE)
    assert table
    told = [tuple(re.findall(r"`(\w+)`", cell) for cell in row.split("|")[1:-1]) for row in table[1].splitlines()]
    is_so = [
        ([f.id], list(dict.fromkeys(s.group for s in f.styles)), [s.id for s in f.styles]) for f in knowledge.families
    ]
    assert told == is_so
    names = [name for row in is_so for cell in row for name in cell]
    assert sorted(names) == sorted(Catalog(knowledge).rinds), "a name means one thing"


def test_the_examples_are_sound_and_marked_as_invented(page: str) -> None:
    examples = re.findall(r"```yaml (\w+)\n(.*?)```", page, re.DOTALL)
    assert [kind for kind, _ in examples] == ["cause", "signs", "questions", "circumstances", "cautions"]
    for kind, text in examples:
        assert "invented" in text
        read = read_yaml(text, f"{kind}.yaml")
        record = schemas.KINDS[kind]
        if isinstance(record, type):
            assert (read.faults, shaped(record, read)[1]) == ([], [])
        else:
            assert (read.faults, shaped_list(get_args(record)[0], read)[1]) == ([], [])
        data = yaml.safe_load(text)
        assert not list(jsonschema.Draft202012Validator(schemas.schema(kind)).iter_errors(data)), kind


def test_the_example_cause_names_what_exists(page: str, knowledge: Knowledge) -> None:
    catalog = Catalog(knowledge)
    text = re.search(r"```yaml cause\n(.*?)```", page, re.DOTALL)
    assert text
    cause = shaped(model.Cause, read_yaml(text[1], "cause.yaml"))[0]
    assert cause is not None
    assert {link.sign for link in cause.signs} <= set(catalog.signs)
    assert {shift.when for shift in cause.likelier} <= set(catalog.circumstances)
    assert {look.cause for look in cause.mistaken_for} <= set(catalog.causes)
    assert {step.act for step in (*cause.today, *cause.next_make)} <= set(catalog.acts)
    assert cause.id not in catalog.causes
