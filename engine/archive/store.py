"""One archive: a SQLite file, its daybook, and the rule that a change is in both or in neither.

The order of a change: lock; write the tables; write and sync the daybook; commit. Killed before the commit, the next
opening, or the next change of another writer, finds the daybook ahead and takes the change up; so what was said to be
saved is saved, and so may be the one thing that was being saved.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from .daybook import Keep, Record, sync_folder
from .problems import BROKEN, ArchiveProblem, Damaged, ReadOnly, damaged, spoken
from .records import RECORD_OF, put_record
from .schema import APPLICATION_ID, VERSION, application_of, migrate, version_of

BUSY_MS = 15_000
"""How long a writer waits for another one."""
BACKUP_AT = 4 << 20
"""A daybook longer than this, and than a quarter of the archive, is closed by a backup."""
_HEADER = b"SQLite format 3\x00"


class Archive:
    """An open archive. Use as a context manager, or ``close`` it."""

    def __init__(self, path: Path, connection: sqlite3.Connection, keep: Keep, writable: bool) -> None:
        self.path = path
        self.db = connection
        self.keep = keep
        self.writable = writable
        self._touched: dict[tuple[str, int], None] = {}
        self._adopted: list[Record] = []

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, _: object, error: BaseException | None, __: object) -> None:
        self.close()
        with spoken(self.path):
            if isinstance(error, BROKEN):
                raise error

    def close(self) -> None:
        """Close the file."""
        with contextlib.suppress(sqlite3.Error):
            self.db.close()

    @contextlib.contextmanager
    def change(self) -> Iterator[sqlite3.Connection]:
        """A transaction. Records named by ``touch`` are counted up, sealed and written to the daybook.

        Raises ``ArchiveProblem`` when it could not be saved; then nothing of it is.
        """
        if not self.writable:
            raise ReadOnly(
                f"The archive {self.path} may only be read. Change its permissions, or name another file with "
                "--archive FILE."
            )
        self._touched, self._adopted = {}, []
        length: int | None = None
        try:
            with spoken(self.path):
                self.db.execute("BEGIN IMMEDIATE")
                self._take_up()
                yield self.db
                number = self.number()
                changes: list[tuple[int, Record]] = []
                for kind, id in self._touched:
                    number += 1
                    changes.append((number, self._sealed(kind, id)))
                for record in self._adopted:
                    number += 1
                    changes.append((number, record))
                if changes:
                    self.db.execute("UPDATE state SET number = ?", (number,))
                    length = self.keep.append(changes)
                self.db.execute("COMMIT")
        except BaseException:
            # Once the lock is gone another writer may have written behind us: then the line stays, and the
            # next opening takes it up.
            if length is not None and self.db.in_transaction:
                self.keep.take_back(length)
            with contextlib.suppress(sqlite3.Error):
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
            raise

    @contextlib.contextmanager
    def at_one_moment(self) -> Iterator[None]:
        """Everything read in here stood in the archive at one moment, whatever others write meanwhile."""
        with spoken(self.path):
            self.db.execute("BEGIN")
        try:
            yield
        finally:
            with contextlib.suppress(sqlite3.Error):
                self.db.execute("ROLLBACK")

    def touch(self, kind: str, id: int) -> None:
        """Say that a record (look, make or learnt) is changed by this transaction."""
        self._touched[(kind, id)] = None

    def adopt(self, record: Record) -> bool:
        """Take a record from elsewhere, revision and all. False when the one here is as new.

        Where it had to be fitted in (wheels of both sides, a name that was taken), it is sealed anew.
        """
        fresh = put_record(self.db, record)
        kind = record["kind"]
        if kind == "learnt":
            self._adopted += [record] * fresh
            return fresh
        id = self.db.execute(f"SELECT id FROM {kind} WHERE uid = ?", (record["uid"],)).fetchone()[0]
        kept = self.db.execute(f"SELECT digest FROM {kind} WHERE id = ?", (id,)).fetchone()[0]
        now = RECORD_OF[kind](self.db, id)
        if now["digest"] != kept:
            self.touch(kind, id)
        elif fresh:
            self._adopted.append(now)
        return fresh

    def _sealed(self, kind: str, id: int) -> Record:
        if kind == "learnt":
            return RECORD_OF[kind](self.db, id)
        self.db.execute(f"UPDATE {kind} SET revision = revision + 1 WHERE id = ?", (id,))
        record = RECORD_OF[kind](self.db, id)
        self.db.execute(f"UPDATE {kind} SET digest = ? WHERE id = ?", (record["digest"], id))
        return record

    def number(self) -> int:
        """Number of the newest change."""
        row = self.db.execute("SELECT number FROM state").fetchone()
        if row is None or not isinstance(row[0], int):
            raise damaged(self.path, "it does not know the number of its last change")
        return row[0]

    def catch_up(self) -> int:
        """Take up changes that reached the daybook and not the tables; how many there were.

        Where it is the daybook that is behind, it is begun anew behind a fresh backup.
        """
        last = self.keep.last()
        if not self.writable or (last is not None and last == self.number()):
            return 0
        taken = 0
        with spoken(self.path):
            self.db.execute("BEGIN IMMEDIATE")
            try:
                number, last = self.number(), self.keep.last()
                taken = self._take_up()
                self.db.execute("COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                raise
        if number and (last is None or last < number):
            self.back_up()
        return taken

    def _take_up(self) -> int:
        """Under the lock: changes that another writer left in the daybook when it was killed before its commit.

        They come first, since the next change would otherwise get the number of one of them.
        """
        number, last = self.number(), self.keep.last()
        if last is None or last <= number:
            return 0
        try:
            taken = sum(put_record(self.db, record) for record in self.keep.latest(after=number).values())
        except KeyError as missing:
            raise damaged(self.path, str(missing.args[0])) from None
        self.db.execute("UPDATE state SET number = ?", (last,))
        return taken

    def back_up(self) -> Path:
        """Copy the whole archive beside it, checked, and begin a new daybook. Writers wait meanwhile."""
        number = (self.keep.numbers() or [0])[-1] + 1
        place = self.keep.backup(number)
        with spoken(self.path):
            self.db.execute("BEGIN IMMEDIATE")
            try:
                copy_to(self.path, place)
                self.keep.begin(number, self.number())
            finally:
                self.db.execute("ROLLBACK")
        return place

    def back_up_if_due(self) -> None:
        """Close a daybook that has grown long; trouble with it is no trouble of the look just saved."""
        size = self.keep.size()
        with contextlib.suppress(ArchiveProblem, OSError):
            if self.writable and size > BACKUP_AT and size > self.path.stat().st_size // 4:
                self.back_up()


def open_archive(path: Path, writable: bool = True, create: bool = True) -> Archive:
    """Open an archive, bring it to today's version, and take up what a crash left behind.

    Raises ``ArchiveProblem`` with one sentence: not there, not an archive, damaged, of a later version, locked.
    """
    exists = path.exists()
    if not exists and not create:
        raise ArchiveProblem(f"There is no archive {path} yet. It begins with the first look: rindwright ask")
    if exists:
        _refuse_strangers(path)
    if exists and writable and not os.access(path, os.W_OK):
        writable = False
    with spoken(path):
        if not exists:
            path.parent.mkdir(parents=True, exist_ok=True)
        connection = _connect(path, writable)
    archive = Archive(path, connection, Keep(path), writable)
    try:
        with spoken(path):
            _prepare(archive, exists)
        archive.catch_up()
    except BaseException:
        archive.close()
        raise
    return archive


def reading(path: Path) -> sqlite3.Connection:
    """A connection that changes nothing, also where nothing can be written beside the file."""
    name = path.absolute().as_uri() + "?mode=ro"
    connection = sqlite3.connect(name, uri=True, isolation_level=None, timeout=BUSY_MS / 1000)
    try:
        connection.execute("SELECT 1 FROM sqlite_schema")
    except sqlite3.OperationalError as error:
        connection.close()
        if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
            raise
        # No place for the lock file: read what the file itself holds.
        connection = sqlite3.connect(name + "&immutable=1", uri=True, isolation_level=None)
    return connection


def _connect(path: Path, writable: bool) -> sqlite3.Connection:
    if writable:
        name = path.absolute().as_uri()
        connection = sqlite3.connect(name, uri=True, isolation_level=None, timeout=BUSY_MS / 1000)
    else:
        connection = reading(path)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    if writable:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
    return connection


def _refuse_strangers(path: Path) -> None:
    with spoken(path):
        if path.is_dir():
            raise ArchiveProblem(f"{path} is a folder; expected an archive file.")
        with path.open("rb") as file:
            head = file.read(100)
    if head and (len(head) < 100 or not head.startswith(_HEADER)):
        if Keep(path).numbers():
            raise damaged(path, "its first page is not that of an archive")
        raise ArchiveProblem(f"{path} is not an archive of this program. Name another file with --archive FILE.")


def _prepare(archive: Archive, existed: bool) -> None:
    version, application = version_of(archive.db), application_of(archive.db)
    tables = archive.db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and application != APPLICATION_ID:
        raise ArchiveProblem(f"{archive.path} is a database of another program. Name another file with --archive FILE.")
    if version > VERSION:
        raise ArchiveProblem(
            f"The archive {archive.path} is of version {version}; this program knows versions up to {VERSION}. "
            "Install a newer Rindwright."
        )
    if version == VERSION:
        return
    if archive.keep.numbers() and not tables:
        raise damaged(archive.path, "it is empty, and its daybook is not")
    if not archive.writable and not tables:
        raise ArchiveProblem(f"The archive {archive.path} holds nothing yet. It begins with the first look.")
    if not archive.writable:
        raise ReadOnly(f"The archive {archive.path} is of an older version and may only be read.")
    if existed and version:
        archive.back_up()
    migrate(archive.db)


def copy_to(source: Path, place: Path) -> None:
    """A consistent copy of an archive, checked and put in place whole. Raises ``Damaged`` when the source is."""
    place.parent.mkdir(parents=True, exist_ok=True)
    part = place.with_name(place.name + ".part")
    part.unlink(missing_ok=True)
    reader = reading(source)
    writer = sqlite3.connect(part, isolation_level=None)
    try:
        reader.backup(writer, pages=4096)
        writer.execute("PRAGMA journal_mode = DELETE")
        found = [row[0] for row in writer.execute("PRAGMA integrity_check(3)")]
        if found != ["ok"]:
            raise damaged(source, found[0])
    except BaseException:
        writer.close()
        part.unlink(missing_ok=True)
        raise
    finally:
        reader.close()
        writer.close()
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    os.replace(part, place)
    sync_folder(place.parent)


__all__ = ["Archive", "ArchiveProblem", "Damaged", "ReadOnly", "copy_to", "open_archive", "reading"]
