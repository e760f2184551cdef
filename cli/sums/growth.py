"""``rindwright sums growth``: the figures of organisms, and who grows on a surface as it is."""

from __future__ import annotations

import click

from ...engine.sums import growth, growth_ph
from ...engine.sums.ground import sources
from ...engine.sums.growth import Cardinal, Growth, Surface
from ...engine.sums.kitchen import plainly
from ..groups import OrderedGroup
from ..sentences import GRADE_WORDS
from .edge import Asked, Shown, may, needs, shown
from .race import race, wait
from .surface import ACTIVITY, HUMIDITY, SALT, TEMPERATURE, chosen, water

_USUAL = (
    "brevibacterium_linens",
    "debaryomyces_hansenii",
    "geotrichum_candidum",
    "penicillium_commune",
    "mucor_racemosus",
    "pseudomonas_fluorescens",
)
_GUESS = "Shares of an organism's own best rate. They compare; they count nothing."


@click.group("growth", cls=OrderedGroup)
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
@click.argument("organism", required=False)
@shown
def figures(screen: Shown, organism: str | None) -> None:
    """Every figure of an organism, with its grade and source."""
    if organism is None:
        ask = "Which organism? rindwright sums growth list names them."
        option = Asked(["--organism"], ask=ask, give="it after the command", type=str)
        organism = str(option.prompt_for_value(click.get_current_context()))
    one = growth.grower(organism)
    lines = [f"{one.name}:"] + [f"- {_figure(screen, f)}" for f in one.figures.values()]
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


def _figure(screen: Shown, f: Cardinal) -> str:
    warm = f.parameter.startswith("T_")
    value = screen.degrees(f.value) if warm else plainly(f.value)
    spread = "" if f.low == f.high else f" ({plainly(f.low)} to {plainly(f.high)})"
    if spread and warm and screen.us:
        spread = f", from {screen.span(f.low, f.high)}"
    kind = "ESTIMATE" if f.estimate else GRADE_WORDS[f.grade]
    known = sources()
    named = "; ".join(known[s].reference for s in (f.source, *f.also))
    return f"{_PARAMETERS[f.parameter]} {value}{spread}: {kind}. {screen.prose(f.what)}. {named}"


@command.command("now")
@click.argument("organisms", nargs=-1)
@TEMPERATURE
@needs("--ph", "", "What is the pH of the surface?")
@ACTIVITY
@SALT
@HUMIDITY
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
    aw, assumed = water(activity, salt, humidity)
    found = growth.growths(chosen(organisms, _USUAL), Surface(temperature, ph, aw))
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


@command.command("meter")
@needs("--reading", "", "What does the pH meter show?")
@needs("--temperature", "°C", "How warm is the cheese where it was measured?")
@may("--set-to", "°C", "Temperature the meter is set to, without compensation.", 25.0)
@may("--slope", "mV", "Slope that the meter names after calibration, mV for one pH.")
@shown
def meter(screen: Shown, reading: float, temperature: float, set_to: float, slope: float | None) -> None:
    """The pH behind a meter that was not set to the temperature of the cheese."""
    found = growth_ph.true_from_meter(reading, temperature, set_to)
    lines = [
        f"pH {found.true_ph:.2f}: the meter is off by {found.shown_ph - found.true_ph:+z.2f}.",
        "Rinds read no better than 0.1, poorly wetted ones 0.3. Calibrate where it is as cold as the cheese.",
    ]
    assumed = [f"no compensation; the meter is set to {screen.degrees(set_to)}"]
    if slope is None:
        screen.result("growth meter", lines, found, assumed, caution=True)
        return
    worn = growth_ph.slope(slope, set_to)
    share = f"{worn.share_pct:.0f} % of the {worn.perfect_mv:.1f} mV"
    lines += [
        f"Its slope of {plainly(slope, 4)} mV is {share} that a perfect electrode gives at {screen.degrees(set_to)}.",
        "Calibration allows for it; one that keeps falling means a dirty or tired electrode "
        "(common practice, no source).",
    ]
    assumed.append(f"the slope was found in buffers of {screen.degrees(set_to)}")
    screen.result("growth meter", lines, (found, worn), assumed, caution=True)


for _also in (wait, race):
    command.add_command(_also)
