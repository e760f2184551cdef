"""``rindwright ask``: the guided questionnaire, one line at a time, and what comes next in it.

State is only the ordered list of answers; everything shown is worked out from it again. What the first
question does not need is opened after it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ...engine.catalog import Catalog
from ...engine.gates import FIRST, STOP_BELOW, must_ask, plain_view, screened, together
from ..context import archive_path, console, knowledge_in_force, screen_width
from ..house_words import cause_named, question_put
from ..lines import EndOfInput, read_line
from ..pen import Pen
from ..phrasing import in_words, noun_of
from ..status import Status
from . import look as store
from .putting import Putting
from .talk import Enough, Leaving, Talk

if TYPE_CHECKING:
    from ...engine.diagnosis import Diagnoser, Diagnosis
    from ...engine.sums.logger_reading import Log

HELP = (
    "A number or a word answers. Or type: ? (how to look), why, dk (don't know), skip, back, list, "
    "guess (best guess so far), enough (result now), leave (keep it for later)."
)
SETTLED = "No answer left is likely to change what to do today. Go on for a surer picture, or finish?"
UNSETTLED = "No answer left is likely to settle it by itself; several together may. Go on, or finish?"
FEWEST_TOLD = 6
"""Questions about the rind put before an undecided questionnaire offers to end itself: judgement."""


def run(
    resume: str | None,
    name: str | None,
    as_json: bool,
    no_color: bool,
    archive: str | None = None,
    wheel: str | None = None,
    on: str | None = None,
    log: Log | None = None,
    house: Path | None = None,
    facts: tuple[str, ...] = (),
) -> Status:
    """Ask from the terminal or a pipe. A log's answers are shown, and count when the maker agrees."""
    catalog = Catalog(knowledge_in_force(house))
    path = archive_path(archive)
    look = store.new(path, name, catalog, wheel, on) if resume is None else store.reopen(path, resume, catalog)
    look.know(facts)
    if sys.stdin is None or sys.stdin.closed:
        click.echo("Standard input is closed: there is no one to ask. Use  rindwright weigh FILE  instead.", err=True)
        return Status.USAGE
    screen = console(no_color, aside=as_json)  # so that standard output holds only the JSON
    pen = Pen(screen, screen_width())
    questionnaire = Questionnaire(catalog, look, pen, read_line, as_json, not sys.stdin.isatty(), log)
    return questionnaire.run(resumed=resume is not None)


