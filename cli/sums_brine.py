"""``rindwright sums brine``: making, changing and keeping brine and wash."""

from __future__ import annotations

import click

from ..engine.sums import brine, wash
from ..engine.sums.kitchen import grams, millilitres, weighable
from ..engine.sums.salt_water import saturation_pct
from ..engine.sums.scales import HYDROMETER_C, NAMES, SATURATED_PCT, on_every_scale
from .sums_edge import Quantity, Shown, may, needs, shown
from .sums_strength import BrineParam, Quantum, StrengthParam, Told, settle

_TEMPERATURE = may("--temperature", "°C", "Temperature of the brine.", 12.0)
_READ_AT = may("--read-at", "°C", "Temperature of the brine when the hydrometer was read; it is scaled for 60 °F.")


@click.group("brine")
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
        lines.append(f"- {value:.4g} {unit} ({means})")
    lines.append(f"- 1 L weighs {found.density_kg_m3:.0f} g at {screen.degrees(temperature)}")
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
    lines += [
        f"Dissolve {screen.grams(found.salt_g, grams(found.salt_g))} of salt in "
        f"{grams(found.water_g)} of water ({screen.litres(found.water_g / 998.2, litres_of(found.water_g))}).",
        f"That makes {screen.litres(found.brine_l, f'{found.brine_l:.3g} L')} of brine, {found.brine_kg:.3g} kg, "
        f"{pct:.3g} % by weight. Water at {temperature:g} °C holds at most {found.saturation_pct:.1f} %.",
        "Weigh the water too: do not fill up to a mark. Salt without anti-caking agent keeps it clear.",
    ]
    screen.result("brine make", lines, found)


def litres_of(water_g: float) -> str:
    """Cool water by the jug, to the same step as its weight."""
    return f"{weighable(water_g / 0.9982) / 1000:g} L"


def _ask_litres() -> float:
    """Ask for the amount of brine."""
    from .sums_edge import Asked

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
    from ..engine.sums.brine import change as work_out

    before, first = settle(now, "The brine now", temperature)
    after, second = settle(to, "The brine wanted", temperature)
    found = work_out(brine.kg(before, temperature), before, after, temperature)
    lines = [line for line in (first, second) if line]
    if found.salt_g:
        lines.append(f"Add {screen.grams(found.salt_g, grams(found.salt_g))} of salt and stir until it is clear.")
        lines.append(f"Or drive off {grams(found.boil_off_g)} of water by boiling, and cool it before use.")
    elif found.water_g:
        lines.append(f"Add {grams(found.water_g)} of boiled and cooled water.")
    else:
        lines.append("Nothing to add.")
    lines.append(f"That makes {found.brine_kg:.4g} kg at {after:.3g} % by weight.")
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
    from ..engine.sums.brine import restore as work_out

    before, first = settle(now, "The brine now", temperature)
    after, second = settle(to, "The brine wanted", temperature)
    wanted = fill_to.kg(after, temperature)
    found = work_out(brine.kg(before, temperature), before, wanted, after, temperature)
    lines = [line for line in (first, second) if line]
    lines.append(f"Add {screen.grams(found.salt_g, grams(found.salt_g))} of salt and {grams(found.water_g)} of boiled "
                 f"and cooled water. That makes {found.brine_kg:.4g} kg at {after:.3g} % by weight.")  # fmt: skip
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
    found = brine.proportions(values[0][0], values[1][0], values[2][0])
    lines = [note for _, note in values if note]
    strong_g, weak_g = 1000 * amount * found.strong_share, 1000 * amount * found.weak_share
    lines.append(f"Take {grams(strong_g)} of the strong and {grams(weak_g)} of the weak one, by weight.")
    screen.result("brine mix", lines, found)


@command.command()
@click.argument("parts", nargs=-1, required=True, metavar="AMOUNT:STRENGTH...")
@_TEMPERATURE
@shown
def blend(screen: Shown, parts: tuple[str, ...], temperature: float) -> None:
    """What brines make together, such as 10kg:22%w/w 5kg:10%w/w; water has strength 0."""
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
    lines.append(f"Together {found.brine_kg:.4g} kg at {found.salt_pct:.2f} % by weight.")
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
    from ..engine.sums.brine import after_cheese

    pct, note = settle(strength, "The brine", temperature)
    found = after_cheese(brine.kg(pct, temperature), pct, cheese, uptake)
    lines = [note] if note else []
    lines += [
        f"It has come down from {pct:.3g} % to about {found.salt_pct:.2f} % by weight "
        f"({found.salt_pct_low:.2f} to {found.salt_pct_high:.2f}).",
        f"The cheese took {grams(found.salt_taken_g)} of salt and gave about "
        f"{grams(found.water_out_g)} of water and whey.",
        f"Add {screen.grams(found.restore_salt_g, grams(found.restore_salt_g))} of salt to restore it.",
        "A hydrometer counts whey solids as salt: an old brine is weaker in salt than it reads.",
    ]
    screen.result("brine used", lines, found, [f"the cheese took up {uptake:g} % of its weight"])


