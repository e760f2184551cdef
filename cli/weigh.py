"""``rindwright weigh``: a diagnosis without questions."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..engine.answers import Answers
from ..engine.catalog import Catalog
from ..engine.diagnosis import Diagnoser
from ..engine.errors import FileProblem
from ..engine.reading.answers_file import read_answers
from ..engine.reading.nodes import SIZE_CAP, decode, read_text
from . import as_json as shapes
from .context import console, packaged_knowledge, screen_width
from .learn import learnt_by
from .pen import Pen
from .phrasing import asked, noun_of
from .report import show, taught
from .status import Status


def run(file: str | None, notice: str | None, as_json: bool, strict: bool, no_color: bool) -> Status:
    """Weigh a file, standard input or free words."""
    knowledge = packaged_knowledge()
    local, looks = learnt_by(Catalog(knowledge), None)
    diagnoser = Diagnoser(knowledge, local)
    catalog = diagnoser.catalog
    answers = read_answers(catalog, _text(file), file if file != "-" else "standard input") if file else Answers()
    heard = []
    if notice is not None:
        from ..engine.noticing import readings, taking

        heard = readings(catalog, notice)
        answers = taking(answers, heard)
    d = diagnoser.diagnose(answers)
    if as_json:
        click.echo(shapes.text(shapes.diagnosis(catalog, d)))
    else:
        pen = Pen(console(no_color), screen_width())
        if notice is not None:
            pen.heading("Understood from your words")
            for k, reading in enumerate(heard, 1):
                pen.item(f"{k}. ", f'"{reading.heard}": {reading.says}')
            if not heard:
                pen.line("Nothing that I know. Try  rindwright questions  for the words I ask in.")
        show(pen, catalog, d)
        taught(pen, looks)
        if d.next_question is not None:
            question = catalog.questions[d.next_question.id]
            pen.heading("What would help most to know next")
            pen.line(f"{asked(question, noun_of(catalog, answers))} (answers file: {question.id})")
    return Status.UNDECIDED if strict and d.verdict == "undecided" else Status.DONE


def _text(file: str) -> str:
    if file != "-":
        return read_text(Path(file), file)
    if sys.stdin is None or sys.stdin.closed:
        raise FileProblem("Standard input is closed; expected an answers file on it.")
    return decode(sys.stdin.buffer.read(SIZE_CAP + 1), "standard input")
