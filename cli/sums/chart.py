"""Drawings in lines of text: a race along a track, and a record down the page. Words and figures come first."""

from __future__ import annotations

from collections.abc import Sequence

KEYS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def track(positions: Sequence[float], end: float, width: int) -> str:
    """Letters at their places on a line from 0 to ``end``; ``+`` stands where several meet."""
    cells = ["."] * width
    for key, at in zip(KEYS, positions, strict=False):
        place = min(width - 1, max(0, round(at / end * (width - 1)))) if end > 0 else 0
        cells[place] = key if cells[place] == "." else "+"
    return "".join(cells)


def span(low: float | None, high: float | None, left: float, right: float, marks: Sequence[float], width: int) -> str:
    """A bar from low to high on a line from ``left`` to ``right``; colons stand at the marks."""
    cells = ["."] * width

    def place(x: float) -> int:
        return min(width - 1, max(0, round((x - left) / (right - left) * (width - 1)))) if right > left else 0

    for mark in marks:
        if left <= mark <= right:
            cells[place(mark)] = ":"
    if low is not None and high is not None:
        for k in range(place(low), place(high) + 1):
            cells[k] = "="
    return "".join(cells)
