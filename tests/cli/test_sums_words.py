"""What a sum says agrees with what it was told: the input that is at fault is named, and no two lines contradict."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.salt import rind_balance
from rindwright.engine.sums.shape import Shape, block, of_one_cheese, wheel

from .test_sums_absurd import run


def said(*arguments: str) -> tuple[int, str]:
    code, out, err, problem = run(*arguments)
    return code, " ".join((out if code == 0 else f"{err} {problem}").split())


# --- growth ---------------------------------------------------------------------------------------


def test_strips_are_never_contradicted() -> None:
    wait = ("growth", "wait", "--temperature", "12")
    for strips in (("1:5.4", "30:5.4"), ("6:5.9", "12:5.4")):
        code, text = said(*wait, *(word for s in strips for word in ("--strip", s)))
        assert code
        assert "do not show a rise" in text
        assert "begin about day" not in text
    code, text = said(*wait, "--strip", "6:5.4", "--strip", "12:5.8", "--strip", "20:6.2")
    assert code == 0
    assert "the usual course of a soft smear does not pass through them" in text
    code, text = said("growth", "race", *wait[2:], "--strip", "6:5.4", "--strip", "12:5.8", "--strip", "20:6.2")
    assert "acid by your own readings" in text


# --- logger ---------------------------------------------------------------------------------------


def test_a_log_says_what_it_left_out_and_takes_no_check_it_cannot_use(tmp_path: Path) -> None:
    rows = "".join(f"2025-03-01 {h:02d}:00,12,9{h},3\n" for h in range(4))
    file = tmp_path / "log.csv"
    file.write_text(f"time,temp,hum,volts\n{rows}", encoding="utf-8")
    code, text = said("logger", str(file), "--no-plot")
    assert code == 0
    assert "Humidity: 91.5 % on average" in text
    assert 'Note: Not read: "volts".' in text
    file.write_text(f"time,temp,wert,volts\n{rows}", encoding="utf-8")
    code, text = said("logger", str(file), "--no-plot")
    assert code == 0
    assert 'Not read: "wert" and "volts". If one of them is the humidity, name it: --humidity-column NAME.' in text
    check = ("--salt-check", "2025-03-01", "KCl", "88")
    code, text = said("logger", str(file), "--no-plot", *check)
    assert code
    assert "has no humidity that a salt check could put right" in text
    code, text = said("logger", str(file), "--no-plot", *check, "--humidity-column", "wert")
    assert code == 0
    assert "humidity put right by KCl" in text


def test_help_of_each_column_stands_by_itself() -> None:
    text = run("logger", "--help")[1]
    assert "The same for" not in text
    assert text.index("--time-column") < text.index("--temperature-column") < text.index("--humidity-column")


# --- salt and brine -------------------------------------------------------------------------------


@pytest.mark.parametrize("humidity", [60, 80, 90, 93, 95.5, 96, 97, 98, 99.5])
def test_a_hygrometer_matters_where_its_error_changes_the_answer(humidity: float) -> None:
    found = rind_balance(5, humidity)
    around = {rind_balance(5, min(100.0, max(40.0, humidity + off))).says for off in (-3, 0, 3)}
    if humidity + 3 <= 100:
        assert found.sure == (len(around) == 1)
    text = said("salt", "rind", "--salt-in-moisture", "5", "--humidity", str(humidity))[1]
    assert f"{abs(found.margin_pct):.1f} % apart" in text
    assert ("does not change this" in text) == found.sure
    assert "more than this margin" not in text


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ("brine wash --salt-per-litre 30 --water -5", "The water cannot be -5 mL; expected 0 to 500000 mL"),
        ("brine wash --salt-per-litre 30 --water 0 --whey -5", "The whey cannot be -5 mL"),
        ("brine wash --salt-per-litre -30", "The salt cannot be -30 g to a litre of the liquids"),
        ("brine make --strength 26.3%w/w --litres 10", "expected 0 to 26.29 % by weight: water at 12 °C holds no more, "
         "which is 35.7 g to 100 g of water"),
        ("brine make --strength 26.4%w/w --litres 10 --temperature 0", "holds no more, which is 35.8 g to 100 g"),
    ],
)  # fmt: skip
def test_the_fault_is_named(arguments: str, sentence: str) -> None:
    code, text = said(*arguments.split())
    assert code
    assert sentence in text


def test_a_salometer_of_25_says_what_its_hundred_is() -> None:
    for strength in ("80sal", "25%w/w"):
        text = said("brine", "strength", "--strength", strength, "--salometer-25")[1]
        assert "°Sal (your salometer, 100 is 25 % by weight)" in text
        assert "saturated" not in text
        assert "(salometer, 100 is saturated)" in said("brine", "strength", "--strength", strength)[1]
    assert "- 100 °Sal (your" in said("brine", "strength", "--strength", "25%w/w", "--salometer-25")[1]


# --- weight and size ------------------------------------------------------------------------------

SMALL = ("--height", "4", "--diameter", "14")


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("drying", "weighed", "0:65500", "7:64100", *SMALL),
         "A cheese of 14 x 4 cm cannot weigh 64.1 kg; expected 450 g to 930 g"),
        (("drying", "weighed", "0:65.5", "7:64.1", *SMALL),
         "A cheese of 14 x 4 cm cannot weigh 65.5 g; expected 450 g"),
        (("drying", "weighed", "0:65500", "28:64100", *SMALL, "--rind", "coated"), "cannot weigh 64.1 kg"),
        (("salt", "dry", "--weight", "35000", "--salt", "1.8", *SMALL), "A cheese of 14 x 4 cm cannot weigh 35 kg"),
        (("salt", "dry", "--weight", "35", "--salt", "1.8", "--height", "4", "--length", "10", "--width", "12"),
         "A cheese of 10 x 12 x 4 cm cannot weigh 35 g; expected 345 g to 740 g for that size"),
    ],
)  # fmt: skip
def test_a_weight_goes_with_its_size(arguments: tuple[str, ...], sentence: str) -> None:
    code, text = said(*arguments)
    assert code
    assert sentence in text


@given(
    st.one_of(
        st.builds(wheel, st.floats(2, 120), st.floats(1, 40)),
        st.builds(block, st.floats(2, 120), st.floats(2, 120), st.floats(1, 40)),
    ),
    st.floats(0.9, 1.25),
    st.floats(0.45, 1),
)
def test_no_real_cheese_is_refused_and_a_hundredfold_always_is(shape: Shape, kg_per_litre: float, kept: float) -> None:
    weight = shape.volume_cm3 * kg_per_litre
    of_one_cheese(shape, [weight])
    of_one_cheese(shape, [weight, kept * weight])  # the size is of the first day, or
    of_one_cheese(shape, [weight / kept, weight])  # of the last
    for wrong in (100 * weight, weight / 100):
        with pytest.raises(OutOfRange, match="for that size"):
            of_one_cheese(shape, [wrong])


def test_weighings_that_say_nothing_give_no_verdict_and_the_other_way_round() -> None:
    for second, third in (("651", ""), ("654.9", ""), ("650", ""), ("600", ""), ("654", "3:654.5"), ("651", "3:653")):
        weighings = [w for w in ("0:655", third, f"7:{second}") if w]
        code, text = said("drying", "weighed", *weighings, *SMALL)
        assert code == 0
        verdict = any(v in text for v in ("It dries too fast", "That is usual", "It hardly dries", "It gains"))
        assert verdict != ("too coarse for so short a time" in text)
        if len(weighings) == 2:
            assert "oo little to tell" not in text
    text = said("drying", "weighed", "0:655", "3:653", "7:651", *SMALL)[1]
    assert "By itself too little to tell" in text
