"""Figures in the conversation and in a diagnosis: optional, last, and they sharpen what is said."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rindwright.cli.ask.look import Look
from rindwright.cli.ask.questionnaire import Questionnaire
from rindwright.cli.context import console
from rindwright.cli.pen import Pen
from rindwright.engine.diagnosis import Diagnoser

from .conftest import Program

WORDS = "{family: washed, style: small_soft, age_days: 14, dries_fast: yes, %s}"
WEIGHED = (
    "weight_g: 590, weight_earlier_g: 620, weight_earlier_days: 7, weight_between_g: 608, weight_between_days: 4, "
    "cheese_width_cm: 13, cheese_height_cm: 4.5, cheese_count: 3"
)
SAID = [
    "washed", "small_soft", "14", "dry and hard, like leather, dry again the same day, cracks", "all", "1",
    "none", "8", "1", "none", "7", "1", "3", "1", "1",
]  # fmt: skip
"""What is seen, and then nothing grave on the safety screen."""


def test_figures_come_last_and_can_be_skipped(diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str]) -> None:
    look = Look("test", diagnoser.catalog, looked_on="2026-01-01")
    given = iter(SAID)
    told: list[str] = []

    def read() -> str:
        out = " ".join(capsys.readouterr().out.split())
        told.append(out)
        if "or finish?" in out:
            return "finish"
        if "Give them now?" in out:
            return "yes"
        if "How many cheeses" in out:
            return "3"
        if "How wide" in out:
            return "5 in"
        return next(given, "skip")

    Questionnaire(diagnoser.catalog, look, Pen(console(), 80), read).run()
    answers = dict(look.given)
    assert answers["cheese_count"] == 3
    assert answers["cheese_width_cm"] == 12.7
    asked_at = next(k for k, out in enumerate(told) if "Give them now?" in out)
    assert not any("How many cheeses" in out for out in told[:asked_at])
    # What is worked out is never asked for.
    assert not any("square metre" in out for out in told[:-1])


def test_no_to_figures_ends_the_questions(diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str]) -> None:
    look = Look("test", diagnoser.catalog, looked_on="2026-01-01")
    given = iter(SAID)

    def read() -> str:
        out = " ".join(capsys.readouterr().out.split())
        if "or finish?" in out:
            return "finish"
        return "no" if "Give them now?" in out else next(given, "skip")

    Questionnaire(diagnoser.catalog, look, Pen(console(), 80), read).run()
    assert "cheese_count" not in dict(look.given)


def test_weighings_sharpen_ranking_and_plan(program: Program) -> None:
    words = json.loads(program("weigh", "-", "--json", typed=WORDS % "wash_interval_days: 3").stdout)
    weighed = json.loads(program("weigh", "-", "--json", typed=WORDS % WEIGHED).stdout)

    def of(shape: dict[str, list[dict[str, object]]], id: str) -> float:
        return next((float(str(c["probability"])) for c in shape["causes"] if c["id"] == id), 0.0)

    assert of(weighed, "box_too_dry") > of(words, "box_too_dry") + 0.1
    amounts = " ".join(str(step["amount"]) for step in weighed["today"])
    assert "for your 3 cheeses about 150 mL" in amounts
    assert {f["question"] for f in weighed["figures"]} == {
        "rind_loss_g_m2_day",
        "rind_loss_change_pct",
        "weight_loss_pct_week",
    }
    assert words["figures"] == []


def test_formulas_are_told_on_request(program: Program) -> None:
    plain = program("weigh", "-", typed=WORDS % WEIGHED).stdout
    told = program("weigh", "-", "--formula", typed=WORDS % WEIGHED).stdout
    assert "How the amounts were worked out" not in plain
    assert "How the amounts were worked out" in told
    assert "grams = rate" in " ".join(told.split())
    assert "The rind loses 95 g per square metre and day" in " ".join(plain.split())


def log(path: Path, day_pct: float, night_pct: float, day_c: float = 13, night_c: float = 12) -> str:
    """An invented week: one humidity by day, another by night."""
    rows = ["time (UTC),temperature °C,RH %"]
    for hour in range(7 * 24):
        by_day = 7 <= hour % 24 < 19
        stamp = f"2025-03-{1 + hour // 24:02}T{hour % 24:02}:00:00Z"
        rows.append(f"{stamp},{day_c if by_day else night_c},{day_pct if by_day else night_pct}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path.name


def test_a_week_of_logger_answers_for_the_air(program: Program, tmp_path: Path) -> None:
    file = log(tmp_path / "week.csv", 79, 94)
    words = json.loads(program("weigh", "-", "--json", typed=WORDS % "box_fill: third").stdout)
    done = program("weigh", "-", "--json", "--logger", file, typed=WORDS % "box_fill: third")
    logged = json.loads(done.stdout)
    assert logged["logger"]["answers"]["air_dry_by_day_pct"] == 100
    assert logged["logger"]["answers"]["air_dry_by_night_pct"] == 0
    assert any("too dry by day" in line for line in logged["logger"]["told"])
    first = {c["id"]: c["probability"] for c in logged["causes"]}
    before = {c["id"]: c["probability"] for c in words["causes"]}
    assert first["box_too_dry"] > before["box_too_dry"]
    assert any("Keep the lid closed by day" in step["do"] for step in logged["today"])
    screen = program("weigh", "-", "--logger", file, typed=WORDS % "box_fill: third").stdout
    assert "From the logger" in screen


def test_an_answer_outweighs_the_logger_and_both_are_shown(program: Program, tmp_path: Path) -> None:
    file = log(tmp_path / "week.csv", 79, 94)
    done = program("weigh", "-", "--json", "--logger", file, typed=WORDS % "humidity_pct: 95")
    assert any("humidity_pct: you said 95 %" in line for line in json.loads(done.stdout)["logger"]["differs"])


def test_a_logger_file_that_cannot_be_read(program: Program, tmp_path: Path) -> None:
    for name in ("gone.csv", "."):
        done = program("weigh", "-", "--logger", name, typed="{}")
        assert done.returncode == 3
        assert len(done.stderr.splitlines()) == 1
