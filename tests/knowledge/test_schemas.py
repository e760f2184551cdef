"""The published schemas are fresh, and agree with the reader."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from rindwright.engine.reading import schemas


def kind_of(path: Path, folder: Path) -> str:
    place = path.relative_to(folder)
    if place.parts[0] == "causes":
        return "cause"
    return "circumstances" if place.parts[0] == "derive" else place.stem.split("_")[0]


def typed(value: Any) -> Any:
    """Numbers as an editor would see them; every other plain word stays a word."""
    if isinstance(value, dict):
        return {k: typed(v) for k, v in value.items()}
    if isinstance(value, list):
        return [typed(v) for v in value]
    if isinstance(value, str) and re.fullmatch(r"-?\d+(\.\d+)?", value):
        return float(value) if "." in value else int(value)
    return {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value


def test_fresh(knowledge_folder: Path) -> None:
    for name in schemas.KINDS:
        assert (knowledge_folder / "schema" / f"{name}.json").read_text(encoding="utf-8") == schemas.text(name)


def test_every_packaged_file_fits_its_schema(knowledge_folder: Path) -> None:
    checkers = {name: jsonschema.Draft202012Validator(schemas.schema(name)) for name in schemas.KINDS}
    seen = 0
    for path in knowledge_folder.rglob("*.yaml"):
        name = kind_of(path, knowledge_folder)
        data = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        if name == "sources":
            for entry in data:
                entry.pop("year", None)  # a year is words here: "2008-09", "c. 1900"
        else:
            data = typed(data)
        wrong = [e.message for e in checkers[name].iter_errors(data)]
        assert not wrong, (path.name, wrong[:3])
        seen += 1
    assert seen > 60


@pytest.mark.parametrize(
    "change",
    [{"kind": "falt"}, {"colour": "orange"}, {"rinds": "washed"}, {"base_rate": "often"}, {"look_again": {}}],
)
def test_planted_faults_fail_the_schema_too(knowledge_folder: Path, change: dict[str, Any]) -> None:
    path = knowledge_folder / "causes" / "washed" / "box_too_wet.yaml"
    data = {**typed(yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)), **change}
    assert list(jsonschema.Draft202012Validator(schemas.schema("cause")).iter_errors(data))
