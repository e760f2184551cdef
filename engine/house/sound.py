"""Whether a rule is sound by itself, before any other knowledge is looked at.

Names, dates, one key to a condition, few alternatives; and nothing that sends anybody to taste.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from ..chaining import unfold
from ..conditions import ATOMS, JOINS, LIMITS, atom_kinds, inside
from ..days import is_day
from ..errors import Fault, listed
from ..model import Condition
from ..reading.nodes import Path_, Read
from .folder import NAME
from .promising import speaks_of_tasting
from .shapes import PARTS, HouseRule

MOST_PARTS = 12
"""Most entries of a rule, all kinds together."""
MOST_WAYS = 32
"""Most alternatives that a condition of a house rule may unfold into."""
OFFERING = "serve"
"""The act that serves a cheese. Packaged steps with it ask who eats; a house rule has no such step."""


def wrong_alone(rule: HouseRule, read: Read, file: str) -> Iterator[Fault]:
    """What can be said of a rule without looking at any other knowledge."""
    if not NAME.fullmatch(rule.rule):
        yield read.fault(("rule",), "A rule's name is small letters, digits and underscores, such as red_dust.")
    elif file.endswith(".yaml") and file != f"{rule.rule}.yaml":
        yield read.fault(("rule",), f'The rule "{rule.rule}" stands in {file}; expected {rule.rule}.yaml.')
    for key in ("owner", "because"):
        if len(getattr(rule, key).strip()) < 2:
            yield read.fault((key,), f'"{key}" is empty: who says so, and why?')
    if len(rule.owner) > 60 or "\n" in rule.owner.strip():
        yield read.fault(("owner",), '"owner" is a name of up to 60 letters.')
    dates: list[tuple[Path_, str]] = [(("date",), rule.date)]
    if rule.resting is not None:
        dates.append((("resting", "since"), rule.resting.since))
    for at, date in dates:
        if not is_day(date):
            yield read.fault(at, f'"{date}" is not a day; expected year-month-day, such as 2026-11-27.')
    parts = [(key, n, part) for key in PARTS for n, part in enumerate(getattr(rule, key))]
    if not parts:
        yield read.fault((), f"The rule does nothing yet: give it one of {listed(PARTS)}.")
    if len(parts) > MOST_PARTS:
        yield read.fault((), f"The rule has {len(parts)} entries; up to {MOST_PARTS} fit one rule.")
    for key, n, part in parts:
        id = getattr(part, "id", None)
        if id is not None and not NAME.fullmatch(id):
            yield read.fault((key, n, "id"), "An id is small letters, digits and underscores, such as red_dust.")
        for path, condition in _conditions(part, (key, n)):
            yield from _condition(read, path, condition)
    yield from _tasting(rule, read)


def _tasting(rule: HouseRule, read: Read) -> Iterator[Fault]:
    for n, question in enumerate(rule.question):
        if not question.tasting and (speaks_of_tasting(f"{question.ask} {question.how}") or question.about == "taste"):
            yield read.fault(
                ("question", n), f'"{question.id}" speaks of tasting: it needs  tasting: true , and rests under a hold.'
            )
    steps: list[tuple[Path_, str]] = [(("remedy", n), step.act) for n, step in enumerate(rule.remedy)]
    for n, cause in enumerate(rule.cause):
        steps += [(("cause", n, "today", k), step.act) for k, step in enumerate(cause.today)]
        steps += [(("cause", n, "next_make", k), step.act) for k, step in enumerate(cause.next_make)]
    for path, act in steps:
        if act == OFFERING:
            yield read.fault((*path, "act"), f'The act "{act}" is not for house rules: they offer a cheese to nobody.')


def _condition(read: Read, path: Path_, whole: Condition) -> Iterator[Fault]:
    """One key each; few alternatives; limits that the trail can name without rounding."""
    sound = True
    for at, c in inside(whole, path):
        keys = atom_kinds(c)
        if len(keys) != 1:
            sound = False
            each = ", ".join((*ATOMS, *JOINS))
            yield read.fault(at, f"A condition needs exactly one of {each}; it has {len(keys)}.")
        for key in LIMITS:
            limit = getattr(c, key)
            if limit is not None and float(f"{limit:g}") != limit:
                yield read.fault((*at, key), f"The limit {limit!r} has more than six figures; round it.")
    if sound:
        try:
            ways = max(len(unfold(whole, True)), len(unfold(whole, False)))
        except ValueError:
            ways = MOST_WAYS + 1
        if ways > MOST_WAYS:
            yield read.fault(path, f"This condition has more than {MOST_WAYS} alternatives; make it two rules.")


def _conditions(thing: object, path: Path_) -> Iterator[tuple[Path_, Condition]]:
    """Every condition inside a record, with its path."""
    if isinstance(thing, Condition):
        yield path, thing
    elif isinstance(thing, tuple):
        for n, part in enumerate(thing):
            yield from _conditions(part, (*path, n))
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from _conditions(getattr(thing, f.name), (*path, f.name))


def conditions_of(rule: HouseRule) -> Iterator[tuple[Path_, Condition]]:
    """Every condition of a rule, with its path."""
    for key in PARTS:
        yield from _conditions(getattr(rule, key), (key,))
