"""Which files of a folder are house rules, and their bytes. Opens no parser, so that a cached start stays quick."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

from ..errors import Fault, FileProblem

FILE_CAP = 32 * 1024
"""Most bytes of a rule's file."""
HOUSE_CAP = 2 * 1024 * 1024
"""Most bytes of all rules together."""
MOST_RULES = 2000
"""Most rules in one house."""
NAME = re.compile(r"[a-z][a-z0-9_]{1,59}")
"""What a rule, and anything it adds, may be called."""


def rule_files(folder: Path) -> tuple[list[str], list[Fault]]:
    """Names of the rule files in a folder, sorted, and what cannot be read there at all.

    Only plain files of the folder itself count: no links, no folders below it.
    """
    found: list[str] = []
    faults: list[Fault] = []
    try:
        names = sorted(os.listdir(folder))
    except FileNotFoundError:
        return [], []
    except OSError as error:
        return [], [Fault(folder.name, 0, 0, f"The folder cannot be read: {error.strerror or 'unknown error'}.")]
    for name in names:
        if not name.endswith((".yaml", ".yml")) or name.startswith("."):
            continue
        shown = plain(name)
        try:
            mode = os.lstat(folder / name).st_mode
        except OSError:
            continue  # gone since it was listed
        if stat.S_ISLNK(mode):
            faults.append(Fault(shown, 1, 1, "This is a link to somewhere else; a house rule is a plain file."))
        elif not stat.S_ISREG(mode):
            faults.append(Fault(shown, 1, 1, "This is not a plain file."))
        elif not NAME.fullmatch(name.removesuffix(".yaml")):
            faults.append(
                Fault(shown, 1, 1, "A rule's file is named in small letters, digits and underscores: red_dust.yaml")
            )
        else:
            found.append(name)
    if len(found) > MOST_RULES:
        rest = len(found) - MOST_RULES
        said = f"this one and {rest - 1} more are left out" if rest > 1 else "this one is left out"
        faults.append(Fault(found[MOST_RULES], 1, 1, f"A house holds up to {MOST_RULES} rules; {said}."))
    return found[:MOST_RULES], faults


def room_left(folder: Path) -> tuple[int, int]:
    """How many rules and how many bytes more a house can hold."""
    names, _ = rule_files(folder)
    return MOST_RULES - len(names), HOUSE_CAP - sum(os.lstat(folder / name).st_size for name in names)


def read_bytes(path: Path, shown: str) -> bytes:
    """The bytes of a plain file that is not a link. Raises ``FileProblem``."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
        with os.fdopen(handle, "rb") as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise FileProblem(f"{shown} is not a plain file.")
            raw = file.read(FILE_CAP + 1)
    except OSError as error:
        raise FileProblem(f"{shown} cannot be read: {error.strerror or 'unknown error'}.") from None
    if len(raw) > FILE_CAP:
        raise FileProblem(f"{shown} is too long; a house rule is up to {FILE_CAP // 1024} kB.")
    return raw


def plain(text: str) -> str:
    """A text without characters that cannot be seen, for repeating it on a screen."""
    return "".join(c if c.isprintable() else "?" for c in text)
