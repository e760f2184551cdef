"""Amounts of a plan: worked out from what is known, never past it, as a kitchen can weigh it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.amounts import work_out
from rindwright.engine.answers import Answers, Value
from rindwright.engine.catalog import Catalog, Cheese
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.figures import FIGURES, with_figures
from rindwright.engine.model import Amount, Knowledge
from rindwright.engine.sums import brine, salt
from rindwright.engine.sums.shape import wheel

WASH = Amount("salt", 30, 30, "g", "litre of wash")
THREE: dict[str, Value] = {"cheese_count": 3.0, "cheese_width_cm": 13.0, "cheese_height_cm": 4.5, "weight_g": 590.0}


def text(amount: Amount, cheese: Cheese | None = None, **answers: Value) -> str:
    return work_out(amount, Answers.of(answers), cheese).text


def test_a_wash_for_three_wheels() -> None:
    """Three wheels of 13 by 4.5 cm have 1348 cm²; at 0.1 mL to each that is 135 mL, mixed as 150."""
    assert text(WASH) == "30 g of salt to 1 L of boiled, cooled water: for a cup of 250 mL 7.5 g"
    assert text(WASH, **THREE) == (
        "30 g of salt to 1 L of boiled, cooled water: for your 3 cheeses about 150 mL with 4.5 g in it"
    )
    assert "100 mL with 3 g" in text(WASH, **(THREE | {"cheese_count": 2.0}))


def test_a_wash_that_differs_is_named() -> None:
    assert "(yours has 60 g now): for a cup" in text(WASH, wash_salt_g_per_l=60.0)
    assert "yours has" not in text(WASH, wash_salt_g_per_l=30.0)


def test_dry_salt_by_weight() -> None:
    amount = Amount("dry salt", 3, 5, "g", "kg of cheese")
    assert text(amount) == "3 to 5 g of dry salt per kg of cheese"
    assert text(amount, weight_g=620.0).endswith("for your 620 g cheese 1.9 to 3.1 g")
    assert text(amount, **THREE).endswith("1.8 to 3 g for each of 590 g, 5.3 to 8.8 g for all 3")


def test_faces() -> None:
    amount = Amount("wash", 5, 10, "mL", "face")
    assert text(amount, cheese_count=3.0).endswith("for both faces of your 3 cheeses 30 to 60 mL")


def test_calcium_by_the_litre_of_brine() -> None:
    amount = Amount("calcium chloride", 2, 6, "g", "litre of brine")
    assert text(amount, brine_litres=20.0).endswith("for your 20 L 40 to 120 g")


def test_a_brine_is_brought_to_its_strength() -> None:
    amount = Amount("salt", 18, 22, "%", "brine")
    assert "220 to 280 g of salt to 1 kg of water" in text(amount)
    weak = text(amount, brine_litres=20.0, brine_pct=15.0)
    kg = 20 * 1.1113  # 15 % at 12 °C, kg/L
    assert brine.change(kg, 15, 18).salt_g == pytest.approx(813, abs=3)
    assert "your 20 L of 15 % needs 810 g of salt to come to 18 %" in weak
    assert "needs 3" in text(amount, brine_litres=20.0, brine_pct=25.0)
    assert "of boiled, cooled water to come to 22 %" in text(amount, brine_litres=20.0, brine_pct=25.0)
    assert "is within it" in text(amount, brine_litres=20.0, brine_pct=20.0)
    # Stronger than any brine can be: the rate alone is said, nothing is made up.
    assert "needs" not in text(amount, brine_litres=20.0, brine_pct=29.0)


def test_time_in_the_brine(knowledge: Knowledge) -> None:
    amount = Amount("salt", 1.6, 2, "%", "cheese in brine")
    assert text(amount) == "1.6 to 2 % of the cheese's weight in salt"
    cheese = Catalog(knowledge).cheese("washed", "tilsit", 0)
    told = text(amount, cheese, cheese_width_cm=28.0, cheese_height_cm=9.0, brine_pct=20.0)
    hours = salt.brine_time(wheel(28, 9), 1.6, 20, 45, "semi-hard").hours.value
    assert f"about {hours:.2g}" in told
    assert "weigh one and keep your own time" in told


def test_every_amount_of_the_knowledge_can_be_worked_out(knowledge: Knowledge) -> None:
    full = Answers.of(THREE | {"brine_litres": 20.0, "brine_pct": 15.0})
    catalog = Catalog(knowledge)
    for cause in knowledge.causes:
        for step in (*cause.today, *cause.next_make):
            if step.amount is not None:
                for answers in (Answers(), full):
                    for style, family in catalog.home.items():
                        worked = work_out(step.amount, answers, catalog.cheese(family, style, 10))
                        assert worked.text
                        assert "Source:" in worked.ground


@given(
    st.floats(20, 80000), st.floats(1, 500), st.floats(2, 120), st.floats(1, 40), st.sampled_from(["round", "square"])
)
def test_more_cheese_never_needs_less(weight: float, count: float, width: float, height: float, form: str) -> None:
    def millilitres(n: float) -> float:
        answers: dict[str, Value] = {
            "cheese_count": n, "cheese_width_cm": width, "cheese_height_cm": height, "cheese_form": form,
            "weight_g": weight,
        }  # fmt: skip
        told = text(WASH, **answers).split("about ")[1].split(" with")[0]
        number, unit = told.split()
        return float(number) * (1000 if unit == "L" else 1)

    assert millilitres(count + 1) >= millilitres(count) >= 50


# --- weighings as answers ---------------------------------------------------------------------

WEIGHED: dict[str, Value] = {
    "family": "washed", "style": "small_soft", "age_days": 14.0,
    "weight_g": 590.0, "weight_earlier_g": 620.0, "weight_earlier_days": 7.0,
    "cheese_width_cm": 13.0, "cheese_height_cm": 4.5,
}  # fmt: skip


def test_two_weighings_and_a_size_give_the_loss_by_surface(diagnoser: Diagnoser) -> None:
    """30 g in 7 days over 449.2 cm² are 95.4 g/m² and day."""
    found = with_figures(diagnoser.catalog, Answers.of(WEIGHED))
    assert found.get("rind_loss_g_m2_day") == 95.4
    assert found.get("weight_loss_pct_week") == 4.8
    assert found.get("rind_loss_change_pct") is None
    three = with_figures(
        diagnoser.catalog, Answers.of(WEIGHED | {"weight_between_g": 600.0, "weight_between_days": 4.0})
    )
    assert three.get("rind_loss_change_pct") == -62.5


def test_what_was_answered_stays(diagnoser: Diagnoser) -> None:
    said = Answers.of(WEIGHED | {"rind_loss_g_m2_day": 40.0, "weight_loss_pct_week": 2.0})
    assert with_figures(diagnoser.catalog, said) == said


def test_a_coarse_scale_or_the_same_day_says_nothing(diagnoser: Diagnoser) -> None:
    for change in (
        {"weight_earlier_g": 591.0, "weight_earlier_days": 0.5},
        {"weight_between_g": 600.0, "weight_between_days": 7.0},
    ):
        said = Answers.of({**WEIGHED, **change})
        assert with_figures(diagnoser.catalog, said).get("rind_loss_g_m2_day") is None


def test_the_sign_goes_by_surface_once_the_size_is_known(diagnoser: Diagnoser) -> None:
    """The same 4.8 % a week: little for a small cheese by percent, much by surface."""

    def dropping(answers: dict[str, Value]) -> bool | None:
        _, chained, _ = diagnoser.prepare(Answers.of(answers))
        return chained.sign("weight_drop")

    assert dropping(WEIGHED) is True
    without = {key: value for key, value in WEIGHED.items() if key not in ("cheese_width_cm", "cheese_height_cm")}
    assert dropping(without) is False
    slow = WEIGHED | {"weight_earlier_g": 602.0}
    assert dropping(slow) is False


@given(st.permutations(sorted(WEIGHED)))
def test_order_of_answers_changes_nothing(diagnoser: Diagnoser, order: list[str]) -> None:
    answers = Answers.of([(key, WEIGHED[key]) for key in order])
    assert with_figures(diagnoser.catalog, answers) == with_figures(diagnoser.catalog, Answers.of(WEIGHED))


def test_figures_are_never_asked_among_the_others(diagnoser: Diagnoser) -> None:
    ranked = diagnoser.next_questions(Answers.of({"family": "washed", "style": "small_soft", "age_days": 14.0}))
    worked_out = {q.id for q in diagnoser.catalog.questions.values() if q.worked_out}
    assert worked_out
    assert not {w.question for w in ranked} & (worked_out | set(FIGURES))
