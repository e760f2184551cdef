"""Values of a logger: numbers with a point or a comma, with or without a unit, and what cannot be one."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..errors import FileProblem
from .logger_columns import Layout

Figures = NDArray[np.float64]

_VALUE = re.compile(r"([+−-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?)\s*(.*)", re.IGNORECASE)
_MISSING = {
    "",
    "-",
    "--",
    "---",
    "nan",
    "n/a",
    "na",
    "null",
    "none",
    "err",
    "error",
    "open",
    "ol",
    "*",
    "***",
    "?",
    "#n/a",
}
_CELSIUS = {"c", "°c", "ºc", "℃", "degc"}
_FAHRENHEIT = {"f", "°f", "ºf", "℉", "degf"}
_PERCENT = {"%", "%rh", "% rh", "rh", "rh%", "%rf", "%hr", "%ur"}
TEMPERATURES_C = (-20.0, 60.0)
HUMIDITIES_PCT = (0.0, 105.0)


class Values:
    """Understands each distinct text once. Keeps how many were no numbers."""

    def __init__(self, fahrenheit: bool | None, humidity: bool) -> None:
        self._known: dict[str, float] = {}
        self._fahrenheit = fahrenheit
        self._humidity = humidity
        self.junk: set[str] = set()
        self.bare = False
        """Whether any number came without a unit."""

    def __call__(self, text: str) -> float:
        """The value in °C or percent; not-a-number where it is missing or none."""
        value = self._known.get(text)
        if value is None:
            value = self._understand(text)
            if len(self._known) < 200_000:
                self._known[text] = value
        return value

    def all_of(self, texts: Sequence[str]) -> list[float]:
        """The values of many texts, looked up at once where all of them were met before."""
        found = list(map(self._known.get, texts))
        if None in found:
            return [self(text) for text in texts]
        return found  # type: ignore[return-value]

    def _understand(self, text: str) -> float:
        word = text.strip().casefold()
        if word in _MISSING:
            return math.nan
        found = _VALUE.fullmatch(word)
        unit = found[2].strip() if found else ""
        fitting = _PERCENT if self._humidity else _CELSIUS | _FAHRENHEIT
        if not found or (unit and unit not in fitting):
            self.junk.add(text)
            return math.nan
        value = float(found[1].replace(",", ".").replace("−", "-"))
        if self._humidity:
            return value
        self.bare = self.bare or not unit
        if unit in _FAHRENHEIT or (self._fahrenheit and not unit):
            value = round((value - 32) / 1.8, 6)
        return value


def check_units(
    temperature: Figures, humidity: Figures, layout: Layout, bare: bool, name: str, said: list[str]
) -> None:
    """Say what unit was taken for granted. Raises ``FileProblem`` where none can be."""
    known = temperature[np.isfinite(temperature)]
    if layout.temperature is not None and len(known) and layout.fahrenheit is None and bare:
        middle = float(np.median(known))
        if not -20 <= middle < 30:
            raise FileProblem(
                f'{name}: the column "{layout.header[layout.temperature]}" names no unit, and its middle value of '
                f"{middle:g} does not tell. Say which: --unit C or --unit F."
            )
        said.append(f'The column "{layout.header[layout.temperature]}" names no unit; it is read as °C.')
    known = humidity[np.isfinite(humidity)]
    if len(known) and float(known.max()) <= 1.0 and float(known.max()) > 0:
        raise FileProblem(
            f"{name}: humidity never passes 1; it seems to be a share. Expected percent, such as 92. Export it so, or "
            "multiply it by 100."
        )


def sensor_faults(values: Figures, limits: tuple[float, float]) -> int:
    """Make values beyond what a sensor can mean missing, in place; how many there were."""
    with np.errstate(invalid="ignore"):
        beyond = (values < limits[0]) | (values > limits[1])
    values[beyond] = math.nan
    return int(beyond.sum())
