"""Steps of a plan: each stands on its own feet, and none undoes another."""

from __future__ import annotations

import re

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Knowledge
from rindwright.engine.planning import Plan

LEANING = re.compile(
    r"(Then|Next day|Afterwards|From then on|In (those|these) days|After (that|this|these|those)|Meanwhile|The same)\b"
)
"""How a step begins that makes no sense once the one before it is left out: by a hold, another rind, or a pull the
other way."""
POINTING = re.compile(r"\b(in those days|in place of the|meanwhile)\b")

MONASTERY: dict[str, Value] = {"family": "washed", "style": "monastery", "age_days": 18.0}
DRY: dict[str, Value] = {"dry_leather": "clear", "cracks": "clear", "place": ("edges",), "air_feel": "dry"}


def plan_of(diagnoser: Diagnoser, *said: dict[str, Value]) -> Plan:
    return diagnoser.diagnose(Answers.of([pair for some in said for pair in some.items()])).plan


def test_no_step_leans_on_another(knowledge: Knowledge) -> None:
    leaning = [
        (cause.id, step.do)
        for cause in knowledge.causes
        for step in (*cause.today, *cause.next_make)
        if LEANING.match(step.do) or POINTING.search(step.do)
    ]
    assert leaning == []


def test_a_hold_leaves_no_step_that_begins_in_the_middle(diagnoser: Diagnoser) -> None:
    """Drying is left out under a hold; what stayed began with "Then keep it at 6 to 8 °C"."""
    said: dict[str, Value] = {"family": "bloomy", "style": "bloomy_small", "age_days": 12.0}
    found = diagnoser.diagnose(
        Answers.of([*said.items(), ("toad_wrinkle", "clear"), ("weeping", "clear"), ("someone_ill", "unknown")])
    )
    assert found.verdict == "hold"
    assert any("6 to 8 °C" in step.do for step in found.plan.today)
    assert not [step.do for step in found.plan.today if LEANING.match(step.do)]


@pytest.mark.parametrize(
    "salt",
    [
        {"wash_salt_g_per_l": 200.0},
        {"wash_salt_g_per_l": 60.0, "wash_interval_days": 1.0},
        {"salt_taste": "rind_salty"},
    ],
)
def test_a_dry_rind_under_a_strong_wash_gets_one_strength(diagnoser: Diagnoser, salt: dict[str, Value]) -> None:
    """It was told to wash three days running with 20 to 30 g/L, and twice with 10 g/L."""
    done = [step.do for step in plan_of(diagnoser, MONASTERY, DRY, salt).today]
    assert any("weak wash of 10 g/L" in do for do in done)
    assert not any("three days running" in do for do in done)
    assert not any("brine of 20 g" in do for do in done)


def test_a_dry_rind_under_a_usual_wash_is_washed_as_before(diagnoser: Diagnoser) -> None:
    done = [step.do for step in plan_of(diagnoser, MONASTERY, DRY, {"wash_salt_g_per_l": 30.0}).today]
    assert any("20 to 30 g/L on three days running" in do for do in done)
    assert not any("10 g/L" in do for do in done)
