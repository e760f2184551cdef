"""Texts of the maker's own, as an archive keeps them: nothing that a terminal would obey, and not without end.

The same bounds hold for what is typed and for what comes from a file, so that every export can be taken in again.
"""

from __future__ import annotations

from ..errors import FileProblem

NAME, WORDS, TEXT = 100, 2_000, 20_000
"""Most letters of a name, of a few words, and of a note."""
MOST_WORDS, MOST_MEASURED = 200, 50
"""Most pieces of free words, and of logger files, that a look keeps; the latest stay."""
_INSTEAD = "\N{REPLACEMENT CHARACTER}"


def is_plain(text: str) -> bool:
    """Whether every character can be shown. What a terminal would obey instead of showing is no text."""
    return all(c.isprintable() or c in "\n\t" for c in text)


def plain(text: str) -> str:
    """A text with a mark in place of every character that cannot be shown."""
    return text if is_plain(text) else "".join(c if is_plain(c) else _INSTEAD for c in text)


def fit(text: str, most: int, what: str) -> str:
    """A text as it is kept. Raises ``FileProblem`` when it is too long."""
    if len(text) > most:
        raise FileProblem(f"{what} has {len(text)} letters; at most {most} are kept.")
    return plain(text)
