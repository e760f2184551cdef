"""How like two phrases are: what a maker's words may mean among the names that are known."""

from __future__ import annotations

import re

from rapidfuzz import fuzz

CLOSE = 87.0
"""Likeness from which two words are one with a slip of the pen, 0 to 100."""

_SMALL = frozenset(
    re.findall(r"\w+", "a an and are as at by for from have i in is it its my of on or our so that the to we")
)

_SAID_AS = {
    "degree": "temperature", "degrees": "temperature", "warm": "temperature", "warmer": "temperature",
    "cold": "temperature", "colder": "temperature", "above": "highest", "over": "highest", "below": "lowest",
    "under": "lowest", "humid": "hygrometer", "humidity": "hygrometer", "sour": "ph", "acid": "ph",
}  # fmt: skip

LIMIT = re.compile(r"\b(above|over|below|under) (-?\d{1,7}(?:[.,]\d+)?)")
"""A figure with its side, in a maker's words."""

_DOING = re.compile(r"\b(we|i|our|my|us)\b", re.IGNORECASE)


def like(a: str, b: str) -> float:
    """How many words two phrases share, 0 to 1 (Dice), small words and slips of the pen aside."""
    mine, theirs = content(a), content(b)
    if not mine or not theirs:
        return 0.0
    shared = sum(any(x == y or (len(x) > 4 < len(y) and fuzz.ratio(x, y) >= CLOSE) for y in theirs) for x in mine)
    return 2 * shared / (len(mine) + len(theirs))


def kind_of(text: str) -> str:
    """What new words speak of: a figure with its side, something that makers do or have, or else something noticed."""
    if LIMIT.search(text.casefold()):
        return "figure"
    return "new_fact" if _DOING.search(text) else "new_sign"


def all_in(text: str, name: str) -> bool:
    """Whether everything said stands in a name."""
    mine = content(text)
    return bool(mine) and mine <= content(name)


def plainer(text: str) -> str:
    """Words for a figure, each by the one that questions use."""
    return " ".join(_SAID_AS.get(w, w) for w in re.findall(r"[^\W_]+", text.casefold()))


def content(text: str) -> set[str]:
    """The words that carry it, each without the ending of several."""
    return {w.rstrip("s") for w in re.findall(r"[^\W_]+", text.casefold())} - _SMALL
