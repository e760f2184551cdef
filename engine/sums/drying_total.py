"""Weight lost in all, for rinds whose usual loss by surface nobody gives: lactic cheeses, and cheeses under a coat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from .drying import Loss, Weighing
from .ground import Formula, OutOfRange, table

BY_DAY = 14
_ABOUT_DAYS = 2
_ABOUT_PCT = 5.0
"""How far from the published figure a loss may lie and still be usual: a judgement, the step between two styles."""
COATED_PCT_WEEK = 0.5
"""What a closed coat may let through in a week: a judgement, the one the diagnosis goes by."""

LOST_BY_DAY_14 = Formula(
    "lost_by_day_14",
    "Weight lost 14 days after unmoulding",
    "lost % = 100·(W₀ − W)/W₀, against a table by style: 38, 42, 45 or 52 %",
    "lactic goat cheese weighed when it left the mould and again about two weeks later",
    "farm_press_geotrichum",
    ("farm_press_blue_crust",),
)
COAT = Formula(
    "coat_lets_through",
    "Weight lost under a coat",
    "lost % a week = 700·(W₁ − W₂)/(W₁·days); more than 0.5 is too much",
    "wax, a plastic coat or a bag without a hole",
    "judgement",
)
Verdict = Literal["too much", "usual", "too little", "too early", "not clear"]


@dataclass(frozen=True, slots=True)
class Style:
    """A style of lactic cheese, and what it has lost 14 days after it left the mould."""

    id: str
    rind: str
    lost_pct: float


@dataclass(frozen=True, slots=True)
class Lost:
    """What a lactic cheese has lost since its first weighing, taken for the day it left the mould."""

    style: Style
    days: float
    lost_pct: float
    aim_g: float
    """What it should weigh on day 14."""
    verdict: Verdict
    formula: Formula = LOST_BY_DAY_14


@dataclass(frozen=True, slots=True)
class UnderCoat:
    """What a cheese loses through its coat."""

    pct_per_week: float
    verdict: Verdict
    formula: Formula = COAT


@cache
def styles() -> dict[str, Style]:
    """Styles of lactic cheese by id."""
    return {r["id"]: Style(r["id"], r["rind"], float(r["lost_pct"])) for r in table("lactic_loss")}


def lost(weighings: Sequence[Weighing], style_id: str) -> Lost:
    """What a lactic cheese lost from its first weighing to its last. Raises ``OutOfRange`` for an unknown style."""
    if style_id not in styles():
        raise OutOfRange(f'There is no figure for "{style_id}"; expected one of {", ".join(styles())}.')
    style = styles()[style_id]
    first, last = (edge(weighings, key=lambda w: w.day) for edge in (min, max))
    days = last.day - first.day
    pct = 100 * (first.weight_g - last.weight_g) / first.weight_g
    return Lost(style, days, pct, first.weight_g * (1 - style.lost_pct / 100), _verdict(days, pct, style.lost_pct))


def _verdict(days: float, pct: float, usual: float) -> Verdict:
    if days <= BY_DAY + _ABOUT_DAYS and pct > usual + _ABOUT_PCT:
        return "too much"  # also before its day: it has lost by now what it should lose by then
    if days < BY_DAY - _ABOUT_DAYS:
        return "too early"
    if pct < usual - _ABOUT_PCT:
        return "too little"
    return "usual" if days <= BY_DAY + _ABOUT_DAYS else "not clear"


def under_coat(loss: Loss) -> UnderCoat:
    """What a loss means for a cheese under wax, a plastic coat or in a bag."""
    weekly = 7 * loss.pct_per_day
    error = abs(weekly) * loss.error_g_m2_day / max(abs(loss.flux_g_m2_day), 1e-9)
    if weekly - error > COATED_PCT_WEEK:
        return UnderCoat(weekly, "too much")
    return UnderCoat(weekly, "usual" if weekly + error <= COATED_PCT_WEEK else "not clear")
