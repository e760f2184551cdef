"""What machines read: the documented shapes."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import jsonschema
import pytest

from .conftest import Program


def shape(name: str) -> dict[str, Any]:
    text = files("rindwright.cli").joinpath("shapes", f"{name}.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(loaded)
    return loaded


@pytest.mark.parametrize(
    "answers",
    [
        "{}",
        "{family: washed, style: small_soft, age_days: 20, slimy_wet: clear, never_dries: yes}",
        "{family: washed, style: small_soft, age_days: 20, someone_ill: yes, slimy_wet: clear}",
        "{family: washed, style: small_soft, age_days: 4, slippery_film: yes}",
        "{family: washed, style: small_soft, age_days: 20, blue_green_spot: clear}",
    ],
)
def test_every_verdict_has_the_documented_shape(program: Program, answers: str) -> None:
    done = program("weigh", "-", "--json", typed=answers)
    jsonschema.validate(json.loads(done.stdout), shape("diagnosis"))


def test_verdicts(program: Program) -> None:
    def verdict(answers: str) -> str:
        return str(json.loads(program("weigh", "-", "--json", typed=answers).stdout)["verdict"])

    assert verdict("{}") == "undecided"
    assert verdict("{family: washed, style: small_soft, age_days: 20, someone_ill: yes}") == "stop"
    assert verdict("{family: washed, style: small_soft, age_days: 20, blue_green_spot: clear}") == "hold"


def test_questions(program: Program) -> None:
    jsonschema.validate(json.loads(program("questions", "--json").stdout), shape("questions"))


def test_json_in_is_read_like_yaml(program: Program) -> None:
    yaml_out = program("weigh", "-", "--json", typed="{family: washed, age_days: 20, slimy_wet: clear}").stdout
    json_out = program(
        "weigh", "-", "--json", typed='{"slimy_wet": "clear", "age_days": 20, "family": "washed"}'
    ).stdout
    assert yaml_out == json_out
