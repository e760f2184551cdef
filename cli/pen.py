"""Lines of text at any width: no boxes, no colour that says what words do not."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .screen import Screen


class Pen:
    """Writes wrapped paragraphs, items and headings."""

    def __init__(self, screen: Screen, width: int) -> None:
        self._screen = screen
        self.width = width

    def line(self, text: str = "", style: str = "") -> None:
        """One paragraph."""
        self.item("", text, style=style)

    def heading(self, text: str) -> None:
        """A heading with air above it."""
        self._screen.print()
        self.line(text, "bold")

    def item(self, lead: str, text: str, indent: int = 0, style: str = "") -> None:
        """A paragraph behind a lead such as ``- `` or ``1. ``, hanging under itself."""
        first = " " * indent + lead
        lines = textwrap.wrap(
            " ".join(text.split()),
            self.width,
            initial_indent=first,
            subsequent_indent=" " * len(first),
            break_on_hyphens=False,
        ) or [first.rstrip()]
        for one in lines:
            self._screen.print(one, style=style or None)

    def row(self, text: str, style: str = "") -> None:
        """A row of a grid: its blanks carry meaning, so it is cut to the width and never wrapped."""
        self._screen.print(text[: self.width], style=style or None)

    def ask(self, sign: str) -> None:
        """A prompt on a line of its own, flushed so that it is seen before the answer."""
        self._screen.print(sign, end="")
        self._screen.file.flush()
