"""What a house rule may say: one small record per file, in the words of the knowledge itself.

Where a rule adds something, it uses the record of ``engine/model.py`` for it. Only ``sources`` is
missing from the file: a house rule is its own source, and the reader fills it in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from ..model import _CLOSED, Amount, Cause, Circumstance, Condition, Frequency, Moves, Question, Sign, Strength

When = Literal["today", "next_make"]


@dataclass(frozen=True, slots=True)
class HouseLink:
    """How often a sign shows with a cause."""

    __pydantic_config__ = _CLOSED
    cause: str
    sign: str
    seen: Frequency
    rinds: tuple[str, ...] = ()
    from_day: int = 0
    to_day: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class HouseShift:
    """A circumstance that makes a cause likelier."""

    __pydantic_config__ = _CLOSED
    cause: str
    when: str
    strength: Strength
    note: str = ""


@dataclass(frozen=True, slots=True)
class HouseAgainst:
    """A sign or a circumstance that speaks against a cause when it is there."""

    __pydantic_config__ = _CLOSED
    cause: str
    strength: Strength
    sign: str = ""
    when: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Derive:
    """One more way in which a packaged circumstance comes to hold."""

    __pydantic_config__ = _CLOSED
    circumstance: str
    when: Condition


@dataclass(frozen=True, slots=True)
class Remedy:
    """One more step for a cause, today or at the next make."""

    __pydantic_config__ = _CLOSED
    cause: str
    at: When
    act: str
    """An act of ``remedies.yaml``; brings its hygiene lines."""
    do: str
    amount: Amount | None = None
    moves: tuple[Moves, ...] = ()
    rinds: tuple[str, ...] = ()
    only_if: Condition | None = None
    unless: Condition | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A packaged word replaced by another word of the same scale.

    ``cause`` and ``sign``: how often, or how strongly against. ``cause`` and ``when``: how strongly.
    ``cause`` and ``leads_to``: how strongly. ``cause`` alone: how common. ``circumstance``: for how
    many makers. ``sign`` alone: how often on a sound rind (``rinds`` picks the entry).
    """

    __pydantic_config__ = _CLOSED
    to: str
    cause: str = ""
    sign: str = ""
    when: str = ""
    leads_to: str = ""
    circumstance: str = ""
    rinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Off:
    """Something packaged that is switched off: a cause, a sign, a circumstance, a normal row, or one tie of a cause."""

    __pydantic_config__ = _CLOSED
    cause: str = ""
    sign: str = ""
    when: str = ""
    """With ``cause``: the circumstance that moves it."""
    circumstance: str = ""
    normal: str = ""


@dataclass(frozen=True, slots=True)
class Examples:
    """Answers where the rule must speak, and answers where it must stay silent."""

    __pydantic_config__ = _CLOSED
    speaks: tuple[dict[str, Any], ...] = ()
    silent: tuple[dict[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Resting:
    """A rule put to rest: it stays in the house and counts for nothing."""

    __pydantic_config__ = _CLOSED
    since: str
    because: str


@dataclass(frozen=True, slots=True)
class HouseRule:
    """One house rule: who says what, since when, why, and what it adds, changes or switches off."""

    __pydantic_config__ = _CLOSED
    rule: str
    """Its name: the file's name without ``.yaml``."""
    owner: str
    date: str
    because: str
    question: tuple[Question, ...] = ()
    sign: tuple[Sign, ...] = ()
    circumstance: tuple[Circumstance, ...] = ()
    derive: tuple[Derive, ...] = ()
    cause: tuple[Cause, ...] = ()
    link: tuple[HouseLink, ...] = ()
    likelier: tuple[HouseShift, ...] = ()
    against: tuple[HouseAgainst, ...] = ()
    remedy: tuple[Remedy, ...] = ()
    change: tuple[Change, ...] = ()
    off: tuple[Off, ...] = ()
    replaces: tuple[str, ...] = ()
    """Packaged ids that a record of this rule takes the place of."""
    examples: Examples = Examples()
    resting: Resting | None = None


PARTS = (
    "question", "sign", "circumstance", "derive", "cause", "link", "likelier", "against", "remedy", "change", "off",
)  # fmt: skip
"""The keys that do something; each takes one entry or a list of them."""

__all__ = [
    "PARTS", "Change", "Derive", "Examples", "HouseAgainst", "HouseLink", "HouseRule", "HouseShift", "Off", "Remedy",
    "Resting",
]  # fmt: skip
