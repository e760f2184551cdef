"""``rindwright sums growth``: who grows on a surface, from when it can carry the smear, and who gains by a change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from ..engine.sums import growth, growth_ph, growth_race
from ..engine.sums.ground import sources, within
from ..engine.sums.growth import Cardinal, Growth, Surface
from ..engine.sums.salt_water import water_activity
from .context import screen_width
from .report import GRADE_WORDS
from .sums_chart import KEYS, track
from .sums_edge import AnyParam, Shown, figure, may, needs, shown

_USUAL = (
    "brevibacterium_linens",
    "debaryomyces_hansenii",
    "geotrichum_candidum",
    "penicillium_commune",
    "mucor_racemosus",
    "pseudomonas_fluorescens",
)
_TEMPERATURE = needs("--temperature", "°C", "How warm is the cheese?")
_ACTIVITY = may("--activity", "", "Water activity of the rind; or give --salt.")
_SALT = may("--salt", "%", "Salt in the water of the rind, grams per 100 g of water.")
_HUMIDITY = may("--humidity", "%", "Humidity of the air; the rind lies between its salt and the air.")
_RIND = click.option(
    "--rind",
    type=click.Choice([c.id for c in growth_race.COURSES]),
    default="smear_soft",
    show_default=True,
    help="What kind of rind loses its acid.",
)
_GUESS = "Shares of an organism's own best rate. They compare; they count nothing."


class Strip(AnyParam):
    """An age and a surface pH, ``6:5.4``."""

    name = "day:pH"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        """The reading."""
        if isinstance(value, tuple):
            return value
        day, colon, ph = str(value).partition(":")
        try:
            if not colon:
                raise ValueError(f'does not take "{value}"')
            return figure(day, "days"), figure(ph, "")
        except ValueError as problem:
            self.fail(f"{problem}; expected a day and a pH, such as 6:5.4.", param, ctx)


_STRIPS = click.option(
    "--strip",
    "strips",
    type=Strip(),
    multiple=True,
    help="A day and a surface pH you read, 6:5.4; two place it better.",
)


@click.group("growth")
def command() -> None:
    """Growth: who may grow, how fast, and who gains."""


@command.command("list")
@shown
def list_(screen: Shown) -> None:
    """Every organism with figures, and how many of them are estimates."""
    lines = []
    for one in growth.growers().values():
        guessed = sum(f.estimate for f in one.figures.values())
        lines.append(f"- {one.id}: {one.name}; {guessed} of {len(one.figures)} figures are estimates")
    every = [{"id": g.id, "name": g.name, "role": g.role} for g in growth.growers().values()]
    screen.result("growth list", lines, every)


@command.command("figures")
@click.argument("organism")
@shown
def figures(screen: Shown, organism: str) -> None:
    """Every figure of an organism, with its grade and source."""
    one = growth.grower(organism)
    lines = [f"{one.name}:"] + [f"- {_figure(f)}" for f in one.figures.values()]
    screen.result("growth figures", lines, one, caution=True)


_PARAMETERS = {
    "T_min": "lowest temperature",
    "T_opt": "best temperature",
    "T_max": "highest temperature",
    "pH_min": "lowest pH",
    "pH_opt": "best pH",
    "pH_max": "highest pH",
    "aw_min": "lowest water activity",
    "mu_opt": "best rate per hour",
    "radial_opt": "best spread of the rim, mm a day",
}


def _figure(f: Cardinal) -> str:
    unit = " °C" if f.parameter.startswith("T_") else ""
    spread = "" if f.low == f.high else f" ({f.low:g} to {f.high:g})"
    kind = "ESTIMATE" if f.estimate else GRADE_WORDS[f.grade]
    known = sources()
    named = "; ".join(known[s].reference for s in (f.source, *f.also))
    return f"{_PARAMETERS[f.parameter]} {f.value:g}{unit}{spread}: {kind}. {f.what}. {named}"


@command.command("now")
@click.argument("organisms", nargs=-1)
@_TEMPERATURE
@needs("--ph", "", "What is the pH of the surface?")
@_ACTIVITY
@_SALT
@_HUMIDITY
@shown
def now(
    screen: Shown,
    organisms: tuple[str, ...],
    temperature: float,
    ph: float,
    activity: float | None,
    salt: float | None,
    humidity: float | None,
) -> None:
    """How fast ORGANISMS may grow on a surface, against their own best. Without names, the usual ones."""
    aw, assumed = _water(activity, salt, humidity)
    found = growth.growths(_chosen(organisms), Surface(temperature, ph, aw))
    lines = []
    for g in found:
        lines += _grown(g)
    screen.result("growth now", lines, found, [*assumed, _GUESS], caution=True)


def _grown(g: Growth) -> list[str]:
    marked = ", estimate" if g.estimate else ""
    spread = f"{100 * g.low:.0f} to {100 * g.high:.0f}"
    lines = [f"- {g.name}: {100 * g.share:.0f} % of its best ({spread}{marked}), held back by {g.held_by}"]
    if g.share == 0 and g.role == "hazard":
        lines[0] = f"- {g.name}: past a published limit for {g.held_by}. Strains and spots differ: no sign of safety"
    elif g.share == 0:
        lines[0] = (
            f"- {g.name}: beyond the limits at hand for {g.held_by} (0 to {100 * g.high:.0f} %{marked}); strains "
            "differ, so this shows nothing about safety"
        )
    more = []
    if g.doubling_hours is not None and g.doubling_hours[1] is not None:
        fast, likely, slow = g.doubling_hours
        more.append(f"doubles in about {_hours(likely)} ({_hours(fast)} to {_hours(slow)})")
    if g.rim_mm_per_day is not None and g.share > 0:
        low, likely, high = g.rim_mm_per_day
        more.append(f"its rim moves {likely:.1f} mm a day ({low:.1f} to {high:.1f})")
    if g.left_out:
        more.append(f"no figures for {' or '.join(g.left_out)}, which counts as no hindrance")
    if more:
        lines[0] += "; " + "; ".join(more)
    return lines


def _hours(hours: float | None) -> str:
    if hours is None:
        return "never"
    return f"{hours:.0f} hours" if hours < 72 else f"{hours / 24:.0f} days"


@command.command("wait")
@_TEMPERATURE
@_RIND
@click.option("--for", "organism", default="brevibacterium_linens", show_default=True, help="What it is to carry.")
@_ACTIVITY
@_SALT
@_HUMIDITY
@_STRIPS
@may("--start-ph", "", "Surface pH when salting ended.")
@shown
def wait(
    screen: Shown,
    temperature: float,
    rind: str,
    organism: str,
    activity: float | None,
    salt: float | None,
    humidity: float | None,
    strips: tuple[tuple[float, float], ...],
    start_ph: float | None,
) -> None:
    """Days until the surface has lost enough acid to carry the smear."""
    aw, assumed = _water(activity, salt, humidity)
    rise = growth_race.rise(growth_race.course(rind), temperature, aw, start_ph, strips)
    found = growth_race.carries(growth.grower(organism), rise, temperature, aw)
    if found.barred_by:
        lines = [f"By the figures at hand {found.name} does not grow there at all: {' and '.join(found.barred_by)}."]
    elif found.days is None:
        lines = [f"The surface does not reach pH {found.from_ph:g} on this course."]
    else:
        early, likely, late = found.days
        lines = [
            f"{found.name} can begin about day {likely:.0f} after salting, between day {early:.0f} and day {late:.0f}.",
            f"Its figures begin at pH {found.from_ph:g}.",
        ]
    assumed.append(
        "placed by your strips, each good to 0.3 pH"
        if found.fitted
        else "days by kind of rind are estimates; two strips, --strip 4:5.3 --strip 7:5.8, place the course better"
    )
    screen.result("growth wait", lines, {"carries": found, "rise": rise}, assumed, caution=True)


@command.command("race")
@click.argument("organisms", nargs=-1)
@_TEMPERATURE
@_RIND
@_ACTIVITY
@_SALT
@_HUMIDITY
@_STRIPS
@may("--days", "days", "How long to follow them.", 21.0)
@may("--then-temperature", "°C", "What if it were this warm instead?")
@may("--then-activity", "", "What if the rind had this water activity instead?")
@may("--then-salt", "%", "What if the rind had this much salt per 100 g of water instead?")
@may("--then-humidity", "%", "What if the air were this humid instead?")
@shown
def race(
    screen: Shown,
    organisms: tuple[str, ...],
    temperature: float,
    rind: str,
    activity: float | None,
    salt: float | None,
    humidity: float | None,
    strips: tuple[tuple[float, float], ...],
    days: float,
    then_temperature: float | None,
    then_activity: float | None,
    then_salt: float | None,
    then_humidity: float | None,
) -> None:
    """Who gains on whom over the days, drawn; with --then-..., what a change would do."""
    aw, assumed = _water(activity, salt, humidity)
    chosen, kind = _chosen(organisms), growth_race.course(rind)
    before = growth_race.race(chosen, growth_race.rise(kind, temperature, aw, None, strips), temperature, aw, int(days))
    lines = _drawn(before)
    result: dict[str, object] = {"race": before}
    if any(x is not None for x in (then_temperature, then_activity, then_salt, then_humidity)):
        changed = then_activity is not None or then_salt is not None
        water = (then_activity, then_salt) if changed else (activity, salt)
        aw_2, assumed_2 = _water(*water, humidity if then_humidity is None else then_humidity)
        warm_2 = temperature if then_temperature is None else then_temperature
        # Strips speak of the cheese as it was: under other conditions only the estimate is left to both.
        first = growth_race.race(chosen, growth_race.rise(kind, temperature, aw), temperature, aw, int(days))
        after = growth_race.race(chosen, growth_race.rise(kind, warm_2, aw_2), warm_2, aw_2, int(days))
        gains = growth_race.compare(first, after)
        lines.append(f"With {screen.degrees(warm_2)} and water activity {aw_2:.3f} instead:")
        lines += [f"- {_gain(g)}" for g in gains]
        result |= {"after": after, "gains": gains}
        assumed += [a for a in assumed_2 if a not in assumed]
    assumed.append("progress in days of an organism's own best growth; acid by the usual course of the rind: estimates")
    screen.result("growth race", lines, result, assumed, caution=True)


def _gain(g: growth_race.Gain) -> str:
    if g.factor is None:
        return f"{g.name}: {'grows now' if g.after_days > 0 else 'grows in neither'}"
    return f"{g.name}: {100 * g.factor:.0f} % as far ({g.before_days:.1f} to {g.after_days:.1f} days of best growth)"


def _drawn(race: growth_race.Race) -> list[str]:
    lines = [
        f"{key} {r.name}{', estimates' if r.estimate else ''}: {r.progress[-1]:.1f} days of best growth by day "
        f"{race.days[-1]}"
        for key, r in zip(KEYS, race.racers, strict=False)
    ]
    end = max((r.progress[-1] for r in race.racers), default=0.0)
    step = max(1, -(-len(race.days) // 12))
    digits = len(str(race.days[-1]))
    width = max(10, screen_width() - 13 - digits)
    apart = "a day" if step == 1 else f"{step} days"
    lines.append(f"Each line is {apart}; left to right 0 to {end:.1f} days of best growth; + is several at once.")
    for k in range(0, len(race.days), step):
        positions = [r.progress[k] for r in race.racers]
        lines.append(f"day {race.days[k]:0{digits}d} pH {race.ph[k]:.1f} {track(positions, end, width)}")
    return lines


def _chosen(organisms: Sequence[str]) -> list[growth.Grower]:
    return [growth.grower(o) for o in dict.fromkeys(organisms or _USUAL)]


def _water(activity: float | None, salt: float | None, humidity: float | None) -> tuple[float, list[str]]:
    """Water activity of a rind from what was given, and what was taken for granted."""
    if activity is not None and salt is not None:
        raise click.UsageError("Give --activity or --salt, not both.")
    said = []
    if salt is not None:
        within("Salt in the rind's moisture", salt, 0, 36, "g to 100 g", "water holds no more")
        aw = water_activity(min(100 * salt / (100 + salt), 26.6))
        said.append(f"water activity {aw:.3f} from {salt:g} g of salt per 100 g of water")
    elif activity is not None:
        aw = activity
    else:
        aw = 0.97
        said.append("water activity 0.97, as of a rind with 5 % salt in its water")
    if humidity is not None:
        low, aw, high = growth_race.rind_water_activity(aw, humidity)
        said.append(f"water activity {aw:.3f}, midway between salt and air ({low:.3f} to {high:.3f}): an estimate")
    return aw, said


@command.command("meter")
@needs("--reading", "", "What does the pH meter show?")
@needs("--temperature", "°C", "How warm is the cheese where it was measured?")
@may("--set-to", "°C", "Temperature the meter is set to, without compensation.", 25.0)
@shown
def meter(screen: Shown, reading: float, temperature: float, set_to: float) -> None:
    """The pH behind a meter that was not set to the temperature of the cheese."""
    found = growth_ph.true_from_meter(reading, temperature, set_to)
    lines = [
        f"pH {found.true_ph:.2f}: the meter is off by {found.shown_ph - found.true_ph:+.2f}.",
        "Rinds read no better than 0.1, poorly wetted ones 0.3. Calibrate where it is as cold as the cheese.",
    ]
    screen.result("growth meter", lines, found, [f"no compensation; the meter is set to {set_to:g} °C"], caution=True)
