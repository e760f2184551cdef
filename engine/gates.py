"""Which questions come first, and which make no sense for this cheese.

Apart from ``asking`` so that the first question appears before anything is weighed.
"""

from __future__ import annotations

from .answers import AGE, MADE, Answers
from .catalog import Catalog, Cheese
from .conditions import View, truth
from .model import Option, Question

FIRST = ("family", "style", AGE, MADE)
"""Asked before anything is weighed: without them nothing can be judged."""
STOP_BELOW = 0.10
"""Stop when no open question changes today's advice with at least this probability."""


def screened(catalog: Catalog) -> tuple[str, ...]:
    """The questions of the safety screen, in the order they are put. They follow ``FIRST``, always."""
    return tuple(q.id for q in catalog.questions.values() if q.screen)


def makes_sense(question: Question, view: View) -> bool:
    """Whether a question can be asked of this cheese at this age."""
    return (
        not question.worked_out
        and view.cheese.is_one_of(question.rinds) is not False
        and view.cheese.in_window(question.from_day, question.to_day) is not False
        and (question.ask_if is None or truth(question.ask_if, view) is True)
    )


def offered(question: Question, cheese: Cheese) -> tuple[Option, ...]:
    """The options a question offers for this cheese, in their order."""
    return tuple(o for o in question.options if cheese.is_one_of(o.rinds) is not False)


def must_ask(
    catalog: Catalog, view: View, skipped: frozenset[str] = frozenset(), ids: tuple[str, ...] | None = None
) -> str | None:
    """The next of the questions that come first whatever they are worth, or None when all are through."""
    for id in (*FIRST, *screened(catalog)) if ids is None else ids:
        question = catalog.questions.get(id)
        if question and id not in skipped and view.answers.get(id) is None and makes_sense(question, view):
            return id
    return None


def together(catalog: Catalog, view: View, id: str, skipped: frozenset[str] = frozenset()) -> tuple[Question, ...]:
    """A question with the open ones of its block, which are put on one screen; a question alone otherwise."""
    question = catalog.questions[id]
    if not question.block:
        return (question,)
    return tuple(
        q
        for q in catalog.questions.values()
        if q.block == question.block and q.id not in skipped and view.answers.get(q.id) is None and makes_sense(q, view)
    )


def plain_view(catalog: Catalog, answers: Answers) -> View:
    """Answers alone, before anything is derived from them."""
    return View(answers, answers.cheese(catalog), lambda _: None, lambda _: None)
