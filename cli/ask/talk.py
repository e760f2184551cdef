"""Lines back and forth: a prompt, a choice among a few texts, and the words that end it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..pen import Pen
from .replies import chosen


class Leaving(Exception):
    """The maker wants to stop and go on later."""


class Enough(Exception):
    """The maker wants the result now."""


class Talk:
    """Lines come from and go to two functions, so that a person, a pipe and a test are the same."""

    def __init__(self, pen: Pen, read: Callable[[], str], echo: bool = False) -> None:
        """``echo``: show what comes in where it was asked, since nobody sees what comes through a pipe."""
        self.pen = pen
        self._read = read
        self._echo = echo

    def prompt(self) -> str:
        """What is typed, in single blanks. Raises ``Leaving`` or ``Enough`` for these words."""
        self.pen.ask("> ")
        typed = " ".join(self._read().split())
        if self._echo:
            self.pen.line(typed)
        word = typed.casefold()
        if word in ("leave", "quit", "exit"):
            raise Leaving
        if word == "enough":
            raise Enough
        return typed

    def choose(self, offered: Sequence[str]) -> str:
        """One of a few numbered texts."""
        for k, text in enumerate(offered, 1):
            self.pen.item(f"  {k}. ", text)
        while True:
            found = chosen(self.prompt().casefold(), offered)
            if found is not None:
                return found
            self.pen.line(f"Type a number from 1 to {len(offered)}.")
