"""Golden screens at three widths. To renew them on purpose: RENEW=1 pytest tests/cli/test_transcripts.py"""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path

import pytest

from .conftest import Program

HERE = Path(__file__).parent / "transcripts"
SESSION = (
    "1\n1\n20\nslimy, and it stays wet. drops on the lid\nall\n1\nnone\n8\n1\nnone\n7\n1\n3\n1\n1\nguess\nwhy\nenough\n"
)


def golden(name: str, text: str) -> None:
    path = HERE / f"{name}.txt"
    if os.environ.get("RENEW"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_screens(program: Program, columns: int) -> None:
    case = str(files("rindwright.cases").joinpath("worked", "box_too_wet.yaml"))
    for name, arguments, typed in (
        ("weigh", ("weigh", case), ""),
        ("card", ("card", "condensation_drip"), ""),
        ("ask", ("ask", "--name", "golden"), SESSION),
    ):
        done = program(*arguments, typed=typed, columns=columns)
        assert done.returncode == 0, done.stderr
        assert "\x1b" not in done.stdout  # no colour, no movement in a pipe
        assert max(len(line) for line in done.stdout.splitlines()) <= columns
        golden(f"{name}-{columns}", done.stdout)


def test_help_is_quick_and_opens_nothing(program: Program) -> None:
    done = program("--help")
    assert done.returncode == 0
    assert "Start with" in done.stdout
