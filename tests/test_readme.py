"""README keeps its word: its commands, its session, its table."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

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


def test_every_command_is_in_the_table() -> None:
    from rindwright.cli.main import cli

    text = README.read_text(encoding="utf-8")
    for name in cli.commands:
        assert f"`rindwright {name}" in text


def test_the_commands_on_house_rules_work(tmp_path: Path) -> None:
    block = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[2]
    home = {**os.environ, "RINDWRIGHT_HOME": str(tmp_path / "home"), "PYTHONUTF8": "1"}
    home.pop("RINDWRIGHT_HOUSE", None)
    said = []
    for line in block.strip().splitlines():
        words = shlex.split(line)
        assert words[:1] == ["rindwright"]
        done = subprocess.run(
            [sys.executable, "-m", "rindwright.cli", *words[1:]], cwd=ROOT, env=home, capture_output=True, timeout=60
        )
        assert done.returncode == 0, (line, done.stderr.decode())
        said.append(done.stdout.decode())
    assert "3 rules in force, 0 faults, 0 doubts" in said[0]
    assert "Box too wet" in said[1]
    assert "Taken in." in said[2]
    assert "Beside it: the packaged knowledge alone" in said[3]
    assert "Its file is kept" in said[4]


def test_the_first_two_blocks_are_the_two_commands() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert "rindwright weigh cases/worked/box_too_wet.yaml" in blocks[0]
    assert "pytest" in blocks[1]
    assert (ROOT / "cases" / "worked" / "box_too_wet.yaml").exists()
