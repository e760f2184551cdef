"""SQLite's troubles in the words of the person who can mend them."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from collections.abc import Iterator
from json import JSONDecodeError
from pathlib import Path

from ..errors import FileProblem

BROKEN = (sqlite3.Error, JSONDecodeError, UnicodeDecodeError)
"""What reading a harmed file may raise."""


NEEDED = 1 << 16
"""Bytes that a disk must have free to be written to at all."""


class ArchiveProblem(FileProblem):
    """An archive that cannot be read or written; the sentence says what to do."""


class Damaged(ArchiveProblem):
    """An archive whose content cannot be trusted any more."""


class ReadOnly(ArchiveProblem):
    """An archive that may be read and not written."""


def damaged(path: Path, what: str) -> Damaged:
    """The sentence for a damaged file."""
    return Damaged(f"The archive {path} is damaged ({what}). Nothing is overwritten; run: rindwright past mend")


def _sentence(path: Path, error: sqlite3.Error) -> ArchiveProblem:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return damaged(path, str(error))
    if code == sqlite3.SQLITE_FULL or (code == sqlite3.SQLITE_IOERR and _no_room(path)):
        return ArchiveProblem(
            f"The disk that holds the archive {path} is full. What was saved before is kept; make room and try again."
        )
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return ArchiveProblem(f"Another program is writing to the archive {path}. Wait a moment and try again.")
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return ReadOnly(
            f"The archive {path} may only be read. Change its permissions, or name another file with --archive FILE."
        )
    if code == sqlite3.SQLITE_CANTOPEN:
        return ArchiveProblem(
            f"The archive {path} cannot be opened: check that its folder exists and may be written, "
            "or name another file with --archive FILE."
        )
    if code == sqlite3.SQLITE_IOERR:
        return ArchiveProblem(
            f"The disk reports an error with the archive {path}. What was saved before is kept; copy it to another "
            "disk: rindwright past backup FILE"
        )
    if code == sqlite3.SQLITE_CONSTRAINT:
        return ArchiveProblem(f"The archive {path} refuses this: {error}. What was saved before is kept.")
    return damaged(path, str(error))


def _no_room(path: Path) -> bool:
    # Where even the small file beside the archive finds no room, SQLite speaks of a fault of the disk.
    with contextlib.suppress(OSError):
        return shutil.disk_usage(path.parent).free < NEEDED
    return False


@contextlib.contextmanager
def spoken(path: Path) -> Iterator[None]:
    """Turn SQLite's and the system's errors inside into one sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise _sentence(path, error) from error
    except (JSONDecodeError, UnicodeDecodeError) as error:
        raise damaged(path, "a text in it is not what was saved") from error
    except OSError as error:
        raise ArchiveProblem(
            f"The archive {path} cannot be written or read: {error.strerror or 'unknown error'}. "
            "What was saved before is kept."
        ) from error
