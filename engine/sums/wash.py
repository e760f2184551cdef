"""Washes and the chemistry of brine: other liquids in a wash, calcium, acid to match a pH."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .ground import Formula, OutOfRange, above_zero, amount, within
from .salt_water import saturation_pct, water_activity

WASH = Formula(
    "wash_mix",
    "Wash of several liquids",
    "w = all salt / all mass; % vol = Σ(V·% vol)/ΣV; a_w = a_w(salt)·share of water molecules",
    "weak washes, up to about 20 % vol",
    "mass_balance",
    ("liquid_densities", "judgement"),
)
CALCIUM = Formula(
    "calcium_chloride",
    "Calcium chloride for a brine",
    "anhydrous = M·c; dihydrate = anhydrous × 147.01/110.98; liquid = anhydrous / its strength",
    "0 to 1 % anhydrous by weight of brine",
    "mass_balance",
    ("brined_calcium",),
)
ACID = Formula(
    "acid_for_ph",
    "Acid to bring water to a pH",
    "acid (mol/L) = (A + 10^−pH)·(1 + 10^(pKa − pH)), A alkalinity in mol/L, open to air",
    "pH 4 to 6.5, alkalinity up to 10 meq/L; an upper bound, 2 to 4 % high",
    "acid_constants",
    ("phreeqc_pitzer",),
)

MATCH = Formula(
    "brine_match",
    "Brine against the cheese",
    "pH within 0.2 of the cheese's; kept in brine, salt at least 2 points above the salt in the cheese's water; "
    "0.1 to 0.2 % anhydrous calcium chloride while new",
    "cheese of pH 4.4 to 5.8",
    "brined_calcium",
    ("practice", "judgement"),
)

LIQUIDS: dict[str, tuple[float, float, float]] = {
    "water": (0.998, 0.0, 0.0),
    "whey": (1.025, 0.1, 0.0),
    "vinegar": (1.006, 0.0, 0.0),
    "beer": (1.010, 0.0, 5.0),
    "wine": (0.992, 0.0, 12.0),
    "spirit": (0.948, 0.0, 40.0),
}
"""Liquid to density (g/mL, 20 °C, from memory), salt (% by weight, estimate), alcohol (% vol, usual)."""
_ETHANOL = (46.07, 0.789)

CACL2 = {"dihydrate": 147.01 / 110.98, "anhydrous": 1.0}
ACIDS = {"acetic": (4.757, 60.05), "lactic": (3.86, 90.08)}
"""Acid to pKa and grams per mole."""


@dataclass(frozen=True, slots=True)
class Part:
    """One liquid of a wash."""

    liquid: str
    ml: float
    alcohol_pct_vol: float | None = None
    salt_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Wash:
    """A mixed wash."""

    ml: float
    """Volumes added up; what salt adds to it is left out."""
    mass_g: float
    salt_g: float
    """Salt in all, with what the liquids bring."""
    salt_pct: float
    alcohol_pct_vol: float
    water_activity: float
    formula: Formula = WASH


@dataclass(frozen=True, slots=True)
class Calcium:
    """Calcium chloride to add, in each form it is sold in."""

    anhydrous_g: float
    dihydrate_g: float
    liquid_g: float
    formula: Formula = CALCIUM


@dataclass(frozen=True, slots=True)
class Acid:
    """Acid that takes water to a pH, as the pure acid and as the product in the bottle."""

    mmol_per_l: float
    acid_g: float
    product_ml: float
    first_ml: float
    """Two thirds: add this, stir, measure, repeat."""
    formula: Formula = ACID


@dataclass(frozen=True, slots=True)
class Match:
    """How a brine fits a cheese."""

    ph_apart: float
    """Brine less cheese."""
    ph_fits: bool
    salt_above_cheese_pct: float
    """Salt of the brine less salt of the cheese's water, points by weight."""
    holds_it_firm: bool
    """Strong enough to keep the cheese in for long."""
    calcium: Calcium
    formula: Formula = MATCH


def match(
    brine_kg: float, brine_pct: float, brine_ph: float, cheese_ph: float, cheese_salt_pct_of_brine_phase: float = 0.0
) -> Match:
    """Whether a brine fits a cheese in acid and salt, and the calcium a new one needs.

    ``brine_pct`` by weight; ``cheese_salt_pct_of_brine_phase`` is salt in 100 g of salt and water of the
    cheese, 0 for a fresh one. pH of the brine 3.5 to 8, of the cheese 4.4 to 5.8. Raises ``OutOfRange``.
    """
    within("The strength", brine_pct, 0, round(saturation_pct(12), 2), "% by weight", "water holds no more salt")
    within("The pH of the brine", brine_ph, 3.5, 8, "", "beyond it no cheese brine was meant")
    within("The pH of the cheese", cheese_ph, 4.4, 5.8, "", "cheese goes into brine between")
    within("The salt in the cheese", cheese_salt_pct_of_brine_phase, 0, 20, "% of its water", "cheese stays below")
    apart, above = brine_ph - cheese_ph, brine_pct - cheese_salt_pct_of_brine_phase
    return Match(apart, abs(apart) <= 0.2 + 1e-9, above, above >= 2, calcium_chloride(brine_kg, 0.15))


