"""``rindwright weigh``: a diagnosis without questions."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..engine.answers import Answers
from ..engine.archive.learnt import beside as bearing_on
from ..engine.catalog import Catalog
from ..engine.diagnosis import Diagnoser
from ..engine.errors import FileProblem
from ..engine.house.voices import of_question
from ..engine.reading.answers_file import read_answers
from ..engine.reading.nodes import SIZE_CAP, decode, read_text
from . import as_json as shapes
from .context import archive_path, console, knowledge_in_force, packaged_knowledge, screen_width, standing_in
from .house_words import tag
from .pen import Pen
from .phrasing import noun_of
from .report import show, taught
from .sentences import question_line
from .status import Status

if TYPE_CHECKING:
    from ..engine.noticing import Reading
    from ..engine.sums.logger_reading import Log


@dataclass(frozen=True, slots=True)
class Keeping:
    """How a look that was weighed is to be kept."""

    name: str | None = None
    wheel: str | None = None
    on: str | None = None


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
    keeping: Keeping | None = None,
    archive: str | None = None,
) -> Status:
    """Weigh a file, standard input or free words, with a climate logger's log if there is one.

    ``beside`` adds what the packaged knowledge alone would say. Raises ``FileProblem`` after all is shown when the
    look was to be kept and could not be.
    """
    knowledge = knowledge_in_force(house)
    found = standing_in(Catalog(knowledge), archive)
    diagnoser = Diagnoser(knowledge, found.local)
    catalog = diagnoser.catalog
    answers = read_answers(catalog, _text(file), file if file != "-" else "standard input") if file else Answers()
    look = None
    if keeping is not None:
        from .ask.look import new

        look = new(archive_path(archive), keeping.name, catalog, keeping.wheel, keeping.on)
        look.say(answers)
        answers = look.answers
    heard: list[Reading] = []
    unsure: list[Reading] = []
    if notice is not None:
        from ..engine.gates import plain_view
        from ..engine.hinting import Hints
        from ..engine.noticing import readings, taking

        heard = readings(catalog, notice)
        unsure = Hints(catalog).unsure(notice, plain_view(catalog, taking(answers, heard)), heard)
        answers = taking(answers, heard)
    logged = _logged(catalog, answers, log) if log is not None else None
    if logged is not None:
        answers = logged.answers
    d = diagnoser.diagnose(answers)
    if look is not None:  # before a word is printed, since nobody need read to the end
        look.words += [notice] if notice else []
        look.measured += [f"{log.name}: {logged.shape['period']}"] if log is not None and logged is not None else []
        look.noticed = notice is not None
        look.take(answers)
        look.save()
        if not look.trouble:
            look.finish(catalog, d)
    own = bearing_on(found, catalog, answers, d.chained)
    if as_json:
        shape = shapes.diagnosis(catalog, d, noun_of(catalog, answers), found, own)
        if logged is not None:
            shape["logger"] = logged.shape
        if beside:
            alone = Diagnoser(packaged_knowledge())
            shape["beside"] = shapes.diagnosis(alone.catalog, alone.diagnose(answers), noun_of(alone.catalog, answers))
        click.echo(shapes.text(shape))
    else:
        pen = Pen(console(no_color), screen_width())
        for line in (look.from_before, look.reminder) if look else ():
            if line:
                pen.line(line)
        if notice is not None:
            _say_heard(pen, catalog, heard, unsure)
        if logged is not None:
            _say_logged(pen, logged.shape)
        noun = noun_of(catalog, answers)
        show(pen, catalog, d, formulas=formulas, noun=noun, own=own)
        taught(pen, found.looks)
        if d.next_question is not None and d.verdict != "undecided":  # there it stands under what to do today
            pen.heading("What would help most to know next")
            pen.line(question_line(catalog, d.next_question.id, noun))
        if beside:
            from ..engine.short import in_short, short_of
            from .rules.trial import show_beside

            show_beside(pen, catalog, short_of(d), in_short(Diagnoser(packaged_knowledge()), answers), d.house)
    if look is not None:
        if look.trouble:
            raise FileProblem(f"The look could not be kept. {look.trouble}")
        click.echo(f'Kept. See it again: rindwright past show "{look.name}"', err=True)
    return Status.UNDECIDED if strict and d.verdict == "undecided" else Status.DONE


def _say_heard(pen: Pen, catalog: Catalog, heard: Sequence[Reading], unsure: Sequence[Reading]) -> None:
    pen.heading("Understood from your words")
    for k, reading in enumerate(heard, 1):
        pen.item(f"{k}. ", f'"{reading.heard}": {reading.says}{tag(of_question(catalog, reading.question))}')
    if not heard:
        pen.line("Nothing that I know. Try  rindwright questions  for the words I ask in.")
    if unsure:
        pen.line("Not counted, since it may mean more than one thing:")
    for reading in unsure:
        pen.item("- ", f'"{reading.heard}": {reading.says}? (answers file: {reading.question})')


def _say_logged(pen: Pen, shape: dict[str, Any]) -> None:
    pen.heading("From the logger")
    pen.line(f"{shape['file']}: {shape['period']}.")
    for line in (*shape["told"], *shape["differs"]):
        pen.item("- ", line[:1].upper() + line[1:])


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
