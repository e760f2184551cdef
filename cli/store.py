"""Questionnaires on disk: one small JSON file each, written whole or not at all.

A look is saved after every answer, so that a pulled plug loses nothing that was said.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from ..engine.answers import Answers, Unusable, Value, understand
from ..engine.catalog import Catalog
from ..engine.errors import FileProblem, nearest

SCHEMA = "rindwright-look/1"


@dataclass(slots=True)
class Look:
    """One questionnaire: answers in the order they were given, and what was skipped."""

    name: str
    path: Path
    given: list[tuple[str, Value]] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    """What the maker said in their own words."""
    listed_all: bool = False
    noticed: bool = False
    """Whether the maker has been asked what they notice."""
    trouble: str = ""
    """Why it could not be saved, when it could not."""

    @property
    def answers(self) -> Answers:
        """The answers as a set."""
        return Answers.of(dict(self.given), self.listed_all)

    def put(self, question: str, value: Value) -> None:
        """Take or change an answer, and save."""
        if any(key == question for key, _ in self.given):
            self.given = [(key, value if key == question else old) for key, old in self.given]
        else:
            self.given.append((question, value))
        if question in self.skipped:
            self.skipped.remove(question)
        self.save()

    def forget(self, question: str) -> None:
        """Drop an answer, so that its question comes again, and save."""
        self.given = [pair for pair in self.given if pair[0] != question]
        self.save()

    def skip(self, question: str) -> None:
        """Pass over a question, and save."""
        self.skipped.append(question)
        self.save()

    def back(self) -> str | None:
        """Take back the last answer; its question, or None when there is none."""
        if not self.given:
            return None
        question, _ = self.given.pop()
        self.save()
        return question

    def save(self) -> None:
        """Write the look beside itself and put it in place; trouble is kept, never raised."""
        body = json.dumps(
            {
                "schema": SCHEMA,
                "given": [[key, list(value) if isinstance(value, tuple) else value] for key, value in self.given],
                "skipped": self.skipped,
                "words": self.words,
                "listed_all": self.listed_all,
                "noticed": self.noticed,
            },
            ensure_ascii=False,
            indent=1,
        )
        self.trouble = ""
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.path.parent, prefix=".look-")
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(body)
                    file.flush()
                    os.fsync(file.fileno())
                os.replace(name, self.path)
            except OSError:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise
        except OSError as error:
            self.trouble = error.strerror or "unknown error"


def new(folder: Path, name: str | None) -> Look:
    """A fresh look. Raises ``FileProblem`` when the name is taken or cannot be a file's name."""
    if name is not None:
        _check_name(name)
        if _path(folder, name).exists():
            raise FileProblem(
                f'There is a questionnaire "{name}" already. Go on with it: rindwright ask --resume {name}'
            )
        return Look(name, _path(folder, name))
    today = date.today().isoformat()
    number = 1
    while _path(folder, f"{today}-{number}").exists():
        number += 1
    return Look(f"{today}-{number}", _path(folder, f"{today}-{number}"))


def reopen(folder: Path, name: str, catalog: Catalog) -> Look:
    """A look that was left. An empty name means the one saved last.

    Raises ``FileProblem`` when there is none, or when it cannot be read.
    """
    kept = sorted(folder.glob("*.json"), key=lambda p: (p.stat().st_mtime_ns, p.name)) if folder.is_dir() else []
    if not name:
        if not kept:
            raise FileProblem("There is no questionnaire to go on with. Start one: rindwright ask")
        name = kept[-1].stem
    _check_name(name)
    path = _path(folder, name)
    if not path.exists():
        raise FileProblem(f'There is no questionnaire "{name}"{nearest(name, (p.stem for p in kept))}.')
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["schema"] != SCHEMA:
            raise ValueError("schema")
        look = Look(
            name,
            path,
            skipped=[str(s) for s in data["skipped"]],
            words=[str(w) for w in data["words"]],
            listed_all=data["listed_all"] is True,
            noticed=data["noticed"] is True,
        )
        for key, raw in data["given"]:
            # Knowledge may have changed since: what no longer fits is asked again.
            if key in catalog.questions:
                with contextlib.suppress(Unusable):
                    look.given.append((key, understand(catalog.questions[key], raw)))
        return look
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        raise FileProblem(
            f'The questionnaire "{name}" cannot be read: its file is damaged or of another version.'
        ) from None


def _path(folder: Path, name: str) -> Path:
    return folder / f"{name}.json"


def _check_name(name: str) -> None:
    if not re.fullmatch(r"[\w][\w. -]{0,60}", name) or ".." in name:
        raise FileProblem(f'"{name}" cannot name a questionnaire; use letters, digits, spaces and dashes.')