def mix_wash(parts: Sequence[Part], added_salt_g: float = 0.0) -> Wash:
    """A wash of liquids (mL at 20 °C) with added salt. Raises ``OutOfRange`` above saturation or 25 % vol."""
    ml = mass = salt = alcohol_ml = 0.0
    for part in parts:
        if part.liquid not in LIQUIDS:
            raise OutOfRange(f'There is no figure for "{part.liquid}"; expected one of {", ".join(LIQUIDS)}.')
        density, usual_salt, usual_alcohol = LIQUIDS[part.liquid]
        within(f"The {part.liquid}", part.ml, 0, 500_000, "mL", "a volume is never negative, and no wash takes more")
        own = usual_salt if part.salt_pct is None else part.salt_pct
        strong = usual_alcohol if part.alcohol_pct_vol is None else part.alcohol_pct_vol
        within(f"The salt in the {part.liquid}", own, 0, 26.6, "% by weight", "stronger brine does not exist")
        within(f"The alcohol in the {part.liquid}", strong, 0, 60, "% vol", "the density is for about 40 % vol")
        ml += part.ml
        mass += part.ml * density
        salt += part.ml * density * own / 100
        alcohol_ml += part.ml * strong / 100
    above_zero("The wash", ml, "mL", "name at least one liquid")
    within("The salt added", added_salt_g, 0, 500_000, "g", "a weight is never negative, and no wash takes more")
    mass += added_salt_g
    salt += added_salt_g
    pct, vol = 100 * salt / mass, 100 * alcohol_ml / ml
    within("The strength of the wash", pct, 0, round(saturation_pct(20), 2), "% by weight", "water holds no more salt")
    within("The alcohol of the wash", vol, 0, 25, "% vol", "the sum is for weak washes")
    ethanol_g = alcohol_ml * _ETHANOL[1]
    water_mol = max(mass - salt - ethanol_g, 1e-9) / 18.015
    share = water_mol / (water_mol + ethanol_g / _ETHANOL[0])
    return Wash(ml, mass, salt, pct, vol, water_activity(pct, 20) * share)


def calcium_chloride(brine_kg: float, anhydrous_pct: float = 0.1, liquid_pct: float = 32.0) -> Calcium:
    """Calcium chloride for a brine: 0 to 1 % of its weight as the anhydrous salt (0.1 to 0.2 is usual).

    ``liquid_pct`` is the strength of the bottled liquid by weight, 5 to 45. Raises ``OutOfRange``.
    """
    amount("The brine", brine_kg, "kg")
    within("Calcium chloride", anhydrous_pct, 0, 1, "% of the brine", "0.1 to 0.2 % is usual")
    within("The liquid", liquid_pct, 5, 45, "% by weight", "such liquids hold about a third")
    anhydrous = brine_kg * anhydrous_pct * 10
    return Calcium(anhydrous, anhydrous * CACL2["dihydrate"], anhydrous * 100 / liquid_pct)


def acid_for_ph(
    litres: float,
    ph: float,
    alkalinity_meq_l: float = 2.5,
    acid: str = "acetic",
    product_pct: float = 5.0,
) -> Acid:
    """Acid that takes water or fresh brine from its alkalinity to a pH (4 to 6.5).

    ``product_pct`` is grams of acid in 100 mL of the product (vinegar 5, lactic acid 80 or 88). An
    upper bound: carbonate that bubbles off makes it 2 to 4 % less, and strong brine shifts the
    electrode. Raises ``OutOfRange``. Source: acid_constants.
    """
    amount("The brine", litres, "L")
    within("The pH", ph, 4, 6.5, "", "above it carbonate rules, below it nobody keeps a cheese brine")
    within("The alkalinity", alkalinity_meq_l, 0, 10, "meq/L", "drinking water is from near 0 (soft) to about 8")
    within("The product", product_pct, 1, 100, "g in 100 mL", "vinegar is about 5")
    if acid not in ACIDS:
        raise OutOfRange(f'There is no figure for "{acid}"; expected one of {", ".join(ACIDS)}.')
    pka, g_per_mol = ACIDS[acid]
    mmol = (alkalinity_meq_l + 1000 * 10**-ph) * (1 + 10 ** (pka - ph))
    grams = mmol * g_per_mol / 1000 * litres
    ml = grams * 100 / product_pct
    return Acid(mmol, grams, ml, ml * 2 / 3)
