"""Answers as makers write them.

Factors are held against definitions, worked out here in exact fractions: pound 453.59237 g and ounce a
sixteenth of it (international yard and pound agreement, 1959); degrees Fahrenheit by the definition of the
scale, 32 at the ice point and 9 for every 5 Celsius; the US gallon is 231 cubic inches of 25.4 mm (same
agreement). That 1 % of salt in a wash means 10 g per litre is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.answers import UNKNOWN, Unusable, Value, as_text, expected, understand
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Option, Question

POUND = Fraction("453.59237")
OUNCE = POUND / 16
US_GALLON_LITRES = Fraction(231) * Fraction("0.254") ** 3  # 231 cubic inches in cubic decimetres


def celsius(fahrenheit: Fraction) -> Fraction:
    return (fahrenheit - 32) * Fraction(5, 9)


# An invented question of each kind, so that these tests say what they rest on.
def number(unit: str, low: float | None = None, high: float | None = None) -> Question:
    return Question("q", "?", "number", "measure", "measure", unit=unit, minimum=low, maximum=high)


ONE = Question(
    "q", "?", "one_of", "look", "glance", options=(Option("deep_blue", "Blue, and deep"), Option("grey", "grey fur"))
)
SOME = Question(
    "q", "?", "some_of", "look", "glance", options=(Option("rim", "on rim, or edge"), Option("face", "maker’s  face"))
)
YES_NO = Question("q", "?", "yes_no", "look", "glance")
SCALE = Question("q", "?", "scale", "look", "glance")


@pytest.mark.parametrize(
    ("question", "raw", "value"),
    [
        ("weight_g", "1 lb", POUND),
        ("weight_g", "2.5 lbs", POUND * Fraction("2.5")),
        ("weight_g", "3 Pounds", POUND * 3),
        ("weight_g", "8 oz", OUNCE * 8),
        ("weight_g", "1.2 kg", 1200),
        ("weight_g", "1,2kg", 1200),
        ("weight_g", "450 grams", 450),
        ("weight_g", "450", 450),
        ("temp_low_c", "50 °F", celsius(Fraction(50))),
        ("temp_low_c", "32F", 0),
        ("temp_low_c", "-40 f", None),
        ("temp_low_c", "54.5 ℉", celsius(Fraction("54.5"))),
        ("temp_low_c", "-1", -1),
        ("temp_low_c", "−1 °C", -1),
        ("temp_low_c", "12 C", 12),
        # The limits of the question, -5 and 40 °C, reached from the other scale.
        ("temp_low_c", "23 °F", -5),
        ("temp_low_c", "104 °F", 40),
        ("age_days", "3 weeks", 21),
        ("age_days", "1 week", 7),
        ("age_days", "2w", 14),
        ("age_days", "18 days", 18),
        ("age_days", "18 d.", 18),
        ("age_days", "36 h", Fraction(3, 2)),
        ("age_days", "about 10", 10),
        ("age_days", "ca. 10", 10),
        ("age_days", "~10", 10),
        ("age_days", "+10", 10),
        ("age_days", "2,5", Fraction(5, 2)),
        ("age_days", "  2.5\n", Fraction(5, 2)),
        ("age_days", 12, 12),
        ("age_days", 12.5, Fraction(25, 2)),
        ("age_days", "１２", 12),  # digits of a Japanese keyboard
        ("drain_hours", "90 min", Fraction(3, 2)),
        ("drain_hours", "1 day", 24),
        ("wash_interval_days", "4.8 hours", Fraction(1, 5)),  # just the smallest that is taken
        ("wash_salt_g_per_l", "3 %", 30),
        ("wash_salt_g_per_l", "30 g/L", 30),
        ("wash_salt_g_per_l", "4 oz/gal", OUNCE * 4 / US_GALLON_LITRES),
        ("humidity_pct", "92 %", 92),
        ("humidity_pct", "92 percent", 92),
        ("surface_ph", "5,2", Fraction("5.2")),
        ("surface_ph", "5.2 pH", Fraction("5.2")),
        ("mould_turns", "4x", 4),
    ],
)
def test_numbers_and_units(diagnoser: Diagnoser, question: str, raw: object, value: Fraction | int | None) -> None:
    asked = diagnoser.catalog.questions[question]
    if value is None:
        with pytest.raises(Unusable, match="cannot be"):
            understand(asked, raw)
        return
    taken = understand(asked, raw)
    assert isinstance(taken, float)
    assert taken == pytest.approx(float(value), abs=1e-5)


@given(st.integers(-400, 2000).map(lambda n: Fraction(n, 10)))
def test_fahrenheit_by_its_definition(degrees: Fraction) -> None:
    assert understand(number("°C"), f"{float(degrees)} °F") == pytest.approx(float(celsius(degrees)), abs=1e-6)


@given(st.integers(1, 5000).map(lambda n: Fraction(n, 100)))
def test_pounds_ounces_and_weeks_by_their_definitions(amount: Fraction) -> None:
    written = str(float(amount))
    for unit, asked, factor in (
        ("lb", "g", POUND),
        ("oz", "g", OUNCE),
        ("kg", "g", Fraction(1000)),
        ("weeks", "days", Fraction(7)),
        ("hours", "days", Fraction(1, 24)),
        ("min", "hours", Fraction(1, 60)),
        ("days", "hours", Fraction(24)),
    ):
        for text in (f"{written} {unit}", f"{written}{unit.upper()}"):
            assert understand(number(asked), text) == pytest.approx(float(amount * factor), abs=1e-6)


def test_a_month_is_about_a_twelfth_of_a_year() -> None:
    # 365.2425 days: the mean year of the Gregorian calendar.
    assert understand(number("days"), "1 month") == pytest.approx(365.2425 / 12, rel=0.005)
    assert understand(number("days"), "6 months") == pytest.approx(365.2425 / 2, rel=0.005)


@given(st.integers(-200, 200).map(lambda n: n / 10))
def test_a_limit_is_part_of_what_is_taken_in_any_unit(low: float) -> None:
    asked = number("°C", low, low)
    assert understand(asked, f"{low}") == low
    assert understand(asked, f"{round(low * 1.8 + 32, 2)} F") == low


@pytest.mark.parametrize(
    ("question", "raw", "words"),
    [
        ("humidity_pct", "950", "cannot be 950; expected a number from 5 to 100 %, or unknown"),
        ("humidity_pct", "4.9", "cannot be 4.9"),
        ("age_days", "-3", "cannot be -3; expected a number from 0 to 1500 days, or unknown"),
        ("age_days", -3, "cannot be -3"),
        ("age_days", "−3 weeks", "cannot be -21"),
        ("age_days", "1e3", 'does not know the unit "e3"'),
        ("age_days", "10 to 12", 'does not know the unit "to 12"'),
        ("humidity_pct", "90-95", 'does not know the unit "-95"'),
        ("age_days", "soon", "expected a number"),
        ("age_days", "--3", "expected a number"),
        ("age_days", "", "expected a number"),
        ("age_days", True, "expected a number"),
        ("age_days", float("nan"), "expected a number"),
        ("age_days", float("inf"), "expected a number"),
        ("age_days", float("-inf"), "expected a number"),
        ("age_days", "9" * 400, "cannot be inf"),
        ("age_days", "3 weekz", 'did you mean "week"?'),
        ("weight_g", "1 stone", 'does not know the unit "stone"'),
        ("temp_low_c", "12 K", 'does not know the unit "k"'),
        # Twelve hundred, or one and a fifth? Neither is guessed.
        ("age_days", "1,200", "the comma may stand for thousands"),
        ("weight_g", "25,000 g", "the comma may stand for thousands"),
        ("surface_ph", "pH 5.2", "expected a number from 3 to 10, or unknown"),
        ("milk_heat", "pasturised", 'did you mean "pasteurised"?'),
        ("milk_heat", "", 'does not take ""'),
        ("milk_heat", None, "has no answer"),
        ("milk_heat", {"a": "b"}, "not a map"),
        ("milk_heat", {}, "not a map"),
        ("milk_heat", ["raw"], "not a list"),
        ("slimy_wet", ["clear"], "not a list; expected no, slight, clear or unknown"),
        ("slimy_wet", "maybe", 'does not take "maybe"; expected no, slight, clear or unknown'),
        ("never_dries", "slight", "expected yes, no or unknown"),
        ("place", [["edges"]], "nested too deeply"),
        ("place", [{"edges": "yes"}], "nested too deeply"),
        ("place", [None], "has no answer"),
        ("place", [], "is empty; expected any of"),
        ("place", " , ;", "is empty; expected any of"),
        ("place", "edges, undersde", 'did you mean "underside"?'),
        ("place", ["edges", "unknown"], "is unknown and something else at once"),
        ("place", "edges, don't know", "is unknown and something else at once"),
    ],
)
def test_refused_with_one_sentence(diagnoser: Diagnoser, question: str, raw: object, words: str) -> None:
    with pytest.raises(Unusable, match=r"^[a-z][^\n]*[^.\n]$") as caught:  # the rest of a sentence on the question
        understand(diagnoser.catalog.questions[question], raw)
    assert words in str(caught.value)


@pytest.mark.parametrize("raw", ["0,125", "12,5", "12,25", "1,5", "0,5"])
def test_a_comma_that_can_only_be_decimal_is_one(raw: str) -> None:
    assert understand(number("g"), raw) == float(raw.replace(",", "."))


@pytest.mark.parametrize(
    ("question", "raw", "value"),
    [
        (YES_NO, "Yes", "yes"),
        (YES_NO, "y", "yes"),
        (YES_NO, "N", "no"),
        (YES_NO, True, "yes"),
        (YES_NO, "false", "no"),
        (SCALE, "YES", "clear"),
        (SCALE, "strong", "clear"),
        (SCALE, "a  little", "slight"),
        (SCALE, "none", "no"),
        (ONE, "Deep Blue", "deep_blue"),
        (ONE, "deep_blue", "deep_blue"),
        (ONE, "blue, and deep", "deep_blue"),
        (ONE, "gr\u200bey fur", "grey"),
        (SOME, "rim", ("rim",)),
        (SOME, "on rim, or edge", ("rim",)),  # its own words hold the comma
        (SOME, "maker's face", ("face",)),
        (SOME, "rim; face", ("face", "rim")),
        (SOME, "rim + face,", ("face", "rim")),
        (SOME, ["rim", "face", "rim"], ("face", "rim")),
        (SOME, ("face", "on rim, or edge"), ("face", "rim")),
        (SOME, ["unknown"], UNKNOWN),
    ],
)
def test_words_and_lists(question: Question, raw: object, value: Value) -> None:
    assert understand(question, raw) == value


@pytest.mark.parametrize("question", [number("g"), YES_NO, SCALE, ONE, SOME], ids=lambda q: q.kind)
@pytest.mark.parametrize("raw", ["unknown", "UNKNOWN", "don’t know", "dont know", "Not  sure", "?", "dunno"])
def test_not_knowing_is_always_an_answer(question: Question, raw: str) -> None:
    assert understand(question, raw) == UNKNOWN


def test_every_question_takes_its_own_answers(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        assert understand(question, UNKNOWN) == UNKNOWN
        for option in question.options:
            wanted = (option.id,) if question.kind == "some_of" else option.id
            for form in (option.id, option.id.upper(), option.id.replace("_", " "), option.text):
                assert understand(question, form) == wanted, (question.id, form)
        if question.kind == "some_of":
            every = [o.id for o in question.options]
            assert understand(question, every) == understand(question, ", ".join(every)) == tuple(sorted(every))
        if question.kind == "number":
            for limit in (question.minimum, question.maximum):
                assert limit is not None, question.id
                assert understand(question, f"{limit:g}") == limit
                assert understand(question, f"{limit:g} {question.unit}") == limit
            with pytest.raises(Unusable, match="cannot be"):
                understand(question, str((question.maximum or 0) + 1))
            with pytest.raises(Unusable, match="cannot be"):
                understand(question, str((question.minimum or 0) - 1))
        for word in {"yes_no": ("yes", "no"), "scale": ("no", "slight", "clear")}.get(question.kind, ()):
            assert understand(question, word) == word


def test_every_question_refuses_nonsense_with_what_it_expects(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        for nonsense in ("zzz nonsense", "\x00", "[]", "12 parsecs", None, {"a": "b"}, [["x"]], object()):
            with pytest.raises(Unusable, match=r"^[^\n]+[^.\n]$") as caught:
                understand(question, nonsense)
            said = str(caught.value)
            assert "expected" in said or "write unknown" in said, (question.id, said)
        for word in ("unknown", *(o.id for o in question.options)):
            assert word in expected(question)


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.binary(max_size=4),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=5,
)


def taken_or_refused(question: Question, raw: object) -> tuple[Value | None, str]:
    try:
        return understand(question, raw), ""
    except Unusable as problem:
        return None, str(problem)


@given(ANYTHING | st.from_regex(r"[-+~]?[0-9]{1,4}[.,]?[0-9]{0,3} ?[a-z°%/]{0,5}", fullmatch=True))
def test_anything_at_all_is_understood_or_refused_in_one_readable_line(raw: object) -> None:
    for question in (number("g", 0, 100), number("°C"), YES_NO, SCALE, ONE, SOME):
        value, refused = taken_or_refused(question, raw)
        if value is None:
            assert refused
            assert refused.isprintable()  # nothing that could steer a terminal
        elif isinstance(value, float):
            assert value == round(value, 6)
        else:
            assert understand(question, as_text(value)) == value
