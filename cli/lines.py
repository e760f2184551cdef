"""Lines of standard input."""

from __future__ import annotations

import sys


class EndOfInput(Exception):
    """No more lines will come."""


def read_line() -> str:
    """The next line. Raises ``EndOfInput``."""
    line = sys.stdin.readline()
    if not line:
        raise EndOfInput
    return line.rstrip("\n")
