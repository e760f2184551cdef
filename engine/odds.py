"""Probabilities and their log-odds (natural)."""

from __future__ import annotations

import math


def log_odds(p: float, least: float = 0.0) -> float:
    """Log-odds of a probability, which is kept ``least`` away from 0 and 1."""
    p = min(max(p, least), 1 - least)
    return math.log(p / (1 - p))


def chance(log_odds: float) -> float:
    """The probability of log-odds."""
    return 1 / (1 + math.exp(-log_odds))


def moved(p: float, by: float) -> float:
    """A probability with its log-odds moved; not at all, it stays the same to the last digit."""
    return chance(log_odds(p) + by) if by else p
