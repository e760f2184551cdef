"""The published schemas are fresh, and agree with the reader about what a file may hold."""

from __future__ import annotations

import copy
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.reading import schemas
from rindwright.engine.reading.nodes import Read, read_yaml
from rindwright.engine.reading.shape import shaped, shaped_list

SCHEMAS = {name: schemas.schema(name) for name in schemas.KINDS}
CHECKERS = {name: jsonschema.Draft202012Validator(schema) for name, schema in SCHEMAS.items()}
NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")


def kind_of(path: Path, folder: Path) -> str:
    place = path.relative_to(folder)
    if place.parts[0] == "causes":
        return "cause"
    return "circumstances" if place.parts[0] == "derive" else place.stem.split("_")[0]


def packaged(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.yaml"))


def branches(schema: dict[str, Any], whole: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The schemas a value may be meant for, references followed."""
    if "$ref" in schema:
        yield from branches(whole["$defs"][schema["$ref"].rsplit("/", 1)[1]], whole)
    for part in schema.get("anyOf", ()):
        yield from branches(part, whole)
    if "$ref" not in schema and "anyOf" not in schema:
        yield schema


def typed(value: Any, schema: dict[str, Any], whole: dict[str, Any]) -> Any:
    """Plain text as the reader has it, turned into numbers and true or false where the schema wants them."""
    meant = list(branches(schema, whole))
    kinds = {part.get("type") for part in meant}
    if isinstance(value, dict):
        known = {k: v for part in meant for k, v in part.get("properties", {}).items()}
        return {k: typed(v, known.get(k, {}), whole) for k, v in value.items()}
    if isinstance(value, list):
        items: dict[str, Any] = next((part["items"] for part in meant if "items" in part), {})
        return [typed(v, items, whole) for v in value]
    if isinstance(value, str) and kinds & {"number", "integer"} and NUMBER.fullmatch(value):
        return float(value) if "." in value else int(value)
    if isinstance(value, str) and "boolean" in kinds:
        return {"true": True, "false": False}.get(value, value)
    return value


def schema_faults(name: str, data: Any) -> list[str]:
    schema = SCHEMAS[name]
    return [e.message for e in CHECKERS[name].iter_errors(typed(data, schema, schema))]


def reader_faults(name: str, data: Any) -> list[str]:
    """What the reader's own shape check says of the same plain data."""
    kind = schemas.KINDS[name]
    read = Read(f"{name}.yaml", data)
    if isinstance(kind, type):
        return [f.sentence for f in shaped(kind, read)[1]]
    return [f.sentence for f in shaped_list(kind.__args__[0], read)[1]]  # type: ignore[attr-defined]


def plain(path: Path) -> Any:
    read = read_yaml(path.read_text(encoding="utf-8"), path.name)
    assert read.faults == []
    return read.data


def test_fresh(knowledge_folder: Path) -> None:
    there = {path.stem for path in (knowledge_folder / "schema").glob("*.json")}
    assert there == set(schemas.KINDS)
    for name in schemas.KINDS:
        assert (knowledge_folder / "schema" / f"{name}.json").read_text(encoding="utf-8") == schemas.text(name)


def test_writing_gives_the_same_files(tmp_path: Path, knowledge_folder: Path) -> None:
    schemas.write(tmp_path / "new" / "schema")
    written = {path.name: path.read_bytes() for path in (tmp_path / "new" / "schema").iterdir()}
    assert written == {path.name: path.read_bytes() for path in (knowledge_folder / "schema").iterdir()}


def test_they_are_sound_schemas_that_take_no_stray_key() -> None:
    for name, schema in SCHEMAS.items():
        jsonschema.Draft202012Validator.check_schema(schema)
        records = [part for part in (schema, *schema.get("$defs", {}).values()) if part.get("type") == "object"]
        assert records, name
        assert all(part["additionalProperties"] is False for part in records), name


def test_every_packaged_file_fits_its_schema(knowledge_folder: Path) -> None:
    paths = packaged(knowledge_folder)
    assert {kind_of(path, knowledge_folder) for path in paths} == set(schemas.KINDS)
    for path in paths:
        data = plain(path)
        name = kind_of(path, knowledge_folder)
        assert schema_faults(name, data) == [], path.name
        assert reader_faults(name, data) == [], path.name


def test_an_editor_sees_no_fault_either(knowledge_folder: Path) -> None:
    """Editors read numbers, dates and yes or no out of plain words; what matters is quoted in the files."""
    for path in packaged(knowledge_folder):
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
        wrong = [e.message for e in CHECKERS[kind_of(path, knowledge_folder)].iter_errors(data)]
        assert not wrong, (path.name, wrong[:3])


WET = "causes/washed/box_too_wet.yaml"
PLANTED: list[tuple[str, list[str | int], Any]] = [
    (WET, ["kind"], "falt"),
    (WET, ["colour"], "orange"),
    (WET, ["rinds"], "washed"),
    (WET, ["base_rate"], "often"),
    (WET, ["look_again"], {}),
    (WET, ["look_again", "after_days"], "soon"),
    (WET, ["look_again", "after_days"], "2.5"),
    (WET, ["from_day"], None),
    (WET, ["signs", 0, "seen"], "alwys"),
    (WET, ["signs", 0], "slimy_wet"),
    (WET, ["today", 0, "moves"], ["sideways"]),
    (WET, ["today", 0, "amount"], {"what": "salt", "low": "1", "high": "2", "unit": "spoon", "per": "face"}),
    ("questions.yaml", [0, "kind"], "choice"),
    ("questions.yaml", [0, "minimum"], "none"),
    ("signs.yaml", [0, "salient"], "very"),
    ("signs.yaml", [0, "on_sound_rinds"], {}),
    ("derive/washing.yaml", [0, "how_common"], "all makers"),
    ("derive/washing.yaml", [0, "when"], {"ask": "age_days", "over": "3"}),
    ("derive/washing.yaml", [0, "when"], {"any": [{"all": [{"ask": ["age_days"]}]}]}),
    ("normal.yaml", [0, "why"], None),
    ("remedies.yaml", [0, "hygiene"], "Wash your hands."),
    ("cautions.yaml", [0, "level"], "warning"),
    ("organisms.yaml", [0, "wanted"], "perhaps"),
    ("sources.yaml", [0, "checked"], "believed"),
    ("families.yaml", [0, "styles", 0, "shows_by_day"], "two weeks"),
    ("words.yaml", ["scales", 0, "words", 0, "value"], "a lot"),
    ("words.yaml", ["answer_noise", 0, "about"], "hearing"),
]  # fmt: skip


def put(data: Any, path: list[str | int], value: Any) -> Any:
    data = copy.deepcopy(data)
    place = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return data


@pytest.mark.parametrize(("file", "path", "value"), PLANTED)
def test_planted_faults_fail_in_both(knowledge_folder: Path, file: str, path: list[str | int], value: Any) -> None:
    name = kind_of(knowledge_folder / file, knowledge_folder)
    data = put(plain(knowledge_folder / file), path, value)
    assert schema_faults(name, data)
    assert reader_faults(name, data)


@pytest.mark.parametrize("name", [n for n in schemas.KINDS if n != "words"])
def test_each_missing_key_fails_in_both_or_in_neither(knowledge_folder: Path, name: str) -> None:
    path = next(p for p in packaged(knowledge_folder) if kind_of(p, knowledge_folder) == name)
    data = plain(path)
    entry = data if name == "cause" else data[0]
    needed = 0
    for key in entry:
        rest = {k: v for k, v in entry.items() if k != key}
        less: Any = rest if name == "cause" else [rest]
        assert bool(schema_faults(name, less)) == bool(reader_faults(name, less)), key
        needed += bool(schema_faults(name, less))
    assert needed >= 3


def places(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every value inside plain data."""
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in inner:
        yield (*path, key)
        yield from places(value, (*path, key))


STRANGE: list[Any] = [
    "", "5", "-3", "2.5", "0", "true", "false", "often", "yes please", "washed", None, [], {}, ["x"], [[]],
    {"id": "x"}, [None], ["1"], {"ask": "age_days"}, [{"ask": "age_days"}],
]  # fmt: skip


@settings(deadline=None, max_examples=300)
@given(seed=st.integers(0, 10**9))
def test_reader_and_schema_agree_on_any_altered_file(knowledge_folder: Path, seed: int) -> None:
    """One value anywhere in a real entry is replaced by a strange one: both take it, or neither does.

    Left out: 0, 1, yes, on and the like for true or false, which the reader takes and the schema does not.
    """
    chance = random.Random(seed)
    path = chance.choice(packaged(knowledge_folder))
    name = kind_of(path, knowledge_folder)
    data = plain(path)
    if isinstance(data, list):
        data = [chance.choice(data)]
    where = chance.choice(list(places(data)))
    strange = chance.choice(STRANGE)
    if strange == "0" and where[-1] in (
        "salient",
        "healthy",
        "tasting",
        "wanted",
        "from_due_day",
        "screen",
        "urgent",
        "no_tasting",
    ):
        strange = "maybe"
    altered = put(data, list(where), strange)
    assert bool(schema_faults(name, altered)) == bool(reader_faults(name, altered)), (path.name, where, strange)
