"""How far a long piece of work has come: one line on a terminal, nothing in a pipe."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator


@contextlib.contextmanager
def progress_line(word: str) -> Iterator[Callable[[int, int], None]]:
    """A function to be told (done, of). Writes to standard error, at most once for each percent."""
    shown = -1
    lively = sys.stderr is not None and sys.stderr.isatty()

    def tell(done: int, of: int) -> None:
        nonlocal shown
        percent = done * 100 // max(of, 1)
        if lively and percent != shown:
            shown = percent
            sys.stderr.write(f"\r{word}: {done} of {of}")
            sys.stderr.flush()

    try:
        yield tell
    finally:
        if shown >= 0:
            sys.stderr.write("\r" + " " * 60 + "\r")
            sys.stderr.flush()
