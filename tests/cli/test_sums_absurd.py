"""Every sum, every option, absurd input: one sentence with the range, or a sound result; and what a maker meets first.

A new command or option that is missing from the table below fails the first test.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from rindwright.cli.main import cli
from rindwright.cli.status import Status
from rindwright.cli.sums.menu import sums
from rindwright.engine.errors import RindwrightError

LOG = str(Path(__file__).parents[1] / "sums" / "logger_example.csv")
SIZE = {"--height": "8", "--diameter": "18"}
BRINE = {"--temperature": "12"}
SOUND: dict[str, dict[str, str]] = {
    "brine strength": {"--strength": "76 sal", "--read-at": "15"} | BRINE,
    "brine make": {"--strength": "20 % w/w", "--litres": "10"} | BRINE,
    "brine change": {"--brine": "50kg", "--now": "17 % w/w", "--to": "20 % w/w"} | BRINE,
    "brine restore": {"--brine": "8L", "--now": "17 % w/w", "--fill-to": "10L", "--to": "20 % w/w"} | BRINE,
    "brine used": {"--brine": "50kg", "--strength": "20 % w/w", "--cheese": "10", "--uptake": "1.5"} | BRINE,
    "brine match": {"--brine": "10L", "--strength": "20 % w/w", "--ph": "6.5", "--cheese-ph": "5.2",
                    "--cheese-salt": "3"} | BRINE,
    "brine calcium": {"--brine": "10kg", "--share": "0.1", "--liquid": "32", "--salt": "20"},
    "brine acid": {"--litres": "10", "--ph": "5.2", "--alkalinity": "2.5", "--product": "5"},
    "brine wash": {"--salt-per-litre": "30", "--water": "900", "--vinegar": "10", "--whey": "100", "--beer": "5",
                   "--wine": "5", "--spirit": "5"},
    "brine mix": {"--strong": "22 % w/w", "--weak": "0", "--to": "18 % w/w", "--amount": "10"} | BRINE,
    "brine blend 10kg:22%w/w 5kg:10%w/w": BRINE,
    "salt brining": SIZE | {"--salt": "1.8", "--brine": "20 % w/w", "--moisture": "45", "--temperature": "12"},
    "salt uptake": SIZE | {"--hours": "20", "--brine": "20 % w/w", "--moisture": "45", "--temperature": "12"},
    "salt dry": SIZE | {"--weight": "2000", "--salt": "1.8", "--moisture": "45", "--temperature": "12"},
    "salt evenness": SIZE | {"--salted": "24", "--since": "10", "--temperature": "12"},
    "salt cheese": {"--moisture": "52.5", "--salt": "2.5", "--fat": "23", "--ph": "5", "--ash": "4.2", "--npn": "0.4"},
    "salt rind": {"--salt-in-moisture": "5", "--humidity": "95", "--temperature": "12"},
    "air state": {"--temperature": "12", "--humidity": "90", "--altitude": "100"},
    "air swing": {"--temperature": "12", "--humidity": "90", "--to": "10"},
    "air opening": {"--temperature": "12", "--humidity": "90", "--outside": "20", "--outside-humidity": "50",
                    "--exchanged": "50", "--volume": "1000"},
    "air sweat": {"--wheel": "4", "--temperature": "13", "--humidity": "85", "--weight": "2"},
    "air jar": {"--salt": "KCl", "--temperature": "12", "--box": "20", "--humidity": "95", "--cheese-area": "960",
                "--jar-area": "50", "--activity": "0.97", "--grams": "100"},
    "air hygrometer": {"--reading": "91", "--over": "KCl:88.1", "--temperature": "12"},
    "air salts": {"--temperature": "12"},
    "air drift": {"--first": "77.1", "--later": "79", "--days": "60"},
    "air room": {"--fresh-air": "200", "--lactic": "15", "--temperature": "12"},
    "air gas": {"--box": "20", "--lactic": "1", "--temperature": "12"},
    "air wet-bulb": {"--dry": "12", "--wet": "11", "--altitude": "100"},
    "drying weighed 0:2000 7:1960": SIZE | {"--scale": "1", "--temperature": "12"},
    "drying air": {"--temperature": "12", "--humidity": "92", "--activity": "0.97", "--altitude": "100"},
    "drying target": {"--moisture": "45", "--weight": "2000", "--to": "40"},
    "growth list": {},
    "growth figures listeria": {},
    "growth now": {"--temperature": "12", "--ph": "5.8", "--activity": "0.97", "--humidity": "93"},
    "growth wait": {"--temperature": "12", "--activity": "0.97", "--humidity": "93", "--strip": "6:5.4",
                    "--start-ph": "5.1"},
    "growth race": {"--temperature": "12", "--activity": "0.97", "--humidity": "93", "--strip": "6:5.4", "--days": "21",
                    "--then-temperature": "10", "--then-activity": "0.96", "--then-humidity": "90"},
    "growth meter": {"--reading": "5", "--temperature": "12", "--set-to": "25", "--slope": "54"},
    f"logger {LOG}": {"--cold": "11", "--warm": "13", "--dry": "88", "--moist": "95", "--weight": "2", "--last": "1",
                      "--reference": "12", "--salted": "2025-01-01"},
}  # fmt: skip
ELSEWHERE = {
    "brine make": {"--water": "2"},
    "growth now": {"--salt": "5"},
    "salt cheese": {"--sodium": "629"},
    "growth wait": {"--salt": "5"},
    "growth race": {"--salt": "5", "--then-salt": "6"},
    **{name: {"--length": "16", "--width": "16"} for name, options in SOUND.items() if "--diameter" in options},
}
"""Options that exclude one of the above: they replace these."""
REPLACED = {"--water": ("--litres",), "--sodium": ("--salt",), "--length": ("--diameter",), "--width": ("--diameter",),
            "--salt": ("--activity", "--then-activity"), "--then-salt": ("--activity", "--then-activity")}  # fmt: skip
ABSURD = ("-5", "0", "abc", "1e9", "1000000000", "", " ", "5 parsec", "nan", "-inf", "1,000", "9" * 60)
NO_FIGURES = {"--picture", "--zone", "--time-column", "--temperature-column", "--humidity-column", "--organism",
              "--for", "--salt-check"}  # fmt: skip


def leaves(group: click.Group, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from leaves(command, (*path, name))
        else:
            yield (*path, name), command


def run(*arguments: str, typed: str = "") -> tuple[int, str, str, BaseException | None]:
    done = CliRunner().invoke(cli, ["sums", *arguments], input=typed, env={"COLUMNS": "80", "NO_COLOR": "1"})
    return done.exit_code, done.stdout, done.stderr, done.exception


def variants(name: str) -> Iterator[dict[str, str]]:
    yield SOUND[name]
    more = ELSEWHERE.get(name, {})
    if more:
        gone = {other for option in more for other in REPLACED[option]}
        yield {k: v for k, v in SOUND[name].items() if k not in gone} | more


def call(name: str, options: dict[str, str]) -> list[str]:
    return [*name.split(), *(word for pair in options.items() for word in pair)]


def test_every_command_and_every_figure_is_in_the_table() -> None:
    for path, command in leaves(sums):
        names = [name for name in SOUND if tuple(name.split()[: len(path)]) == path]
        assert names, path
        known = {option for name in names for o in variants(name) for option in o}
        for param in command.params:
            if isinstance(param, click.Option) and not param.is_flag and not isinstance(param.type, click.Choice):
                assert param.opts[0] in known | NO_FIGURES, (path, param.opts)


def _sound(problem: BaseException | None, code: int, told: str) -> str:
    """The sentence of a refusal; nothing for a result."""
    if code == 0:
        assert problem is None
        return ""
    # In its own process ``main`` turns these two into one sentence and a code; anything else would be a crash.
    assert isinstance(problem, RindwrightError | SystemExit), problem
    return str(problem) if isinstance(problem, RindwrightError) else told.strip().splitlines()[-1]


@pytest.mark.parametrize("name", SOUND)
def test_absurd_figures_are_refused_in_one_sentence_or_do_no_harm(name: str) -> None:
    for options in variants(name):
        assert run(*call(name, options))[0] == 0, options
        for option in options:
            for absurd in ABSURD:
                code, out, err, problem = run(*call(name, options | {option: absurd}))
                said = _sound(problem, code, err)
                where = (name, option, absurd[:12], code, said or out)
                if code:
                    assert said, where
                    assert "\n" not in said, where
                    assert re.search(r"expected|cannot|does not|no salt|of what|would|keep at most", said), where
                    assert len(said) < 400, where
                    assert not out, where
                else:
                    # A figure beyond all measure never comes through, and none turns into nonsense.
                    assert absurd in ("-5", "0", "1000000000"), where
                    assert not re.search(r"\b(nan|inf)\b|\de\+\d|-\d[\d.]* k?g\b", out), where


def test_out_of_range_names_the_range_and_why() -> None:
    for name, options, sentence in (
        ("brine mix", {"--amount": "-5"}, "The mixture cannot be -5 kg; expected 0.001 to 100000 kg: from a spoonful"),
        ("brine change", {"--brine": "-5"}, "The amount cannot be -5 L; expected 0.001 to 100000 L"),
        ("brine used", {"--temperature": "1000"}, "The temperature cannot be 1000 °C; expected 0 to 100 °C: brine"),
        ("air drift", {"--days": "0.01"}, "expected 1 to 3650 days: a slope needs time"),
        ("air hygrometer", {"--over": "KCl:8.8"}, "expected 66.4 to 105 %: a sensor further off is a broken sensor"),
        ("air gas", {"--lactic": "5kg"}, "expected 0 to 100 g a day: no more cheese finds room in 20 L"),
        ("salt evenness", {"--salted": "0"}, "expected 0.05 to 2400 hours: salting takes minutes to weeks"),
        ("growth meter", {"--reading": "0"}, "pH cannot be 0; expected 2 to 12: cheese and buffers lie between"),
        (f"logger {LOG}", {"--last": "0.001"}, "expected 0.05 to 36500 days: a log holds hours to decades"),
    ):
        code, _, err, problem = run(*call(name, SOUND[name] | options))
        assert code
        assert sentence in _sound(problem, code, err)


# --- what a maker meets first ---------------------------------------------------------------------


def test_every_command_asks_for_what_it_needs_in_plain_words() -> None:
    for path, _ in leaves(sums):
        code, out, err, problem = run(*path)
        if path in (("growth", "list"), ("air", "salts")):
            assert code == 0
            continue
        assert code == Status.USAGE, path
        assert out == ""
        first = err.splitlines()[0]
        assert re.match(r"(How|What|Which|And|The) ", first), (path, first)
        assert "?" in err
        assert " Give " in err.splitlines()[-1]
        assert isinstance(problem, SystemExit)


@pytest.mark.parametrize(
    ("path", "typed", "told"),
    [
        ("brine blend", "10kg:22%w/w 5 kg:10 % w/w\n", "Together 15 kg at 18.00 % by weight."),
        ("growth figures", "listeria\n", "Listeria monocytogenes:"),
        ("logger --no-plot", LOG + "\n", "24 readings, one in 1 hour"),
        ("growth wait --rind blue --strip 3:4.8 --strip 9:5.6", "11\n", "can begin about day 12"),
        ("drying weighed --rind lactic_white_soft", "4\n6.5\n0:150 14:93\n", "about 38 % by day 14"),
        ("drying weighed --rind coated", "8\n18\n0:2000 28:1900\n", "Look for a hole"),
        ("brine make", "20%\n1\n2 qt\n", "1.89 L of brine"),
    ],
)
def test_what_was_asked_for_is_worked_out(path: str, typed: str, told: str) -> None:
    # The size of a cheese is asked height first, weighings before its diameter.
    if "weighed" in path:
        height, diameter, weighings = typed.splitlines()
        typed = f"{height}\n{weighings}\n{diameter}\n"
    code, out, err, problem = run(*path.split(), typed=typed)
    assert code == 0, (err, problem)
    assert told in " ".join(out.split())


@pytest.mark.parametrize(
    ("name", "units"),
    [
        ("brine make", r"lb\) of salt|lb\) of water|US qt|°F"),
        ("brine change", r"lb\) of salt|lb\) of water|lb\) at"),
        ("brine restore", r"lb\) of salt|lb\) of boiled"),
        ("brine used", r"oz\) of salt and|oz\) of water|oz\) of salt to"),
        ("brine calcium", r"oz\) of flakes|oz\) of the anhydrous|oz\) of a"),
        ("brine acid", r"US fl oz\) of vinegar|US fl oz\) first"),
        ("brine wash", r"oz\) of salt|US qt\) of water|US fl oz\) of vinegar"),
        ("brine mix", r"lb\) of the strong|lb\) of the weak"),
        ("salt dry", r"oz\) of salt|oz\) if little|oz\) each|oz\) of it"),
        ("air state", r"Dew point: [\d.]+ °C \([\d.]+ °F\)|°F\) colder"),
        ("air sweat", r"°F\); the cheese|°F\) below it|°F\) Assumed"),
        ("air salts", r"°F"),
        ("drying target", r"lb\) it holds|oz\) less"),
        (f"logger {LOG}", r"°F"),
    ],
)
def test_us_units_stand_beside_every_amount(name: str, units: str) -> None:
    out = " ".join(run(*call(name, SOUND[name]), "--us")[1].split())
    for one in units.split("|"):
        assert re.search(one, out), (one, out)
    assert "°F" not in (plain := run(*call(name, SOUND[name]))[1])
    assert " oz" not in plain


@pytest.mark.parametrize("us", ["2 qt", "2 quarts", "4 pt", "4 pints", "0.5 gal", "8 cups", "64 fl oz"])
def test_a_volume_may_be_said_any_way(us: str) -> None:
    make = ("brine", "make", "--strength", "20 % w/w", "--json", "--litres")
    assert run(*make, us)[1] == run(*make, "1.892705892")[1]
