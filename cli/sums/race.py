"""``rindwright sums growth`` over time: from when a surface can carry the smear, and who gains on whom."""

from __future__ import annotations

from typing import Any

import click

from ...engine.sums import growth, growth_race
from ...engine.sums.growth_courses import COURSES, RINDS, UNKNOWN, course
from ...engine.sums.growth_own import Line, rise_on
from ...engine.sums.kitchen import plainly
from ..context import screen_width
from .chart import KEYS, track
from .edge import AnyParam, Shown, figure, may, shown
from .surface import ACTIVITY, HUMIDITY, SALT, TEMPERATURE, chosen, water

_STRANGERS = ("penicillium_commune", "mucor_racemosus", "pseudomonas_fluorescens")
_SMEAR = ("brevibacterium_linens", "debaryomyces_hansenii", "geotrichum_candidum", *_STRANGERS)
_USUAL = {
    "smear_soft": _SMEAR,
    "smear_firm": _SMEAR,
    "bloomy": ("penicillium_camemberti", "debaryomyces_hansenii", "geotrichum_candidum", *_STRANGERS),
    "blue": ("penicillium_roqueforti", *_SMEAR),
}
"""Who races on a kind of rind when nobody is named."""
_RIND = click.option(
    "--rind",
    type=click.Choice(RINDS),
    default="smear_soft",
    show_default=True,
    help="What kind of rind loses its acid; the last four need two strips.",
)


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


@click.command("wait")
@TEMPERATURE
@_RIND
@click.option("--for", "organism", default="brevibacterium_linens", show_default=True, help="What it is to carry.")
@ACTIVITY
@SALT
@HUMIDITY
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
    aw, assumed = water(activity, salt, humidity)
    rise = rise_on(rind, temperature, aw, start_ph, strips)
    found = growth_race.carries(growth.grower(organism), rise, temperature, aw)
    if found.barred_by:
        lines = [f"By the figures at hand {found.name} does not grow there at all: {' and '.join(found.barred_by)}."]
    elif found.days is None:
        lines = [f"The surface does not reach pH {plainly(found.from_ph)} on this course."]
    else:
        early, likely, late = found.days
        lines = [
            f"{found.name} can begin about day {likely:.0f} after salting, between day {early:.0f} and day {late:.0f}.",
            f"Its figures begin at pH {plainly(found.from_ph)}.",
        ]
    assumed += _caveat(rind, rise, strips)
    assumed.append(
        "placed by your strips, each good to 0.3 pH"
        if found.fitted
        else "days by kind of rind are estimates; two strips, --strip 4:5.3 --strip 7:5.8, place the course better"
    )
    screen.result("growth wait", lines, {"carries": found, "rise": rise}, assumed, caution=True)


@click.command("race")
@click.argument("organisms", nargs=-1)
@TEMPERATURE
@_RIND
@ACTIVITY
@SALT
@HUMIDITY
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
    aw, assumed = water(activity, salt, humidity)
    racers = chosen(organisms, _USUAL.get(rind, _SMEAR))
    rise = rise_on(rind, temperature, aw, None, strips)
    before = growth_race.race(racers, rise, temperature, aw, int(days))
    lines = _drawn(before)
    result: dict[str, object] = {"race": before}
    if any(x is not None for x in (then_temperature, then_activity, then_salt, then_humidity)):
        if rind in UNKNOWN:
            known = ", ".join(c.id for c in COURSES)
            raise click.UsageError(
                f"What a change would do can be followed for {known}: your own readings speak of the cheese as it was."
            )
        kind = course(rind)
        changed = then_activity is not None or then_salt is not None
        wet = (then_activity, then_salt) if changed else (activity, salt)
        aw_2, assumed_2 = water(*wet, humidity if then_humidity is None else then_humidity)
        warm_2 = temperature if then_temperature is None else then_temperature
        # Strips speak of the cheese as it was: under other conditions only the estimate is left to both.
        first = growth_race.race(racers, growth_race.rise(kind, temperature, aw), temperature, aw, int(days))
        after = growth_race.race(racers, growth_race.rise(kind, warm_2, aw_2), warm_2, aw_2, int(days))
        gains = growth_race.compare(first, after)
        lines.append(f"With {screen.degrees(warm_2)} and water activity {aw_2:.3f} instead:")
        lines += [f"- {_gain(g)}" for g in gains]
        result |= {"after": after, "gains": gains}
        assumed += [a for a in assumed_2 if a not in assumed]
    assumed += _caveat(rind, rise, strips)
    acid = "your own readings" if isinstance(rise, Line) else "the usual course of the rind"
    assumed.append(f"progress in days of an organism's own best growth; acid by {acid}: estimates")
    screen.result("growth race", lines, result, assumed, caution=True)


def _caveat(rind: str, rise: growth_race.PhOverTime, strips: tuple[tuple[float, float], ...]) -> list[str]:
    """What must be known of the course that was drawn."""
    if isinstance(rise, Line):
        own = "a straight line through your own readings, and level before the first of them"
        if rind in UNKNOWN:
            return [own]
        return [f"{own}: the usual course of a {course(rind).name} does not pass through them"]
    caveat = course(rind).caveat
    return [caveat] if caveat and not strips else []


def _gain(g: growth_race.Gain) -> str:
    if g.factor is None:
        return f"{g.name}: {'grows now' if g.after_days > 0 else 'grows in neither'}"
    return f"{g.name}: {100 * g.factor:.0f} % as far ({g.before_days:.1f} to {g.after_days:.1f} days of best growth)"


def _drawn(race: growth_race.Race) -> list[str]:
    lines = [
        f"- {key}: {r.name}{', estimates' if r.estimate else ''}: {r.progress[-1]:.1f} days of best growth by day "
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
