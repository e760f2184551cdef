"""Amounts as a kitchen weighs and measures them."""

from __future__ import annotations

import math

_STEPS = (1000, 500, 100, 50, 10, 5, 1, 0.5, 0.1)


def plainly(number: float, digits: int = 6) -> str:
    """A number as people write it: so many digits that count (below one no more than four), no power of ten.

    What is nought but for the last bits of a sum is nought, and nought has no sign.
    """
    if not math.isfinite(number):
        return f"{number:g}"
    short = float(f"{number:.{digits if abs(number) >= 1 else min(4, digits)}g}")
    text = (f"{short:.3f}" if abs(short) >= 1 else f"{short:.7f}").rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


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
    return f"{plainly(g / 1000)} kg" if g >= 1000 else f"{plainly(g)} g"


def millilitres(amount: float) -> str:
    """A volume in words, within 3 %: ``150 mL``, ``1.5 L``. A jug shows whole millilitres at best."""
    ml = weighable(amount, finest=1.0 if amount >= 1 else 0.1, slack=0.06)
    return f"{plainly(ml / 1000)} L" if ml >= 1000 else f"{plainly(ml)} mL"


def duration(hours: float) -> str:
    """A length of time as a clock or a calendar shows it: ``50 minutes``, ``19 hours``, ``3.5 days``."""
    if hours < 1.5:
        return f"{max(5, round(hours * 12) * 5):g} minutes"
    if hours < 60:
        return f"{hours:.2g} hours"
    return f"{plainly(hours / 24, 2)} days"