class Questionnaire:
    """One conversation about one look."""

    def __init__(
        self,
        catalog: Catalog,
        look: store.Look,
        pen: Pen,
        read: Callable[[], str],
        as_json: bool = False,
        echo: bool = False,
        log: Log | None = None,
    ) -> None:
        self._catalog = catalog
        self._look = look
        self._pen = pen
        self._talk = Talk(pen, read, echo)
        self._putting = Putting(catalog, look, self._talk, self._aside)
        self._as_json = as_json
        self._log = log
        self._kept_diagnoser: Diagnoser | None = None
        self._told_settled = False
        self._told_stops: frozenset[str] = frozenset()
        self._measuring: bool | None = None
        self._returning: str | None = None

    @property
    def _diagnoser(self) -> Diagnoser:
        if self._kept_diagnoser is None:
            # Opened after the first answer, so that the first question does not wait for it.
            from ...engine.diagnosis import Diagnoser

            self._kept_diagnoser = Diagnoser(self._catalog.knowledge, self._look.learnt(self._catalog).local)
        return self._kept_diagnoser

    def run(self, resumed: bool = False) -> Status:
        """Ask until settled, enough, or out of lines; then show the result."""
        pen = self._pen
        if resumed:
            pen.line(f'Going on with "{self._look.name}": {len(self._look.given)} answers so far.')
        else:
            pen.line(
                "A rind that went wrong, one question at a time. This tool finds causes; it never finds a cheese safe."
            )
        pen.line(HELP, "dim")
        self._before()
        try:
            while self._step():
                pass
        except Enough:
            pass
        except EndOfInput:
            if not self._look.given:
                click.echo("No answers came in: nothing to weigh.", err=True)
                return Status.USAGE
            self._keep_note()
        except Leaving:
            self._keep_note()
            return Status.DONE
        except KeyboardInterrupt:
            pen.line()
            self._keep_note()
            return Status.INTERRUPTED
        from .verdict import result

        result(pen, self._catalog, self._look, self._diagnoser, self._as_json)
        return Status.DONE

    def _before(self) -> None:
        """Say what was taken over from earlier looks."""
        if self._look.from_before:
            self._pen.line(f"{self._look.from_before} Type  list  to see or change them.")
        if self._look.reminder:
            self._pen.line(self._look.reminder)

    def _keep_note(self) -> None:
        self._look.save()
        if self._look.trouble:
            self._pen.line(
                f"It could not be saved; copy your answers with  list  before you close. {self._look.trouble}"
            )
            return
        self._pen.line(f'Kept. Go on with:  rindwright ask --resume "{self._look.name}"')

    def _step(self) -> bool:
        """Put one question. False when there is nothing more to ask."""
        look, catalog = self._look, self._catalog
        if self._returning is not None:
            name, self._returning = self._returning, None
            self._putting.one(catalog.questions[name], "")
            return True
        skipped = frozenset(look.skipped)
        if self._measuring is not None:
            return self._figure()
        first = must_ask(catalog, plain_view(catalog, look.answers), skipped, FIRST)
        if first is not None:
            self._putting.one(catalog.questions[first], "")
            return True
        if self._log is not None:
            from .log_offer import offer

            log, self._log = self._log, None
            offer(catalog, look, self._talk, log)
            return True
        if not look.noticed:
            from .notice import notice

            notice(catalog, look, self._talk, self._aside)
            self._putting.saved()
            return True
        if self._stopped():
            return False
        ranked = self._diagnoser.next_questions(look.answers, skipped)
        if not ranked:
            return self._figure()
        best = ranked[0]
        if catalog.questions[best.question].block:
            case, _, _ = self._diagnoser.prepare(look.answers)
            block = together(catalog, case.view, best.question, skipped)
            if len(block) > 1:
                self._putting.block(block)
                return True
        if not self._told_settled and not any(w.change >= STOP_BELOW for w in ranked) and not self._too_early():
            self._told_settled = True
            self._guess()
            self._pen.line()
            self._pen.line(UNSETTLED if self._weighed().verdict == "undecided" else SETTLED)
            if self._talk.choose(["finish", "go on"]) == "finish":
                return self._figure()
        parted = " from ".join(cause_named(catalog, c, True) for c in best.separates if c in catalog.causes)
        self._putting.one(catalog.questions[best.question], f"It helps most to tell {parted}." if parted else "")
        return True

    def _too_early(self) -> bool:
        """Whether hardly anything of the rind is told and nothing stands out: then each answer alone changes little."""
        before = {*FIRST, *screened(self._catalog)}
        told = sum(question not in before for question in {*dict(self._look.given), *self._look.skipped})
        return told < FEWEST_TOLD and self._weighed().verdict == "undecided"

    def _figure(self) -> bool:
        """Put one of the figures that make the plan exact, last of all. False when none is wanted."""
        from ...engine.figures import wanted
        from ...engine.planning import LEAST

        look, catalog = self._look, self._catalog
        if self._measuring is False:
            return False
        d = self._weighed()
        bases = {step.per for step in (*d.plan.today, *d.plan.next_make) if step.per}
        likely = [catalog.causes[c.id] for c in d.causes if c.probability >= LEAST]
        open_ = [id for id in wanted(catalog, look.answers, bases, likely) if id not in look.skipped]
        if d.verdict in ("stop", "normal") or not open_:
            return False
        if self._measuring is None:
            self._pen.line()
            self._pen.line("A few figures would make the plan exact. Each of them may be skipped. Give them now?")
            self._measuring = self._talk.choose(["yes", "no"]) == "yes"
        if self._measuring:
            self._putting.one(catalog.questions[open_[0]], "It makes the amounts fit your cheese.")
        return self._measuring

    def _aside(self, word: str) -> bool:
        """A word that is no answer; true when another question comes now."""
        if word == "back":
            self._returning = self._look.back()
            if self._returning is None:
                self._pen.line("There is nothing to go back to.")
            return self._returning is not None
        if word == "list":
            return self._review()
        if word == "guess":
            self._guess()
        else:
            self._pen.line(HELP)
        return False

    def _review(self) -> bool:
        """List the answers; true when one was chosen to be changed."""
        pen = self._pen
        if not self._look.given:
            pen.line("No answers yet.")
            return False
        for k, (key, value) in enumerate(self._look.given, 1):
            question = self._catalog.questions[key]
            since = self._look.carried.get(key)
            pen.item(
                f"  {k}. ",
                f"{question_put(self._catalog, question, noun_of(self._catalog, self._look.answers))} "
                f"{in_words(question, value)}" + (f" (said on {since})" if since else ""),
            )
        from .notice import EVERYTHING, everything

        last = len(self._look.given) + 1
        asked_for_all = bool(self._look.words) and self._look.noticed
        if asked_for_all:
            pen.item(f"  {last}. ", f"{EVERYTHING} {'yes' if self._look.listed_all else 'no, or not sure'}")
        pen.line("A number changes that answer; an empty line goes on.")
        reply = self._talk.prompt()
        if asked_for_all and reply == str(last):
            everything(self._look, self._talk)
            return True
        if reply.isdigit() and 1 <= int(reply) <= len(self._look.given):
            self._returning = self._look.given[int(reply) - 1][0]
            return True
        return False

    def _stopped(self) -> bool:
        """Say a stop the moment it stands; true when the maker wants no further questions."""
        from ..report import show_grave

        _, _, safety = self._diagnoser.prepare(self._look.answers)
        fresh = [c for c in safety.cautions if (c.level == "stop" or c.urgent) and c.id not in self._told_stops]
        self._told_stops |= {c.id for c in fresh}
        show_grave(self._pen, fresh)
        if not any(c.level == "stop" for c in fresh):
            return False
        self._pen.line("Further answers can only help the next make. What you have told is kept. Finish, or go on?")
        return self._talk.choose(["finish", "go on"]) == "finish"

    def _guess(self) -> None:
        from .verdict import guess

        guess(self._pen, self._catalog, self._weighed())

    def _weighed(self) -> Diagnosis:
        return self._diagnoser.diagnose(self._look.answers, frozenset(self._look.skipped))
