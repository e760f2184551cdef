"""README keeps its word: its commands, its session, its table."""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

from .cli.conftest import run_in
from .cli.test_past import DAY_10

HERE = Path(__file__).parent / "cli" / "transcripts"

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"


def session() -> str:
    return (HERE / "ask-80.txt").read_text(encoding="utf-8")


def test_the_worked_session_is_the_recorded_one() -> None:
    text = README.read_text(encoding="utf-8")
    block = f"<!-- session -->\n```text\n{session().strip()}\n```\n<!-- end session -->"
    fresh = re.sub(r"<!-- session -->.*?<!-- end session -->", lambda _: block, text, flags=re.DOTALL)
    if os.environ.get("RENEW"):
        README.write_text(fresh, encoding="utf-8")
    assert fresh == README.read_text(encoding="utf-8")


def test_the_commands_that_follow_a_wheel_work(tmp_path: Path) -> None:
    text = README.read_text(encoding="utf-8")
    found = re.search(r"<!-- wheel -->\n```sh\n(.*?)```\n<!-- end wheel -->", text, re.DOTALL)
    assert found is not None
    for line in found.group(1).splitlines():
        name, *arguments = shlex.split(line)
        assert name == "rindwright"
        typed = DAY_10 if arguments[0] == "ask" else ""
        done = run_in(tmp_path)(*arguments, typed=typed, RINDWRIGHT_NOW="2026-09-20T09:00")
        assert done.returncode == 0, (line, done.stderr)
    assert (tmp_path / "looks.jsonl").exists()


def test_every_command_is_in_the_table() -> None:
    from rindwright.cli.main import cli

    text = README.read_text(encoding="utf-8")
    for name in cli.commands:
        assert f"`rindwright {name}" in text


def test_the_first_two_blocks_are_the_two_commands() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert "rindwright weigh cases/worked/box_too_wet.yaml" in blocks[0]
    assert "pytest" in blocks[1]
    assert (ROOT / "cases" / "worked" / "box_too_wet.yaml").exists()
