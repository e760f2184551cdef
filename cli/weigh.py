"""``rindwright weigh``: a diagnosis without questions."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..engine.answers import Answers
from ..engine.catalog import Catalog
from ..engine.diagnosis import Diagnoser
from ..engine.errors import FileProblem
from ..engine.house.voices import of_question
from ..engine.reading.answers_file import read_answers
from ..engine.reading.nodes import SIZE_CAP, decode, read_text
from . import as_json as shapes
from .context import console, knowledge_in_force, packaged_knowledge, screen_width
from .house_words import question_put, tag
from .past.learn import learnt_by
from .pen import Pen
from .phrasing import noun_of
from .report import show, taught
from .status import Status

if TYPE_CHECKING:
    from ..engine.sums.logger_reading import Log


def run(
    file: str | None,
    notice: str | None,
    as_json: bool,
    strict: bool,
    no_color: bool,
    log: Log | None = None,
    formulas: bool = False,
    house: Path | None = None,
    beside: bool = False,
) -> Status:
    """Weigh a file, standard input or free words, with a climate logger's log if there is one.

    ``beside`` adds what the packaged knowledge alone would say.
    """
    knowledge = knowledge_in_force(house)
    local, looks = learnt_by(Catalog(knowledge), None)
    diagnoser = Diagnoser(knowledge, local)
    catalog = diagnoser.catalog
    answers = read_answers(catalog, _text(file), file if file != "-" else "standard input") if file else Answers()
    heard = []
    if notice is not None:
        from ..engine.noticing import readings, taking

        heard = readings(catalog, notice)
        answers = taking(answers, heard)
    logged = _logged(catalog, answers, log) if log is not None else None
    if logged is not None:
        answers = logged.answers
    d = diagnoser.diagnose(answers)
    if as_json:
        shape = shapes.diagnosis(catalog, d, noun_of(catalog, answers))
        if logged is not None:
            shape["logger"] = logged.shape
        if beside:
            alone = Diagnoser(packaged_knowledge())
            shape["beside"] = shapes.diagnosis(alone.catalog, alone.diagnose(answers), noun_of(alone.catalog, answers))
        click.echo(shapes.text(shape))
    else:
        pen = Pen(console(no_color), screen_width())
        if notice is not None:
            pen.heading("Understood from your words")
            for k, reading in enumerate(heard, 1):
                said = reading.says + tag(of_question(catalog, reading.question))
                pen.item(f"{k}. ", f'"{reading.heard}": {said}')
            if not heard:
                pen.line("Nothing that I know. Try  rindwright questions  for the words I ask in.")
        if logged is not None:
            pen.heading("From the logger")
            pen.line(f"{logged.shape['file']}: {logged.shape['period']}.")
            for line in (*logged.shape["told"], *logged.shape["differs"]):
                pen.item("- ", line[:1].upper() + line[1:])
        show(pen, catalog, d, formulas=formulas)
        taught(pen, looks)
        if d.next_question is not None:
            question = catalog.questions[d.next_question.id]
            pen.heading("What would help most to know next")
            pen.line(f"{question_put(catalog, question, noun_of(catalog, answers))} (answers file: {question.id})")
        if beside:
            from ..engine.short import in_short, short_of
            from .rules.trial import show_beside

            show_beside(pen, catalog, short_of(d), in_short(Diagnoser(packaged_knowledge()), answers), d.house)
    return Status.UNDECIDED if strict and d.verdict == "undecided" else Status.DONE


@dataclass(frozen=True, slots=True)
class _Logged:
    """Answers with those of a logger, and what it said."""

    answers: Answers
    shape: dict[str, Any]


def _logged(catalog: Catalog, answers: Answers, log: Log) -> _Logged:
    from ..engine.sums.logger import adding
    from .ask.log_offer import answers_of

    found = answers_of(catalog, answers, log)
    both, differs = adding(answers, found, catalog.questions)
    shape = {
        "file": log.name,
        "period": found.period,
        "answers": dict(found.answers),
        "told": list(found.told),
        "differs": list(differs),
    }
    return _Logged(both, shape)


def _text(file: str) -> str:
    if file != "-":
        return read_text(Path(file), file)
    if sys.stdin is None or sys.stdin.closed:
        raise FileProblem("Standard input is closed; expected an answers file on it.")
    return decode(sys.stdin.buffer.read(SIZE_CAP + 1), "standard input")
