"""The commands for brine, salt and drying: units, questions for what is missing, refusals, JSON, golden screens."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import click
import jsonschema
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.cli.main import cli
from rindwright.cli.sums.edge import figure, to_plain
from rindwright.cli.sums.strength import StrengthParam

from .conftest import Program
from .test_json import shape
from .test_transcripts import golden

SCREENS = {
    "strength": ("brine", "strength", "--strength", "20 % of water"),
    "make": ("brine", "make", "--strength", "20 % w/w", "--litres", "10", "--us", "--formula"),
    "change": ("brine", "change", "--brine", "50kg", "--now", "17 % w/w", "--to", "20 % w/w"),
    "restore": ("brine", "restore", "--brine", "40L", "--now", "17% w/w", "--fill-to", "50L", "--to", "20% w/w"),
    "mix": ("brine", "mix", "--strong", "22% w/w", "--weak", "0%", "--to", "3% w/w", "--amount", "2"),
    "blend": ("brine", "blend", "10kg:22%w/w", "5kg:10% w/w"),
    "match": (
        "brine",
        "match",
        "--brine",
        "20L",
        "--strength",
        "18% w/w",
        "--ph",
        "6.1",
        "--cheese-ph",
        "5.2",
        "--new",
    ),
    "used": ("brine", "used", "--brine", "50kg", "--strength", "20% w/w", "--cheese", "10"),
    "wash": ("brine", "wash", "--salt-per-litre", "30", "--water", "900", "--whey", "100"),
    "calcium": ("brine", "calcium", "--brine", "10kg"),
    "acid": ("brine", "acid", "--litres", "10", "--ph", "5.2"),
    "brining": ("salt", "brining", "--height", "8", "--diameter", "18", "--salt", "1.8", "--brine", "20% w/w"),
    "uptake": ("salt", "uptake", "--height", "5", "--length", "18", "--width", "18", "--hours", "6", "--brine", "19Be"),
    "dry": ("salt", "dry", "--height", "3", "--diameter", "11", "--weight", "250", "--salt", "1.8", "--paste", "soft"),
    "evenness": ("salt", "evenness", "--height", "8", "--diameter", "18", "--salted", "24", "--since", "7"),
    "cheese": ("salt", "cheese", "--moisture", "52.5", "--salt", "2.5", "--fat", "23"),
    "label": ("salt", "cheese", "--moisture", "48", "--sodium", "629", "--ph", "5.0"),
    "lab": ("salt", "cheese", "--moisture", "52.5", "--salt", "2", "--ash", "4.2", "--npn", "0.42"),
    "processed": ("salt", "cheese", "--moisture", "50", "--salt", "2", "--ash", "4.5"),
    "rind": ("salt", "rind", "--salt-in-moisture", "17.6", "--humidity", "93"),
    "weighed": ("drying", "weighed", "0:620", "4:608", "7:590", "--height", "4.5", "--diameter", "13"),
    "lactic": (
        "drying",
        "weighed",
        "0:150",
        "14:93",
        "--rind",
        "lactic_white_soft",
        "--height",
        "4",
        "--diameter",
        "6",
    ),
    "air": ("drying", "air", "--temperature", "54F", "--humidity", "85", "--us"),
    "target": ("drying", "target", "--moisture", "52", "--weight", "260", "--to", "50"),
}


def screen(*arguments: str, columns: int = 80) -> str:
    """Standard output of a sum that works out, run inside this process."""
    done = CliRunner().invoke(cli, ["sums", *arguments], env={"COLUMNS": str(columns), "NO_COLOR": "1"})
    assert done.exit_code == 0, (arguments, done.output, done.exception)
    assert done.stderr == ""
    return done.stdout


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_screens(columns: int) -> None:
    told = []
    for arguments in SCREENS.values():
        out = screen(*arguments, columns=columns)
        assert "\x1b" not in out
        assert max(len(line) for line in out.splitlines()) <= columns
        told.append(f"$ rindwright sums {' '.join(arguments)}\n{out}")
    golden(f"sums-brine-{columns}", "\n".join(told))


def test_a_screen_in_its_own_process_is_the_same(program: Program) -> None:
    done = program("sums", *SCREENS["make"])
    assert done.stdout == screen(*SCREENS["make"])
    assert done.stderr == ""


def result(*arguments: str) -> Any:
    found = json.loads(screen(*arguments, "--json"))
    jsonschema.validate(found, shape("sums"))
    return found["result"]


@pytest.mark.parametrize("name", SCREENS)
def test_json_has_the_documented_shape_and_names_its_formulas(name: str) -> None:
    done = json.loads(screen(*SCREENS[name], "--json"))
    jsonschema.validate(done, shape("sums"))
    assert done["formulas"], "every result stands on a formula"
    assert all(f["reference"] for f in done["formulas"])


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("make", {"density_formula"}),
        ("cheese", {"classes_formula"}),
        ("rind", {"activity_formula"}),
        ("weighed", {"area_formula", "g_per_day"}),
        ("acid", {"acid_g"}),
        ("match", {"salt_above_cheese_pct"}),
    ],
)
def test_machines_are_told_every_figure_and_formula_of_a_record(name: str, shown: set[str]) -> None:
    """Nothing else reads these fields: they are there for ``--json`` and ``--formula``."""
    text = screen(*SCREENS[name], "--json")
    assert {key for key in shown if f'"{key}"' in text} == shown


def test_a_label_s_sodium_stands_for_its_salt() -> None:
    """Brie of 629 mg sodium in 100 g, and unripe cheese by the equation of 1990 (check values of the sums)."""
    composed, by_salt, sodium, unripe = result(*SCREENS["label"])
    assert sodium["salt_pct"] == pytest.approx(1.598984, abs=0.002)
    assert composed["salt_in_moisture"] == pytest.approx(100 * sodium["salt_pct"] / 48, abs=1e-4)
    assert unripe["water_activity"] == pytest.approx(0.9719 - 0.0044 * composed["salt_in_moisture"] + 0.0041 * 5)
    said = result("salt", "cheese", "--moisture", "48", "--salt", str(sodium["salt_pct"]))
    assert said[1]["water_activity"] == pytest.approx(by_salt["water_activity"], abs=1e-5)


@pytest.mark.parametrize(
    ("name", "words", "activity"),
    [("lab", "As mould-ripened cheese: 0.961", 0.96124), ("processed", "As processed cheese: 0.966", 0.9663)],
)
def test_ash_and_nitrogen_give_the_activity_of_their_kind(name: str, words: str, activity: float) -> None:
    assert words in screen(*SCREENS[name])
    assert result(*SCREENS[name])[-1]["water_activity"] == pytest.approx(activity, abs=1e-4)


# --- units ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("brine", "make", "--strength", "20% w/w", "--litres", "9.46352946"),
         ("brine", "make", "--strength", "20% w/w", "--litres", "10qt")),
        (("brine", "make", "--strength", "20% w/w", "--litres", "10", "--temperature", "12"),
         ("brine", "make", "--strength", "20% w/w", "--litres", "10 L", "--temperature", "53.6F")),
        (("salt", "dry", "--height", "7.62", "--diameter", "20.32", "--weight", "2267.96185", "--salt", "2"),
         ("salt", "dry", "--height", "3in", "--diameter", "8 inches", "--weight", "5lb", "--salt", "2")),
        (("salt", "evenness", "--height", "8", "--diameter", "18", "--salted", "24", "--since", "7"),
         ("salt", "evenness", "--height", "80mm", "--diameter", "0.18m", "--salted", "1day", "--since", "1 week")),
        (("drying", "weighed", "0:567", "7:538.65", "--height", "4", "--diameter", "12"),
         ("drying", "weighed", "0:20.00033oz", "7:19.00032oz", "--height", "4", "--diameter", "12")),
        (("brine", "strength", "--strength", "230 g/L brine"), ("brine", "strength", "--strength", "23 % w/v")),
        (("brine", "strength", "--strength", "250 g/kg water"), ("brine", "strength", "--strength", "25 % of water")),
    ],
)  # fmt: skip
def test_units_never_change_a_result(one: tuple[str, ...], other: tuple[str, ...]) -> None:
    assert _near(result(*one), result(*other))


def _near(a: Any, b: Any) -> bool:
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(_near(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(_near, a, b))
    return bool(a == pytest.approx(b, rel=1e-4, abs=2e-5)) if isinstance(a, float) else bool(a == b)


@settings(max_examples=40)
@given(st.floats(0.01, 5000), st.sampled_from([("oz", 28.349523125), ("lb", 453.59237), ("kg", 1000.0), ("mg", 0.001)]))
def test_weights_convert_as_defined(value: float, unit: tuple[str, float]) -> None:
    """The international pound is 453.59237 g by definition."""
    assert to_plain(value, unit[0], "g") == pytest.approx(value * unit[1], rel=1e-6, abs=1e-8)


@settings(max_examples=40)
@given(st.floats(-40, 200))
def test_degrees_convert_as_defined(fahrenheit: float) -> None:
    assert to_plain(fahrenheit, "F", "°C") == pytest.approx((fahrenheit - 32) / 1.8, abs=1e-6)


def test_figures_as_they_are_typed() -> None:
    assert figure("12,5 kg", "kg") == 12.5
    assert figure(" 54 °F ", "°C") == pytest.approx(12.2222, abs=1e-3)
    for wrong, sentence in (("1,000", "thousands"), ("ten", "expected a number"), ("5 stone", 'the unit "stone"')):
        with pytest.raises(ValueError, match=sentence):
            figure(wrong, "g")


@given(st.text(max_size=12), st.sampled_from(["g", "°C", "L", "cm", "days", "%", ""]))
def test_any_text_is_a_figure_or_one_sentence(text: str, plain: str) -> None:
    try:
        assert isinstance(figure(text, plain), float)
    except ValueError as problem:
        said = str(problem)
    else:
        return
    assert said.startswith("does not")


@given(st.text(max_size=14))
def test_any_text_is_a_strength_or_one_sentence(text: str) -> None:
    try:
        assert StrengthParam().convert(text, None, None).value >= 0
    except click.BadParameter as problem:
        said = problem.message
    else:
        return
    assert "such as" in said or "thousands" in said


# --- what is missing is asked for -------------------------------------------------------------


def test_missing_figures_are_asked_in_plain_words(program: Program) -> None:
    done = program("sums", "brine", "make", typed="20 %\n3\nlots\n10 L\n")
    assert done.returncode == 0
    assert "How strong should it be?" in done.stderr
    assert 'does not take "lots"' in done.stderr
    assert "20 % of what?" in done.stderr
    # The questions keep out of the way of the result.
    assert done.stdout.startswith("20 %, meant as") or "Dissolve" in done.stdout


def test_percent_of_what_is_asked_only_where_it_matters(program: Program) -> None:
    weak = program("sums", "brine", "make", "--strength", "3%", "--litres", "2")
    assert weak.returncode == 0
    assert "hardly differs" in weak.stdout
    strong = program("sums", "brine", "make", "--strength", "20%", "--litres", "2")
    assert strong.returncode == 2
    assert 'Write "20 % w/w"' in strong.stderr
    assert "Traceback" not in strong.stderr
    told = program("sums", "brine", "make", "--strength", "20%", "--litres", "2", typed="3\n")
    assert "16.67 % by weight" in told.stdout
    # Saturated brine called "35 %" can mean one thing only.
    odd = program("sums", "brine", "make", "--strength", "35%", "--litres", "2")
    assert "can only be grams of salt to 100 g of water" in " ".join(odd.stdout.split())


def test_nobody_to_ask(program: Program) -> None:
    done = program("sums", "drying", "weighed", typed="")
    assert done.returncode == 2
    assert "Give --height" in done.stderr
    assert done.stdout == ""


def test_weighings_are_asked_for(program: Program) -> None:
    done = program("sums", "drying", "weighed", "--height", "4.5", "--diameter", "13", typed="0:620\n7:590\n")
    assert done.returncode == 0
    assert "It dries too fast" in done.stdout
    at_once = program("sums", "drying", "weighed", "--height", "4.5", "--diameter", "13", typed="0=7\n0:620; 7:590\n")
    assert "such as 7:590" in at_once.stderr
    assert at_once.stdout == done.stdout


# --- refusals ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "code", "sentence"),
    [
        (("brine", "make", "--strength", "30% w/w", "--litres", "2"), 3, "holds no more"),
        (("brine", "make", "--strength", "20 grapes", "--litres", "2"), 2, 'does not know "grapes"'),
        (("brine", "make", "--strength", "20% w/w", "--litres", "2", "--water", "1"), 2, "not both"),
        (("brine", "make", "--strength", "20% w/w", "--litres", "-2"), 3, "expected 0.001 to 100000 L: from a"),
        (("brine", "calcium", "--brine", "10 buckets"), 2, "an amount such as 10 L"),
        (("brine", "acid", "--litres", "10", "--ph", "9"), 3, "expected 4 to 6.5"),
        (("salt", "brining", "--height", "8", "--diameter", "18", "--length", "3", "--salt", "2", "--brine", "20% w/w"),
         2, "Give --diameter for a wheel"),
        (("salt", "cheese", "--moisture", "5", "--salt", "2"), 3, "expected 20 to 90 %"),
        (("salt", "cheese", "--moisture", "50", "--salt", "2", "--sodium", "629"), 2, "--salt or --sodium, not both"),
        (("salt", "cheese", "--moisture", "50", "--salt", "2", "--npn", "0.4"), 2, "Give --ash with --npn"),
        (("salt", "cheese", "--moisture", "50", "--sodium", "9000"), 3, "expected 0 to 5000 mg"),
        (("drying", "weighed", "0=7", "--height", "4", "--diameter", "9"), 2, "such as 7:590"),
        (("drying", "weighed", "0:500", "0:490", "--height", "4", "--diameter", "9"), 3, "two on different days"),
        (("drying", "air", "--temperature", "90C", "--humidity", "80"), 3, "expected 0 to 40 °C"),
        (("bryne",), 2, "bryne"),
        (("brine", "blend", "10kg"), 2, "an amount and a strength"),
    ],
)  # fmt: skip
def test_refusals_are_one_sentence(program: Program, arguments: tuple[str, ...], code: int, sentence: str) -> None:
    done = program("sums", *arguments)
    assert done.returncode == code, done.stderr
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert done.stdout == ""


# --- cost and caution ----------------------------------------------------------------------------


def opened(*arguments: str) -> set[str]:
    """Modules that a command opens."""
    code = (
        "import sys\n"
        f"sys.argv = ['rindwright', *{list(arguments)!r}]\n"
        "from rindwright.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('\\n'.join(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


def test_starting_opens_neither_pint_nor_scipy() -> None:
    for arguments in (
        ("--help",),
        ("sums", "--help"),
        ("sums", "brine", "make", "--strength", "20% w/w", "--litres", "2"),
    ):
        assert not opened(*arguments) & {"pint", "scipy", "CoolProp", "psychrolib", "pydantic", "experta"}
    assert "pint" in opened("sums", "brine", "make", "--strength", "20% w/w", "--litres", "2qt")


@pytest.mark.parametrize("name", ["cheese", "rind", "wash", "acid", "match"])
def test_figures_that_touch_health_point_to_the_screen(name: str) -> None:
    told = " ".join(screen(*SCREENS[name]).split())
    assert "never show that it is safe" in told
    assert "rindwright ask" in told
    assert json.loads(screen(*SCREENS[name], "--json"))["caution"]
