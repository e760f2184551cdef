"""Air, growth and loggers on the screen: golden at three widths, units, prompts, refusals, JSON, the picture."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest
from rindwright.engine.sums import air_salts

from .conftest import Program
from .test_json import shape
from .test_sums_brine import screen
from .test_transcripts import golden

LOG = str(Path(__file__).parents[1] / "sums" / "logger_example.csv")
SCREENS = {
    "sums-air": [
        ("air", "state", "--temperature", "12", "--humidity", "90"),
        ("air", "swing", "--temperature", "12", "--humidity", "90", "--to", "10"),
        ("air", "sweat", "--wheel", "4", "--temperature", "14", "--humidity", "90"),
        ("air", "opening", "--temperature", "12", "--humidity", "90", "--outside", "24", "--outside-humidity", "60"),
        ("air", "wet-bulb", "--dry", "12", "--wet", "11"),
        ("air", "jar", "--salt", "NaCl", "--temperature", "12"),
        ("air", "salts"),
        ("air", "hygrometer", "--reading", "93", "--over", "KCl:88.1", "--over", "K2SO4:98.4"),
        ("air", "gas", "--box", "20"),
        ("air", "room", "--fresh-air", "200"),
        ("air", "room", "--fresh-air", "200", "--lactic", "50"),
        ("air", "drift", "--first", "77.1", "--later", "79", "--days", "60"),
    ],
    "sums-growth": [
        ("growth", "now", "--temperature", "12", "--ph", "5.8", "--salt", "5"),
        ("growth", "now", "listeria", "penicillium_camemberti", "--temperature", "4", "--ph", "4.2", "--salt", "5"),
        ("growth", "wait", "--temperature", "12", "--strip", "4:5.3", "--strip", "7:5.8"),
        ("growth", "race", "--temperature", "12", "--then-salt", "8", "--then-temperature", "10"),
        ("growth", "race", "--rind", "bloomy", "--temperature", "12", "--days", "14"),
        ("growth", "wait", "--rind", "grey_mould", "--temperature", "10"),
        ("growth", "wait", "--rind", "blue", "--temperature", "11", "--strip", "3:4.8", "--strip", "9:5.6"),
        ("growth", "meter", "--reading", "5.09", "--temperature", "12"),
        ("growth", "meter", "--reading", "5.09", "--temperature", "12", "--slope", "54"),
        ("growth", "figures", "debaryomyces_hansenii"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("columns", [40, 80, 120])
@pytest.mark.parametrize("name", SCREENS)
def test_screens(name: str, columns: int) -> None:
    shown = []
    for arguments in SCREENS[name]:
        out = screen(*arguments, columns=columns)
        assert "\x1b" not in out
        shown.append(f"$ rindwright sums {' '.join(arguments)}\n{out}")
    text = "\n".join(shown)
    assert max(len(line) for line in text.splitlines() if not line.startswith("$")) <= columns
    golden(f"{name}-{columns}", text)


@pytest.mark.parametrize("columns", [40, 80, 120])
def test_logger_screen(program: Program, columns: int, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_bytes(Path(LOG).read_bytes())
    done = program(
        "sums", "logger", "log.csv", "--cold", "11", "--warm", "13", "--dry", "88", "--salted", "2025-02-20",
        "--salt-check", "2025-03-01", "KCl", "87", columns=columns,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert max(len(line) for line in done.stdout.splitlines()) <= columns
    golden(f"sums-logger-{columns}", done.stdout)


def test_units_change_nothing() -> None:
    plain = screen("air", "state", "--temperature", "10", "--humidity", "90", "--json")
    for warm in ("10C", "50F", "50 °F", "283.15 K"):
        assert screen("air", "state", "--temperature", warm, "--humidity", "90%", "--json") == plain


def test_what_is_missing_is_asked_for(program: Program) -> None:
    typed = "54F\nninety\n90\n"
    done = program("sums", "air", "state", typed=typed)
    assert done.returncode == 0
    assert "How warm is the air?" in done.stderr
    assert 'does not take "ninety"' in done.stderr
    assert "Dew point" in done.stdout
    asked = program("sums", "air", "hygrometer", "--reading", "93", typed="sugar:88\nKCl:88.1\n")
    assert 'There is no salt "sugar" here' in asked.stderr
    assert "Corrected: 91.3 %" in asked.stdout
    assert program("sums", "air", "state", typed="12\n").returncode == 2


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("air", "state", "--temperature", "80", "--humidity", "90"), "expected 0 to 40 °C"),
        (("air", "state", "--temperature", "12", "--humidity", "950"), "expected 1 to 100 %"),
        (("air", "jar", "--salt", "kcll", "--temperature", "12"), 'did you mean "kcl"?'),
        (("growth", "now", "brevi", "--temperature", "12", "--ph", "6"), "Brevibacterium aurantiacum; name one"),
        (("growth", "now", "--temperature", "12", "--ph", "60"), "expected 3 to 10"),
        (("growth", "race", "--temperature", "12", "--days", "999"), "expected 1 to 120 days"),
        (("growth", "wait", "--temperature", "12", "--strip", "6"), "expected a day and a pH, such as 6:5.4"),
        (("growth", "now", "--temperature", "12", "--ph", "6", "--salt", "5", "--activity", "0.97"), "not both"),
        (("growth", "meter", "--reading", "5", "--temperature", "12", "--slope", "5"), "expected 10 to 70 mV"),
        (("air", "room", "--fresh-air", "0"), "without any it never settles"),
        (("logger", "gone.csv"), "gone.csv does not exist."),
        (("logger", "."), ". is a folder; expected a logger's CSV file."),
        (("logger", LOG, "--warm", "5"), "expected the lower limit first"),
        (("logger", LOG, "--picture", "x.png"), "expected a name that ends in .svg"),
        (("logger", LOG, "--zone", "Europe/Nowhere"), 'There is no zone "Europe/Nowhere"'),
        (("logger", LOG, "--salted", "spring"), "expected a date such as 2025-03-01"),
        (("logger", LOG, "--salt-check", "2025-03-01", "sugar", "88"), 'There is no salt "sugar"'),
    ],
)  # fmt: skip
def test_refusals_are_one_sentence(program: Program, arguments: tuple[str, ...], sentence: str) -> None:
    done = program("sums", *arguments)
    assert done.returncode in (2, 3)
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_json_of_every_sum_names_formula_and_source() -> None:
    for arguments in [a for screens in SCREENS.values() for a in screens] + [("logger", LOG)]:
        # A figure that is no number would not be JSON, and is refused here.
        found = json.loads(screen(*arguments, "--json"), parse_constant=pytest.fail)
        jsonschema.validate(found, shape("sums"))
        assert found["schema"] == "rindwright-sums/1"
        if arguments[:2] != ("growth", "figures"):
            assert found["formulas"]
        for formula in found["formulas"]:
            assert formula["reference"]
        if arguments[0] == "growth":
            assert "never show that it is safe" in found["caution"]


def test_an_aired_room_settles_at_what_is_given_off_over_what_comes_in() -> None:
    few, many = (json.loads(screen(*a, "--json"))["result"] for a in SCREENS["sums-air"] if a[1] == "room")
    for found, above in ((few, False), (many, True)):
        assert found["dioxide_ppm"] == pytest.approx(420 + 1e6 * found["dioxide_l_per_h"] / 200, abs=0.01)
        assert found["above_limit"] is above
    box = json.loads(screen("air", "gas", "--box", "20", "--lactic", "4", "--json"))["result"]
    assert box["dioxide_g"] == pytest.approx(4 * 1.4657, abs=0.001)
    assert few["dioxide_l_per_h"] == pytest.approx(box["dioxide_litres"] * 15 / 4 / 24, abs=1e-5)


def test_height_above_the_sea_names_its_formula() -> None:
    for arguments in (SCREENS["sums-air"][0], SCREENS["sums-air"][4]):
        assert "Air pressure by altitude" in screen(*arguments, "--formula")


def test_a_jar_and_a_hygrometer_half_a_degree_apart() -> None:
    assert "half a degree apart is 3 % wrong at 95 %" in " ".join(screen("air", "salts").split())
    assert air_salts.error_of_temperature_pct(95, 12, 0.5) == pytest.approx(3.178, abs=0.05)


def test_a_meter_s_slope_is_held_against_a_perfect_one() -> None:
    _, slope = json.loads(
        screen("growth", "meter", "--reading", "5", "--temperature", "12", "--set-to", "12", "--slope", "54", "--json")
    )["result"]
    assert slope["perfect_mv"] == pytest.approx(56.57987, abs=0.005)
    assert slope["share_pct"] == pytest.approx(100 * 54 / 56.57987, abs=0.01)


def test_no_growth_screen_calls_anything_safe() -> None:
    for arguments in SCREENS["sums-growth"]:
        text = " ".join(screen(*arguments).split())
        for sentence in text.replace(":", ".").split("."):
            if "safe" in sentence:
                allowed = ("never show that it is safe", "nothing about safety", "no sign of safety")
                assert any(words in sentence for words in allowed)
        assert "Caution:" in text


def test_a_log_comes_through_a_pipe_and_out_as_a_picture(program: Program, tmp_path: Path) -> None:
    data = Path(LOG).read_bytes()
    piped = program("sums", "logger", "-", "--no-plot", typed=data)
    named = program("sums", "logger", LOG, "--no-plot", "--picture", "week.svg")
    assert [line for line in named.stdout.splitlines() if line != "Picture: week.svg"] == piped.stdout.splitlines()
    picture = ET.fromstring((tmp_path / "week.svg").read_text(encoding="utf-8"))
    assert picture.tag.endswith("svg")
    words = " ".join(t.text or "" for t in picture.iter() if t.tag.endswith(("text", "title", "desc")))
    for said in ("Temperature, °C", "Humidity, %", "24 readings", "2.0 hours in 1 spell", "the cheese sweats"):
        assert said in words
    assert len([p for p in picture.iter() if p.tag.endswith("polyline")]) == 4  # a gap parts each line
    long = program("sums", "logger", _week(tmp_path / "week.csv"), "--no-plot", "--picture", "days.svg")
    assert long.returncode == 0, long.stderr
    drawn = (tmp_path / "days.svg").read_text(encoding="utf-8")
    assert ">03-05<" in drawn
    again = program("sums", "logger", LOG, "--picture", "week.svg")
    assert again.returncode == 3
    assert "is there already" in again.stderr


def _week(path: Path) -> str:
    """An invented week: dry by day, moist by night, one reading an hour."""
    rows = "".join(
        f"2025-03-{day:02d} {hour:02d}:00;{15.5 if 7 <= hour < 19 else 12};{82 if 7 <= hour < 19 else 94}\n"
        for day in range(1, 9)
        for hour in range(24)
    )
    path.write_text("time;temperature °C;humidity %\n" + rows, encoding="utf-8")
    return path.name


def test_a_log_counts_in_a_questionnaire_only_after_a_yes(program: Program, tmp_path: Path) -> None:
    file = _week(tmp_path / "week.csv")
    taken = "week.csv: 2025-03-02 00:00 to 2025-03-08 23:00, 168 readings"
    for reply in ("yes", "no"):
        done = program("ask", "--logger", file, "--name", reply, typed=f"1\n4\n20\n{reply}\nleave\n")
        assert done.returncode == 0, done.stderr
        assert taken.replace(":", ",", 1) in " ".join(done.stdout.split())
        assert "What does the hygrometer say, in percent? 88 %" in done.stdout
        kept = json.loads(program("past", "show", reply, "--json").stdout)
        assert ("humidity_pct" in {answer[0] for answer in kept["answers"]}) == (reply == "yes")
        assert kept["measured"] == ([taken] if reply == "yes" else [])
    again = program("ask", "--resume", "yes", typed="leave\n")
    assert 'Going on with "yes": 10 answers so far.' in again.stdout
    assert json.loads(program("past", "show", "yes", "--json").stdout)["measured"] == [taken]


def test_a_log_that_cannot_answer_leaves_the_questionnaire_going(program: Program, tmp_path: Path) -> None:
    (tmp_path / "short.csv").write_text("time;°C\n2025-03-01 00:00;12\n2025-03-01 01:00;12\n", encoding="utf-8")
    done = program("ask", "--logger", "short.csv", typed="1\n4\n20\nleave\n")
    assert done.returncode == 0
    assert "expected at least 24" in done.stdout
    assert "What do you notice?" in done.stdout
    for file, sentence in (("gone.csv", "gone.csv does not exist."), ("-", "expected the name of its file")):
        refused = program("ask", "--logger", file, typed="1\n")
        assert refused.returncode == 3
        assert sentence in refused.stderr


def test_a_file_s_own_silence_can_be_broken_in_weigh_too(program: Program, tmp_path: Path) -> None:
    rows = "".join(f"03/0{4 + h // 24}/2025 {h % 24:02d}:00;54;92\n" for h in range(30))
    (tmp_path / "us.csv").write_text("time;temp;rh\n" + rows, encoding="utf-8")
    refused = program("weigh", "-", "--logger", "us.csv", typed="{}")
    assert "--unit F" in refused.stderr
    told = ("--unit", "F", "--date-order", "mdy", "--zone", "America/New_York")
    done = program("weigh", "-", "--json", "--logger", "us.csv", *told, typed="{}")
    found = json.loads(done.stdout)["logger"]
    assert found["answers"]["temp_low_c"] == 12.2
    assert found["period"] == "2025-03-04 00:00 to 2025-03-05 05:00, 30 readings"
