"""Making, changing, mixing and upkeep of brine. Strengths are percent by weight; see ``scales`` for others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .ground import Formula, OutOfRange, above_zero, amount, within
from .kitchen import plainly
from .salt_water import DENSITY, density_kg_m3, saturation_pct

MAKING = Formula(
    "brine_making",
    "Making brine",
    "brine = ρ·V; salt = w·brine; water = (1 − w)·brine",
    "up to saturation, 0 to 40 °C",
    "mass_balance",
    ("laliberte_cooper", "phreeqc_pitzer"),
)
CHANGING = Formula(
    "brine_changing",
    "Strengthening and diluting",
    "salt to add = M·(w₂ − w₁)/(1 − w₂); water to add = M·(w₁ − w₂)/w₂; water to boil off = M·(w₂ − w₁)/w₂",
    "up to saturation",
    "mass_balance",
)
MIXING = Formula(
    "brine_mixing",
    "Mixing brines",
    "w = Σ(M·w)/ΣM; parts strong : weak = (w − weak) : (strong − w)",
    "any brines below saturation",
    "mass_balance",
)
USE = Formula(
    "brine_after_cheese",
    "Brine after cheese",
    "w' = (M·w − S)/(M − S + k·S); salt to restore = M'·(w − w')/(1 − w)",
    "k, grams of water out per gram of salt in, about 2, from 1 to 2.5",
    "mass_balance",
    ("brine_outflow", "guinee_fox_1983"),
)
WATER_PER_SALT = 2.0
WATER_PER_SALT_BAND = (1.0, 2.5)


@dataclass(frozen=True, slots=True)
class Batch:
    """What goes into a brine."""

    salt_g: float
    water_g: float
    brine_kg: float
    brine_l: float
    salt_pct: float
    temperature_c: float
    saturation_pct: float
    formula: Formula = MAKING
    density_formula: Formula = DENSITY


@dataclass(frozen=True, slots=True)
class Dissolved:
    """The brine that a weight of salt and of water gives."""

    salt_pct: float
    undissolved_g: float
    """Salt that stays on the bottom; 0 below saturation."""
    brine_kg: float
    brine_l: float
    temperature_c: float
    formula: Formula = MAKING


@dataclass(frozen=True, slots=True)
class Change:
    """What to add so that a brine in hand reaches a strength, and an amount if one was given."""

    salt_g: float
    water_g: float
    boil_off_g: float
    """For strengthening only: the water to drive off instead of adding salt."""
    brine_kg: float
    """The brine afterwards, with salt or water added."""
    salt_pct: float
    formula: Formula = CHANGING


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mixture of brines."""

    brine_kg: float
    salt_pct: float
    formula: Formula = MIXING


@dataclass(frozen=True, slots=True)
class Proportions:
    """How two brines meet a strength between them, as shares that add up to 1."""

    strong_share: float
    weak_share: float
    salt_pct: float
    formula: Formula = MIXING


@dataclass(frozen=True, slots=True)
class AfterCheese:
    """A brine after some cheese has lain in it."""

    salt_pct: float
    salt_pct_low: float
    """With the most water out per gram of salt."""
    salt_pct_high: float
    brine_kg: float
    salt_taken_g: float
    water_out_g: float
    restore_salt_g: float
    formula: Formula = USE


def _strength(what: str, salt_pct: float, temperature_c: float) -> float:
    most = saturation_pct(temperature_c)
    full = f"{100 * most / (100 - most):.1f} g to 100 g of water"
    why = f"water at {plainly(temperature_c)} °C holds no more, which is {full}"
    return within(what, salt_pct, 0, round(most + 0.005, 2), "% by weight", why)


def make(litres: float, salt_pct: float, temperature_c: float = 12.0) -> Batch:
    """Salt and water for so many litres of brine of a strength, measured at a temperature (0 to 40 °C).

    Raises ``OutOfRange`` above saturation. Source: mass_balance, laliberte_cooper.
    """
    amount("The amount of brine", litres, "L")
    _strength("The strength", salt_pct, temperature_c)
    brine_g = density_kg_m3(salt_pct, temperature_c) * litres
    salt_g = brine_g * salt_pct / 100
    return Batch(
        salt_g, brine_g - salt_g, brine_g / 1000, litres, salt_pct, temperature_c, saturation_pct(temperature_c)
    )


def make_with_water(water_g: float, salt_pct: float, temperature_c: float = 12.0) -> Batch:
    """Salt for a given weight of water (1 L of cool water weighs 1000 g). Otherwise as ``make``."""
    amount("The water", water_g / 1000, "kg")
    _strength("The strength", salt_pct, temperature_c)
    salt_g = water_g * salt_pct / (100 - salt_pct)
    brine_g = water_g + salt_g
    litres = brine_g / density_kg_m3(salt_pct, temperature_c)
    return Batch(salt_g, water_g, brine_g / 1000, litres, salt_pct, temperature_c, saturation_pct(temperature_c))


def dissolve(salt_g: float, water_g: float, temperature_c: float = 12.0) -> Dissolved:
    """The brine that salt and water give; what is beyond saturation stays undissolved. 0 to 40 °C."""
    within("The salt", salt_g / 1000, 0, 100_000, "kg", "from none to more than any dairy buys")
    amount("The water", water_g / 1000, "kg")
    most = saturation_pct(temperature_c)
    most_salt = water_g * most / (100 - most)
    salt_in = min(salt_g, most_salt)
    brine_g = water_g + salt_in
    pct = 100 * salt_in / brine_g
    litres = brine_g / density_kg_m3(pct, temperature_c)
    return Dissolved(pct, salt_g - salt_in, brine_g / 1000, litres, temperature_c)


