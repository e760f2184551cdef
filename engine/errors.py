"""What can go wrong, by who can mend it.

RindwrightError
  ├── KnowledgeError   the author of a rule file: every fault, with file, line and column
  ├── AnswersError     the person who wrote the answers: every fault at once
  └── FileProblem      a file that cannot be read or written at all
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong in a file, in the words of the person who can mend it."""

    file: str
    line: int
    column: int
    sentence: str

    def __str__(self) -> str:
        place = self.file + (f":{self.line}:{self.column}" if self.line else "")
        return f"{place}: {self.sentence}" if place else self.sentence


class RindwrightError(Exception):
    """Anything the tool says in one sentence instead of a traceback."""


class FileProblem(RindwrightError):
    """A file that cannot be read or written."""

    def __init__(self, sentence: str, line: int = 1, column: int = 1) -> None:
        super().__init__(sentence)
        self.line, self.column = line, column


class _Faulty(RindwrightError):
    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__("\n".join(str(f) for f in self.faults))


class KnowledgeError(_Faulty):
    """Knowledge files that cannot be used as they stand."""


class AnswersError(_Faulty):
    """Answers that cannot be used as they stand."""


class Faults:
    """Faults of one command line, gathered so that they are told together."""

    def __init__(self) -> None:
        self._told: list[str] = []

    @contextmanager
    def noted(self) -> Iterator[None]:
        """Keep a ``FileProblem`` for the end, and go on."""
        try:
            yield
        except FileProblem as problem:
            self._told.append(str(problem))

    def end(self) -> None:
        """Raise one ``FileProblem`` that tells them all, a line each, when there are any."""
        if self._told:
            raise FileProblem("\n".join(dict.fromkeys(self._told)))


def nearest(word: str, known: Iterable[str]) -> str:
    """`` (did you mean "..."?)`` for the closest known word, or nothing. Never the very word that was typed."""
    close = get_close_matches(word.lower(), sorted({*known} - {word}), n=1, cutoff=0.6)
    return f' (did you mean "{close[0]}"?)' if close else ""


def listed(words: Sequence[str], join: str = "or") -> str:
    """Words as a sentence lists them: "a, b or c", or with another word before the last."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {join} {words[-1]}"
