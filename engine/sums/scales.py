"""The many meanings of "percent": ten scales of brine strength, each to and from percent by weight.

An old recipe's 20 % may be 16.7, 17.4, 20 or more by weight. Nothing here guesses which: see
``readings`` for what a bare percent may mean, and ``matters`` for whether it makes a difference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from .ground import Formula, OutOfRange, within
from .salt_water import (
    MOST_PCT,
    density_kg_m3,
    molality,
    pct_from_molality,
    saturation_pct,
    water_density_kg_m3,
)

Scale = Literal[
    "pct_by_weight",
    "pct_weight_in_volume",
    "g_per_l_brine",
    "g_per_l_water",
    "pct_of_water",
    "g_per_kg_water",
    "mol_per_kg_water",
    "specific_gravity",
    "baume",
    "salometer",
]
NAMES: dict[str, tuple[str, str]] = {
    "pct_by_weight": ("%", "grams of salt in 100 g of brine"),
    "pct_weight_in_volume": ("% w/v", "grams of salt in 100 mL of brine"),
    "g_per_l_brine": ("g per litre of brine", "salt, then water up to the litre mark"),
    "g_per_l_water": ("g per litre of water", "salt added to a litre of water"),
    "pct_of_water": ("% of the water", "grams of salt to 100 g of water"),
    "g_per_kg_water": ("g per kg of water", "grams of salt to a kilogram of water"),
    "mol_per_kg_water": ("mol per kg of water", "molality"),
    "specific_gravity": ("specific gravity", "hydrometer, 60 °F over 60 °F"),
    "baume": ("°Bé", "heavy Baumé hydrometer, modulus 145, 60 °F"),
    "salometer": ("°Sal", "salometer, 100 is saturated"),
}
"""Scale to its unit and what it means."""

HYDROMETER_C = (60 - 32) / 1.8
"""60 °F, where hydrometers for brine are scaled."""
SATURATED_PCT = 26.395
"""Percent by weight at 100 degrees of the usual salometer."""

SCALES = Formula(
    "brine_scales",
    "Scales of brine strength",
    "g/kg water = 1000·w/(1 − w); g/L brine = ρ·w; Bé = 145 − 145/SG; °Sal = 100·w/0.26395; SG = ρ/ρ_water at 60 °F",
    "0 to 26.6 % by weight",
    "definition",
    ("laliberte_cooper", "salometer_note", "baume_145"),
)


@dataclass(frozen=True, slots=True)
class Strength:
    """One strength on every scale, at one temperature."""

    pct_by_weight: float
    pct_weight_in_volume: float
    g_per_l_brine: float
    g_per_l_water: float
    pct_of_water: float
    g_per_kg_water: float
    mol_per_kg_water: float
    specific_gravity: float
    baume: float
    salometer: float
    density_kg_m3: float
    temperature_c: float
    formula: Formula = SCALES


def to_pct_by_weight(
    value: float,
    scale: Scale,
    temperature_c: float = 20.0,
    read_at_c: float = HYDROMETER_C,
    salometer_full_pct: float = SATURATED_PCT,
) -> float:
    """Percent by weight of a strength given on any scale.

    ``temperature_c`` is that of the litre meant; ``read_at_c`` that of the brine when a hydrometer
    scaled for 60 °F was read; ``salometer_full_pct`` the percent by weight at 100 degrees (26.395,
    or 25 on a rarer instrument). Raises ``OutOfRange``. Source: definition, laliberte_cooper.
    """
    unit = NAMES[scale][0]
    top = from_pct_by_weight(MOST_PCT, scale, temperature_c, read_at_c, salometer_full_pct)
    low = from_pct_by_weight(0.0, scale, temperature_c, read_at_c, salometer_full_pct)
    why = f"{MOST_PCT:g} % by weight, just above saturation, is {top:.4g} here"
    if scale == "specific_gravity":
        unit = "of specific gravity"
    if scale == "pct_by_weight":
        unit, why = "% by weight", "water holds no more; 26 % by weight is already 35 g to 100 g of water"
    if not low - 1e-9 <= value <= top + 1e-9:
        within("The strength", value, float(f"{low:.4g}"), float(f"{top:.4g}"), unit, why)
    if scale == "pct_by_weight":
        return value
    if scale in ("pct_of_water", "g_per_kg_water"):
        r = value * (10 if scale == "pct_of_water" else 1)
        return 100 * r / (1000 + r)
    if scale == "mol_per_kg_water":
        return pct_from_molality(value)
    below, above = 0.0, MOST_PCT
    for _ in range(60):
        middle = (below + above) / 2
        if from_pct_by_weight(middle, scale, temperature_c, read_at_c, salometer_full_pct) < value:
            below = middle
        else:
            above = middle
    return (below + above) / 2


def from_pct_by_weight(
    pct: float,
    scale: Scale,
    temperature_c: float = 20.0,
    read_at_c: float = HYDROMETER_C,
    salometer_full_pct: float = SATURATED_PCT,
) -> float:
    """A strength of ``pct`` percent by weight (0 to 26.6) on another scale; arguments as above."""
    w = within("The strength", pct, 0, MOST_PCT, "% by weight", "stronger brine does not exist") / 100
    if scale == "pct_by_weight":
        return pct
    if scale in ("g_per_kg_water", "pct_of_water", "g_per_l_water"):
        r = 1000 * w / (1 - w)
        if scale == "g_per_l_water":
            return r * water_density_kg_m3(temperature_c) / 1000
        return r / 10 if scale == "pct_of_water" else r
    if scale == "mol_per_kg_water":
        return molality(pct)
    if scale in ("g_per_l_brine", "pct_weight_in_volume"):
        c = density_kg_m3(pct, temperature_c) * w
        return c if scale == "g_per_l_brine" else c / 10
    gravity = density_kg_m3(pct, read_at_c) / water_density_kg_m3(HYDROMETER_C)
    if scale == "specific_gravity":
        return gravity
    if scale == "baume":
        return 145 - 145 / gravity
    if scale != "salometer":
        raise OutOfRange(f'There is no scale "{scale}"; expected one of {", ".join(get_args(Scale))}.')
    # The instrument shows the degree whose brine weighs as much at 60 °F as this one does now.
    at_60f = _pct_of_gravity(gravity) if read_at_c != HYDROMETER_C else pct
    return 100 * at_60f / salometer_full_pct


def _pct_of_gravity(gravity: float) -> float:
    """Percent by weight at 60 °F of a specific gravity; straight on beyond the ends, for odd temperatures."""
    water = water_density_kg_m3(HYDROMETER_C)

    def of(pct: float) -> float:
        return density_kg_m3(pct, HYDROMETER_C) / water

    below, above = 0.0, MOST_PCT
    if gravity < of(below):
        return (gravity - of(0.0)) / (of(1.0) - of(0.0))
    if gravity > of(above):
        return above + (gravity - of(above)) / (of(above) - of(above - 1))
    for _ in range(60):
        middle = (below + above) / 2
        below, above = (middle, above) if of(middle) < gravity else (below, middle)
    return (below + above) / 2


def on_every_scale(
    pct: float, temperature_c: float = 20.0, read_at_c: float = HYDROMETER_C, salometer_full_pct: float = SATURATED_PCT
) -> Strength:
    """A strength on every scale at once. Raises ``OutOfRange``."""

    def on(scale: Scale) -> float:
        return from_pct_by_weight(pct, scale, temperature_c, read_at_c, salometer_full_pct)

    return Strength(
        pct_by_weight=on("pct_by_weight"),
        pct_weight_in_volume=on("pct_weight_in_volume"),
        g_per_l_brine=on("g_per_l_brine"),
        g_per_l_water=on("g_per_l_water"),
        pct_of_water=on("pct_of_water"),
        g_per_kg_water=on("g_per_kg_water"),
        mol_per_kg_water=on("mol_per_kg_water"),
        specific_gravity=on("specific_gravity"),
        baume=on("baume"),
        salometer=on("salometer"),
        density_kg_m3=density_kg_m3(pct, temperature_c),
        temperature_c=temperature_c,
    )


def readings(percent: float, temperature_c: float = 20.0) -> dict[Scale, float]:
    """What a bare percent may mean: scale to percent by weight, where such a brine can exist."""
    found: dict[Scale, float] = {}
    for scale in ("pct_by_weight", "pct_weight_in_volume", "pct_of_water"):
        try:
            found[scale] = to_pct_by_weight(percent, scale, temperature_c)
        except OutOfRange:
            continue
    saturated = saturation_pct(min(40.0, max(0.0, temperature_c)))
    return {scale: pct for scale, pct in found.items() if pct <= saturated + 0.2}


def matters(percent: float, temperature_c: float = 20.0, least_points: float = 0.25) -> bool:
    """Whether the readings of a bare percent lie further apart than ``least_points`` percent by weight.

    Below about 5 % they do not, and nobody needs to be asked. The default is a judgement: a tenth
    of what separates a brine that keeps from one that softens.
    """
    found = readings(percent, temperature_c).values()
    return not found or max(found) - min(found) > least_points
