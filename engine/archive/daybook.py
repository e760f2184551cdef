"""The daybook: every change as one line in a plain file beside the archive, before it is committed.

A line is ``NUMBER CHECKSUM RECORD``: the number of the change, the first 16 hex digits of the SHA-256 of
the rest, and the whole record as JSON. Two copies of the truth, written by different code into different
files: what damages one leaves the other. A backup closes the daybook and begins the next, so it stays
short; segments are named by number, and the segment *n* follows the backup *n*.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Record = dict[str, Any]

KEPT = 3
"""Backups that are kept, each with the daybook that follows it."""
_TAIL = 1 << 16
_BEGIN = "begin"
_ORDER = {"make": 0, "look": 1, "learnt": 2}


@dataclass(frozen=True, slots=True)
class Line:
    """One change: its number and the record as it stood afterwards."""

    number: int
    record: Record


def as_json(record: Record) -> str:
    """A record in the one way it is written: sorted keys, no blanks."""
    return json.dumps(record, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def digest_of(record: Record) -> str:
    """What a record must hash to, whatever wrote it; its own ``digest`` is left out."""
    body = as_json({key: value for key, value in record.items() if key != "digest"})
    return hashlib.sha256(body.encode()).hexdigest()[:32]


def _written(number: int, record: Record) -> bytes:
    rest = f"{number} {as_json(record)}".encode()
    return b"%d %s %s\n" % (number, hashlib.sha256(rest).hexdigest()[:16].encode(), as_json(record).encode())


def _read(raw: bytes) -> Line | None:
    with contextlib.suppress(ValueError, UnicodeDecodeError, RecursionError):
        number, checksum, body = raw.rstrip(b"\n").split(b" ", 2)
        rest = number + b" " + body
        if hashlib.sha256(rest).hexdigest()[:16].encode() == checksum:
            return Line(int(number), json.loads(body))
    return None


class Keep:
    """The folder beside an archive: backups and daybooks, by number."""

    def __init__(self, archive: Path) -> None:
        self.folder = archive.with_name(archive.name + ".keep")

    def numbers(self) -> list[int]:
        """Numbers of the daybooks that are there, oldest first."""
        found = self.folder.glob("*.daybook") if self.folder.is_dir() else ()
        return sorted(int(path.stem) for path in found if path.stem.isdigit())

    def daybook(self, number: int) -> Path:
        """The daybook that follows a backup."""
        return self.folder / f"{number:06d}.daybook"

    def backup(self, number: int) -> Path:
        """A backup by number; number 0 never exists: it is the empty archive."""
        return self.folder / f"{number:06d}.db"

    def current(self) -> Path:
        """The daybook that is written now."""
        return self.daybook((self.numbers() or [0])[-1])

    def append(self, changes: list[tuple[int, Record]]) -> int:
        """Write changes to the disk; the length before, for taking them back. Raises ``OSError``."""
        path = self.current()
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
        try:
            before = os.fstat(handle).st_size
            body = b"".join(_written(number, record) for number, record in changes)
            if before and not _ends_line(path):
                body = b"\n" + body  # a line torn by a pulled plug stays one bad line
            try:
                view = memoryview(body)
                while view:
                    view = view[os.write(handle, view) :]
                os.fsync(handle)
            except OSError:
                with contextlib.suppress(OSError):
                    os.ftruncate(handle, before)
                raise
        finally:
            os.close(handle)
        if not before:
            sync_folder(path.parent)
        return before

    def take_back(self, length: int) -> None:
        """Cut the daybook to an earlier length, after a commit that failed."""
        with contextlib.suppress(OSError):
            os.truncate(self.current(), length)

    def last(self) -> int | None:
        """Number of the newest readable change in the current daybook; None when it holds none."""
        try:
            with self.current().open("rb") as file:
                size = file.seek(0, os.SEEK_END)
                file.seek(max(0, size - _TAIL))
                lines = file.read().splitlines()
        except OSError:
            return None
        for raw in reversed(lines):
            line = _read(raw)
            if line is not None:
                return line.number
        return max((line.number for line in self.lines(self.numbers()[-1:])), default=None)

    def lines(self, numbers: list[int] | None = None) -> Iterator[Line]:
        """Every readable change of some daybooks, in the order written; torn and altered lines are passed over."""
        for number in self.numbers() if numbers is None else numbers:
            with contextlib.suppress(OSError), self.daybook(number).open("rb") as file:
                for raw in file:
                    line = _read(raw)
                    if line is not None and line.record.get("kind") != _BEGIN:
                        yield line

    def latest(self, after: int = -1) -> dict[str, Record]:
        """The last word of the daybooks on every record, by ``uid``, makes first.

        The order of the lines is the order of the changes, so of two lines for one record the later stands.
        """
        found: dict[str, Record] = {}
        for line in self.lines():
            if line.number > after:
                found[line.record["uid"]] = line.record
        return dict(sorted(found.items(), key=lambda pair: _ORDER.get(pair[1]["kind"], 9)))

    def begin(self, number: int, change: int) -> None:
        """Begin a new daybook behind a backup that holds all up to a change; drop what is older than is kept."""
        self.folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(self.daybook(number), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
        try:
            os.write(handle, _written(change, {"kind": _BEGIN}))
            os.fsync(handle)
        finally:
            os.close(handle)
        sync_folder(self.folder)
        for old in self.numbers()[:-KEPT]:
            for path in (self.daybook(old), self.backup(old)):
                path.unlink(missing_ok=True)

    def size(self) -> int:
        """Bytes in the current daybook."""
        try:
            return self.current().stat().st_size
        except OSError:
            return 0


def sync_folder(folder: Path) -> None:
    """Bring a new file's name to the disk, where the system offers that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _ends_line(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"
