"""README keeps its word: its commands, its session, its table."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from textwrap import fill

from rindwright.cli.sentences import percent
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.figures import from_log, number
from rindwright.engine.reading.answers_file import read_answers
from rindwright.engine.sums.logger import adding
from rindwright.engine.sums.logger_reading import read_log

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


def figures(diagnoser: Diagnoser) -> str:
    """The same invented wheel, from words alone to a week of a logger and three weighings."""
    place = ROOT / "cases" / "figures"
    told = []
    for name, logged in (("in_words", False), ("in_words", True), ("weighed", False), ("weighed", True)):
        file = place / f"wheel_{name}.yaml"
        answers = read_answers(diagnoser.catalog, file.read_text(encoding="utf-8"), file.name)
        command = f"rindwright weigh cases/figures/{file.name}"
        if logged:
            command += " --logger cases/figures/wheel_week.csv"
            with (place / "wheel_week.csv").open("rb") as stream:
                log = read_log(stream, "wheel_week.csv")
            found = from_log(diagnoser.catalog, log, answers.cheese(diagnoser.catalog), number(answers, "weight_g"))
            answers, _ = adding(answers, found, diagnoser.catalog.questions)
        d = diagnoser.diagnose(answers)
        faults = [c for c in d.causes if c.kind == "fault"][:3]
        ranked = ", ".join(f"{c.title.lower()} {percent(c.probability)}" for c in faults)
        steps = [s.do.split(". ")[0].strip().rstrip(".") + (f" ({s.amount})" if s.amount else "") for s in d.plan.today]
        told.append(f"$ {command}")
        for lead, text in (
            ("Likeliest: ", f"{ranked}; nothing wrong {percent(d.normal.probability)}."),
            ("Worked out: ", next((f.says for f in d.figures if f.question == "rind_loss_g_m2_day"), "")),
            ("Today: ", "; ".join(steps) + "." if steps else "wait, and look more closely."),
        ):
            if text:
                told.append(fill(lead + text, 80, subsequent_indent="  ", break_on_hyphens=False))
        told.append("")
    return "\n".join(told)


def test_the_example_with_figures_is_worked_out_afresh(diagnoser: Diagnoser) -> None:
    text = README.read_text(encoding="utf-8")
    block = f"<!-- figures -->\n```text\n{figures(diagnoser).strip()}\n```\n<!-- end figures -->"
    fresh = re.sub(r"<!-- figures -->.*?<!-- end figures -->", lambda _: block, text, flags=re.DOTALL)
    assert "<!-- figures -->" in text
    if os.environ.get("RENEW"):
        README.write_text(fresh, encoding="utf-8")
    assert fresh == README.read_text(encoding="utf-8")


def test_every_command_is_in_the_table() -> None:
    from rindwright.cli.main import cli

    text = README.read_text(encoding="utf-8")
    for name in cli.commands:
        assert f"`rindwright {name}" in text


def test_the_commands_on_house_rules_work(tmp_path: Path) -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    (block,) = (b for b in blocks if b.startswith("rindwright rules "))
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
