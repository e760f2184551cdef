"""Where lines go: a terminal by way of rich, or anything else as plain text, which needs no library."""

from __future__ import annotations

import os
import sys
from typing import IO, Any, Protocol


class Screen(Protocol):
    """What a pen writes on."""

    @property
    def file(self) -> IO[str]:
        """The stream behind it."""
        ...

    def print(self, *objects: Any, end: str = ..., style: str | None = ...) -> None:
        """Write text, in a style where there are styles."""
        ...


def opened(no_color: bool, aside: bool) -> Screen:
    """Standard output, or standard error where it stands ``aside``; plain where that is no terminal."""
    stream = sys.stderr if aside else sys.stdout
    if not stream.isatty() and "FORCE_COLOR" not in os.environ:
        return _Plain(aside)
    return _terminal(no_color, aside)


def no_reader() -> None:
    """End quietly: a reader that has seen enough, such as head, is no fault."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    raise SystemExit(0)


class _Plain:
    def __init__(self, aside: bool) -> None:
        self._aside = aside

    @property
    def file(self) -> IO[str]:
        return sys.stderr if self._aside else sys.stdout

    def print(self, *objects: Any, end: str = "\n", style: str | None = None) -> None:
        try:
            print(*objects, end=end, file=self.file, flush=True)
        except BrokenPipeError:
            no_reader()


def _terminal(no_color: bool, aside: bool) -> Screen:
    from rich.console import Console

    class Terminal(Console):
        def on_broken_pipe(self) -> None:
            no_reader()

    return Terminal(
        stderr=aside,
        no_color=True if no_color else None,
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=True,
        legacy_windows=False,
    )
