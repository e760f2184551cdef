"""Signs that no sound rind shows, named by a maker who has named everything: their cause comes first and has a plan."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.diagnosis import Diagnoser, Diagnosis

SAID: dict[str, tuple[dict[str, Value], str]] = {
    "deep wrinkles, ammonia that stays and a pool in the box": (
        {"family": "bloomy", "style": "bloomy_small", "age_days": 12.0}
        | {"toad_wrinkle": "clear", "ammonia": "clear", "pooled": "yes"},
        "curd_too_wet",
    ),
    "sticky, and smells of putty": (
        {"family": "hard", "style": "hard_oiled", "age_days": 90.0, "tacky": "clear", "paint_smell": "clear"},
        "oil_rancid",
    ),
    "growth under a whole coat": (
        {"family": "coated", "style": "coated_wax", "age_days": 45.0, "growth_under_coat": "whole"},
        "coat_over_mould",
    ),
    "a sour-set cheese like cardboard": (
        {"family": "lactic", "style": "lactic_ash", "age_days": 12.0, "carton_rind": "clear"},
        "box_too_dry",
    ),
}


def found(diagnoser: Diagnoser, name: str, listed_all: bool) -> Diagnosis:
    return diagnoser.diagnose(Answers.of(SAID[name][0].items(), listed_all))


@pytest.mark.parametrize("name", SAID)
def test_the_cause_comes_first_and_the_sign_counts(diagnoser: Diagnoser, name: str) -> None:
    for listed_all in (False, True):
        d = found(diagnoser, name, listed_all)
        assert d.causes[0].id == SAID[name][1]
        assert d.verdict != "normal"
        assert d.normal.rows == ()
    assert found(diagnoser, name, False).plan.today
    frame: dict[str, Value] = {k: v for k, v in SAID[name][0].items() if k in ("family", "style", "age_days")}
    before = diagnoser.diagnose(Answers.of(frame.items(), True))
    cause = next((c.probability for c in before.causes if c.id == SAID[name][1]), 0.02)
    assert found(diagnoser, name, True).causes[0].probability > 4 * cause


@pytest.mark.parametrize("name", list(SAID)[:2])
def test_two_or_three_such_signs_lead(diagnoser: Diagnoser, name: str) -> None:
    d = found(diagnoser, name, True)
    assert d.lead is not None
    assert d.lead.id == SAID[name][1]
    assert d.normal.probability < d.lead.probability
