"""A logger's record as an SVG picture: two panels, bands, gaps, and where the cheese sweated."""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from ...engine.errors import FileProblem
from ...engine.sums.kitchen import plainly
from ...engine.sums.logger_reading import Log, nominal_step_s
from ...engine.sums.logger_record import LogFacts
from ...engine.sums.logger_stamps import DAY_S, stamp
from ...engine.sums.logger_values import Figures

_WIDTH, _PANEL, _LEFT, _TOP, _APART = 960, 200, 70, 60, 50
_COLUMNS = _WIDTH - _LEFT - 20
_LINE, _STAMP = 14, 140
"""Room for a line of words, and for a date with its hour."""


def check_free(path: Path) -> None:
    """Raises ``FileProblem`` when the picture cannot go there; nothing is ever written over."""
    if path.suffix.lower() != ".svg":
        raise FileProblem(f"{path} cannot hold the picture; expected a name that ends in .svg.")
    if path.exists():
        raise FileProblem(f"{path} is there already; name a new file for the picture.")


def draw(path: Path, log: Log, facts: LogFacts) -> None:
    """Write the picture into a new file. Raises ``FileProblem``."""
    check_free(path)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(svg(log, facts))
    except OSError as problem:
        raise FileProblem(f"{path} cannot be written: {problem.strerror or 'unknown error'}.") from None


def svg(log: Log, facts: LogFacts) -> str:
    """The picture as text. Shapes and words carry everything; the two tints only help."""
    b = facts.bands
    name = "".join(c for c in Path(log.name).name if c.isprintable())
    title = f"{name}: {stamp(facts.from_wall_s)} to {stamp(facts.to_wall_s)}, {facts.readings} readings"
    spells = f"{len(facts.episodes)} spell{'' if len(facts.episodes) == 1 else 's'}"
    told = f"Temperature {facts.mean_c or 0:.1f} °C and humidity {facts.mean_pct or 0:.1f} % on average. " + (
        f"The cheese was below the dew point for {facts.sweating_h:.1f} hours in {spells}."
        if facts.episodes
        else "The cheese was never below the dew point."
    )
    height = _TOP + 2 * (_PANEL + _APART) + 10
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" role="img" '
        'font-family="sans-serif" font-size="13">',
        f"<title>{escape(title)}</title><desc>{escape(told)}</desc>",
        f'<rect width="{_WIDTH}" height="{height}" fill="white"/>',
        f'<text x="{_LEFT}" y="24" font-size="15">{escape(title)}</text>',
        f'<text x="{_LEFT}" y="44">{escape(told)}</text>',
    ]
    for k, (name, values, low, high) in enumerate(
        (
            ("Temperature, °C", log.temperature_c, b.low_c, b.high_c),
            ("Humidity, %", log.humidity_pct, b.low_pct, b.high_pct),
        )
    ):
        parts += _panel(log, facts, name, values, low, high, _TOP + k * (_PANEL + _APART))
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


