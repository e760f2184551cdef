"""The maker's page and the shared examples keep their word."""

from __future__ import annotations

import re
from dataclasses import fields
from importlib.resources import files
from pathlib import Path

from rindwright.cli.rules.menu import rules
from rindwright.engine.house.checking import check
from rindwright.engine.house.reading import Shelf, read_shelf
from rindwright.engine.house.shapes import HouseRule
from rindwright.engine.model import Knowledge

from tests.house_rules import entry_of

PAGE = Path(str(files("rindwright.knowledge"))) / "HOUSE.md"
BLOCKS = re.findall(r"```yaml rule\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)


def test_every_example_of_the_page_is_a_sound_rule(knowledge: Knowledge) -> None:
    assert len(BLOCKS) == 4
    report = check(knowledge, Shelf(tuple(entry_of(b) for b in BLOCKS), ()))
    assert [str(r.fault) for r in report.remarks] == []
    assert len(report.layered.in_force) == 4


def test_every_key_and_every_command_is_on_the_page() -> None:
    text = PAGE.read_text(encoding="utf-8")
    for f in fields(HouseRule):
        assert f"`{f.name}`" in text, f.name
    for name in rules.commands:
        assert f"{name}" in text, name


def test_the_shared_examples_are_sound_and_marked_invented(knowledge: Knowledge) -> None:
    folder = Path(str(files("rindwright.cases"))) / "house" / "cedar_cave"
    report = check(knowledge, read_shelf(folder))
    assert [str(r.fault) for r in report.remarks] == []
    assert len(report.layered.in_force) == 3
    assert all("# Invented." in p.read_text(encoding="utf-8") for p in folder.glob("*.yaml"))
