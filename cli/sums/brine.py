"""``rindwright sums brine``: salt and water, for making, changing and keeping brine."""

from __future__ import annotations

import re

import click

from ...engine.sums import brine
from ...engine.sums.ground import amount as within_amount
from ...engine.sums.kitchen import plainly, weighable
from ...engine.sums.salt_water import saturation_pct
from ...engine.sums.scales import HYDROMETER_C, NAMES, SATURATED_PCT, on_every_scale
from ..groups import OrderedGroup
from .edge import Asked, Quantity, Shown, may, needs, shown
from .strength import BrineParam, Quantum, StrengthParam, Told, settle
from .wash import acid, calcium, match, wash_

_TEMPERATURE = may("--temperature", "°C", "Temperature of the brine.", 12.0)
_READ_AT = may("--read-at", "°C", "Temperature of the brine when the hydrometer was read; it is scaled for 60 °F.")


@click.group("brine", cls=OrderedGroup)
def command() -> None:
    """Brine and wash: strength, making, changing, keeping, calcium, acid."""


@command.command()
@needs("--strength", "", "How strong is it?", type=StrengthParam())
@_TEMPERATURE
@_READ_AT
@click.option("--salometer-25", is_flag=True, help="100 degrees of your salometer mean 25 % instead of 26.395 %.")
@shown
def strength(screen: Shown, strength: Told, temperature: float, read_at: float | None, salometer_25: bool) -> None:
    """One strength on every scale: percent, grams per litre, Baumé, salometer, specific gravity."""
    full = 25.0 if salometer_25 else SATURATED_PCT
    at = HYDROMETER_C if read_at is None else read_at
    pct, note = settle(strength, "The strength", temperature, at, full)
    found = on_every_scale(pct, temperature, HYDROMETER_C, full)
    lines = [note] if note else []
    for name, (unit, means) in NAMES.items():
        value = getattr(found, name)
        if name == "salometer" and salometer_25:
            means = "your salometer, 100 is 25 % by weight"
        lines.append(f"- {plainly(value, 4)} {unit} ({means})")
    weighs = screen.grams(found.density_kg_m3, f"{found.density_kg_m3:.0f} g")
    lines.append(f"- 1 L weighs {weighs} at {screen.degrees(temperature)}")
    if pct > saturation_pct(min(40.0, max(0.0, temperature))):
        lines.append("That is beyond saturation: some of the salt will lie on the bottom.")
    assumed = [] if read_at is not None or strength.scale not in ("baume", "salometer", "specific_gravity") else [
        "the hydrometer was read at 60 °F (15.6 °C); give --read-at if the brine was colder"
    ]  # fmt: skip
    screen.result("brine strength", lines, found, assumed)


@command.command()
@needs("--strength", "", "How strong should it be?", type=StrengthParam())
@click.option("--litres", type=Quantity("L"), help="How much brine you want.")
@click.option("--water", type=Quantity("L"), help="How much water you have.")
@_TEMPERATURE
@shown
def make(screen: Shown, strength: Told, litres: float | None, water: float | None, temperature: float) -> None:
    """Salt and water for a new brine or wash."""
    pct, note = settle(strength, "The strength", temperature)
    if litres is not None and water is not None:
        raise click.UsageError("Give the brine you want (--litres) or the water you have (--water), not both.")
    if litres is None and water is None:
        litres = _ask_litres()
    if litres is not None:
        found = brine.make(litres, pct, temperature)
    else:
        found = brine.make_with_water((water or 0) * 998.2, pct, temperature)
    lines = [note] if note else []
    jugs = screen.litres(found.water_g / 998.2, litres_of(found.water_g))
    lines += [
        f"Dissolve {screen.weight(found.salt_g)} of salt in {screen.weight(found.water_g)} of water"
        + (f", {jugs}." if screen.us else f" ({jugs})."),
        f"That makes {screen.litres(found.brine_l, f'{plainly(found.brine_l, 3)} L')} of brine, "
        f"{screen.grams(1000 * found.brine_kg, f'{plainly(found.brine_kg, 3)} kg')}, {plainly(pct, 3)} % by weight. "
        f"Water at {screen.degrees(temperature)} holds at most {found.saturation_pct:.1f} %.",
        "Weigh the water too: do not fill up to a mark. Salt without anti-caking agent keeps it clear.",
    ]
    screen.result("brine make", lines, found)


def litres_of(water_g: float) -> str:
    """Cool water by the jug, to the same step as its weight."""
    return f"{plainly(weighable(water_g / 0.9982) / 1000)} L"


def _ask_litres() -> float:
    """Ask for the amount of brine."""
    option = Asked(["--litres"], ask="How much brine do you want?", type=Quantity("L"))
    asked: float = option.prompt_for_value(click.get_current_context())
    return asked


@command.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@needs("--now", "", "How strong is it now?", type=StrengthParam())
@needs("--to", "", "How strong should it be?", type=StrengthParam())
@_TEMPERATURE
@shown
def change(screen: Shown, brine: Quantum, now: Told, to: Told, temperature: float) -> None:
    """Strengthen or dilute a brine in hand."""
    from ...engine.sums.brine import change as work_out

    before, first = settle(now, "The brine now", temperature)
    after, second = settle(to, "The brine wanted", temperature)
    found = work_out(brine.kg(before, temperature), before, after, temperature)
    lines = [line for line in (first, second) if line]
    if found.salt_g:
        lines.append(f"Add {screen.weight(found.salt_g)} of salt and stir until it is clear.")
        boil = screen.weight(found.boil_off_g)
        lines.append(f"Or drive off {boil} of water by boiling, and cool it before use.")
    elif found.water_g:
        lines.append(f"Add {screen.weight(found.water_g)} of boiled and cooled water.")
    else:
        lines.append("Nothing to add.")
    in_all = screen.grams(1000 * found.brine_kg, f"{plainly(found.brine_kg, 4)} kg")
    lines.append(f"That makes {in_all} at {plainly(after, 3)} % by weight.")
    screen.result("brine change", lines, found)


