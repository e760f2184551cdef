"""Whether a condition holds: yes, no, or not known.

Kleene's strong three-valued logic: what is unknown stays unknown until the known parts
decide. So more answers can turn "not known" into yes or no, but never yes into no.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from .answers import AGE, UNKNOWN, Answers, Value, is_known
from .catalog import Cheese
from .model import Condition

ATOMS: dict[str, str] = {
    "ask": "question", "unanswered": "question", "dont_know": "question", "holds": "circumstance", "sign": "sign",
    "rind": "rind", "may_be": "rind", "paste": "paste",
}  # fmt: skip
"""The keys of which an atom has one, and what each names."""
JOINS = ("all", "any", "none")
"""The keys under which other conditions stand."""
LIMITS: dict[str, str] = {"below": "below", "at_most": "at most", "above": "above", "at_least": "at least"}
"""The keys that bound a number, in words."""


@dataclass(frozen=True, slots=True)
class View:
    """What conditions look at: answers, the cheese, and what has been derived so far."""

    answers: Answers
    cheese: Cheese
    holds: Callable[[str], bool | None]
    sign: Callable[[str], bool | None]


def truth(condition: Condition, view: View) -> bool | None:
    """True, False, or None when the answers do not decide."""
    if condition.all:
        return _every(condition.all, view, False)
    if condition.any:
        return _not(_every(condition.any, view, True))
    if condition.none:
        return _every(condition.none, view, True)
    if condition.holds:
        return view.holds(condition.holds)
    if condition.sign:
        return view.sign(condition.sign)
    return leaf_truth(condition, view.answers, view.cheese)


def leaf_truth(condition: Condition, answers: Answers, cheese: Cheese) -> bool | None:
    """Truth of a condition that looks at one answer or at the rind."""
    if condition.ask:  # the most frequent by far
        value = answers.get(condition.ask)
        if condition.ask == AGE and not is_known(value):
            value = cheese.age_days  # worked out from the day of making, if that is known
        return None if value is None or value == UNKNOWN else meets(condition, value)
    if condition.rind:
        return cheese.is_one_of(condition.rind)
    if condition.may_be:
        return cheese.is_one_of(condition.may_be) is not False
    if condition.paste:
        return not cheese.paste.isdisjoint(condition.paste)
    if condition.unanswered == AGE:
        return cheese.age_days is None
    if condition.unanswered:
        return not is_known(answers.get(condition.unanswered))
    return answers.get(condition.dont_know) == UNKNOWN


def meets(condition: Condition, value: Value) -> bool:
    """Whether a known answer is what a condition asks for."""
    if isinstance(value, float):
        return (
            (condition.below is None or value < condition.below)
            and (condition.at_most is None or value <= condition.at_most)
            and (condition.above is None or value > condition.above)
            and (condition.at_least is None or value >= condition.at_least)
        )
    wanted = condition.one_of or ("yes", "clear", "slight")
    if isinstance(value, tuple):
        return any(v in wanted for v in value)
    return value in wanted


def _not(value: bool | None) -> bool | None:
    return None if value is None else not value


def _every(parts: Iterable[Condition], view: View, stop: bool) -> bool | None:
    """False as soon as one part is ``stop``; else None when one is not known, and True when none is."""
    result: bool | None = True
    for part in parts:
        value = truth(part, view)
        if value is stop:
            return False
        if value is None:
            result = None
    return result


def leaves(condition: Condition) -> Iterator[Condition]:
    """Every atom of a condition, in reading order."""
    parts = condition.all or condition.any or condition.none
    if not parts:
        yield condition
    for part in parts:
        yield from leaves(part)


def inside(condition: Condition, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Condition]]:
    """A condition and every condition within it, each with its path."""
    yield path, condition
    for key in JOINS:
        for n, part in enumerate(getattr(condition, key)):
            yield from inside(part, (*path, key, n))


def atom_kinds(condition: Condition) -> list[str]:
    """Which of the exclusive keys a condition gives; exactly one is right."""
    return [key for key in (*ATOMS, *JOINS) if getattr(condition, key)]


def names_in(atom: Condition) -> Iterator[tuple[str, str, tuple[str | int, ...]]]:
    """Everything an atom names, as (what it is, id, where in the atom)."""
    for key, what in ATOMS.items():
        given = getattr(atom, key)
        if isinstance(given, str):
            if given:
                yield what, given, (key,)
        else:
            yield from ((what, name, (key, n)) for n, name in enumerate(given))


def question_in(atom: Condition) -> str:
    """The question that an atom looks at; empty when it looks at none."""
    return atom.ask or atom.unanswered or atom.dont_know


def describe(condition: Condition) -> str:
    """A stable, readable name for an atom: ``humidity_pct below 85``."""
    if condition.rind:
        return "rind is " + " or ".join(condition.rind)
    if condition.may_be:
        return "rind may be " + " or ".join(condition.may_be)
    if condition.paste:
        return "paste may be " + " or ".join(condition.paste)
    if condition.unanswered:
        return f"{condition.unanswered} not answered"
    if condition.dont_know:
        return f"{condition.dont_know} not known when asked"
    if condition.holds:
        return condition.holds
    if condition.sign:
        return condition.sign
    limits = [f"{word} {limit:g}" for key, word in LIMITS.items() if (limit := getattr(condition, key)) is not None]
    if limits:
        return f"{condition.ask} {' and '.join(limits)}"
    return f"{condition.ask} is " + " or ".join(condition.one_of or ("yes", "clear", "slight"))
