"""Weight lost in all: lactic cheeses against farm trials, coats against the judgement that the diagnosis goes by."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.conditions import leaves
from rindwright.engine.model import Knowledge
from rindwright.engine.sums import drying, drying_total
from rindwright.engine.sums.drying import Weighing
from rindwright.engine.sums.ground import OutOfRange, sources
from rindwright.engine.sums.shape import wheel

PUBLISHED = {"lactic_white_soft": 38, "lactic_white_dry": 42, "lactic_blue_soft": 45, "lactic_blue_dry": 52}
"""Percent of the weight lost 14 days after unmoulding: two farm-press articles with trial results."""


def test_the_table_is_the_published_one() -> None:
    assert {s.id: s.lost_pct for s in drying_total.styles().values()} == PUBLISHED
    assert {"farm_press_geotrichum", "farm_press_blue_crust"} <= set(sources())


@given(st.sampled_from(sorted(PUBLISHED)), st.floats(60, 400), st.floats(1, 30), st.floats(0, 0.7))
def test_lost_and_left_add_up(style: str, start: float, days: float, share: float) -> None:
    found = drying_total.lost([Weighing(5, start), Weighing(5 + days, start * (1 - share))], style)
    assert found.lost_pct == pytest.approx(100 * share)
    assert found.days == pytest.approx(days)
    assert found.aim_g == pytest.approx(start * (1 - PUBLISHED[style] / 100))


@pytest.mark.parametrize(
    ("day", "weight", "verdict"),
    [
        (14, 93, "usual"),
        (13, 96, "usual"),
        (14, 70, "too much"),
        (6, 80, "too much"),
        (14, 120, "too little"),
        (20, 120, "too little"),
        (6, 120, "too early"),
        (25, 80, "not clear"),
    ],
)
def test_a_soft_white_cheese_of_150_g(day: float, weight: float, verdict: str) -> None:
    assert drying_total.lost([Weighing(0, 150), Weighing(day, weight)], "lactic_white_soft").verdict == verdict


def test_an_unknown_style_names_the_known() -> None:
    with pytest.raises(OutOfRange, match="expected one of lactic_white_soft"):
        drying_total.lost([Weighing(0, 150), Weighing(14, 90)], "crottin")


@pytest.mark.parametrize(("later", "verdict"), [(1998, "usual"), (1900, "too much"), (1960, "not clear")])
def test_a_coat_lets_little_through(later: float, verdict: str) -> None:
    weighed = drying.weighed([Weighing(0, 2000), Weighing(28, later)], wheel(18, 8), None, scale_g=5.0)
    assert weighed.band is None
    assert weighed.verdict == "no band"
    assert drying_total.under_coat(weighed.overall).verdict == verdict


def test_the_limit_of_a_coat_is_that_of_the_diagnosis(knowledge: Knowledge) -> None:
    (fast,) = (c for c in knowledge.circumstances if c.id == "loses_fast_by_weight")
    limits = [leaf.above for leaf in leaves(fast.when) if leaf.ask == "weight_loss_pct_week"]
    assert min(limit for limit in limits if limit is not None) == drying_total.COATED_PCT_WEEK
