"""Putting a question, or a block of them, until it is answered, passed over or left for another."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...engine.answers import UNKNOWN, Unusable, Value, is_known, understand
from ...engine.catalog import Catalog
from ...engine.house.voices import of_question
from ...engine.model import Question
from ..house_words import whose
from ..phrasing import asked, choices, noun_of
from .look import Look
from .replies import ASIDES, block_answers, by_number
from .talk import Talk

PASSED_OVER = "Taken as don't know. For safety that counts as if it might be so."


class Putting:
    """Puts questions into one look. ``aside`` takes a word that is no answer; true when another question comes now."""

    def __init__(self, catalog: Catalog, look: Look, talk: Talk, aside: Callable[[str], bool]) -> None:
        self._catalog = catalog
        self._look = look
        self._talk = talk
        self._pen = talk.pen
        self._aside = aside
        self._told_trouble = ""

    def one(self, question: Question, why: str) -> None:
        """One question, with its answers numbered."""
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
            typed = self._talk.prompt()
            word = typed.casefold()
            if word in ("?", "how"):
                pen.line(question.how or "Look in daylight, and answer what you see.")
            elif word == "why":
                pen.line(" ".join(t for t in (question.why, why) if t) or "It bears on several causes at once.")
            elif word in ("dk", "d"):
                self._look.put(question.id, UNKNOWN)
                self.saved()
                return
            elif word == "" and question.screen:
                pen.line("This one is for safety: answer it, or dk.")
            elif word in ("skip", ""):
                if question.screen:
                    pen.line(PASSED_OVER)
                    self._look.put(question.id, UNKNOWN)
                else:
                    self._look.skip(question.id)
                self.saved()
                return
            elif word in ASIDES:
                if self._aside(word):
                    return
            else:
                value = self._understand(question, typed, offered)
                if value is not None:
                    self._look.put(question.id, value)
                    self._drop_style_of_another_family()
                    self.saved()
                    return

    def block(self, questions: Sequence[Question]) -> None:
        """Several yes-or-no questions on one screen, answered in one line: the rest is no."""
        pen = self._pen
        pen.line()
        pen.line("Is any of this so? Type the numbers, or none.", "bold")
        for k, question in enumerate(questions, 1):
            pen.item(f"  {k}. ", asked(question, noun_of(self._catalog, self._look.answers)))
        pen.line("  Such as: 2 5. A mark after a number means don't know: 3?. For all of them: dk.")
        while True:
            word = self._talk.prompt().casefold()
            if word in ("?", "how"):
                for k, question in enumerate(questions, 1):
                    pen.item(f"  {k}. ", question.how or "Answer what you know.")
            elif word == "why":
                pen.line("A dangerous cheese can look right. These come first, and what is not known counts as open.")
            elif word in ASIDES:
                if self._aside(word):
                    return
            else:
                values = block_answers(word, len(questions))
                if values is None:
                    pen.line(f"Type numbers from 1 to {len(questions)}, none, or dk.")
                    continue
                if word == "skip":
                    pen.line(PASSED_OVER)
                for question, value in zip(questions, values, strict=True):
                    self._look.put(question.id, value)
                self.saved()
                return

    def saved(self) -> None:
        """Say once what hinders the saving."""
        trouble, self._told_trouble = self._told_trouble, self._look.trouble
        if self._look.trouble and self._look.trouble != trouble:
            self._pen.line(f"This could not be saved, and stands until you close. {self._look.trouble}")

    def _understand(self, question: Question, typed: str, offered: list[tuple[str, str]]) -> Value | None:
        try:
            if offered:
                return understand(question, by_number(question, typed, offered))
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
