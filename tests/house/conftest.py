"""What the tests of house rules lean on."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import pytest
from rindwright.cli.main import main
from rindwright.engine.catalog import Catalog
from rindwright.engine.house.layering import Layered, layer
from rindwright.engine.house.reading import Entry
from rindwright.engine.model import Knowledge

from tests.cli.conftest import Program
from tests.cli.conftest import program as real_program

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


def flat(text: str) -> str:
    """The words of a screen, whatever its width."""
    return " ".join(text.split())


def sentences(layered: Layered) -> list[str]:
    """What is said of the rules that do not count."""
    return [f.sentence for f in layered.faults]


def laid(knowledge: Knowledge, *entries: Entry) -> Layered:
    """Rules over the packaged knowledge."""
    return layer(knowledge, entries)


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, knowledge: Knowledge) -> Program:
    """The program run inside this process, over knowledge read once: far quicker than on its own (``real_program``)."""

    def run(*arguments: str, typed: str = "", columns: int = 80, **more: str) -> subprocess.CompletedProcess[str]:
        monkeypatch.chdir(tmp_path)
        for name in ("NO_COLOR", "FORCE_COLOR", "RINDWRIGHT_HOUSE"):
            monkeypatch.delenv(name, raising=False)
        for name, value in {"COLUMNS": str(columns), "RINDWRIGHT_HOME": str(tmp_path / "home"), **more}.items():
            monkeypatch.setenv(name, value)
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        monkeypatch.setattr("rindwright.cli.context.open_knowledge", lambda *_: knowledge)
        monkeypatch.setattr(sys, "argv", ["rindwright", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(typed.encode()), encoding="utf-8"))
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        code: object = 0
        try:
            main()
        except SystemExit as end:
            code = end.code
        finally:
            monkeypatch.undo()
        texts = []
        for stream in (out, err):
            stream.flush()
            texts.append(stream.buffer.getvalue().decode("utf-8"))  # type: ignore[attr-defined]
        return subprocess.CompletedProcess(arguments, int(code or 0), *texts)  # type: ignore[call-overload]

    return run


__all__ = ["Program", "program", "real_program"]
