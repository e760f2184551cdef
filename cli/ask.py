"""``rindwright ask``: the guided questionnaire, one line at a time.

State is only the ordered list of answers; everything shown is worked out from it again. Lines
come from and go to two functions, so that a person, a pipe and a test are the same.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..engine.answers import UNKNOWN, Unusable, Value, is_known, understand
from ..engine.catalog import Catalog
from ..engine.gates import FIRST, STOP_BELOW, must_ask, plain_view, together
from ..engine.house.voices import of_question
from ..engine.model import Question
from . import as_json as shapes
from . import store
from .context import archive_path, console, knowledge_in_force, screen_width
from .pen import Pen
from .phrasing import asked, choices, in_words, noun_of
from .report import percent, show, show_grave, taught
from .rules_words import whose
from .status import Status

if TYPE_CHECKING:
    from ..engine.diagnosis import Diagnoser
    from ..engine.sums.logger_reading import Log

HELP = (
    "A number or a word answers. Or type: ? (how to look), why, dk (don't know), skip, back, list, "
    "guess (best guess so far), enough (result now), leave (keep it for later)."
)

PASSED_OVER = "Taken as don't know. For safety that counts as if it might be so."


class EndOfInput(Exception):
    """No more lines will come."""


class Leaving(Exception):
    """The maker wants to stop and go on later."""


class Enough(Exception):
    """The maker wants the result now."""


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
    screen = console(no_color)
    if as_json:
        screen.stderr = True  # questions aside, so that standard output holds only the JSON
    pen = Pen(screen, screen_width())
    questionnaire = Questionnaire(catalog, look, pen, _read_line, as_json, not sys.stdin.isatty(), log)
    return questionnaire.run(resumed=resume is not None)


def _read_line() -> str:
    line = sys.stdin.readline()
    if not line:
        raise EndOfInput
    return line.rstrip("\n")


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
        self._read = read
        self._as_json = as_json
        self._echo = echo
        self._log = log
        self._kept_diagnoser: Diagnoser | None = None
        self._told_settled = False
        self._told_stops: frozenset[str] = frozenset()
        self._measuring: bool | None = None
        self._told_trouble = ""
        self._last_choice = ""
        self._returning: str | None = None

    @property
    def _diagnoser(self) -> Diagnoser:
        if self._kept_diagnoser is None:
            # Opened after the first answer, so that the first question does not wait for it.
            from ..engine.diagnosis import Diagnoser

            self._kept_diagnoser = Diagnoser(self._catalog.knowledge, self._look.learnt(self._catalog)[0])
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
        self._result()
        return Status.DONE

    def _before(self) -> None:
        """Say what was taken over from earlier looks."""
        look = self._look
        if look.carried and look.wheel is not None:
            since = min(look.carried.values())
            self._pen.line(
                f"{look.wheel.title}: {len(look.carried)} answers carried over, the oldest from {since}. "
                "Type  list  to see or change them."
            )
        if look.reminder:
            self._pen.line(look.reminder)

    def _keep_note(self) -> None:
        self._look.save()
        if self._look.trouble:
            self._pen.line(
                f"It could not be saved. {self._look.trouble} Copy your answers with  list  before you close."
            )
            return
        self._pen.line(f'Kept. Go on with:  rindwright ask --resume "{self._look.name}"')

    def _step(self) -> bool:
        """Put one question. False when there is nothing more to ask."""
        look, catalog = self._look, self._catalog
        if self._returning is not None:
            name, self._returning = self._returning, None
            self._put(catalog.questions[name], "")
            return True
        skipped = frozenset(look.skipped)
        if self._measuring is not None:
            return self._figure()
        first = must_ask(catalog, plain_view(catalog, look.answers), skipped, FIRST)
        if first is not None:
            self._put(catalog.questions[first], "")
            return True
        if self._log is not None:
            from .logger_answers import offer

            log, self._log = self._log, None
            offer(catalog, look, self._pen, self._choose, log)
            return True
        if not look.noticed:
            self._notice()
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
                self._put_block(block)
                return True
        if not self._told_settled and not any(w.change >= STOP_BELOW for w in ranked):
            self._told_settled = True
            self._guess()
            self._pen.line()
            self._pen.line("No answer left is likely to change what to do today. Go on for a surer picture, or finish?")
            if self._choose(["finish", "go on"]) == "finish":
                return self._figure()
        parted = " from ".join(catalog.causes[c].name.lower() for c in best.separates if c in catalog.causes)
        self._put(catalog.questions[best.question], f"It helps most to tell {parted}." if parted else "")
        return True

    def _figure(self) -> bool:
        """Put one of the figures that make the plan exact, last of all. False when none is wanted."""
        from ..engine.figures import wanted
        from ..engine.planning import LEAST

        look, catalog = self._look, self._catalog
        if self._measuring is False:
            return False
        d = self._diagnoser.diagnose(look.answers, frozenset(look.skipped))
        bases = {step.per for step in (*d.plan.today, *d.plan.next_make) if step.per}
        likely = [catalog.causes[c.id] for c in d.causes if c.probability >= LEAST]
        open_ = [id for id in wanted(catalog, look.answers, bases, likely) if id not in look.skipped]
        if d.verdict in ("stop", "normal") or not open_:
            return False
        if self._measuring is None:
            self._pen.line()
            self._pen.line("A few figures would make the plan exact. Each of them may be skipped. Give them now?")
            self._measuring = self._choose(["yes", "no"]) == "yes"
        if self._measuring:
            self._put(catalog.questions[open_[0]], "It makes the amounts fit your cheese.")
        return self._measuring

    def _put(self, question: Question, why: str) -> None:
        pen = self._pen
        offered = choices(question, self._look.answers.cheese(self._catalog))
        pen.line()
        pen.line(asked(question, noun_of(self._catalog, self._look.answers)), "bold")
        for mark in of_question(self._catalog, question.id):
            pen.line(f"  ({whose(mark)})", "dim")
        for k, (_, text) in enumerate(offered, 1):
            pen.item(f"  {k}. ", text)
        if question.kind == "number":
            pen.line(f"  A number{'' if question.unit == 'pH' else ' in ' + question.unit}, or dk for don't know.")
        elif question.kind == "some_of":
            pen.line("  Several numbers at once are fine: 1 3")
        while True:
            typed = self._prompt("> ")
            word = typed.casefold()
            if word in ("?", "how"):
                pen.line(question.how or "Look in daylight, and answer what you see.")
            elif word == "why":
                pen.line(" ".join(t for t in (question.why, why) if t) or "It bears on several causes at once.")
            elif word in ("dk", "d"):
                self._look.put(question.id, UNKNOWN)
                self._saved()
                return
            elif word == "" and question.screen:
                pen.line("This one is for safety: answer it, or dk.")
            elif word in ("skip", ""):
                if question.screen:
                    pen.line(PASSED_OVER)
                    self._look.put(question.id, UNKNOWN)
                else:
                    self._look.skip(question.id)
                self._saved()
                return
            elif word in ("back", "list", "guess", "help"):
                if self._aside(word):
                    return
            else:
                value = self._understand(question, typed, offered)
                if value is not None:
                    self._look.put(question.id, value)
                    self._drop_style_of_another_family()
                    self._saved()
                    return

    def _put_block(self, questions: Sequence[Question]) -> None:
        """Several yes-or-no questions on one screen, answered in one line: the rest is no."""
        pen = self._pen
        pen.line()
        pen.line("Is any of this so? Type the numbers, or none.", "bold")
        for k, question in enumerate(questions, 1):
            pen.item(f"  {k}. ", asked(question, noun_of(self._catalog, self._look.answers)))
        pen.line("  Such as: 2 5. A mark after a number means don't know: 3?. For all of them: dk.")
        while True:
            word = self._prompt("> ").casefold()
            if word in ("?", "how"):
                for k, question in enumerate(questions, 1):
                    pen.item(f"  {k}. ", question.how or "Answer what you know.")
            elif word == "why":
                pen.line("A dangerous cheese can look right. These come first, and what is not known counts as open.")
            elif word in ("back", "list", "guess", "help"):
                if self._aside(word):
                    return
            else:
                values = _block_answers(word, len(questions))
                if values is None:
                    pen.line(f"Type numbers from 1 to {len(questions)}, none, or dk.")
                    continue
                if word == "skip":
                    pen.line(PASSED_OVER)
                for question, value in zip(questions, values, strict=True):
                    self._look.put(question.id, value)
                self._saved()
                return

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

    def _understand(self, question: Question, typed: str, offered: list[tuple[str, str]]) -> Value | None:
        try:
            if offered:
                return understand(question, _by_number(question, typed, offered))
            return understand(question, typed)
        except Unusable as problem:
            if question.kind == "number":
                self._pen.line(f"That {problem}.")
            else:
                several = "numbers" if question.kind == "some_of" else "a number"
                self._pen.line(f'I do not know "{typed}" here. Type {several} from 1 to {len(offered)}, or dk.')
            return None

    def _drop_style_of_another_family(self) -> None:
        """After a change of family its style is asked anew."""
        family, style = self._look.answers.get("family"), self._look.answers.get("style")
        if isinstance(style, str) and is_known(family) and self._catalog.home.get(style, family) != family:
            self._look.forget("style")

    def _saved(self) -> None:
        trouble, self._told_trouble = self._told_trouble, self._look.trouble
        if self._look.trouble and self._look.trouble != trouble:
            self._pen.line(f"This could not be saved. {self._look.trouble} The answers stand until you close.")

    def _notice(self) -> None:
        from ..engine.noticing import readings, taking

        pen, look = self._pen, self._look
        pen.line()
        pen.line("What do you notice? In your own words, several things at once. An empty line goes on.", "bold")
        typed = self._prompt("> ")
        if typed.casefold() == "list":
            self._review()
            return
        if not typed or typed.casefold() == "skip":
            look.noticed = True
            look.save()
            return
        look.words.append(typed)
        heard = [r for r in readings(self._catalog, typed) if r.question not in FIRST]  # those are answered by now
        if not heard:
            pen.line("I know none of these words. Try others, or an empty line to be asked instead.")
            look.noticed = len(look.words) >= 2
            look.save()
            return
        pen.line("I understood:")
        for k, reading in enumerate(heard, 1):
            pen.item(f"  {k}. ", f'{reading.says} (you said "{reading.heard}")')
        pen.line("Which of these are right? all, none, or their numbers.")
        chosen = None
        while chosen is None:
            reply = self._prompt("> ").casefold()
            if reply in ("all", "yes", "y"):
                chosen = list(range(len(heard)))
            elif reply in ("none", "no", "n", ""):
                chosen = []
            else:
                numbers = [int(n) for n in re.findall(r"\d+", reply)]
                if numbers and all(1 <= n <= len(heard) for n in numbers):
                    chosen = [n - 1 for n in numbers]
                else:
                    pen.line(f"Type all, none, or numbers from 1 to {len(heard)}.")
        for question, value in taking(look.answers, [heard[k] for k in chosen]):
            look.put(question, value)
        self._saved()
        pen.line("Is that everything that strikes you about the rind?")
        look.listed_all = self._choose(["yes, everything", "no, more to say", "not sure"]) == "yes, everything"
        look.noticed = look.listed_all or self._last_choice != "no, more to say"
        look.save()

    def _stopped(self) -> bool:
        """Say a stop the moment it stands; true when the maker wants no further questions."""
        _, _, safety = self._diagnoser.prepare(self._look.answers)
        fresh = [c for c in safety.cautions if (c.level == "stop" or c.urgent) and c.id not in self._told_stops]
        self._told_stops |= {c.id for c in fresh}
        show_grave(self._pen, fresh)
        if not any(c.level == "stop" for c in fresh):
            return False
        pen = self._pen
        pen.line("Further answers can only help the next make. What you have told is kept. Finish, or go on?")
        return self._choose(["finish", "go on"]) == "finish"

    def _choose(self, offered: Sequence[str]) -> str:
        for k, text in enumerate(offered, 1):
            self._pen.item(f"  {k}. ", text)
        while True:
            reply = self._prompt("> ").casefold()
            if reply.isdigit() and 1 <= int(reply) <= len(offered):
                self._last_choice = offered[int(reply) - 1]
                return self._last_choice
            fitting = [t for t in offered if reply and t.startswith(reply)]
            if len(fitting) == 1:
                self._last_choice = fitting[0]
                return self._last_choice
            self._pen.line(f"Type a number from 1 to {len(offered)}.")

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
                f"{asked(question, noun_of(self._catalog, self._look.answers))} {in_words(question, value)}"
                + (f" (said on {since})" if since else ""),
            )
        pen.line("A number changes that answer; an empty line goes on.")
        reply = self._prompt("> ")
        if reply.isdigit() and 1 <= int(reply) <= len(self._look.given):
            self._returning = self._look.given[int(reply) - 1][0]
            return True
        return False

    def _guess(self) -> None:
        d = self._diagnoser.diagnose(self._look.answers, frozenset(self._look.skipped))
        pen = self._pen
        if d.screen_untold:
            pen.line("The questions for safety are not all answered: so far this is about the rind only.")
        grave = [c for c in d.cautions if c.level != "note"]
        for c in grave:
            pen.item("! ", f"{c.level.upper()}: {c.title}. {c.text}")
        if d.verdict == "normal":
            pen.line(
                f"Best guess so far: normal for this age ({percent(d.normal.probability)} that the rind has no fault)."
            )
        else:
            first = ", then ".join(f"{c.title} ({percent(c.probability)})" for c in d.causes[:3])
            pen.line(f"Best guess so far: {first or 'nothing stands out'}.")

    def _prompt(self, sign: str) -> str:
        self._pen.ask(sign)
        typed = " ".join(self._read().split())
        if self._echo:  # nobody sees what comes through a pipe: show it where it was asked
            self._pen.line(typed)
        word = typed.casefold()
        if word in ("leave", "quit", "exit"):
            raise Leaving
        if word == "enough":
            raise Enough
        return typed

    def _result(self) -> None:
        # Whoever asks for the result before the safety questions are through has passed them over. That is kept with
        # the answers, so that weighing the look again can only come to the same.
        look = self._look
        _, _, safety = self._diagnoser.prepare(look.answers, frozenset(look.skipped))
        never_put = [id for id in safety.untold if look.answers.get(id) is None]
        look.pass_over([id for id in never_put if safety.level != "stop" or id in look.skipped])
        d = self._diagnoser.diagnose(look.answers, frozenset(look.skipped))
        self._look.finish(self._catalog, d)
        if self._as_json:
            click.echo(shapes.text(shapes.diagnosis(self._catalog, d, noun_of(self._catalog, self._look.answers))))
        else:
            show(self._pen, self._catalog, d)
            taught(self._pen, self._look.learnt(self._catalog)[1])


def _block_answers(word: str, size: int) -> list[Value] | None:
    """A reply to a block: yes for each number, unknown for a number with a mark, no for the rest."""
    if word in ("none", "no", "n", "0"):
        return ["no"] * size
    if word in ("dk", "d", "skip"):
        return [UNKNOWN] * size
    if word == "all":
        return ["yes"] * size
    values: list[Value] = ["no"] * size
    parts = [part for part in re.split(r"[,;\s]+", word) if part]
    for part in parts:
        found = re.fullmatch(r"(\d{1,2})(\?)?", part)
        if found is None or not 1 <= int(found[1]) <= size:
            return None
        values[int(found[1]) - 1] = UNKNOWN if found[2] else "yes"
    return values if parts else None


def _by_number(question: Question, typed: str, offered: list[tuple[str, str]]) -> str | list[str]:
    """Numbers, words or beginnings of words as option ids."""
    parts = re.split(r"[,;\s]+", typed) if re.fullmatch(r"[\d,;\s]+", typed) else [typed]
    found = []
    for part in parts:
        if part.isdigit() and 1 <= int(part) <= len(offered):
            found.append(offered[int(part) - 1][0])
            continue
        beginning = [
            id
            for id, text in offered
            if part and (text.casefold().startswith(part.casefold()) or id.startswith(part.casefold()))
        ]
        found.append(beginning[0] if len(beginning) == 1 else part)
    return found if question.kind == "some_of" else found[0] if len(found) == 1 else typed
