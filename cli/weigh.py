"""``rindwright weigh``: a diagnosis without questions."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
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
    from ..engine.archive.learnt import Beside, Standing
    from ..engine.diagnosis import Diagnosis
    from ..engine.noticing import Reading
    from ..engine.sums.logger_reading import Log
    from .ask.look import Look


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
    learnt = standing_in(Catalog(knowledge), archive)
    diagnoser = Diagnoser(knowledge, learnt.local)
    catalog = diagnoser.catalog
    told = _Told(read_answers(catalog, _text(file), file if file != "-" else "standard input") if file else Answers())
    if keeping is not None:
        from .ask.look import new

        told.look = new(archive_path(archive), keeping.name, catalog, keeping.wheel, keeping.on)
        told.look.say(told.answers)
        told.answers = told.look.answers
    if notice is not None:
        told.hear(catalog, notice)
    if log is not None:
        told.read(catalog, log)
    d = diagnoser.diagnose(told.answers)
    told.keep(catalog, d)  # before a word is printed, since nobody need read to the end
    own = bearing_on(learnt, catalog, told.answers, d.chained)
    alone = Diagnoser(packaged_knowledge()) if beside else None
    if as_json:
        _print_shape(catalog, d, told, learnt, own, alone)
    else:
        pen = Pen(console(no_color), screen_width())
        told.say(pen, catalog)
        show(pen, catalog, d, formulas=formulas, noun=noun_of(catalog, told.answers), own=own)
        taught(pen, learnt.looks)
        _say_next(pen, catalog, d, told.answers)
        if alone is not None:
            from ..engine.short import in_short, short_of
            from .rules.trial import show_beside

            show_beside(pen, catalog, short_of(d), in_short(alone, told.answers), d.house)
    if told.look is not None:
        if told.look.trouble:
            raise FileProblem(f"The look could not be kept. {told.look.trouble}")
        click.echo(f'Kept. See it again: rindwright past show "{told.look.name}"', err=True)
    return Status.UNDECIDED if strict and d.verdict == "undecided" else Status.DONE


@dataclass(slots=True)
class _Told:
    """What was told, from where: a file, free words, a logger, and earlier looks at the wheel."""

    answers: Answers
    look: Look | None = None
    """Where it is to be kept."""
    words: str | None = None
    heard: list[Reading] = field(default_factory=list)
    unsure: list[Reading] = field(default_factory=list)
    logged: dict[str, Any] | None = None
    """What a logger said, as it is told to machines."""

    def hear(self, catalog: Catalog, words: str) -> None:
        """Add what is understood in free words."""
        from ..engine.gates import plain_view
        from ..engine.hinting import Hints
        from ..engine.noticing import readings, taking

        self.words = words
        self.heard = readings(catalog, words)
        self.answers = taking(self.answers, self.heard)
        self.unsure = Hints(catalog).unsure(words, plain_view(catalog, self.answers), self.heard)

    def read(self, catalog: Catalog, log: Log) -> None:
        """Add what a logger says; what was told stands above it."""
        from ..engine.sums.logger import adding
        from .ask.log_offer import answers_of

        found = answers_of(catalog, self.answers, log)
        self.answers, differs = adding(self.answers, found, catalog.questions)
        self.logged = {
            "file": log.name,
            "period": found.period,
            "answers": dict(found.answers),
            "told": list(found.told),
            "differs": list(differs),
        }

    def keep(self, catalog: Catalog, d: Diagnosis) -> None:
        """Keep it all with the diagnosis, where it is to be kept."""
        if self.look is None:
            return
        self.look.words += [self.words] if self.words else []
        self.look.measured += [f"{self.logged['file']}: {self.logged['period']}"] if self.logged else []
        self.look.noticed = self.words is not None
        self.look.take(self.answers)
        self.look.save()
        if not self.look.trouble:
            self.look.finish(catalog, d)

    def say(self, pen: Pen, catalog: Catalog) -> None:
        """What was taken over, heard and read, before the result."""
        for line in (self.look.from_before, self.look.reminder) if self.look else ():
            if line:
                pen.line(line)
        if self.words is not None:
            _say_heard(pen, catalog, self.heard, self.unsure)
        if self.logged is not None:
            _say_logged(pen, self.logged)


def _print_shape(
    catalog: Catalog, d: Diagnosis, told: _Told, learnt: Standing, own: Beside, alone: Diagnoser | None
) -> None:
    shape = shapes.diagnosis(catalog, d, noun_of(catalog, told.answers), learnt, own)
    if told.logged is not None:
        shape["logger"] = told.logged
    if alone is not None:
        noun = noun_of(alone.catalog, told.answers)
        shape["beside"] = shapes.diagnosis(alone.catalog, alone.diagnose(told.answers), noun)
    click.echo(shapes.text(shape))


def _say_next(pen: Pen, catalog: Catalog, d: Diagnosis, answers: Answers) -> None:
    if d.next_question is not None and d.verdict != "undecided":  # there it stands under what to do today
        pen.heading("What would help most to know next")
        pen.line(question_line(catalog, d.next_question.id, noun_of(catalog, answers)))


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


def _text(file: str) -> str:
    if file != "-":
        return read_text(Path(file), file)
    if sys.stdin is None or sys.stdin.closed:
        raise FileProblem("Standard input is closed; expected an answers file on it.")
    return decode(sys.stdin.buffer.read(SIZE_CAP + 1), "standard input")
