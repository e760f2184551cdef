"""Lines of a guided conversation: questions, numbered choices, and going back.

State is only the list of replies so far. ``back`` takes the last one away and plays the others
again, so that nothing has to be undone. Lines come from a function, so that a person, a pipe and a
test are the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from typing import TypeVar

from ...engine.house.promising import promised
from ..pen import Pen

T = TypeVar("T")
Accept = Callable[[str], tuple[T | None, str]]
"""A reply to its value, or to None and one sentence that says what is expected."""

HELP = (
    "A number or words answer. Or type: ? (help), back (change the last answer), back: WORDS (change it to these at "
    "once), leave (drop it)."
)
LONGEST = 300
"""Most letters of one reply."""


class Back(Exception):
    """The maker wants to change the last answer; the text is the new one, where it was given at once."""


class Leave(Exception):
    """The maker drops it."""


class Talk:
    """One conversation: a script that asks, played again from the start after each ``back``."""

    def __init__(self, pen: Pen, read: Callable[[], str], echo: bool = False) -> None:
        self._pen = pen
        self._read = read
        self._echo = echo
        self._kept: list[str] = []
        self._at = 0
        self._instead = ""
        """What the answer taken back is to be, where the maker said so at once."""
        self._taken_back: dict[int, list[str]] = {}
        """Replies that were taken back, by their place."""

    @property
    def live(self) -> bool:
        """Whether the replies so far are all played, so that what is said now is new."""
        return self._at >= len(self._kept)

    def play(self, script: Callable[[], T]) -> T:
        """Run a script to its end. Raises ``Leave`` or ``EndOfInput``."""
        while True:
            self._at = 0
            try:
                return script()
            except Back as back:
                if not self._kept:
                    self._pen.line("There is nothing to go back to.")
                    continue
                old = self._kept.pop()
                self._taken_back.setdefault(len(self._kept), []).append(old.casefold())
                self._instead = str(back)
                if self._instead:
                    self._pen.line(f'Instead of "{old}": {self._instead}')

    @property
    def insists(self) -> bool:
        """Whether the last reply had been taken back and came again: what was made of it then was wrong."""
        return self._kept[self._at - 1].casefold() in self._taken_back.get(self._at - 1, ())

    def say(self, text: str) -> None:
        """A line that is shown once, not when replies are played again."""
        if self.live:
            self._pen.line(text)

    def ask(self, question: str, accept: Accept[T], help: str) -> T:
        """Put a question until the reply is accepted; a reply given before is taken again."""

        def show() -> None:
            self._pen.line()
            self._pen.line(question, "bold")

        return self._reply(accept, help, show)

    def pick(
        self,
        question: str,
        offered: Sequence[tuple[str, str]],
        help: str,
        several: bool = False,
        known: Collection[str] = (),
    ) -> list[str]:
        """Put a numbered choice of (id, text); the ids chosen. ``known`` ids are taken as they are typed."""

        def accept(reply: str) -> tuple[list[str] | None, str]:
            parts = [reply]
            if several and _chosen(reply, offered, known) is None:
                parts = [p for p in re.split(r"[,;\s]+", reply) if p]
            found = [_chosen(part, offered, known) for part in parts] or [offered[0][0]]
            if None in found:
                return None, f"Type a number from 1 to {len(offered)}."
            return list(dict.fromkeys(id for id in found if id is not None)), ""

        def show() -> None:
            self._pen.line()
            self._pen.line(question, "bold")
            for k, (_, text) in enumerate(offered, 1):
                self._pen.item(f"  {k}. ", text)

        return self._reply(accept, help, show)

    def _reply(self, accept: Accept[T], help: str, show: Callable[[], None]) -> T:
        if not self.live:
            value, _ = accept(self._kept[self._at])
            if value is not None:
                self._at += 1
                return value
            del self._kept[self._at :]  # it answers nothing since an earlier answer was changed: it is asked again
        unseen = bool(self._instead)
        if not unseen:
            show()
        while True:
            typed = self._line()
            word = typed.casefold()
            if word in ("leave", "quit", "exit"):
                raise Leave
            if word.removesuffix(":") == "back":
                raise Back
            if word.startswith("back:"):
                raise Back(typed[5:].strip())
            if word in ("?", "help", "how"):
                self._pen.line(help)
                continue
            if len(typed) > LONGEST:
                self._pen.line(f"That is long; up to {LONGEST} letters, please.")
                continue
            value, complaint = accept(typed)
            if value is not None:
                self._kept.append(typed)
                self._at += 1
                return value
            self._pen.line(complaint)
            if unseen:  # an answer changed at once, without its question on the screen
                unseen = False
                show()

    def _line(self) -> str:
        """One line: what an answer taken back is to be, or else what is typed."""
        if self._instead:
            typed, self._instead = self._instead, ""
            return typed
        self._pen.ask("> ")
        typed = " ".join("".join(c if c.isprintable() else " " for c in self._read()).split())
        if self._echo:  # nobody sees what comes through a pipe: show it where it was asked
            self._pen.line(typed)
        return typed


def _chosen(part: str, offered: Sequence[tuple[str, str]], known: Collection[str]) -> str | None:
    """The id of one reply to a choice: by number, by id, or by how its text begins."""
    if part.isdecimal() and 1 <= int(part) <= len(offered):
        return offered[int(part) - 1][0]
    if part in known:
        return part
    begins = [id for id, text in offered if part and text.casefold().startswith(part.casefold())]
    return begins[0] if len(begins) == 1 else None


def words(reply: str) -> tuple[str | None, str]:
    """A few words that name something."""
    if len(reply) < 3 or not re.search(r"[^\W\d_]{2}", reply):
        return None, "In words, please."
    if len(reply) > 80:
        return None, "Shorter, please: up to 80 letters."
    return no_promise(reply)


def reason(reply: str) -> tuple[str | None, str]:
    """A sentence or two."""
    return no_promise(reply) if len(reply) >= 3 else (None, "A few words, please.")


def deed(reply: str) -> tuple[str | None, str]:
    """Something to do, or nothing."""
    if reply and not re.search(r"[^\W\d_]{2}", reply):
        return None, "In words, please; or an empty line."
    return no_promise(reply)


def name(reply: str) -> tuple[str | None, str]:
    """Somebody's name."""
    return no_promise(reply) if 2 <= len(reply) <= 60 else (None, "A name of 2 to 60 letters, please.")


def no_promise(reply: str) -> tuple[str | None, str]:
    """Any words but those that would offer a cheese to somebody, or wave a hold away."""
    refused = promised(reply)
    return (None, f"Say it without {refused}") if refused else (reply, "")
