"""``rindwright sums drying``: weight loss by surface, and what the air takes."""

from __future__ import annotations

import re
from typing import Any

import click

from ...engine.sums import composition, drying, drying_total
from ...engine.sums.kitchen import plainly
from ...engine.sums.shape import of_one_cheese
from ..groups import OrderedGroup
from .edge import AnyParam, Shown, figure, may, needs, shown
from .salt import shape_of, shaped


class WeighingParam(AnyParam):
    """A day and a weight, ``7:590g``."""

    name = "day:weight"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> drying.Weighing:
        """The weighing."""
        if isinstance(value, drying.Weighing):
            return value
        day, colon, weight = str(value).partition(":")
        try:
            if not colon:
                raise ValueError(f'does not take "{value}"')
            return drying.Weighing(figure(day, "days"), figure(weight, "g"))
        except ValueError as problem:
            self.fail(f"{problem}; expected a day and a weight, such as 7:590 or 7:1.3lb.", param, ctx)


_RINDS = (*drying.bands(), *drying_total.styles(), "coated")


@click.group("drying", cls=OrderedGroup)
def command() -> None:
    """Drying: what weighings say, what air takes, weight at a moisture."""


@command.command("weighed")
@click.argument("weighings", nargs=-1, type=WeighingParam())
@shaped
@click.option("--rind", type=click.Choice(_RINDS), default="washed", show_default=True, help="Its kind.")
@may("--scale", "g", "What your scale shows apart.", 1.0)
@may("--temperature", "°C", "Temperature of the air, to say which humidity would fit.", 12.0)
@click.option(
    "--where", type=click.Choice(list(drying.DRAUGHTS)), default="still", show_default=True, help="Where it lies."
)
@shown
def weighed(
    screen: Shown,
    weighings: tuple[drying.Weighing, ...],
    rind: str,
    scale: float,
    temperature: float,
    where: str,
    **size: float | None,
) -> None:
    """Loss in grams per square metre and day. WEIGHINGS are day:weight, such as 0:620 3:608 7:590."""
    while len(weighings) < 2:
        weighings = (*weighings, *_ask(len(weighings)))
    shape = shape_of(size["height"] or 0.0, size["diameter"], size["length"], size["width"])
    found = drying.weighed(weighings, shape, rind if rind in drying.bands() else None, scale)
    of_one_cheese(shape, [w.weight_g for w in weighings])
    # A single step is the whole, which the verdict below speaks of.
    several = len(found.losses) > 1
    lines = [
        f"- Day {plainly(w.from_day)} to {plainly(w.to_day)}: {w.flux_g_m2_day:z.0f} g/m² and day, give or take "
        f"{w.error_g_m2_day:.0f} ({plainly(w.pct_per_day, 2)} % a day)"
        + (". By itself too little to tell on this scale" if several and not w.clear else "")
        for w in found.losses
    ]
    o, b = found.overall, found.band
    if b is None:
        more, in_all, assumed = _in_all(screen, rind, weighings, found)
        screen.result("drying weighed", lines + more, {"weighed": found, "in_all": in_all}, [assumed])
        return
    lines.append(
        f"Over all: {o.flux_g_m2_day:z.0f} g/m² and day. Usual for {screen.prose(b.rind)}: "
        f"{plainly(b.low)} to {plainly(b.high)} ({screen.prose(b.conditions)})."
    )
    lines.append(_VERDICTS[found.verdict] + _TRENDS[found.trend])
    if found.verdict in ("too much", "too little") and rind in drying.MOIST:
        h = drying.DRAUGHTS[where]
        now = drying.humidity_for_flux(o.flux_g_m2_day, temperature, 0.97, h)
        aim = drying.humidity_for_flux((b.low + b.high) / 2, temperature, 0.97, h)
        if now is not None and aim is not None:
            lines.append(f"A bare moist rind loses that much at about {now:.0f} % humidity where it lies ({where}); "
                         f"about {aim:.0f} % would bring it to the middle of the band.")  # fmt: skip
    bands = "the bands are estimates; your own sound cheeses are the better measure"
    screen.result("drying weighed", lines, found, [bands])


