"""The house on disk: a folder of rule files, written whole or not at all, and a diary of what was done."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from ...engine.errors import FileProblem, nearest
from ...engine.house.folder import NAME, read_bytes, rule_files
from ...engine.reading.nodes import decode

DIARY = "diary.txt"
TAKEN_BACK = "taken_back"


def path_of(folder: Path, name: str) -> Path:
    """Where a rule stands. Raises ``FileProblem`` when nothing can be called so."""
    if not NAME.fullmatch(name):
        raise FileProblem(f'"{name}" cannot name a house rule; use small letters, digits and underscores.')
    return folder / f"{name}.yaml"


def text_of(folder: Path, name: str) -> str:
    """The text of a rule. Raises ``FileProblem`` with the nearest name when there is none."""
    path = path_of(folder, name)
    if not os.path.lexists(path):
        known = [n.removesuffix(".yaml") for n in rule_files(folder)[0]]
        raise FileProblem(f'There is no house rule "{name}"{nearest(name, known)}. Try: rindwright rules list')
    return decode(read_bytes(path, path.name), path.name)


def write(folder: Path, name: str, text: str, fresh: bool) -> Path:
    """Put a rule in place. ``fresh``: raises ``FileProblem`` when one of that name stands there."""
    path = path_of(folder, name)
    if fresh and os.path.lexists(path):
        raise FileProblem(f'There is a house rule "{name}" already. Look at it: rindwright rules show {name}')
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=folder, prefix=".rule-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, path)
        except OSError:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
            raise
    except OSError as error:
        raise FileProblem(f"{path} cannot be written: {error.strerror or 'unknown error'}.") from None
    return path


def take_back(folder: Path, name: str) -> Path:
    """Move a rule out of the house; nothing is lost. Where it is kept."""
    path = path_of(folder, name)
    text_of(folder, name)
    kept = folder / TAKEN_BACK
    if kept.is_symlink():
        raise FileProblem(f"{kept} is a link to somewhere else; nothing is moved there.")
    try:
        kept.mkdir(exist_ok=True)
        number, place = 1, kept / path.name
        while os.path.lexists(place):
            number += 1
            place = kept / f"{name}-{number}.yaml"
        os.replace(path, place)
    except OSError as error:
        raise FileProblem(f"{path} cannot be moved: {error.strerror or 'unknown error'}.") from None
    return place


def note(folder: Path, day: str, what: str, name: str, because: str) -> None:
    """One line of the diary; a diary that cannot be written stops nothing."""
    with contextlib.suppress(OSError):
        flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
        with os.fdopen(os.open(folder / DIARY, flags, 0o644), "a", encoding="utf-8", newline="\n") as file:
            file.write(f"{day}  {what}  {name}  {' '.join(because.split())}\n")