def _panel(log: Log, facts: LogFacts, name: str, values: Figures, low: float, high: float, top: int) -> list[str]:
    known = values[np.isfinite(values)]
    parts = [f'<text x="{_LEFT}" y="{top + 14}" font-weight="bold">{escape(name)}</text>']
    if not len(known):
        return [*parts, f'<text x="{_LEFT}" y="{top + 40}">not recorded</text>']
    least, most = min(low, float(known.min())), max(high, float(known.max()))
    room = max(most - least, 1e-9)
    floor, height = top + _PANEL, _PANEL - 24

    def y(value: float) -> float:
        return round(floor - (value - least) / room * height, 1)

    first, last = int(log.seconds[0]), int(log.seconds[-1])

    def x(second: float) -> float:
        return round(_LEFT + (second - first) / max(last - first, 1) * _COLUMNS, 1)

    parts.append(
        f'<rect x="{_LEFT}" y="{y(high)}" width="{_COLUMNS}" height="{round(y(low) - y(high), 1)}" fill="#e3efe3"/>'
    )
    named: list[float] = []
    for value in dict.fromkeys((low, high, least, most)):
        parts.append(f'<path d="M{_LEFT} {y(value)}h{_COLUMNS}" stroke="#999" stroke-dasharray="2 4"/>')
        if all(abs(y(value) - y(other)) >= _LINE for other in named):  # figures must not lie on each other
            named.append(value)
            parts.append(f'<text x="{_LEFT - 8}" y="{y(value) + 4}" text-anchor="end">{plainly(value, 4)}</text>')
    shift = int(log.seconds[0] - log.wall_seconds[0])
    sweating = np.zeros(_COLUMNS + 2, np.bool_)  # by column, so that a thousand spells are no thousand shapes
    for episode in facts.episodes:
        start = (episode.start_wall_s + shift - first) / max(last - first, 1) * _COLUMNS
        sweating[int(start) : int(start + episode.hours * 3600 / max(last - first, 1) * _COLUMNS) + 1] = True
    for a, b in np.flatnonzero(np.diff(sweating, prepend=False, append=False)).reshape(-1, 2).tolist():
        parts.append(f'<path d="M{_LEFT + a} {floor + 3}h{min(b, _COLUMNS) - a}" stroke="black" stroke-width="5"/>')
    for line in _lines(log, values):
        points = " ".join(f"{x(s)},{y(v)}" for s, v in line)
        parts.append(f'<polyline points="{points}" fill="none" stroke="#1f4e79" stroke-width="1.3"/>')
    begin, end = int(log.wall_seconds[0]), int(log.wall_seconds[-1])
    for at, anchor, wall in ((_LEFT, "start", begin), (_LEFT + _COLUMNS, "end", end)):
        parts.append(f'<text x="{at}" y="{floor + 22}" text-anchor="{anchor}">{stamp(wall)}</text>')
    for midnight in _midnights(begin, end):
        across = x(midnight + shift)
        parts.append(f'<path d="M{across} {floor - height}v{height + 6}" stroke="#bbb"/>')
        if _LEFT + _STAMP < across < _LEFT + _COLUMNS - _STAMP:
            parts.append(f'<text x="{across}" y="{floor + 22}" text-anchor="middle">{stamp(midnight)[5:10]}</text>')
    if facts.episodes:
        parts.append(
            f'<text x="{_LEFT + _COLUMNS}" y="{top + 14}" text-anchor="end">thick line below: the cheese sweats</text>'
        )
    return parts


def _midnights(begin: int, end: int) -> range:
    """Midnights by the wall's clock, as many as have room for a date."""
    apart = next((n for n in (1, 2, 7, 14, 28, 91, 364) if (end - begin) / (n * DAY_S) <= 8), 3640) * DAY_S
    return range(-(-begin // DAY_S) * DAY_S, end + 1, apart)


def _lines(log: Log, values: Figures) -> list[list[tuple[int, float]]]:
    """Stretches without a gap; where readings crowd a column, its first, lowest, highest and last."""
    step = nominal_step_s(log.seconds)
    known = np.flatnonzero(np.isfinite(values))
    seconds, figures = log.seconds[known], values[known]
    breaks = np.flatnonzero(np.diff(seconds) > 1.5 * step) + 1
    width = max(1, int(seconds[-1] - seconds[0]) // _COLUMNS)
    found = []
    for s, v in zip(np.split(seconds, breaks), np.split(figures, breaks), strict=True):
        edges = np.flatnonzero(np.diff(s // width)) + 1
        line: list[tuple[int, float]] = []
        for a, b in zip(np.split(s, edges), np.split(v, edges), strict=True):
            picks = sorted({0, int(b.argmin()), int(b.argmax()), len(b) - 1})
            line += [(int(a[k]), float(b[k])) for k in picks]
        found.append(line)
    return found
