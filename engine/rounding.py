"""Figures as machines are told them and as they are kept."""

from __future__ import annotations


def six_places(x: float) -> float:
    """A figure to six places, as plain Python; never minus nought."""
    return round(float(x), 6) + 0.0
