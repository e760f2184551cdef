"""Numbers as makers write them. Factors: NIST SP 811 (2008), appendix B.8, to the digits printed there."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.units import UNITS, NoNumber, number


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("three weeks", "days", 21), ("a week", "days", 7), ("day 20", "days", 20), ("3 wk", "days", 21),
        ("about 2 weeks", "days", 14), ("twelve", "cheeses", 12), ("half a litre", "L", 0.5), ("90 min", "hours", 1.5),
        ("54 degrees f", "°C", 12.222222), ("12 degrees", "°C", 12), ("-4 °f", "°C", -20),
        ("36 f", "°C apart", 20), ("10 f", "°C apart", 5.555556), ("3 k", "°C apart", 3),
        ("95%rh", "%", 95), ("12,5", "%", 12.5), ("ca. 88 percent", "%", 88),
        ("1/8 in", "mm", 3.175), ("1 1/2 in", "cm", 3.81), ("2 in.", "mm", 50.8),
        ("1 lb", "g", 453.59237), ("1 oz", "g", 28.349523), ("2.2 kilos", "g", 2200),
        ("1 gal", "L", 3.785412), ("1 quart", "L", 0.946353), ("−3 c", "°C", -3),
    ],
)  # fmt: skip
def test_what_makers_write(text: str, unit: str, value: float) -> None:
    assert number(text, unit) == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("heavy", "g", 'does not take "heavy"'),
        ("1,250", "g", "thousands"),
        ("5 stone", "g", 'does not know the unit "stone"'),
        ("5 kiloz", "g", 'did you mean "kilo'),
        ("1/0 in", "mm", "does not know the unit"),
        ("11⁄2 in", "mm", "does not know the unit"),  # what is left of one and a half in one sign
        ("a", "days", "does not take"),
        ("day", "days", "does not take"),
        ("day 20", "g", "does not take"),
        ("three", "", ""),
    ],
)
def test_what_is_no_number(text: str, unit: str, sentence: str) -> None:
    if not sentence:
        assert number(text, unit) == 3
        return
    with pytest.raises(NoNumber) as error:
        number(text, unit)
    assert sentence in str(error.value)


@given(st.text(max_size=30))
def test_any_text_is_a_number_or_a_sentence(text: str) -> None:
    for unit in UNITS:
        told: float | str
        try:
            told = number(text, unit)
        except NoNumber as problem:
            told = str(problem)
        assert isinstance(told, float) or told


@given(st.floats(-40, 40))
def test_a_swing_has_no_zero_of_its_own(degrees: float) -> None:
    """A difference of Fahrenheit degrees is five ninths of it, whatever the thermometer starts from."""
    warm, cold = number(f"{70 + degrees:.4f} f", "°C"), number("70 f", "°C")
    assert number(f"{degrees:.4f} f", "°C apart") == pytest.approx(warm - cold, abs=2e-4)


def test_every_question_has_a_unit_that_can_be_written(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        if question.kind == "number":
            names = UNITS[question.unit]
            assert any(by == (1, 0) for by in names.values()), question.id
    assert diagnoser.catalog.questions["swing_c"].unit == "°C apart"
