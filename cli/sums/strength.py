"""Strengths and amounts of brine as a maker says them, and the question "percent of what?"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import click

from ...engine.errors import listed, nearest
from ...engine.sums.ground import amount
from ...engine.sums.kitchen import plainly
from ...engine.sums.salt_water import density_kg_m3, water_density_kg_m3
from ...engine.sums.scales import HYDROMETER_C, NAMES, SATURATED_PCT, Scale, matters, readings, to_pct_by_weight
from .edge import AnyParam, choose, figure

_SPELLED: dict[str, Scale] = {
    "% w/w": "pct_by_weight", "%w/w": "pct_by_weight", "% by weight": "pct_by_weight", "w/w": "pct_by_weight",
    "% w/v": "pct_weight_in_volume", "%w/v": "pct_weight_in_volume", "w/v": "pct_weight_in_volume",
    "g/l": "g_per_l_brine", "g/l brine": "g_per_l_brine", "g per litre of brine": "g_per_l_brine",
    "g/l water": "g_per_l_water", "g per litre of water": "g_per_l_water",
    "% of water": "pct_of_water", "% of the water": "pct_of_water", "g/100g water": "pct_of_water",
    "g/kg water": "g_per_kg_water", "g/kg": "g_per_kg_water",
    "mol/kg": "mol_per_kg_water", "molal": "mol_per_kg_water",
    "sg": "specific_gravity", "be": "baume", "bé": "baume", "°be": "baume", "°bé": "baume", "baume": "baume",
    "baumé": "baume", "sal": "salometer", "°sal": "salometer", "salometer": "salometer", "deg sal": "salometer",
}  # fmt: skip
_WRITTEN = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(.*?)\s*$")
EXAMPLES = '"20 % w/w", "230 g/L brine", "250 g/L water", "19 Bé", "76 sal" or "1.15 SG"'


@dataclass(frozen=True, slots=True)
class Told:
    """A strength as it was said; no scale when it was a bare percent."""

    value: float
    scale: Scale | None


class StrengthParam(AnyParam):
    """A strength on any scale."""

    name = "strength"
    unit = "for example 20 % w/w, 230 g/L brine, 19 Bé"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Told:
        """The strength as said. A bare percent keeps its scale open."""
        if isinstance(value, Told):
            return value
        found = _WRITTEN.match(str(value))
        if not found:
            self.fail(f'does not take "{value}"; expected a strength such as {EXAMPLES}.', param, ctx)
        try:
            number = figure(found[1], "")
        except ValueError as problem:
            self.fail(f"{problem}.", param, ctx)
        unit = " ".join(found[2].casefold().replace("per cent", "%").replace("percent", "%").split())
        if unit in ("", "%"):
            return Told(number, None)
        if unit not in _SPELLED:
            self.fail(
                f'does not know "{found[2]}"{nearest(unit, _SPELLED)}; expected a strength such as {EXAMPLES}.',
                param,
                ctx,
            )
        return Told(number, _SPELLED[unit])


def settle(
    told: Told,
    what: str,
    temperature_c: float,
    read_at_c: float = HYDROMETER_C,
    salometer_full_pct: float = SATURATED_PCT,
) -> tuple[float, str]:
    """Percent by weight of what was said, and a line on how it was read (empty when it was plain).

    Asks "percent of what?" only where the meanings lie apart. Raises ``OutOfRange`` or ``UsageError``.
    """
    water_density_kg_m3(temperature_c)  # refuses a temperature no brine has, on whichever scale it was said
    if told.scale is not None:
        pct = to_pct_by_weight(told.value, told.scale, temperature_c, read_at_c, salometer_full_pct)
        return pct, "" if told.scale == "pct_by_weight" else f"{said(told)} is {pct:.2f} % by weight."
    if not told.value:  # plain water, whatever the scale
        return 0.0, ""
    found = readings(told.value, temperature_c)
    if len(found) > 1 and not matters(told.value, temperature_c):
        return told.value, f"{plainly(told.value)} % is read as by weight; it hardly differs from the other meanings."
    if len(found) == 1:
        scale, pct = next(iter(found.items()))
        return pct, f"{plainly(told.value)} % can only be {NAMES[scale][1]}: no brine is that strong by weight."
    if not found:
        return to_pct_by_weight(told.value, "pct_by_weight", temperature_c), ""
    offered = [(str(s), f"{NAMES[s][1]}: {pct:.1f} % by weight") for s, pct in found.items()]
    written = {"pct_by_weight": "% w/w", "pct_weight_in_volume": "% w/v", "pct_of_water": "% of water"}
    meanings = listed([f'"{plainly(told.value)} {written[s]}" ({pct:.1f} % by weight)' for s, pct in found.items()])
    ask = f"{what}: {plainly(told.value)} % of what?"
    picked = choose(ask, offered, f"{ask} Write {meanings}.")
    chosen = next(s for s in found if s == picked)
    return found[chosen], f"{plainly(told.value)} %, meant as {NAMES[chosen][1]}, is {found[chosen]:.2f} % by weight."


def said(told: Told) -> str:
    """A strength in words."""
    return f"{plainly(told.value)} {NAMES[told.scale or 'pct_by_weight'][0]}"


@dataclass(frozen=True, slots=True)
class Quantum:
    """An amount of brine by weight or by volume."""

    value: float
    unit: str

    def kg(self, salt_pct: float, temperature_c: float) -> float:
        """Kilograms of brine of a strength."""
        amount("The amount", self.value, self.unit)
        kg_per_l = density_kg_m3(salt_pct, temperature_c) / 1000
        return self.value if self.unit == "kg" else self.value * kg_per_l


class BrineParam(AnyParam):
    """An amount of brine: litres, or a weight where the unit says so."""

    name = "brine"
    unit = "litres, or kg if you say so"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Quantum:
        """The amount in litres or kilograms."""
        if isinstance(value, Quantum):
            return value
        for plain in ("L", "kg"):
            try:
                return Quantum(figure(str(value), plain), plain)
            except ValueError as problem:
                trouble = problem
        self.fail(f'does not take "{value}"; expected an amount such as 10 L, 8 qt or 50 kg ({trouble}).', param, ctx)
