"""Quantities of the plan, worked out for the cheese and the brine in hand.

The page of a cause names an amount per kilogram, per litre or per face. Here it meets the number of
cheeses, their size and weight and the brine there is, and is rounded as a kitchen can weigh it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from .answers import Answers
from .catalog import Cheese
from .figures import BRINE_LITRES, BRINE_PCT, COUNT, WEIGHT, number, shape_of
from .model import Amount
from .sums.ground import Formula, OutOfRange, sources
from .sums.kitchen import duration, grams, millilitres

WASH_ML_PER_CM2 = 0.1
"""Wash that a soaked cloth leaves on a rind, with some to spare: judgement, from 5 to 10 mL on a face of 100 cm²."""

PER_KG = Formula("per_kg", "By weight of cheese", "grams = rate · kg of cheese · number of cheeses",
                 "the weight as it is now", "definition")  # fmt: skip
PER_LITRE = Formula(
    "per_litre_of_wash", "Salt in a wash", "grams = rate · litres; litres = number · surface (cm²) · 0.0001",
    "0.1 mL of wash to each cm² of rind, poured away after use", "definition", ("judgement",),
)  # fmt: skip
PER_FACE = Formula("per_face", "By face", "mL = rate · 2 faces · number of cheeses", "both flat faces", "definition")
PER_BRINE_LITRE = Formula("per_litre_of_brine", "By litre of brine", "grams = rate · litres", "new brine", "definition")


@dataclass(frozen=True, slots=True)
class Worked:
    """A quantity in words, and the formulas it came from."""

    text: str
    formulas: tuple[Formula, ...] = ()

    @property
    def ground(self) -> str:
        """Formulas and sources in one line, for those who ask."""
        known = sources()
        return " ".join(
            f"{f.name}: {f.expression}. Holds for {f.valid}. "
            f"Source: {'; '.join(known[id].reference for id in (f.source, *f.also))}."
            for f in self.formulas
        )


def work_out(amount: Amount, answers: Answers, cheese: Cheese | None = None) -> Worked:
    """A quantity for this cheese: the rate as written, and what it comes to where the figures are known."""
    return _BASES[amount.per](amount, answers, cheese)


def _per_kg(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    plain = _plain(amount)
    weight, count = number(answers, WEIGHT), number(answers, COUNT)
    if weight is None:
        return Worked(plain, (PER_KG,))
    one = _span(amount.low * weight / 1000, amount.high * weight / 1000, grams)
    said = f"{plain}: for your {weight:g} g cheese {one}"
    if count is not None and count > 1:
        total = _span(amount.low * weight * count / 1000, amount.high * weight * count / 1000, grams)
        said = f"{plain}: {one} for each of {weight:g} g, {total} for all {count:g}"
    return Worked(said, (PER_KG,))


def _per_litre(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    words: Callable[[float], str] = grams if amount.unit == "g" else millilitres
    rate = f"{_span(amount.low, amount.high, words)} of {amount.what} to 1 L of boiled, cooled water"
    now = number(answers, "wash_salt_g_per_l")
    if now is not None and amount.unit == "g" and not amount.low <= now <= amount.high:
        rate += f" (yours has {now:g} g now)"
    shape, count = shape_of(answers), number(answers, COUNT) or 1.0
    if shape is None:
        return Worked(f"{rate}: for a cup of 250 mL {_span(amount.low / 4, amount.high / 4, words)}", (PER_LITRE,))
    ml = _cupful(shape.area_cm2 * WASH_ML_PER_CM2 * count)
    whose = "your cheese" if count == 1 else f"your {count:g} cheeses"
    share = _span(amount.low * ml / 1000, amount.high * ml / 1000, words)
    return Worked(f"{rate}: for {whose} about {millilitres(ml)} with {share} in it", (PER_LITRE,))


def _cupful(ml: float) -> float:
    """A volume worth mixing: up to the next 50 mL, and at least that."""
    return max(1.0, math.ceil(ml / 50 - 1e-9)) * 50


def _per_face(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    count = number(answers, COUNT)
    if count is None:
        return Worked(_plain(amount), (PER_FACE,))
    words: Callable[[float], str] = grams if amount.unit == "g" else millilitres
    total = _span(2 * count * amount.low, 2 * count * amount.high, words)
    whose = "your cheese" if count == 1 else f"your {count:g} cheeses"
    return Worked(f"{_plain(amount)}: for both faces of {whose} {total}", (PER_FACE,))


def _per_brine_litre(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    plain, litres = _plain(amount), number(answers, BRINE_LITRES)
    if litres is None:
        return Worked(plain, (PER_BRINE_LITRE,))
    words: Callable[[float], str] = grams if amount.unit == "g" else millilitres
    total = _span(amount.low * litres, amount.high * litres, words)
    return Worked(f"{plain}: for your {litres:g} L {total}", (PER_BRINE_LITRE,))


def _brine(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    from .sums import brine
    from .sums.salt_water import DENSITY, density_kg_m3

    aim = f"{_span(amount.low, amount.high, _percent)} salt by weight"
    now, litres = number(answers, BRINE_PCT), number(answers, BRINE_LITRES)
    low, high = (1000 * pct / (100 - pct) for pct in (amount.low, amount.high))
    per_litre = f"{aim}: {_span(low, high, grams)} of salt to 1 kg of water"
    try:
        if litres is None or now is None:
            if litres is None:
                return Worked(per_litre, (brine.MAKING,))
            low, high = (brine.make(litres, pct).salt_g for pct in (amount.low, amount.high))
            said = f"{per_litre}; {_span(low, high, grams)} in {litres:g} L of new brine"
            return Worked(said, (brine.MAKING, DENSITY))
        if amount.low <= now <= amount.high:
            return Worked(f"{aim}: your brine of {now:g} % is within it", (brine.CHANGING,))
        kg = litres * density_kg_m3(now, 12) / 1000
        aimed = amount.low if now < amount.low else amount.high
        found = brine.change(kg, now, aimed)
    except OutOfRange:
        return Worked(per_litre, (brine.MAKING,))
    add = f"{grams(found.salt_g)} of salt" if found.salt_g else f"{grams(found.water_g)} of boiled, cooled water"
    return Worked(
        f"{aim}: your {litres:g} L of {now:g} % needs {add} to come to {aimed:g} %", (brine.CHANGING, DENSITY)
    )


def _brined(amount: Amount, answers: Answers, cheese: Cheese | None) -> Worked:
    from .sums import salt
    from .sums.diffusion import UPTAKE

    aim = f"{_span(amount.low, amount.high, _percent)} of the cheese's weight in {amount.what}"
    shape, brine_pct = shape_of(answers), number(answers, BRINE_PCT)
    if shape is None:
        return Worked(aim, (salt.BRINING,))
    hardness = cheese.style.hardness if cheese is not None and cheese.style is not None else "semi hard"
    paste = "soft" if "soft" in hardness else "semi-hard" if hardness == "semi hard" else "hard"
    moisture = salt.MOISTURES[paste]
    strength = 20.0 if brine_pct is None else brine_pct
    try:
        times = [salt.brine_time(shape, pct, strength, moisture, paste).hours for pct in (amount.low, amount.high)]
    except OutOfRange:
        return Worked(aim, (salt.BRINING,))
    said = _span(times[0].value, times[1].value, duration)
    return Worked(
        f"{aim}: about {said} in a brine of {strength:g} % at 12 °C for your size (half or double that is "
        "possible: weigh one and keep your own time)",
        (salt.BRINING, UPTAKE, salt.COEFFICIENT),
    )


_BASES: dict[str, Callable[[Amount, Answers, Cheese | None], Worked]] = {
    "kg of cheese": _per_kg,
    "litre of wash": _per_litre,
    "face": _per_face,
    "litre of brine": _per_brine_litre,
    "brine": _brine,
    "cheese in brine": _brined,
}


def _plain(amount: Amount) -> str:
    words: Callable[[float], str] = grams if amount.unit == "g" else millilitres
    return f"{_span(amount.low, amount.high, words)} of {amount.what} per {amount.per}"


def _percent(x: float) -> str:
    return f"{x:.2g} %"


def _span(low: float, high: float, words: Callable[[float], str]) -> str:
    a, b = words(low), words(high)
    if a == b:
        return a
    number_a, _, unit_a = a.partition(" ")
    return f"{number_a} to {b}" if unit_a == b.partition(" ")[2] else f"{a} to {b}"
