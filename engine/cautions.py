"""Stop, hold, note: the safety results, worked out before anything else.

They are conditions like any other, but nothing outranks them: a stop ends rescue and
tasting for this cheese, a hold puts it aside, a note is printed with every result. Any
positive answer can only add to them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .answers import UNKNOWN, Answers
from .catalog import Catalog
from .conditions import View, leaves, truth
from .model import Caution, Condition, Level

LEVELS: tuple[Level, ...] = ("stop", "hold", "note")


@dataclass(frozen=True, slots=True)
class Screen:
    """Cautions that stand for a set of answers, gravest first."""

    cautions: tuple[Caution, ...]
    open_questions: tuple[str, ...]
    """Questions a stop or hold turns on that were not asked or not known."""

    @property
    def level(self) -> Level | None:
        """The gravest level that stands."""
        return self.cautions[0].level if self.cautions else None

    @property
    def tasting_allowed(self) -> bool:
        """Whether a taste question may be asked at all."""
        return self.level not in ("stop", "hold")


def screen(catalog: Catalog, view: View) -> Screen:
    """Every caution that stands, and what the grave ones still turn on."""
    standing = [c for c in catalog.cautions.values() if stands(c, view)]
    standing.sort(key=lambda c: (LEVELS.index(c.level), c.id))
    grave = (c for c in catalog.cautions.values() if c.level != "note")
    open_questions = {
        name for c in grave for name in _asked(catalog, c.when) if view.answers.get(name) in (None, UNKNOWN)
    }
    return Screen(tuple(standing), tuple(q for q in catalog.questions if q in open_questions))


def stands(caution: Caution, view: View) -> bool:
    """Whether a caution holds; where it says so, "don't know" counts as the worst answer."""
    if truth(caution.when, view) is True:
        return True
    return caution.unknown_counts and _worst(caution.when, view) is True


def doubtful(catalog: Catalog, answers: Answers) -> bool:
    """Whether a question that a stop or hold turns on was answered "don't know"."""
    return any(
        answers.get(name) == UNKNOWN
        for c in catalog.cautions.values()
        if c.level != "note"
        for name in _asked(catalog, c.when)
    )


def _worst(condition: Condition, view: View) -> bool | None:
    if condition.all:
        values = [_worst(c, view) for c in condition.all]
        return True if all(v is True for v in values) else (False if False in values else None)
    if condition.any:
        values = [_worst(c, view) for c in condition.any]
        return True if True in values else (None if None in values else False)
    known = truth(condition, view)
    if known is None and condition.ask and view.answers.get(condition.ask) == UNKNOWN:
        return True
    if known is None and condition.sign and view.answers.get(condition.sign) == UNKNOWN:
        return True
    return known


def _asked(catalog: Catalog, condition: Condition) -> Iterable[str]:
    for leaf in leaves(condition):
        if leaf.ask or leaf.unanswered:
            yield leaf.ask or leaf.unanswered
        elif leaf.sign:
            sign = catalog.signs[leaf.sign]
            yield from (_asked(catalog, sign.when) if sign.when else (sign.id,))
        elif leaf.holds:
            yield from _asked(catalog, catalog.circumstances[leaf.holds].when)
