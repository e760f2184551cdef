"""``rindwright weigh``: a diagnosis without questions."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..engine.answers import Answers
from ..engine.diagnosis import Diagnoser
from ..engine.errors import FileProblem
from ..engine.reading.answers_file import read_answers
from ..engine.reading.nodes import SIZE_CAP, decode, read_text
from . import as_json as shapes
from .context import console, knowledge_in_force, packaged_knowledge, screen_width
from .pen import Pen
from .phrasing import asked, noun_of
from .report import show
from .status import Status


def run(
    file: str | None,
    notice: str | None,
    as_json: bool,
    strict: bool,
    no_color: bool,
    house: Path | None = None,
    beside: bool = False,
) -> Status:
    """Weigh a file, standard input or free words; ``beside`` adds what the packaged knowledge alone would say."""
    diagnoser = Diagnoser(knowledge_in_force(house))
    catalog = diagnoser.catalog
    answers = read_answers(catalog, _text(file), file if file != "-" else "standard input") if file else Answers()
    heard = []
    if notice is not None:
        from ..engine.noticing import readings, taking

        heard = readings(catalog, notice)
        answers = taking(answers, heard)
    d = diagnoser.diagnose(answers)
    if as_json:
        shape = shapes.diagnosis(catalog, d)
        if beside:
            alone = Diagnoser(packaged_knowledge())
            shape["beside"] = shapes.diagnosis(alone.catalog, alone.diagnose(answers))
        click.echo(shapes.text(shape))
    else:
        pen = Pen(console(no_color), screen_width())
        if notice is not None:
            pen.heading("Understood from your words")
            for k, reading in enumerate(heard, 1):
                pen.item(f"{k}. ", f'"{reading.heard}": {reading.says}')
            if not heard:
                pen.line("Nothing that I know. Try  rindwright questions  for the words I ask in.")
        show(pen, catalog, d)
        if d.next_question is not None:
            question = catalog.questions[d.next_question.id]
            pen.heading("What would help most to know next")
            pen.line(f"{asked(question, noun_of(catalog, answers))} (answers file: {question.id})")
        if beside:
            from .rules_try import show_beside

            show_beside(pen, d, Diagnoser(packaged_knowledge()).diagnose(answers))
    return Status.UNDECIDED if strict and d.verdict == "undecided" else Status.DONE


def _text(file: str) -> str:
    if file != "-":
        return read_text(Path(file), file)
    if sys.stdin is None or sys.stdin.closed:
        raise FileProblem("Standard input is closed; expected an answers file on it.")
    return decode(sys.stdin.buffer.read(SIZE_CAP + 1), "standard input")
