"""Amounts as a kitchen weighs and measures them."""

from __future__ import annotations

import math

_STEPS = (1000, 500, 100, 50, 10, 5, 1, 0.5, 0.1)


def weighable(amount: float, finest: float = 0.1, slack: float = 0.02) -> float:
    """An amount in g or mL, rounded to the widest handy step no wider than ``slack`` of it.

    Rounding then errs by half of ``slack`` at most. Below that the finest step rules: 0.1 g is
    what a pocket scale shows.
    """
    step = next((s for s in _STEPS if s <= amount * slack and s >= finest), finest)
    return round(math.floor(amount / step + 0.5) * step, 3)


def grams(amount: float) -> str:
    """A weight in words, within 1 %: ``30 g``, ``2.3 kg``."""
    g = weighable(amount)
    return f"{g / 1000:g} kg" if g >= 1000 else f"{g:g} g"


def millilitres(amount: float) -> str:
    """A volume in words, within 3 %: ``150 mL``, ``1.5 L``. A jug shows whole millilitres at best."""
    ml = weighable(amount, finest=1.0 if amount >= 1 else 0.1, slack=0.06)
    return f"{ml / 1000:g} L" if ml >= 1000 else f"{ml:g} mL"


def duration(hours: float) -> str:
    """A length of time as a clock or a calendar shows it: ``50 minutes``, ``19 hours``, ``3.5 days``."""
    if hours < 1.5:
        return f"{max(5, round(hours * 12) * 5):g} minutes"
    if hours < 60:
        return f"{hours:.2g} hours"
    return f"{float(f'{hours / 24:.2g}'):g} days"  # 3800, not 3.8e+03