@command.command("wash")
@needs("--salt-per-litre", "g/L", "How much salt to a litre of the liquids?")
@may("--water", "mL", "Boiled and cooled water.", 500.0)
@may("--vinegar", "mL", "Vinegar of 5 %.", 0.0)
@may("--whey", "mL", "Whey.", 0.0)
@may("--beer", "mL", "Beer.", 0.0)
@may("--wine", "mL", "Wine.", 0.0)
@may("--spirit", "mL", "Spirit of 40 % vol.", 0.0)
@shown
def wash_(screen: Shown, salt_per_litre: float, **ml: float) -> None:
    """A wash of water and other liquids: what it really holds."""
    parts = [wash.Part(name, ml[name]) for name in wash.LIQUIDS if ml[name]]
    salt_g = salt_per_litre * sum(part.ml for part in parts) / 1000
    found = wash.mix_wash(parts, salt_g)
    lines = [
        f"Dissolve {screen.grams(salt_g, grams(salt_g))} of salt in "
        + ", ".join(f"{millilitres(p.ml)} of {p.liquid}" for p in parts)
        + ".",
        f"That is {found.salt_pct:.2f} % salt by weight and {found.alcohol_pct_vol:.1f} % alcohol by volume; "
        f"water activity {found.water_activity:.3f}.",
        "Mix it fresh and throw the rest away the same day.",
    ]
    if ml["whey"]:
        lines.append("Whey feeds yeasts and moulds and brings germs from its vat: boil and cool it first.")
    screen.result("brine wash", lines, found, caution=True)


@command.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@may("--share", "%", "Anhydrous calcium chloride wanted, percent of the brine; 0.1 to 0.2 is usual.", 0.1)
@may("--liquid", "%", "Strength of a bottled liquid, by weight.", 32.0)
@may("--salt", "%", "Strength of the brine by weight, to weigh a volume.", 20.0)
@shown
def calcium(screen: Shown, brine: Quantum, share: float, liquid: float, salt: float) -> None:
    """Calcium chloride, so that a new brine does not soften the rind."""
    found = wash.calcium_chloride(brine.kg(salt, 12.0), share, liquid)
    lines = [
        f"Add one of these: {screen.grams(found.dihydrate_g, grams(found.dihydrate_g))} of flakes (the dihydrate), "
        f"{grams(found.anhydrous_g)} of the anhydrous salt, or {grams(found.liquid_g)} of a {liquid:g} % liquid.",
        "Dissolve it in a little boiled water first. It grows hot: wear glasses, and add it to water, "
        "never the other way.",
        "This is for a new brine. One in long use has taken calcium from cheese.",
    ]
    screen.result("brine calcium", lines, found)


@command.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@needs("--strength", "", "How strong is it?", type=StrengthParam())
@needs("--ph", "", "What is the pH of the brine?")
@needs("--cheese-ph", "", "What is the pH of the cheese?")
@may("--cheese-salt", "", "Salt in the cheese's water, grams in 100 g of both; 0 for a fresh cheese.", 0.0)
@click.option("--new", is_flag=True, help="The brine is new and has had no cheese in it.")
@_TEMPERATURE
@shown
def match(
    screen: Shown,
    brine: Quantum,
    strength: Told,
    ph: float,
    cheese_ph: float,
    cheese_salt: float,
    new: bool,
    temperature: float,
) -> None:
    """Whether a brine fits the cheese in acid, salt and calcium."""
    pct, note = settle(strength, "The brine", temperature)
    found = wash.match(brine.kg(pct, temperature), pct, ph, cheese_ph, cheese_salt)
    lines = [note] if note else []
    if found.ph_fits:
        lines.append("Acid: it fits.")
    elif found.ph_apart > 0:
        lines.append(f"Acid: the brine is {found.ph_apart:.1f} too flat, which turns a rind greasy.")
        lines.append("How much acid it takes: rindwright sums brine acid.")
    else:
        lines.append(f"Acid: the brine is {-found.ph_apart:.1f} too sour. Thin it with new brine of the same strength.")
    lines.append(
        "Salt: strong enough to keep the cheese in."
        if found.holds_it_firm
        else "Salt: too weak to keep the cheese in. It should be 2 points or more above the cheese, or it softens."
    )
    if new:
        c = found.calcium
        lines.append(f"Calcium: a new brine needs about {grams(c.anhydrous_g)} of water-free calcium chloride, or "
                     f"{grams(c.dihydrate_g)} of the flakes (the dihydrate).")  # fmt: skip
    screen.result("brine match", lines, found, caution=True)


@command.command()
@needs("--litres", "L", "How much brine is there?")
@needs("--ph", "", "Which pH should it have? The cheese's own is right, often 5.2.")
@may("--alkalinity", "", "Alkalinity of the water in meq/L; your water supplier knows it. Soft water is near 0.", 2.5)
@click.option("--acid", type=click.Choice(list(wash.ACIDS)), default="acetic", show_default=True, help="Which acid.")
@click.option("--product", type=Quantity("%"), help="Grams of acid in 100 mL of the bottle: vinegar 5, lactic 80.")
@shown
def acid(screen: Shown, litres: float, ph: float, alkalinity: float, acid: str, product: float | None) -> None:
    """Acid that brings a new brine to the pH of the cheese."""
    strong = product if product is not None else 5.0 if acid == "acetic" else 80.0
    found = wash.acid_for_ph(litres, ph, alkalinity, acid, strong)
    name = "vinegar" if acid == "acetic" and strong <= 12 else f"{acid} acid of {strong:g} %"
    lines = [
        f"About {millilitres(found.product_ml)} of {name} in all, at most.",
        f"Add {millilitres(found.first_ml)} first, stir, measure, and go on by drops. "
        "Strong brine shifts a meter's reading by a few tenths.",
    ]
    assumed = [f"water of {alkalinity:g} meq/L", f"{strong:g} g of acid in 100 mL of the bottle"]
    screen.result("brine acid", lines, found, assumed, caution=True)
