"""What the maker said, checked against what is asked."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import itemgetter

from . import units
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

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_question", dict(self.given))

    @staticmethod
    def of(items: Mapping[str, Value] | Iterable[tuple[str, Value]], listed_all: bool = False) -> Answers:
        """Answers from pairs of question id and checked value."""
        pairs = dict(items)
        return Answers(tuple(sorted(pairs.items(), key=itemgetter(0))), listed_all)

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
    try:
        number = units.number(text, question.unit)
    except units.NoNumber as problem:
        raise Unusable(f"{problem}; expected {expected(question)}") from None
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
