"""Answers as makers write them. Unit factors are definitions: pound 453.59237 g and ounce a sixteenth of it
(international yard and pound agreement, 1959); degrees Fahrenheit by the definition of the scale."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import UNKNOWN, Unusable, understand
from rindwright.engine.diagnosis import Diagnoser


@pytest.mark.parametrize(
    ("question", "raw", "value"),
    [
        ("weight_g", "1 lb", 453.59237),
        ("weight_g", "8 oz", 226.796185),
        ("weight_g", "1.2 kg", 1200.0),
        ("temp_low_c", "50 °F", 10.0),
        ("temp_low_c", "32F", 0.0),
        ("temp_low_c", "-1", -1.0),
        ("age_days", "3 weeks", 21.0),
        ("age_days", "about 10", 10.0),
        ("age_days", "2,5", 2.5),
        ("wash_salt_g_per_l", "3 %", 30.0),
        ("humidity_pct", "92 %", 92.0),
        ("surface_ph", "pH 5.2", None),
        ("surface_ph", "5.2", 5.2),
        ("slimy_wet", "YES", "clear"),
        ("slimy_wet", "a little", "slight"),
        ("never_dries", "Yes", "yes"),
        ("place", "edges, underside", ("edges", "underside")),
        ("place", ["underside", "edges", "edges"], ("edges", "underside")),
        ("milk_heat", "don’t know", UNKNOWN),
        ("milk_heat", "?", UNKNOWN),
    ],
)
def test_understood(diagnoser: Diagnoser, question: str, raw: object, value: object) -> None:
    asked = diagnoser.catalog.questions[question]
    if value is None:
        with pytest.raises(Unusable):
            understand(asked, raw)
        return
    assert understand(asked, raw) == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("question", "raw", "words"),
    [
        ("humidity_pct", "950", "cannot be 950"),
        ("age_days", "-3", "cannot be -3"),
        ("age_days", "soon", "expected a number"),
        ("temp_low_c", "12 K", 'does not know the unit "k"'),
        ("milk_heat", "pasturised", 'did you mean "pasteurised"?'),
        ("milk_heat", None, "has no answer"),
        ("milk_heat", {"a": "b"}, "not a map"),
        ("milk_heat", ["raw"], "not a list"),
        ("place", [["edges"]], "nested too deeply"),
    ],
)
def test_refused_with_one_sentence(diagnoser: Diagnoser, question: str, raw: object, words: str) -> None:
    with pytest.raises(Unusable, match=r"^[a-z]") as caught:
        understand(diagnoser.catalog.questions[question], raw)
    assert words in str(caught.value)


def test_every_question_takes_its_own_answers_and_refuses_nonsense(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        assert understand(question, "unknown") == UNKNOWN
        for option in question.options:
            taken = understand(question, option.id)
            assert taken == ((option.id,) if question.kind == "some_of" else option.id)
        with pytest.raises(Unusable):
            understand(question, "zzz nonsense")
