"""``rindwright sums brine``, what else is in it: a wash of several liquids, calcium, acid, and whether a brine fits."""

from __future__ import annotations

import click

from ...engine.sums import wash
from ...engine.sums.ground import within
from ...engine.sums.kitchen import millilitres, plainly
from .edge import Quantity, Shown, may, needs, shown
from .strength import BrineParam, Quantum, StrengthParam, Told, settle


@click.command("wash")
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
    within("The salt", salt_per_litre, 0, 360, "g to a litre of the liquids", "they hold no more")
    parts = [wash.Part(name, ml[name]) for name in wash.LIQUIDS if ml[name]]
    salt_g = salt_per_litre * sum(part.ml for part in parts) / 1000
    found = wash.mix_wash(parts, salt_g)
    lines = [
        f"Dissolve {screen.weight(salt_g)} of salt in "
        + ", ".join(f"{screen.litres(p.ml / 1000, millilitres(p.ml))} of {p.liquid}" for p in parts)
        + ".",
        f"That is {found.salt_pct:.2f} % salt by weight and {found.alcohol_pct_vol:.1f} % alcohol by volume; "
        f"water activity {found.water_activity:.3f}.",
        "Mix it fresh and throw the rest away the same day.",
    ]
    if ml["whey"]:
        lines.append("Whey feeds yeasts and moulds and brings germs from its vat: boil and cool it first.")
    screen.result("brine wash", lines, found, caution=True)


@click.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@may("--share", "%", "Anhydrous calcium chloride wanted, percent of the brine; 0.1 to 0.2 is usual.", 0.1)
@may("--liquid", "%", "Strength of a bottled liquid, by weight.", 32.0)
@may("--salt", "%", "Strength of the brine by weight, to weigh a volume.", 20.0)
@shown
def calcium(screen: Shown, brine: Quantum, share: float, liquid: float, salt: float) -> None:
    """Calcium chloride, so that a new brine does not soften the rind."""
    found = wash.calcium_chloride(brine.kg(salt, 12.0), share, liquid)
    lines = [
        f"Add one of these: {screen.weight(found.dihydrate_g)} of flakes (the dihydrate), "
        f"{screen.weight(found.anhydrous_g)} of the anhydrous salt, or "
        f"{screen.weight(found.liquid_g)} of a {plainly(liquid)} % liquid.",
        "Dissolve it in a little boiled water first. It grows hot: wear glasses, and add it to water, "
        "never the other way.",
        "This is for a new brine. One in long use has taken calcium from cheese.",
    ]
    screen.result("brine calcium", lines, found)


@click.command()
@needs("--brine", "", "How much brine is there?", type=BrineParam())
@needs("--strength", "", "How strong is it?", type=StrengthParam())
@needs("--ph", "", "What is the pH of the brine?")
@needs("--cheese-ph", "", "What is the pH of the cheese?")
@may("--cheese-salt", "", "Salt in the cheese's water, grams in 100 g of both; 0 for a fresh cheese.", 0.0)
@click.option("--new", is_flag=True, help="The brine is new and has had no cheese in it.")
@may("--temperature", "°C", "Temperature of the brine.", 12.0)
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
        dry, flakes = (screen.weight(g) for g in (c.anhydrous_g, c.dihydrate_g))
        lines.append(f"Calcium: a new brine needs about {dry} of water-free calcium chloride, or {flakes} of the "
                     "flakes (the dihydrate).")  # fmt: skip
    screen.result("brine match", lines, found, caution=True)


@click.command()
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
    name = "vinegar" if acid == "acetic" and strong <= 12 else f"{acid} acid of {plainly(strong)} %"
    in_all, first = (screen.litres(ml / 1000, millilitres(ml)) for ml in (found.product_ml, found.first_ml))
    lines = [
        f"About {in_all} of {name} in all, at most.",
        f"Add {first} first, stir, measure, and go on by drops. Strong brine shifts a meter's reading by a few tenths.",
    ]
    assumed = [f"water of {plainly(alkalinity)} meq/L", f"{plainly(strong)} g of acid in 100 mL of the bottle"]
    screen.result("brine acid", lines, found, assumed, caution=True)
