"""``rindwright sums air``: dew point, swings, openings, sweating wheels, salt jars, hygrometers."""

from __future__ import annotations

from typing import Any

import click

from ...engine.sums import air, air_changes, air_gases, air_salts, air_wheel
from ...engine.sums.ground import OutOfRange
from ...engine.sums.kitchen import plainly
from ..groups import OrderedGroup
from .edge import AnyParam, Asked, Shown, figure, may, needs, shown

_ALTITUDE = may("--altitude", "m", "Height above the sea.", 0.0)
_TEMPERATURE = needs("--temperature", "°C", "How warm is the air?")
_HUMIDITY = needs("--humidity", "%", "How humid is it?")


class OverSalt(AnyParam):
    """A salt and what a hygrometer read over it, ``KCl:88.1``."""

    name = "salt:reading"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, float]:
        """The salt's formula and the reading."""
        if isinstance(value, tuple):
            return value
        salt, colon, reading = str(value).partition(":")
        try:
            if not colon:
                raise ValueError(f'does not take "{value}"; expected a salt and a reading, such as KCl:88.1')
            return air_salts.salt_named(salt), figure(reading, "%")
        except (ValueError, OutOfRange) as problem:
            self.fail(str(problem), param, ctx)


@click.group("air", cls=OrderedGroup)
def command() -> None:
    """Air: dew point, swings, sweating wheels, salt jars, hygrometers."""


@command.command("state")
@_TEMPERATURE
@_HUMIDITY
@_ALTITUDE
@shown
def state(screen: Shown, temperature: float, humidity: float, altitude: float) -> None:
    """Dew point, water held, wet bulb."""
    found = air.air_state(temperature, humidity, altitude)
    what = "Dew point" if found.dew_point_c >= 0 else "Frost point"
    lines = [
        f"{what}: {screen.degrees(round(found.dew_point_c, 1))}. A surface {screen.apart(found.margin_k)} colder than "
        "the air turns wet.",
        f"- Water in the air: {found.absolute_humidity_g_per_m3:.1f} g/m³, {found.humidity_ratio_g_per_kg:.1f} g per "
        "kg of dry air",
        f"- A wet cloth in a draught cools to {screen.degrees(round(found.wet_bulb_c, 1))}",
        f"- Missing to saturation: {found.deficit_pa:.0f} Pa",
    ]
    screen.result("air state", lines, found)


@command.command("swing")
@_TEMPERATURE
@_HUMIDITY
@needs("--to", "°C", "How warm or cold does it become?")
@shown
def swing(screen: Shown, temperature: float, humidity: float, to: float) -> None:
    """What a change of temperature does to closed air."""
    found = air_changes.swing(temperature, humidity, to)
    lines = [f"At {screen.degrees(to)} the same air stands at {found.humidity_pct:.1f} % humidity."]
    if found.unclipped_pct > 100:
        lines.append(
            f"It passes its dew point, {screen.degrees(round(found.dew_point_c, 1))}: walls, lid and cheese turn wet. "
            f"A sealed box drops {plainly(found.condensed_g_per_m3, 2)} g a cubic metre. Puddles in a box come from "
            "the cheese, not from the air."
        )
    screen.result("air swing", lines, found)


@command.command("opening")
@_TEMPERATURE
@_HUMIDITY
@needs("--outside", "°C", "How warm is the air outside?")
@needs("--outside-humidity", "%", "How humid is it outside?")
@may("--exchanged", "%", "How much of the air is exchanged.", 50.0)
@may("--volume", "L", "How much air the box or room holds.", 1000.0)
@shown
def opening(
    screen: Shown,
    temperature: float,
    humidity: float,
    outside: float,
    outside_humidity: float,
    exchanged: float,
    volume: float,
) -> None:
    """What an open door or lid does."""
    found = air_changes.opening(temperature, humidity, outside, outside_humidity, exchanged, volume / 1000)
    way = "brings in" if found.water_g >= 0 else "carries out"
    lines = [
        f"Just after: {screen.degrees(round(found.temperature_c, 1))} and {found.humidity_pct:.0f} % humidity.",
        f"- It {way} {plainly(abs(found.water_g), 2)} g of water",
        f"- What is colder than {screen.degrees(round(found.wets_colder_than_c, 1))} turns wet",
    ]
    if temperature < found.wets_colder_than_c:
        lines.append("The cheese is colder than that: it sweats until it has warmed or the air has dried.")
    assumed = [
        f"{plainly(exchanged)} % of {screen.litres(volume)} is exchanged; walls and cheese then bring the air back"
    ]
    screen.result("air opening", lines, found, assumed)