@command.command()
@needs("--brine", "", "How much brine is left?", type=BrineParam())
@needs("--now", "", "How strong is it now?", type=StrengthParam())
@needs("--fill-to", "", "How much should there be?", type=BrineParam())
@needs("--to", "", "How strong should it be?", type=StrengthParam())
@_TEMPERATURE
@shown
def restore(screen: Shown, brine: Quantum, now: Told, fill_to: Quantum, to: Told, temperature: float) -> None:
    """Top up a used brine: salt and water for amount and strength at once."""
    from ...engine.sums.brine import restore as work_out

    before, first = settle(now, "The brine now", temperature)
    after, second = settle(to, "The brine wanted", temperature)
    wanted = fill_to.kg(after, temperature)
    found = work_out(brine.kg(before, temperature), before, wanted, after, temperature)
    lines = [line for line in (first, second) if line]
    salt, water = (screen.weight(g) for g in (found.salt_g, found.water_g))
    in_all = screen.grams(1000 * found.brine_kg, f"{plainly(found.brine_kg, 4)} kg")
    lines.append(
        f"Add {salt} of salt and {water} of boiled and cooled water. That makes {in_all} at "
        f"{plainly(after, 3)} % by weight."
    )
    screen.result("brine restore", lines, found)


@command.command()
@needs("--strong", "", "How strong is the stronger one?", type=StrengthParam())
@needs("--weak", "", "How strong is the weaker one? (water is 0)", type=StrengthParam())
@needs("--to", "", "How strong should the mixture be?", type=StrengthParam())
@may("--amount", "kg", "How much of the mixture you want.", 1.0)
@_TEMPERATURE
@shown
def mix(screen: Shown, strong: Told, weak: Told, to: Told, amount: float, temperature: float) -> None:
    """How much of each of two brines meets a strength between them."""
    values = [settle(t, w, temperature) for t, w in ((strong, "The strong brine"), (weak, "The weak brine"),
                                                      (to, "The mixture"))]  # fmt: skip
    kg = within_amount("The mixture", amount, "kg")
    found = brine.proportions(values[0][0], values[1][0], values[2][0])
    lines = [note for _, note in values if note]
    strong_g, weak_g = 1000 * kg * found.strong_share, 1000 * kg * found.weak_share
    strong_w, weak_w = (screen.weight(g) for g in (strong_g, weak_g))
    lines.append(f"Take {strong_w} of the strong and {weak_w} of the weak one, by weight.")
    screen.result("brine mix", lines, found)


@command.command()
@click.argument("parts", nargs=-1, metavar="AMOUNT:STRENGTH...")
@_TEMPERATURE
@shown
def blend(screen: Shown, parts: tuple[str, ...], temperature: float) -> None:
    """What brines make together, such as 10kg:22%w/w 5kg:10%w/w; water has strength 0."""
    if not parts:
        ask = "Which brines, each with its amount and strength, such as 10kg:22%w/w 5kg:10%w/w?"
        option = Asked(["--parts"], ask=ask, give="them after the command", type=str)
        parts = tuple(re.split(r"\s+(?=[\d.,]+\s*[a-zA-Z]+\s*:)", option.prompt_for_value(click.get_current_context())))
    brines, lines = [], []
    for part in parts:
        amount, colon, strong = part.partition(":")
        if not colon:
            raise click.UsageError(f'"{part}" is no part of a blend; expected an amount and a strength, as 5kg:10%w/w.')
        told = StrengthParam().convert(strong, None, click.get_current_context())
        pct, note = settle(told, f"The {amount} of brine", temperature)
        lines += [note] if note else []
        brines.append((BrineParam().convert(amount, None, click.get_current_context()).kg(pct, temperature), pct))
    found = brine.mix(brines)
    in_all = screen.grams(1000 * found.brine_kg, f"{plainly(found.brine_kg, 4)} kg")
    lines.append(f"Together {in_all} at {found.salt_pct:.2f} % by weight.")
    screen.result("brine blend", lines, found)


@command.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@needs("--strength", "", "How strong was it before?", type=StrengthParam())
@needs("--cheese", "kg", "How much cheese went through it?")
@may("--uptake", "%", "Salt the cheese took up, percent of its weight.", 1.5)
@_TEMPERATURE
@shown
def used(screen: Shown, brine: Quantum, strength: Told, cheese: float, uptake: float, temperature: float) -> None:
    """How weak a brine has become after some cheese, and the salt to restore it."""
    from ...engine.sums.brine import after_cheese

    pct, note = settle(strength, "The brine", temperature)
    found = after_cheese(brine.kg(pct, temperature), pct, cheese, uptake)
    lines = [note] if note else []
    lines += [
        f"It has come down from {plainly(pct, 3)} % to about {found.salt_pct:.2f} % by weight "
        f"({found.salt_pct_low:.2f} to {found.salt_pct_high:.2f}).",
        f"The cheese took {screen.weight(found.salt_taken_g)} of salt and gave about "
        f"{screen.weight(found.water_out_g)} of water and whey.",
        f"Add {screen.weight(found.restore_salt_g)} of salt to restore it.",
        "A hydrometer counts whey solids as salt: an old brine is weaker in salt than it reads.",
    ]
    screen.result("brine used", lines, found, [f"the cheese took up {plainly(uptake)} % of its weight"])


for _also in (acid, calcium, match, wash_):
    command.add_command(_also)
