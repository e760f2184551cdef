"""Salt in water: density, saturation, water activity. Strength is percent by weight unless it says otherwise.

Percent by weight is grams of salt in 100 g of salt water.
"""

from __future__ import annotations

import math
from functools import cache

from .ground import Formula, between, table, within

NACL_G_PER_MOL = 58.443
WATER_KG_PER_MOL = 0.018015

DENSITY = Formula(
    "laliberte_density",
    "Density of salt water (Laliberté and Cooper)",
    "ρ = 1/((1 − w)/ρ_water + w/ρ_salt); ρ_salt = (c0·w + c1)·exp(10⁻⁶·(t + c4)²)/(w + c2 + c3·t)",
    "0 to 100 °C, up to 26.6 % by weight",
    "laliberte_cooper",
    ("poradnik_1974", "coolprop_mna"),
)
SATURATION = Formula(
    "nacl_saturation",
    "Most salt that water holds",
    "a table of halite equilibrium, straight between its rows",
    "0 to 40 °C",
    "phreeqc_pitzer",
)
ACTIVITY = Formula(
    "nacl_water_activity",
    "Water activity of salt water",
    "a_w = exp(−2·φ·m·0.018015), φ from a table by molality m and temperature",
    "0 to saturation; 5 to 25 °C, beyond which the end row is used",
    "phreeqc_pitzer",
    ("robinson_stokes",),
)

MOST_PCT = 26.6
_WHY_DENSITY = "the density formula was fitted up to saturation"
_WHY_TEMPERATURE = "brine freezes or boils outside of it"
_COEFFICIENTS = (-0.00324112223655149, 0.0636354335906616, 1.01371399467365, 0.0145951015210159, 3317.34854426537)


def water_density_kg_m3(temperature_c: float) -> float:
    """Density of pure water, kg/m³, at 0 to 100 °C. Raises ``OutOfRange``. Source: laliberte_cooper."""
    t = within("The temperature", temperature_c, 0, 100, "°C", _WHY_TEMPERATURE)
    top = ((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t + 16.945176) * t
    return (top + 999.83952) / (1 + 0.01687985 * t)


def density_kg_m3(salt_pct: float, temperature_c: float) -> float:
    """Density of salt water, kg/m³, from percent by weight (0 to 26.6) and °C (0 to 100).

    Raises ``OutOfRange``. Source: laliberte_cooper.
    """
    w = within("The strength", salt_pct, 0, MOST_PCT, "% by weight", _WHY_DENSITY) / 100
    t = temperature_c
    water = water_density_kg_m3(t)
    c0, c1, c2, c3, c4 = _COEFFICIENTS
    apparent = (c0 * w + c1) * math.exp(1e-6 * (t + c4) ** 2) / (w + c2 + c3 * t)
    return 1 / ((1 - w) / water + w / apparent)


@cache
def _saturation() -> list[tuple[float, float]]:
    return [(float(r["temperature_c"]), float(r["saturation_pct_by_weight"])) for r in table("nacl_solubility")]


def saturation_pct(temperature_c: float) -> float:
    """The strongest brine possible, percent by weight, at 0 to 40 °C. Raises ``OutOfRange``.

    Source: phreeqc_pitzer; handbook values from memory are 0.1 points lower to 0.1 higher.
    """
    within("The temperature", temperature_c, 0, 40, "°C", "the table of solubility covers no more")
    return between(_saturation(), temperature_c)


def molality(salt_pct: float) -> float:
    """Moles of salt per kg of water, from percent by weight (below 100). Definition."""
    within("The strength", salt_pct, 0, 99, "% by weight", "no water is left")
    return 10 * salt_pct / (NACL_G_PER_MOL * (1 - salt_pct / 100))


def pct_from_molality(mol_per_kg: float) -> float:
    """Percent by weight from moles of salt per kg of water. Definition."""
    within("The molality", mol_per_kg, 0, 1000, "mol/kg", "no more salt fits")
    grams = NACL_G_PER_MOL * mol_per_kg
    return 100 * grams / (1000 + grams)


@cache
def _osmotic() -> dict[float, list[tuple[float, float]]]:
    found: dict[float, list[tuple[float, float]]] = {}
    for r in table("nacl_water_activity"):
        points = found.setdefault(float(r["temperature_c"]), [(0.0, 1.0)])
        points.append((float(r["molality_mol_per_kg_water"]), float(r["osmotic_coefficient"])))
    for points in found.values():  # the table ends just short of saturation: the last slope goes on
        (m0, phi0), (m1, phi1) = points[-2:]
        points.append((6.3, phi1 + (phi1 - phi0) / (m1 - m0) * (6.3 - m1)))
    return found


def water_activity(salt_pct: float, temperature_c: float = 12.0) -> float:
    """Water activity (0 to 1) of salt water, percent by weight up to saturation.

    The tables run from 5 to 25 °C; the nearer end is used outside of them (the whole span is below
    0.004). Raises ``OutOfRange``. Source: phreeqc_pitzer.
    """
    within("The strength", salt_pct, 0, MOST_PCT, "% by weight", "stronger salt water does not exist")
    within("The temperature", temperature_c, 0, 40, "°C", "the tables serve rooms and cellars")
    m = molality(salt_pct)
    rows = [(t, between(points, m)) for t, points in sorted(_osmotic().items())]
    phi = between(rows, temperature_c)
    return math.exp(-2 * phi * m * WATER_KG_PER_MOL)


def balance_salt_pct(humidity_pct: float, temperature_c: float = 12.0) -> float:
    """Salt water, percent by weight, that neither dries nor takes up water at a humidity (76 to 100 %).

    Raises ``OutOfRange``: below about 76 % even saturated salt water dries. Source: phreeqc_pitzer.
    """
    least = 100 * water_activity(MOST_PCT, temperature_c)
    why = "below it even saturated salt water dries, and above 100 % water falls out"
    within("The humidity", humidity_pct, round(least + 0.05, 1), 100, "%", why)
    low, high = 0.0, MOST_PCT
    for _ in range(60):
        middle = (low + high) / 2
        if 100 * water_activity(middle, temperature_c) > humidity_pct:
            low = middle
        else:
            high = middle
    return (low + high) / 2