@command.command("wet-bulb")
@needs("--dry", "°C", "What does the dry thermometer read?")
@needs("--wet", "°C", "And the wet one?")
@click.option(
    "--airing",
    type=click.Choice(["draught", "wall", "still"]),
    default="wall",
    show_default=True,
    help="How the wet one is aired: whirled or fanned, hung on a wall, or in still air.",
)
@_ALTITUDE
@shown
def wet_bulb(screen: Shown, dry: float, wet: float, airing: str, altitude: float) -> None:
    """Humidity from a dry and a wet thermometer."""
    every = {a: air.humidity_from_psychrometer_pct(dry, wet, a, altitude) for a in ("draught", "wall", "still")}
    lines = [
        f"Humidity: {every[airing]:.1f} %.",
        "The airing matters most: " + ", ".join(f"{a} {h:.1f} %" for a, h in every.items()) + ".",
    ]
    result: dict[str, object] = {"humidity_pct": every[airing], "by_airing_pct": every, "formula": air.PSYCHROMETER}
    result["pressure_formula"] = air.ALTITUDE
    screen.result("air wet-bulb", lines, result, [f"aired by: {airing}"])


@command.command("sweat")
@needs("--wheel", "°C", "How cold is the cheese?")
@_TEMPERATURE
@_HUMIDITY
@may("--weight", "kg", "What the cheese weighs.", 2.0)
@shown
def sweat(screen: Shown, wheel: float, temperature: float, humidity: float, weight: float) -> None:
    """Whether a cold cheese sweats in warmer air, and for how long."""
    found = air_wheel.sweat(wheel, temperature, humidity, air_wheel.usual_time_constant_h(weight))
    dew = screen.degrees(round(found.dew_point_c, 1))
    if not found.sweats:
        lines = [
            f"It stays dry: the dew point is {dew}, and the cheese is {screen.apart(-found.short_of_dew_k)} above it."
        ]
    else:
        until = (
            "for good: this air is saturated" if found.wet_hours is None else f"for about {found.wet_hours:.1f} hours"
        )
        lines = [
            f"It sweats {until}.",
            f"- The dew point is {dew}; the cheese is {screen.apart(found.short_of_dew_k)} below it",
            f"- Let it warm wrapped, until it is above {screen.degrees(round(found.safe_start_c, 1))}",
        ]
    assumed = [
        f"a cheese of {screen.kg(weight)} follows the air with a time constant of {found.time_constant_h:.1f} hours"
    ]
    screen.result("air sweat", lines, found, assumed)


@command.command("jar")
@needs("--salt", "", "Which salt: NaCl, KCl, K2SO4, MgCl2, K2CO3 or NaBr?", type=str)
@_TEMPERATURE
@may("--box", "L", "What the box holds.", 20.0)
@may("--humidity", "%", "Humidity in the box before.", 95.0)
@may("--cheese-area", "cm2", "Surface of all the cheese.", 960.0)
@may("--jar-area", "cm2", "Mouth of the jar.", 50.0)
@may("--activity", "", "Water activity of the rind.", 0.97)
@may("--grams", "g", "Salt in the jar.", 100.0)
@shown
def jar(
    screen: Shown,
    salt: str,
    temperature: float,
    box: float,
    humidity: float,
    cheese_area: float,
    jar_area: float,
    activity: float,
    grams: float,
) -> None:
    """What a jar of wet salt does to a closed box with cheese."""
    found = air_wheel.jar_in_box(salt, temperature, box, humidity, cheese_area, jar_area, activity, grams)
    lines = [
        f"Alone in the box it would hold {found.jar_alone_pct:.1f} % (give or take {found.uncertainty_pct:.1f}).",
        f"Against the cheese the air settles near {found.settles_pct:.0f} %: the larger wet surface wins.",
        f"- The air itself holds only {plainly(abs(found.air_water_g), 2)} g of the difference; the rest comes from "
        "the cheese, day after day",
    ]
    if found.takes_water_g is not None:
        lines.append(
            f"- {screen.grams(grams)} of salt can bind "
            f"{screen.grams(found.takes_water_g, f'{found.takes_water_g:.0f} g')} of water; "
            "keep solid salt in the jar"
        )
    assumed = [
        f"{plainly(cheese_area)} cm² of cheese at water activity {plainly(activity)}, a jar of "
        f"{plainly(jar_area)} cm², no fan: an estimate"
    ]
    screen.result("air jar", lines, found, assumed)


@command.command("salts")
@may("--temperature", "°C", "Temperature of jar and hygrometer.", 12.0)
@shown
def salts(screen: Shown, temperature: float) -> None:
    """Humidity over saturated salts, to check a hygrometer with."""
    points = [air_salts.salt_point(s, temperature) for s in air_salts.NAMES]
    lines = [
        f"- {p.salt}, {air_salts.NAMES[p.salt][0]}: {p.humidity_pct:.1f} %, give or take "
        f"{p.uncertainty_pct:.1f}: {p.use}"
        for p in points
    ]
    wrong = air_salts.error_of_temperature_pct(95, temperature, 0.5)
    lines += [
        "Use a slush with solid salt left in it. Salt, air and hygrometer share one temperature: half a degree apart "
        f"is {wrong:.0f} % wrong at 95 %. A small sensor needs 20 minutes, a dial an hour, a cheap logger a night."
    ]
    screen.result("air salts", lines, points, [f"jar and hygrometer at {screen.degrees(temperature)}"])


