"""What the tests of house rules lean on."""

from __future__ import annotations

from pathlib import Path

import pytest
from rindwright.engine.catalog import Catalog
from rindwright.engine.house.layering import Layered, layer
from rindwright.engine.house.reading import Entry
from rindwright.engine.model import Knowledge

from tests.cli.conftest import Program, program

RED_DUST = """\
# invented
rule: red_dust
owner: Marta
date: 2026-11-27
because: >
  Since the cedar shelves came, every wheel on them has red dust below.
question: {id: red_dust, ask: Is there red dust on the underside?, kind: yes_no, about: look, effort: glance}
sign: {id: red_dust, name: red dust below, on_sound_rinds: rarely, words: [red dust]}
link: {cause: dirty_or_stale_mats, sign: red_dust, seen: often}
remedy: {cause: dirty_or_stale_mats, at: today, act: boards, do: Brush the cedar shelves with hot brine.}
examples:
  speaks: {style: small_soft, age_days: 20, red_dust: yes}
  silent: {style: small_soft, age_days: 20, red_dust: no}
"""


def head(name: str = "red_dust") -> str:
    """The first lines of an invented rule."""
    return f"rule: {name}\nowner: Marta\ndate: 2026-11-27\nbecause: It is invented.\n"


@pytest.fixture(scope="session")
def catalog(knowledge: Knowledge) -> Catalog:
    return Catalog(knowledge)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    folder = tmp_path / "house"
    folder.mkdir()
    return folder


def sentences(layered: Layered) -> list[str]:
    """What is said of the rules that do not count."""
    return [f.sentence for f in layered.faults]


def laid(knowledge: Knowledge, *entries: Entry) -> Layered:
    """Rules over the packaged knowledge."""
    return layer(knowledge, entries)


__all__ = ["Program", "program"]