def change(brine_kg: float, from_pct: float, to_pct: float, temperature_c: float = 12.0) -> Change:
    """What takes a brine from one strength to another: salt to strengthen, water to dilute.

    Raises ``OutOfRange`` for strengths beyond saturation, or for a strength of 0. Source: mass_balance.
    """
    amount("The brine", brine_kg, "kg")
    _strength("The strength now", from_pct, temperature_c)
    _strength("The strength wanted", to_pct, temperature_c)
    m = brine_kg * 1000
    if to_pct >= from_pct:
        salt = m * (to_pct - from_pct) / (100 - to_pct)
        boil = m * (to_pct - from_pct) / to_pct if to_pct > 0 else 0.0
        return Change(salt, 0.0, boil, (m + salt) / 1000, to_pct)
    above_zero("The strength wanted", to_pct, "% by weight", "no amount of water takes all salt out")
    water = m * (from_pct - to_pct) / to_pct
    return Change(0.0, water, 0.0, (m + water) / 1000, to_pct)


def restore(brine_kg: float, from_pct: float, to_kg: float, to_pct: float, temperature_c: float = 12.0) -> Change:
    """Salt and water that bring a used brine back to an amount and a strength at once.

    Raises ``OutOfRange`` when it would need salt or water taken out. Source: mass_balance.
    """
    amount("The brine", brine_kg, "kg")
    amount("The brine wanted", to_kg, "kg")
    _strength("The strength now", from_pct, temperature_c)
    _strength("The strength wanted", to_pct, temperature_c)
    salt = 10 * (to_kg * to_pct - brine_kg * from_pct)
    water = 10 * (to_kg * (100 - to_pct) - brine_kg * (100 - from_pct))
    for name, grams in (("salt", salt), ("water", water)):
        if grams < -1e-6:
            keep = 10 * to_kg * (to_pct if name == "salt" else 100 - to_pct)
            keep /= 10 * (from_pct if name == "salt" else 100 - from_pct)
            raise OutOfRange(
                f"{plainly(brine_kg)} kg holds more {name} than the brine wanted; "
                f"keep at most {plainly(keep, 3)} kg of it, or make more brine."
            )
    return Change(max(0.0, salt), max(0.0, water), 0.0, to_kg, to_pct)


def mix(brines: Sequence[tuple[float, float]]) -> Mixed:
    """What several brines make together; each is (kilograms, percent by weight). Source: mass_balance."""
    if not brines:
        raise OutOfRange("There is nothing to mix; expected at least one brine.")
    total = salt = 0.0
    for kg, pct in brines:
        within("An amount of brine", kg, 0, 100_000, "kg", "from none to a large vat")
        within("A strength", pct, 0, 26.6, "% by weight", "stronger brine does not exist")
        total += kg
        salt += kg * pct
    amount("The brine in all", total, "kg")
    return Mixed(total, salt / total)


def proportions(strong_pct: float, weak_pct: float, wanted_pct: float) -> Proportions:
    """Shares, by weight, of a strong and a weak brine that meet a strength between them (Pearson's square)."""
    within("The strong brine", strong_pct, 0, 26.6, "% by weight", "stronger brine does not exist")
    within("The weak brine", weak_pct, 0, strong_pct, "% by weight", "it is to be the weaker one")
    if strong_pct == weak_pct:
        raise OutOfRange("Both brines are equally strong; expected one that is stronger than the other.")
    why = "a mixture lies between its parts"
    within("The strength wanted", wanted_pct, weak_pct, strong_pct, "% by weight", why)
    strong = (wanted_pct - weak_pct) / (strong_pct - weak_pct)
    return Proportions(strong, 1 - strong, wanted_pct)


def after_cheese(
    brine_kg: float,
    salt_pct: float,
    cheese_kg: float,
    uptake_pct: float,
    water_per_salt: float = WATER_PER_SALT,
) -> AfterCheese:
    """A brine after ``cheese_kg`` of cheese took up ``uptake_pct`` of its weight in salt (0 to 6 %).

    ``water_per_salt`` is grams of water out per gram of salt in, 0 to 3. Raises ``OutOfRange``, also
    when the brine does not hold that much salt. Source: mass_balance; the ratio from memory.
    """
    amount("The brine", brine_kg, "kg")
    within("The strength", salt_pct, 0, 26.6, "% by weight", "stronger brine does not exist")
    within("The cheese", cheese_kg, 0, 100_000, "kg", "from none to what a large dairy salts")
    within("The salt taken up", uptake_pct, 0, 6, "% of the cheese", "cheese in brine takes up 0.8 to 5 %")
    within("Water out per salt in", water_per_salt, 0, 3, "g/g", "0.5 to 2.4 was measured")
    m, taken = brine_kg * 1000, cheese_kg * uptake_pct * 10
    if taken > m * salt_pct / 100:
        raise OutOfRange(
            f"The cheese would take {plainly(taken, 4)} g of salt, but the brine holds "
            f"{plainly(m * salt_pct / 100, 4)} g; expected more brine or less cheese."
        )

    def strength(ratio: float) -> float:
        return 100 * (m * salt_pct / 100 - taken) / (m - taken + ratio * taken)

    after = m - taken + water_per_salt * taken
    pct = strength(water_per_salt)
    low, high = strength(max(WATER_PER_SALT_BAND[1], water_per_salt)), strength(min(1.0, water_per_salt))
    restore_g = after * (salt_pct - pct) / (100 - salt_pct)
    return AfterCheese(pct, low, high, after / 1000, taken, water_per_salt * taken, restore_g)