@command.command("hygrometer")
@needs("--reading", "%", "What does the hygrometer say now?")
@click.option(
    "--over", type=OverSalt(), multiple=True, help="A salt and the reading over it, KCl:88.1; a second corrects better."
)
@may("--temperature", "°C", "Temperature of the jar.", 12.0)
@shown
def hygrometer(screen: Shown, reading: float, over: tuple[tuple[str, float], ...], temperature: float) -> None:
    """Put a reading right by one salt or two."""
    if len(over) > 2:
        raise click.UsageError("Give --over once or twice; expected no more than two salts.")
    if not over:
        option = Asked(["--over"], ask="What did it say over a salt? Such as KCl:88.1.", type=OverSalt())
        over = (option.prompt_for_value(click.get_current_context()),)
    points = [air_salts.salt_point(salt, temperature) for salt, _ in over]
    readings = [r for _, r in over]
    if len(over) == 1:
        found = air_salts.correct_by_one(reading, points[0].humidity_pct, readings[0], points[0].uncertainty_pct)
    else:
        found = air_salts.correct_by_two(
            reading,
            (points[0].humidity_pct, points[1].humidity_pct),
            (readings[0], readings[1]),
            max(p.uncertainty_pct for p in points),
        )
    lines = [f"Corrected: {found.humidity_pct:.1f} %, give or take {found.uncertainty_pct:.1f}."]
    lines += [
        f"- Over {p.salt} it should say {p.humidity_pct:.1f} and said {plainly(r)}"
        for p, r in zip(points, readings, strict=True)
    ]
    if found.said:
        lines.append(found.said)
    assumed = [f"the jar stood at {screen.degrees(temperature)}, within {screen.apart(0.2)} of the hygrometer"]
    screen.result("air hygrometer", lines, {"corrected": found, "salts": points}, assumed)


@command.command("drift")
@needs("--first", "%", "What did it say over the salt the first time?")
@needs("--later", "%", "And later, over the same salt?")
@needs("--days", "days", "How many days lay between?")
@shown
def drift(screen: Shown, first: float, later: float, days: float) -> None:
    """How a hygrometer wanders between two checks."""
    found = air_salts.drift(first, later, days)
    lines = [f"It drifts by {found.pct_per_30_days:+z.2f} % humidity in 30 days."]
    lines.append("That is much: check it each month." if found.flagged else "That is little.")
    screen.result("air drift", lines, found)


@command.command("gas")
@needs("--box", "L", "What does the closed box hold?")
@may("--lactic", "g", "Lactic acid that the rinds eat in a day.", 1.0)
@may("--temperature", "°C", "How warm it is.", 12.0)
@shown
def gas(screen: Shown, box: float, lactic: float, temperature: float) -> None:
    """What ripening rinds do to the air of a closed box."""
    found = air_gases.closed_box(lactic, box, temperature)
    lines = [
        f"Carbon dioxide: {plainly(found.dioxide_pct_per_day, 2)} % of the air more each day "
        f"({plainly(found.dioxide_litres, 2)} L)."
    ]
    if found.days_to_half_oxygen is not None:
        lines.append(
            f"- Half of the oxygen is gone after {found.days_to_half_oxygen:.1f} days: open the box before that"
        )
    lines.append("- Humidity may be right and the air still spent. Air a cave before you work in it.")
    screen.result(
        "air gas",
        lines,
        found,
        [f"{screen.grams(lactic)} of lactic acid eaten a day, at {screen.degrees(temperature)}; a tight lid"],
    )


@command.command("room")
@needs("--fresh-air", "L", "How much fresh air comes in, in litres an hour?")
@may("--lactic", "g", "Lactic acid that all the rinds in it eat in a day.", 15.0)
@may("--temperature", "°C", "How warm it is.", 12.0)
@shown
def room(screen: Shown, fresh_air: float, lactic: float, temperature: float) -> None:
    """Where the carbon dioxide of an aired room settles, for who works in it."""
    given = air_gases.dioxide_litres(air_gases.dioxide_given_g(lactic), temperature) / 24
    found = air_gases.aired_room(given, fresh_air)
    usual = f"{air_gases.WORKING_DAY_PPM} ppm, a usual limit for a working day"
    lines = [
        f"Carbon dioxide settles at about {found.dioxide_ppm:.0f} ppm ({plainly(given, 2)} L an hour from the rinds)."
    ]
    if found.above_limit:
        lines.append(f"That is above {usual}: bring in more air before anyone works there.")
    else:
        lines.append(f"Compare {usual}; your own law decides. It is no sign that the air is good: ammonia comes too.")
    eaten = f"{screen.grams(lactic)} of lactic acid eaten a day"
    assumed = [f"{eaten}, at {screen.degrees(temperature)}; air well mixed, 420 ppm outside"]
    screen.result("air room", lines, found, assumed)
