"""A logger's week shown back to the maker before it counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...engine.answers import Answers
from ...engine.catalog import Catalog
from ...engine.figures import WEIGHT, from_log, number
from ...engine.sums.ground import OutOfRange
from ...engine.sums.logger import LogAnswers, adding
from ...engine.sums.logger_reading import Log
from ..house_words import question_put
from ..phrasing import in_words, noun_of

if TYPE_CHECKING:
    from .look import Look
    from .talk import Talk


def answers_of(catalog: Catalog, answers: Answers, log: Log) -> LogAnswers:
    """What a log answers for the cheese of these answers. Raises ``OutOfRange``."""
    return from_log(catalog, log, answers.cheese(catalog), number(answers, WEIGHT))


def offer(catalog: Catalog, look: Look, talk: Talk, log: Log) -> None:
    """Show what a log answers, with period and readings; take it into the look only when the maker agrees."""
    pen = talk.pen
    pen.line()
    try:
        found = answers_of(catalog, look.answers, log)
    except OutOfRange as problem:
        pen.line(f"The logger's file answers nothing. {problem}")
        return
    pen.line(f"From the logger: {log.name}, {found.period}.", "bold")
    for said in (*log.said, *found.facts.said):
        pen.item("Note: ", said)
    noun = noun_of(catalog, look.answers)
    for k, (question, value) in enumerate(found.answers, 1):
        record = catalog.questions[question]
        pen.item(f"  {k}. ", f"{question_put(catalog, record, noun)} {in_words(record, value)}")
    for told in found.told:
        pen.item("- ", told[:1].upper() + told[1:])
    merged, differs = adding(look.answers, found, catalog.questions)
    for line in differs:
        pen.item("- ", line)
    pen.line("Do these answers count?")
    if talk.choose(["yes", "no"]) == "no":
        return
    for question, value in merged:
        if look.answers.get(question) != value:
            look.put(question, value)
    look.measured.append(f"{log.name}: {found.period}")
    look.save()
