"""Stop, hold, note: the safety results, worked out before anything else.

They are conditions like any other, but nothing outranks them: a stop ends rescue and
tasting for this cheese, a hold puts it aside, a note is printed with every result. Any
positive answer can only add to them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .answers import UNKNOWN, Answers, is_known
from .catalog import Catalog
from .conditions import View, leaves, question_in, truth
from .gates import makes_sense, screened
from .model import Caution, Condition, Level

LEVELS: tuple[Level, ...] = ("stop", "hold", "note")


@dataclass(frozen=True, slots=True)
class Screen:
    """Cautions that stand for a set of answers, gravest first."""

    cautions: tuple[Caution, ...]
    open_questions: tuple[str, ...]
    """Questions a stop or hold turns on that were not asked or not known."""
    told: tuple[str, ...] = ()
    """Questions of the screen that were answered."""
    untold: tuple[str, ...] = ()
    """Questions of the screen that make sense for this cheese and were not asked, or not known."""

    @property
    def level(self) -> Level | None:
        """The gravest level that stands."""
        return self.cautions[0].level if self.cautions else None

    @property
    def tasting_allowed(self) -> bool:
        """Whether a taste question may be asked at all: the whole screen is through and nothing speaks against it."""
        return not self.untold and not any(c.level != "note" or c.no_tasting for c in self.cautions)


def screen(catalog: Catalog, view: View) -> Screen:
    """Every caution that stands, and what the grave ones still turn on."""
    standing = in_order(catalog, (c for c in catalog.cautions.values() if truth(c.when, view) is True))
    grave = (c for c in catalog.cautions.values() if c.level != "note")
    open_questions = {name for c in grave for name in rests_on(catalog, c.when) if not is_known(view.answers.get(name))}
    asked = [id for id in screened(catalog) if makes_sense(catalog.questions[id], view)]
    return Screen(
        standing,
        tuple(q for q in catalog.questions if q in open_questions),
        tuple(id for id in asked if is_known(view.answers.get(id))),
        tuple(id for id in asked if not is_known(view.answers.get(id))),
    )


def in_order(catalog: Catalog, cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Stops, then holds, then notes; the urgent notes first; within a level as the knowledge lists them."""
    place = {id: k for k, id in enumerate(catalog.cautions)}
    return tuple(sorted(cautions, key=lambda c: (LEVELS.index(c.level), not c.urgent, place[c.id])))


def counted(catalog: Catalog, answers: Answers, skipped: Iterable[str]) -> Answers:
    """Answers in which a question of the screen that was skipped counts as "don't know"."""
    for id in skipped:
        question = catalog.questions.get(id)
        if question is not None and question.screen and answers.get(id) is None:
            answers = answers.adding(id, UNKNOWN)
    return answers


def doubtful(catalog: Catalog, answers: Answers) -> bool:
    """Whether a question that a stop or hold turns on was answered "don't know"."""
    return any(
        answers.get(name) == UNKNOWN
        for c in catalog.cautions.values()
        if c.level != "note"
        for name in rests_on(catalog, c.when)
    )


def rests_on(catalog: Catalog, condition: Condition) -> Iterable[str]:
    """Every question whose answer a condition may turn on, through signs and circumstances."""
    for leaf in leaves(condition):
        if name := question_in(leaf):
            yield name
        elif leaf.sign:
            sign = catalog.signs[leaf.sign]
            yield from (rests_on(catalog, sign.when) if sign.when else (sign.id,))
        elif leaf.holds:
            yield from rests_on(catalog, catalog.circumstances[leaf.holds].when)
