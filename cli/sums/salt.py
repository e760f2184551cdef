"""``rindwright sums salt``: salt in a cheese, how long to brine, how even it is, what the rind does in the air."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from ...engine.sums import composition, salt
from ...engine.sums.kitchen import duration, plainly
from ...engine.sums.shape import Shape, block, of_one_cheese, wheel
from ..groups import OrderedGroup
from .edge import Asked, Quantity, Shown, may, needs, shown
from .strength import StrengthParam, Told, settle

_PASTE = click.option(
    "--paste", type=click.Choice(list(salt.PASTES)), default="semi-hard", show_default=True, help="How firm it is."
)
_MOISTURE = may("--moisture", "%", "Water in the fresh cheese, percent of its weight; or that of its paste is taken.")
_TEMPERATURE = may("--temperature", "°C", "Temperature of brine and cheese.", 12.0)


def shaped(command: Callable[..., None]) -> Callable[..., None]:
    """Options for the shape of a cheese: a wheel, or a block with --length and --width."""
    command = may("--width", "cm", "Width of a block.")(command)
    command = may("--length", "cm", "Length of a block; with --width, instead of --diameter.")(command)
    command = may("--diameter", "cm", "Diameter of a wheel.")(command)
    asked: Callable[..., None] = needs("--height", "cm", "How high is the cheese?")(command)
    return asked


def shape_of(height: float, diameter: float | None, length: float | None, width: float | None) -> Shape:
    """The shape from its options; the diameter is asked for when nothing else is given."""
    if diameter is not None and length is None and width is None:
        return wheel(diameter, height)
    if diameter is None and length is not None and width is not None:
        return block(length, width, height)
    if diameter is None and length is None and width is None:
        option = Asked(["--diameter"], ask="What is its diameter?", type=Quantity("cm"))
        return wheel(float(option.prompt_for_value(click.get_current_context())), height)
    raise click.UsageError("Give --diameter for a wheel, or --length and --width for a block.")


def water_of(moisture: float | None, paste: str) -> float:
    """The water in a fresh cheese, percent: as given, or usual for its paste."""
    return salt.MOISTURES[paste] if moisture is None else moisture


@click.group("salt", cls=OrderedGroup)
def command() -> None:
    """Salt in cheese: brining, dry salt, evenness, composition, rind against air."""


def _span(s: salt.Span, form: Callable[[float], str]) -> str:
    return f"{form(s.value)} (between {form(s.low)} and {form(s.high)})"


@command.command("brining")
@shaped
@needs("--salt", "%", "How much salt should it hold, in percent of its weight?")
@needs("--brine", "", "How strong is the brine?", type=StrengthParam())
@_MOISTURE
@_PASTE
@_TEMPERATURE
@shown
def brining(
    screen: Shown,
    salt: float,
    brine: Told,
    moisture: float | None,
    paste: str,
    temperature: float,
    **size: float | None,
) -> None:
    """How long to leave a cheese in brine."""
    from ...engine.sums.salt import brine_time

    pct, note = settle(brine, "The brine", temperature)
    moisture = water_of(moisture, paste)
    found = brine_time(_shape(size), salt, pct, moisture, paste, temperature)
    lines = [note] if note else []
    lines += [
        f"About {_span(found.hours, duration)} in still brine gives {plainly(salt)} % salt.",
        "Turn it half way, keep the top wet or salted, and weigh one cheese: your own times are better than this.",
    ]
    screen.result("salt brining", lines, found, _assumed(screen, moisture, paste, temperature))


@command.command("uptake")
@shaped
@needs("--hours", "hours", "How long was it in the brine?")
@needs("--brine", "", "How strong is the brine?", type=StrengthParam())
@_MOISTURE
@_PASTE
@_TEMPERATURE
@shown
def uptake(
    screen: Shown,
    hours: float,
    brine: Told,
    moisture: float | None,
    paste: str,
    temperature: float,
    **size: float | None,
) -> None:
    """How much salt a cheese took up in brine."""
    pct, note = settle(brine, "The brine", temperature)
    moisture = water_of(moisture, paste)
    found = salt.in_brine(_shape(size), hours, pct, moisture, paste, temperature)
    lines = [note] if note else []
    lines.append(f"It took up about {_span(found.salt_pct, lambda x: f'{plainly(x, 2)} %')} of its weight in salt, "
                 f"{plainly(found.salt_in_moisture, 2)} g to 100 g of its water.")  # fmt: skip
    screen.result("salt uptake", lines, found, _assumed(screen, moisture, paste, temperature))


@command.command("dry")
@shaped
@needs("--weight", "g", "What does the cheese weigh?")
@needs("--salt", "%", "How much salt should it hold, in percent of its weight?")
@_MOISTURE
@_PASTE
@_TEMPERATURE
@shown
def dry(
    screen: Shown,
    weight: float,
    salt: float,
    moisture: float | None,
    paste: str,
    temperature: float,
    **size: float | None,
) -> None:
    """How much dry salt to put on."""
    from ...engine.sums.salt import dry_salt

    moisture = water_of(moisture, paste)
    shape = _shape(size)
    found = dry_salt(shape, weight, salt, moisture, paste, temperature)
    of_one_cheese(shape, [weight])
    lines = [
        f"Weigh out {screen.weight(found.apply_g.value)} of salt, {screen.weight(found.apply_g.low)} if little whey "
        f"drips and {screen.weight(found.apply_g.high)} if much does: half for each face and its half of the side, "
        f"{screen.weight(found.per_face_g)} each.",
        f"{screen.weight(found.wanted_g)} of it should stay in. The surface drinks that in about "
        f"{duration(found.taken_up_hours)}; salt the second face after that.",
    ]
    assumed = ["a quarter drips away with the whey", *_assumed(screen, moisture, paste, temperature)]
    screen.result("salt dry", lines, found, assumed)


@command.command("evenness")
@shaped
@needs("--salted", "hours", "How long was it salted?")
@needs("--since", "days", "How long ago was that?")
@_PASTE
@_TEMPERATURE
@shown
def evenness(screen: Shown, salted: float, since: float, paste: str, temperature: float, **size: float | None) -> None:
    """Whether the salt has evened out, and when it will."""
    found = salt.evenness(_shape(size), salted, since, paste, temperature)
    p, e = found.profile, found.evening
    lines = [
        f"Now the core holds {100 * p.core:.0f} % of the mean salt, the paste under a face {100 * p.face:.0f} %, "
        f"the rim {100 * p.rim:.0f} %.",
        f"Through the thickness it is nearly even after {duration(24 * e.nearly_even_days)}; from the rim to the "
        f"middle it takes about {duration(72 * e.around_days)}.",
    ]
    if found.is_even:
        lines.append("It is even. If the core is still bland, look for a real fault.")
    else:
        lines.append("A salty rind and a bland core are as they should be until then.")
    screen.result("salt evenness", lines, found, _assumed(screen, None, paste, temperature))


@command.command("cheese")
@needs("--moisture", "%", "How much water is in the cheese, in percent?")
@may("--salt", "%", "Salt, percent of the cheese; asked for when there is no --sodium.")
@may("--sodium", "mg", "Sodium in 100 g, as a label gives it, instead of --salt.")
@may("--fat", "%", "Fat, percent of the cheese; for the classes.")
@may("--ph", "", "pH of the paste: adds the water activity of unripe cheese.")
@may("--ash", "%", "Ash, percent of the cheese: adds the water activity of processed cheese.")
@may("--npn", "%", "With --ash, nitrogen outside protein, percent of the cheese: that of mould-ripened cheese instead.")
@shown
def cheese(
    screen: Shown,
    moisture: float,
    salt: float | None,
    sodium: float | None,
    fat: float | None,
    ph: float | None,
    ash: float | None,
    npn: float | None,
) -> None:
    """Salt in moisture, firmness classes and water activity of a cheese."""
    if salt is not None and sodium is not None:
        raise click.UsageError("Give --salt or --sodium, not both.")
    if npn is not None and ash is None:
        raise click.UsageError("Give --ash with --npn: the sum for mould-ripened cheese needs both.")
    lines = []
    more: list[object] = []
    if sodium is not None:
        salt = composition.salt_from_sodium(sodium)
        lines.append(f"{plainly(sodium, 4)} mg of sodium in 100 g stand for {salt:.2f} % of salt.")
        more.append({"sodium_mg_per_100g": sodium, "salt_pct": salt, "formula": composition.SODIUM})
    elif salt is None:
        option = Asked(["--salt"], ask="How much salt, in percent?", type=Quantity("%"))
        salt = float(option.prompt_for_value(click.get_current_context()))
    found = composition.compose(moisture, salt, fat)
    activity = composition.cheese_activity(salt, moisture)
    lines += [
        f"Salt in moisture: {found.salt_in_moisture:.2f} g to 100 g of water "
        f"({found.salt_pct_of_brine_phase:.2f} % of salt and water together), {found.nacl_molality:.2f} mol/kg.",
        f"Water activity by salt alone: {activity.water_activity:.3f}, give or take {plainly(activity.plus_or_minus)}. "
        + activity.note,
    ]
    for kind, special in _activities(found.salt_in_moisture, moisture, ph, ash, npn):
        lines.append(f"As {kind} cheese: {special.water_activity:.3f}, give or take {special.plus_or_minus:g}.")
        more.append(special)
    if found.moisture_fat_free_pct is not None and found.fat_in_dry_matter_pct is not None:
        lines += [
            f"Moisture on the fat-free basis: {found.moisture_fat_free_pct:.1f} %. Codex: "
            f"{' or '.join(found.codex_classes)}; its older text: {' or '.join(found.codex_older_classes)}; "
            f"EU: {found.eu_class}.",
            f"Fat in dry matter: {found.fat_in_dry_matter_pct:.1f} %, {found.fat_class}.",
        ]
    screen.result("salt cheese", lines, (found, activity, *more), caution=True)


def _activities(
    salted: float, moisture: float, ph: float | None, ash: float | None, npn: float | None
) -> list[tuple[str, composition.Activity]]:
    """Water activities by the sums for one kind of cheese each, as far as their figures were given."""
    found = [] if ph is None else [("unripe", composition.unripe_activity(salted, ph))]
    if ash is not None:
        in_moisture = 100 * ash / moisture
        if npn is None:
            found.append(("processed", composition.processed_activity(in_moisture)))
        else:
            by_mould = composition.mould_ripened_activity(in_moisture, 100 * npn / moisture)
            found.append(("mould-ripened", by_mould))
    return found


@command.command("rind")
@needs("--salt-in-moisture", "", "How much salt is in the rind, in grams to 100 g of its water?")
@needs("--humidity", "%", "How humid is the air?")
@_TEMPERATURE
@shown
def rind(screen: Shown, salt_in_moisture: float, humidity: float, temperature: float) -> None:
    """Whether a rind dries or takes up water at a humidity."""
    found = salt.rind_balance(salt_in_moisture, humidity, temperature)
    lines = [
        f"The rind {found.says}: its water activity is {found.rind_activity:.3f}, the air stands at "
        f"{plainly(humidity)} %.",
    ]
    if found.balance_salt_pct is not None:
        b = found.balance_salt_pct
        lines.append(f"At this humidity a rind holds with {100 * b / (100 - b):.1f} g of salt to 100 g of its water.")
    if found.says == "takes up water" and salt_in_moisture > 10:
        lines.append("A rind fresh from salting weeps in moist air. That passes as the salt moves in.")
    told = "that does not change this." if found.sure else "that can change this, so check it first."
    lines.append(
        f"Rind and air stand {abs(found.margin_pct):.1f} % apart, and a hygrometer is often "
        f"{salt.HYGROMETER_OFF_PCT:g} % off: {told}"
    )
    screen.result("salt rind", lines, found, caution=True)


def _shape(size: dict[str, Any]) -> Shape:
    return shape_of(size["height"], size["diameter"], size["length"], size["width"])


def _assumed(screen: Shown, moisture: float | None, paste: str, temperature: float) -> list[str]:
    said = f"a {paste} paste at {screen.degrees(temperature)}"
    return [said if moisture is None else f"{plainly(moisture)} % moisture, {said}"]
