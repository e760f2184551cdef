"""The table of figures: what was measured, the yardstick of the same run, the aim, and whether it was reached."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One figure."""

    what: str
    ours: str
    yardstick: str
    figure: str
    """The ratio, or the bare figure where no yardstick exists."""
    aim: str = ""
    reached: str = ""


HEAD = Row("what", "ours", "yardstick", "figure", "aim", "reached")


def judged(value: float, aim: float, stretch: float, least: bool = False) -> str:
    """Whether a figure reaches its aim; ``least`` when it is to be at least that, not at most."""
    sign = -1 if least else 1
    if sign * value <= sign * stretch:
        return "yes, stretch"
    return "yes" if sign * value <= sign * aim else "NO"


def layout(rows: list[Row]) -> str:
    """Rows as a Markdown table, padded so that it reads in a terminal too."""
    cells = [[r.what, r.ours, r.yardstick, r.figure, r.aim, r.reached] for r in (HEAD, *rows)]
    widths = [max(len(line[k]) for line in cells) for k in range(len(cells[0]))]
    lines = ["| " + " | ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)) + " |" for line in cells]
    lines.insert(1, "|" + "|".join("-" * (w + 2) for w in widths) + "|")
    return "\n".join(lines)
