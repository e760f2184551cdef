"""What the maker said, checked against what is asked."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from .catalog import Catalog, Cheese
from .errors import listed, nearest
from .model import Question

Value = str | float | tuple[str, ...]
"""An option id, yes/no, no/slight/clear, several option ids, a number in the question's unit, or unknown."""

UNKNOWN = "unknown"
AGE = "age_days"
"""The question after the age, in days since salting ended."""
MADE = "made_days_ago"
"""The question that stands in for it: days since the milk was set with rennet or starter."""
LISTED_ALL = "listed_all"
"""Key of an answers file: "I have named everything that struck me"."""

_UNKNOWN_WORDS = {UNKNOWN, "don't know", "dont know", "do not know", "dunno", "not sure", "?"}
_YES = {"yes": "yes", "y": "yes", "true": "yes", "no": "no", "n": "no", "false": "no"}
_SCALE = {
    "no": "no", "n": "no", "none": "no",
    "slight": "slight", "a little": "slight", "little": "slight", "some": "slight",
    "clear": "clear", "yes": "clear", "y": "clear", "strong": "clear",
}  # fmt: skip
# unit of a question: {unit a maker may write: (factor, offset)}
_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "days": {"d": (1, 0), "day": (1, 0), "days": (1, 0), "w": (7, 0), "week": (7, 0), "weeks": (7, 0),
             "month": (30.4, 0), "months": (30.4, 0), "h": (1 / 24, 0), "hours": (1 / 24, 0)},
    "hours": {"h": (1, 0), "hour": (1, 0), "hours": (1, 0), "min": (1 / 60, 0), "minutes": (1 / 60, 0),
              "d": (24, 0), "day": (24, 0), "days": (24, 0)},
    "g": {"g": (1, 0), "gram": (1, 0), "grams": (1, 0), "kg": (1000, 0), "oz": (28.349523125, 0),
          "lb": (453.59237, 0), "lbs": (453.59237, 0), "pound": (453.59237, 0), "pounds": (453.59237, 0)},
    "°C": {"c": (1, 0), "°c": (1, 0), "f": (5 / 9, -160 / 9), "°f": (5 / 9, -160 / 9)},
    "g/L": {"g/l": (1, 0), "%": (10, 0), "g per litre": (1, 0), "g/litre": (1, 0), "oz/gal": (7.4891517, 0)},
    "%": {"%": (1, 0), "percent": (1, 0)},
    "g/kg": {"g/kg": (1, 0), "g per kg": (1, 0), "%": (10, 0)},
    "mm": {"mm": (1, 0), "cm": (10, 0), "in": (25.4, 0), "inch": (25.4, 0), "inches": (25.4, 0)},
    "°D": {"°d": (1, 0), "d": (1, 0), "dornic": (1, 0)},
    "layers": {"layers": (1, 0), "layer": (1, 0), "coats": (1, 0), "coat": (1, 0)},
    "pH": {"ph": (1, 0)},
    "aw": {"aw": (1, 0)},
    "times": {"times": (1, 0), "x": (1, 0)},
    "batches": {"batches": (1, 0)},
    "cheeses": {"cheeses": (1, 0), "cheese": (1, 0), "wheels": (1, 0), "wheel": (1, 0)},
    "cm": {"cm": (1, 0), "mm": (0.1, 0), "m": (100, 0), "in": (2.54, 0), "inch": (2.54, 0), "inches": (2.54, 0)},
    "L": {"l": (1, 0), "litre": (1, 0), "litres": (1, 0), "liter": (1, 0), "liters": (1, 0), "ml": (0.001, 0),
          "qt": (0.946352946, 0), "quart": (0.946352946, 0), "quarts": (0.946352946, 0),
          "gal": (3.785411784, 0), "gallon": (3.785411784, 0), "gallons": (3.785411784, 0)},
    "g/m² a day": {"g/m²": (1, 0), "g/m2": (1, 0), "g/m² a day": (1, 0), "g/m2 a day": (1, 0)},
    "h a week": {"h": (1, 0), "hours": (1, 0), "h a week": (1, 0)},
}  # fmt: skip
_NUMBER = re.compile(r"^(?:about|ca\.?|~)?\s*([-+−]?\d+(?:[.,]\d+)?)\s*(.*)$")
_THOUSANDS = re.compile(r"^[-+−]?[1-9]\d{0,2},\d{3}$")


class Unusable(Exception):
    """An answer that does not fit its question; the text says what was expected."""


def is_known(value: Value | None) -> bool:
    """Whether an answer says something."""
    return value is not None and value != UNKNOWN


