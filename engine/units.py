"""Numbers as makers write them: with a unit of their own, a decimal comma, a fraction, or a word."""

from __future__ import annotations

import re

from .errors import nearest

_WRITTEN: dict[str, dict[str, tuple[float, float]]] = {
    "days": {"d, day, days": (1, 0), "w, wk, wks, week, weeks": (7, 0), "fortnight, fortnights": (14, 0),
             "mo, month, months": (30.4, 0), "h, hr, hrs, hour, hours": (1 / 24, 0)},
    "hours": {"h, hr, hrs, hour, hours": (1, 0), "min, mins, minute, minutes": (1 / 60, 0), "d, day, days": (24, 0)},
    "g": {"g, gr, gram, grams, gramme, grammes": (1, 0), "kg, kgs, kilo, kilos, kilogram, kilograms": (1000, 0),
          "oz, ounce, ounces": (28.349523125, 0), "lb, lbs, pound, pounds": (453.59237, 0)},
    "°C": {"c, °c, deg c, degrees c, degree c, celsius, degrees celsius, °, deg, degrees": (1, 0),
           "f, °f, deg f, degrees f, degree f, fahrenheit, degrees fahrenheit": (5 / 9, -160 / 9)},
    "°C apart": {"c, °c, deg c, degrees c, celsius, degrees celsius, k, °, deg, degrees, °c apart": (1, 0),
                 "f, °f, deg f, degrees f, fahrenheit, degrees fahrenheit": (5 / 9, 0)},
    "g/L": {"g/l, g per l, g per litre, g/litre, g per liter, g/liter": (1, 0), "%, percent, pct": (10, 0),
            "oz/gal": (7.4891517, 0)},
    "%": {"%, percent, per cent, pct, % rh, %rh, rh, percent rh, % humidity": (1, 0)},
    "g/kg": {"g/kg, g per kg": (1, 0), "%, percent, pct": (10, 0)},
    "mm": {"mm, millimetre, millimetres, millimeter, millimeters": (1, 0),
           "cm, centimetre, centimetres, centimeter, centimeters": (10, 0), 'in, inch, inches, "': (25.4, 0)},
    "cm": {"cm, centimetre, centimetres, centimeter, centimeters": (1, 0),
           "mm, millimetre, millimetres, millimeter, millimeters": (0.1, 0),
           "m, metre, metres, meter, meters": (100, 0), 'in, inch, inches, "': (2.54, 0)},
    "L": {"l, litre, litres, liter, liters": (1, 0), "ml": (0.001, 0), "qt, quart, quarts": (0.946352946, 0),
          "gal, gallon, gallons": (3.785411784, 0)},
    "°D": {"°d, d, dornic": (1, 0)},
    "layers": {"layers, layer, coats, coat": (1, 0)},
    "pH": {"ph": (1, 0)},
    "aw": {"aw": (1, 0)},
    "times": {"times, x": (1, 0)},
    "batches": {"batches, batch": (1, 0)},
    "cheeses": {"cheeses, cheese, wheels, wheel": (1, 0)},
    "g/m² a day": {"g/m², g/m2, g/m² a day, g/m2 a day": (1, 0)},
    "h a week": {"h, hours, h a week": (1, 0)},
}  # fmt: skip
UNITS = {
    unit: {name: by for names, by in written.items() for name in names.split(", ")}
    for unit, written in _WRITTEN.items()
}
"""By unit of a question: each unit a maker may write, with factor and offset into it.

Ounces, pounds, inches and US gallons by their legal definitions (NIST SP 811, appendix B).
"""
_WORDS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_FIGURES = {word: float(k) for k, word in enumerate(_WORDS, 1)} | {"a": 1.0, "an": 1.0, "half": 0.5, "half a": 0.5}
_START = re.compile(r"^(?:about|around|roughly|nearly|ca\.?|~)\s*")
_DAY = re.compile(r"^day\s+(?=\d)")
_MIXED = re.compile(r"^(?:(\d{1,3}) )?(\d{1,2})/(\d{1,3})(?!\d)\s*(.*)$")
_WORDED = re.compile(rf"^({'|'.join(sorted(_FIGURES, key=len, reverse=True))})\s+(.+)$")
_DECIMAL = re.compile(r"^([-+−]?\d+(?:[.,]\d+)?)\s*(.*)$")
_THOUSANDS = re.compile(r"^[-+−]?[1-9]\d{0,2},\d{3}$")


class NoNumber(Exception):
    """A text that is no number in a unit; the text of the error says why, as a sentence goes on."""


def number(text: str, unit: str) -> float:
    """A number in a unit, from a text in small letters. Raises ``NoNumber``."""
    plain = _START.sub("", text)
    if unit == "days":
        plain = _DAY.sub("", plain)
    value, written = _split(plain, text)
    written = written.strip().rstrip(".")
    if written:
        table = UNITS.get(unit, {})
        if written not in table:
            raise NoNumber(f'does not know the unit "{written}"{nearest(written, table)}')
        factor, offset = table[written]
        value = value * factor + offset
    return round(value, 6)  # so that a limit reached by way of another unit is not missed by a hair


def _split(plain: str, text: str) -> tuple[float, str]:
    mixed = _MIXED.match(plain)
    if mixed and int(mixed[3]):
        return int(mixed[1] or 0) + int(mixed[2]) / int(mixed[3]), mixed[4]
    worded = _WORDED.match(plain)
    if worded:
        return _FIGURES[worded[1]], worded[2]
    if plain in _WORDS:
        return _FIGURES[plain], ""
    found = _DECIMAL.match(plain)
    if not found:
        raise NoNumber(f'does not take "{text}"')
    if _THOUSANDS.match(found[1]):
        raise NoNumber(f'does not take "{text}": the comma may stand for thousands or for a decimal point')
    return float(found[1].replace(",", ".").replace("−", "-")), found[2]