def _in_all(
    screen: Shown, rind: str, weighings: tuple[drying.Weighing, ...], found: drying.Drying
) -> tuple[list[str], object, str]:
    """What the weight lost in all says of a rind without a usual loss by surface."""
    lines = [f"Over all: {found.overall.flux_g_m2_day:z.0f} g/m² and day. For such a rind no usual loss by surface is "
             "known; the share of its weight must tell."]  # fmt: skip
    if rind == "coated":
        coat = drying_total.under_coat(found.overall)
        most = f"{plainly(drying_total.COATED_PCT_WEEK)} %"
        lines.append(f"It loses {plainly(coat.pct_per_week, 2)} % of its weight a week; a closed coat lets through no "
                     f"more than {most}. {_COAT[coat.verdict]}")  # fmt: skip
        return lines, coat, "half a percent a week is a judgement; a sound cheese of your own is the better measure"
    lost = drying_total.lost(weighings, rind)
    aim = screen.weight(lost.aim_g)
    lines.append(f"It has lost {plainly(lost.lost_pct, 3)} % in {plainly(lost.days, 3)} days. "
                 f"A {lost.style.rind} has lost about {plainly(lost.style.lost_pct)} % by day {drying_total.BY_DAY}: "
                 f"yours would then weigh {aim}. {_LOST[lost.verdict]}")  # fmt: skip
    return lines, lost, "the first weighing was on the day it left the mould; the figure is from trials on goat cheese"


_COAT = {
    "too much": "Look for a hole, a crack or a thin edge.",
    "usual": "That is usual.",
    "not clear": "The scale is too coarse for so short a time: weigh again in some weeks.",
}
_LOST = {
    "too much": "It dries too fast: the air is too dry or moves too much.",
    "usual": "That is usual.",
    "too little": "It dries too slowly: the air is too humid or too still.",
    "too early": "Weigh again about that day.",
    "not clear": "That day is past, so it says no more.",
}
_VERDICTS = {
    "too much": "It dries too fast: the air is too dry or moves too much.",
    "usual": "That is usual.",
    "too little": "It hardly dries: the air is too humid or too still, or the rind has closed.",
    "gains weight": "It gains weight: the rind takes up water from the air or from washing.",
    "not clear": "The scale is too coarse for so short a time: weigh again in some days.",
}
_TRENDS = {
    "steady": " It keeps steady.",
    "falling": " It slows down, as a closing rind does.",
    "rising": " It grows: look for cracks, a lost coat, or drier air.",
    "not clear": "",
}


class _Several(AnyParam):
    """Weighings in one line, ``0:620 7:590``."""

    name = "weighings"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The weighings."""
        one = WeighingParam()
        return tuple(one.convert(part, param, ctx) for part in re.split(r"[\s;]+(?=\d+(?:[.,]\d+)?:)", str(value)))


def _ask(have: int) -> tuple[drying.Weighing, ...]:
    """Ask for weighings that are missing."""
    from .edge import Asked

    ask = "The day of each weighing and the weight, such as 0:620 7:590?" if not have else "A later day and weight?"
    option = Asked(["--weighings"], ask=ask, give="them after the command", type=_Several())
    asked: tuple[drying.Weighing, ...] = option.prompt_for_value(click.get_current_context())
    return asked


@command.command("air")
@needs("--temperature", "°C", "How warm is the air?")
@needs("--humidity", "%", "How humid is it?")
@click.option(
    "--where", type=click.Choice(list(drying.DRAUGHTS)), default="still", show_default=True, help="Where it lies."
)
@may("--activity", "", "Water activity of the rind.", 0.97)
@may("--altitude", "m", "Height above the sea.", 0.0)
@click.option("--packed", is_flag=True, help="The cheese lies among its equals and faces no wall.")
@shown
def air(
    screen: Shown, temperature: float, humidity: float, where: str, activity: float, altitude: float, packed: bool
) -> None:
    """What air of a temperature and humidity takes from a wet rind."""
    h_r = 0.0 if packed else drying.RADIATION
    found = drying.evaporation(temperature, humidity, activity, drying.DRAUGHTS[where], h_r, altitude)
    if found.flux_g_m2_day >= 0:
        cooled = screen.degrees(round(found.rind_temperature_c, 1))
        lines = [f"{found.flux_g_m2_day:z.0f} g/m² and day, and the rind stands at {cooled}."]
    else:
        lines = [f"Water settles on the rind: {-found.flux_g_m2_day:z.0f} g/m² and day."]
    lines += [
        f"- Usual for {screen.prose(b.rind)}: {plainly(b.low)} to {plainly(b.high)}" for b in drying.bands().values()
    ]
    screen.result(
        "drying air", lines, found, [f"a bare moist rind of water activity {plainly(activity)}, lying in: {where}"]
    )


@command.command("target")
@needs("--moisture", "%", "How much water is in it now, in percent?")
@needs("--weight", "g", "What does it weigh now?")
@needs("--to", "%", "How much water should be left, in percent?")
@shown
def target(screen: Shown, moisture: float, weight: float, to: float) -> None:
    """The weight at which a drying cheese reaches a moisture."""
    at = composition.weight_at_moisture(moisture, weight, to)
    found = composition.after_loss(moisture, weight, at)
    lines = [
        f"At {screen.weight(at)} it holds {plainly(to)} % water: {screen.weight(weight - at)} less, "
        f"{plainly(found.loss_pct, 2)} % of its weight."
    ]
    screen.result("drying target", lines, (found,))