@dataclass(frozen=True, slots=True)
class Answers:
    """A set of answers. Equal sets are equal whatever order they arrived in."""

    given: tuple[tuple[str, Value], ...] = ()
    listed_all: bool = False
    _by_question: dict[str, Value] = field(init=False, repr=False, compare=False)
    """For looking up: conditions ask for answers thousands of times in one diagnosis."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_question", dict(self.given))

    @staticmethod
    def of(items: Mapping[str, Value] | Iterable[tuple[str, Value]], listed_all: bool = False) -> Answers:
        """Answers from pairs of question id and checked value."""
        pairs = dict(items)
        return Answers(tuple(sorted(pairs.items(), key=lambda pair: pair[0])), listed_all)

    def get(self, question: str) -> Value | None:
        """The answer to a question, or None when it was not asked."""
        return self._by_question.get(question)

    def __iter__(self) -> Iterator[tuple[str, Value]]:
        return iter(self.given)

    def __len__(self) -> int:
        return len(self.given)

    def adding(self, question: str, value: Value) -> Answers:
        """These answers with one added or changed."""
        return Answers.of({**dict(self.given), question: value}, self.listed_all)

    def without(self, question: str) -> Answers:
        """These answers with one taken back."""
        return Answers.of((pair for pair in self.given if pair[0] != question), self.listed_all)

    def cheese(self, catalog: Catalog) -> Cheese:
        """The cheese they speak of. A maker who knows only the day of making is served by ``MADE``."""
        family, style, age, made = (self.get(key) for key in ("family", "style", AGE, MADE))
        cheese = catalog.cheese(
            family if isinstance(family, str) and is_known(family) else None,
            style if isinstance(style, str) and is_known(style) else None,
            age if isinstance(age, float) else None,
        )
        if cheese.age_days is None and isinstance(made, float):
            return replace(cheese, age_days=max(0.0, made - catalog.salting_ends_day(cheese)))
        return cheese


def understand(question: Question, raw: object) -> Value:
    """The value of an answer as written or typed.

    Raises ``Unusable`` with one sentence that says what was expected.
    """
    if isinstance(raw, (list, tuple)):
        if question.kind != "some_of":
            raise Unusable(f"takes one answer, not a list; expected {expected(question)}")
        parts = [_plain(part) for part in raw]
    elif isinstance(raw, Mapping):
        raise Unusable(f"takes an answer, not a map; expected {expected(question)}")
    else:
        text = _plain(raw)
        if text in _UNKNOWN_WORDS:
            return UNKNOWN
        if question.kind == "number":
            return _number(question, text)
        if question.kind != "some_of":
            return _single(question, text)
        whole = [o.id for o in question.options if _plain(o.text) == text]  # its own words may hold a comma
        parts = whole or [part.strip() for part in re.split(r"[,;+]", text) if part.strip()]
    if not parts:
        raise Unusable(f"is empty; expected {expected(question)}")
    if not _UNKNOWN_WORDS.isdisjoint(parts):
        if len(set(parts)) == 1:
            return UNKNOWN
        raise Unusable(f"is unknown and something else at once; expected {expected(question)}")
    return tuple(sorted({_option(question, part) for part in parts}))


def _plain(raw: object) -> str:
    if raw is None:
        raise Unusable("has no answer; leave the line out, or write unknown")
    if not isinstance(raw, (str, int, float)):
        raise Unusable("is nested too deeply; expected a word, a number or a list of words")
    text = unicodedata.normalize("NFKC", str(raw)).replace("’", "'")
    # Characters that cannot be seen would only garble the sentence that repeats the answer.
    return " ".join("".join(c for c in text if c.isprintable() or c.isspace()).split()).casefold()


def _single(question: Question, text: str) -> str:
    table = {"yes_no": _YES, "scale": _SCALE}.get(question.kind)
    if table is None:
        return _option(question, text)
    if text not in table:
        raise Unusable(f'does not take "{text}"; expected {expected(question)}')
    return table[text]


def _option(question: Question, text: str) -> str:
    ids = [o.id for o in question.options]
    if text in ids:
        return text
    same = [o.id for o in question.options if text in (_plain(o.text), o.id.replace("_", " "))]
    if same:
        return same[0]
    raise Unusable(f'does not take "{text}"{nearest(text, ids)}; expected {expected(question)}')


def _number(question: Question, text: str) -> float:
    found = _NUMBER.match(text)
    if not found:
        raise Unusable(f'does not take "{text}"; expected {expected(question)}')
    if _THOUSANDS.match(found.group(1)):
        raise Unusable(f'does not take "{text}": the comma may stand for thousands or for a decimal point; '
                       f"expected {expected(question)}")  # fmt: skip
    number = float(found.group(1).replace(",", ".").replace("−", "-"))
    unit = found.group(2).strip().rstrip(".")
    if unit:
        table = _UNITS.get(question.unit, {})
        if unit not in table:
            raise Unusable(f'does not know the unit "{unit}"{nearest(unit, table)}; expected {expected(question)}')
        factor, offset = table[unit]
        number = number * factor + offset
    number = round(number, 6)  # first, so that a limit reached by way of another unit is not missed by a hair
    low = -math.inf if question.minimum is None else question.minimum
    high = math.inf if question.maximum is None else question.maximum
    if not low <= number <= high:
        raise Unusable(f"cannot be {number:g}; expected {expected(question)}")
    return number


def expected(question: Question) -> str:
    """What an answer may be, as a sentence ends."""
    if question.kind == "number":
        unit = "" if question.unit == "pH" else f" {question.unit}"
        if question.minimum is not None and question.maximum is not None:
            return f"a number from {question.minimum:g} to {question.maximum:g}{unit}, or unknown"
        return f"a number{unit}, or unknown"
    words: Sequence[str] = {
        "yes_no": ("yes", "no"),
        "scale": ("no", "slight", "clear"),
    }.get(question.kind, tuple(o.id for o in question.options))
    return ("any of " if question.kind == "some_of" else "") + listed([*words, "unknown"])


def as_text(value: Value) -> str:
    """An answer as it is written in a file."""
    if isinstance(value, float):
        return f"{value:g}"
    return ", ".join(value) if isinstance(value, tuple) else value
