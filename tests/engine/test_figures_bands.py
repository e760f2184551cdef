"""The limits on loss by surface in the knowledge are those of the table of usual losses, for every kind of rind."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.figures import FIRST_DRYING_DAYS, told, usual_band, with_figures
from rindwright.engine.model import Knowledge
from rindwright.engine.sums.drying import bands

AGES = (2.0, 30.0, 31.0)
CHEESES = [
    (family, style, age)
    for family, styles in (
        ("washed", ("small_soft", "tilsit", "alpine")),
        ("bloomy", ("bloomy_small",)),
        ("mixed", ("mixed_grey",)),
        ("natural", ("tomme_grey",)),
        ("blue", ("blue_small",)),
        ("hard", ("hard_bare",)),
        ("lactic", ("lactic_white",)),
        ("coated", ("coated_wax",)),
    )
    for style in styles
    for age in AGES
]
LIMITS = ("rind_hardly_dries", "rind_loses_usual", "rind_loses_fast")


def test_each_band_serves_some_cheese(knowledge: Knowledge) -> None:
    catalog = Catalog(knowledge)
    served = {usual_band(catalog.cheese(*cheese)) for cheese in CHEESES}
    assert served == {*bands(), None} - {"bloomy_drying"}  # that one is for the sum on its own


@pytest.mark.parametrize(("family", "style", "age"), CHEESES)
def test_limits_are_those_of_the_band(diagnoser: Diagnoser, family: str, style: str, age: float) -> None:
    kind = usual_band(diagnoser.catalog.cheese(family, style, age))

    def holding(loss: float, **more: Value) -> list[str]:
        said: dict[str, Value] = {"family": family, "style": style, "age_days": age, "rind_loss_g_m2_day": loss, **more}
        found = diagnoser.chainer.run(Answers.of(said))
        return [id for id in LIMITS if found.circumstance(id)]

    if age <= FIRST_DRYING_DAYS:
        assert kind is None
        assert not {"rind_hardly_dries", "rind_loses_usual"} & {*holding(5.0), *holding(50.0)}
    elif kind is None:
        assert [holding(loss) for loss in (5.0, 50.0, 300.0)] == [[], [], []]
    else:
        low, high = bands()[kind].low, bands()[kind].high
        assert holding(low - 1) == ["rind_hardly_dries"]
        assert holding(low) == holding(high) == ["rind_loses_usual"]
        assert holding(high + 1) == ["rind_loses_fast"]
        assert holding(low - 1, wrap="film") == []


def test_the_first_days_are_not_judged(diagnoser: Diagnoser) -> None:
    """A camembert that dries at 150 g/m² and day on its third day does what it should."""
    said: dict[str, Value] = {
        "family": "bloomy", "style": "bloomy_small", "age_days": 3.0, "weight_g": 260.0, "weight_earlier_g": 270.0,
        "weight_earlier_days": 2.0, "cheese_width_cm": 11.0, "cheese_height_cm": 3.0,
    }  # fmt: skip
    assert with_figures(diagnoser.catalog, Answers.of(said)) == Answers.of(said)
    # Of three weighings on day 8, the one of day 1 is left out.
    later: dict[str, Value] = said | {"age_days": 8.0, "weight_earlier_days": 7.0}
    assert with_figures(diagnoser.catalog, Answers.of(later)) == Answers.of(later)
    later |= {"weight_between_g": 268.0, "weight_between_days": 4.0}
    found = with_figures(diagnoser.catalog, Answers.of(later))
    assert found.get("rind_loss_g_m2_day") == pytest.approx(8 / 4 / 0.02937, abs=0.1)
    assert found.get("rind_loss_change_pct") is None


def test_a_wrapped_cheese_is_held_against_no_band(diagnoser: Diagnoser) -> None:
    def said(**more: Value) -> str:
        given = Answers.of({"family": "blue", "style": "blue_small", "age_days": 40.0, **more})
        found = given.adding("rind_loss_g_m2_day", 8.0)
        (figure,) = told(diagnoser.catalog, given, found, given.cheese(diagnoser.catalog))
        return figure.says

    assert "usual for blue without a wrap is a loss of 20 to 60" in said()
    assert said(wrap="film") == "The rind loses 8 g per square metre and day."


def test_only_a_moist_rind_tells_the_humidity(diagnoser: Diagnoser) -> None:
    """A natural rind that dries too fast is not sent into the damp air of a smear."""

    def said(family: str, style: str) -> str:
        given = Answers.of({"family": family, "style": style, "age_days": 45.0})
        found = given.adding("rind_loss_g_m2_day", 90.0)
        (figure,) = told(diagnoser.catalog, given, found, given.cheese(diagnoser.catalog))
        return figure.says

    assert "would be right" in said("washed", "monastery")
    for family, style in (("natural", "tomme_grey"), ("hard", "hard_bare")):
        assert said(family, style).endswith("10 to 40 (an estimate).")
