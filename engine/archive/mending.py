"""Checking an archive, and making a whole one again from what is left.

Three witnesses are heard: the last backups, the daybooks behind them, and every record in the damaged file
that still hashes to its digest. For each record the latest word stands. The damaged file is set aside, never
overwritten.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from .daybook import Keep, Record, digest_of
from .problems import BROKEN, ArchiveProblem, spoken
from .records import RECORD_OF, learnt_record, put_record
from .store import Archive, open_archive

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found."""

    makes: int
    looks: int
    faults: tuple[str, ...]
    waiting: int = 0
    """Changes in the daybook that the next command that writes takes up: a save was broken off."""


@dataclass(frozen=True, slots=True)
class Mended:
    """What a mending brought back."""

    makes: int
    looks: int
    from_file: int
    """Records only the damaged file still held."""
    set_aside: Path | None


def check(archive: Archive, progress: Progress = lambda done, of: None) -> Checked:
    """Whether the file is sound, every record is what was saved, and nothing in the daybook is missing."""
    faults: list[str] = []
    seen = {"make": 0, "look": 0}
    with contextlib.suppress(*BROKEN):
        seen = {kind: archive.db.execute(f"SELECT count(*) FROM {kind}").fetchone()[0] for kind in seen}
    done, total = 0, sum(seen.values())
    waiting: dict[str, Record] = {}
    try:
        faults += [row[0] for row in archive.db.execute("PRAGMA integrity_check(20)") if row[0] != "ok"]
        faults += [f"a row of {row[0]} points nowhere" for row in archive.db.execute("PRAGMA foreign_key_check")]
        revisions: dict[str, int] = {}
        for kind in ("make", "look"):
            for id, uid, name, digest in archive.db.execute(f"SELECT id, uid, name, digest FROM {kind}").fetchall():
                done += 1
                progress(done, total)
                record = _sound(archive.db, kind, id, digest)
                if record is None:
                    faults.append(f'{kind} "{name}" is not what was saved')
                else:
                    revisions[uid] = record["revision"]
        waiting = archive.keep.latest(after=archive.number())
        for uid, record in archive.keep.latest().items():
            if uid in waiting:
                continue
            if record["kind"] != "learnt" and revisions.get(uid, -1) < record["revision"]:
                faults.append(f'{record["kind"]} "{record["name"]}" is older than the daybook, or missing')
    except (*BROKEN, ValueError, TypeError) as error:
        faults.append(str(error))
    return Checked(seen["make"], seen["look"], tuple(dict.fromkeys(faults)), len(waiting))


def mend(path: Path, stamp: str) -> Mended:
    """Make a whole archive of what is left, and put it in place of the damaged one.

    ``stamp`` names the file that is set aside. Raises ``ArchiveProblem`` when nothing is left anywhere.
    """
    keep = Keep(path)
    fresh_path = path.with_name(path.name + ".mended")
    _remove(fresh_path)
    last_words = keep.latest()
    backups = [keep.backup(n) for n in reversed(keep.numbers()) if keep.backup(n).exists()]
    if not (path.exists() or backups or last_words):
        raise ArchiveProblem(f"There is neither an archive {path} nor anything kept beside it.")
    records: dict[str, Record] = {}
    for place in reversed(backups):
        _gather(records, salvaged(place))
    before_file = dict(records) | last_words
    _gather(records, salvaged(path))
    records |= {uid: r for uid, r in last_words.items() if records.get(uid, r)["revision"] <= r["revision"]}
    last = keep.last() or 0
    with spoken(fresh_path), open_archive(fresh_path) as fresh:
        fresh.db.execute("BEGIN IMMEDIATE")
        for kind in ("make", "look", "learnt"):
            for record in records.values():
                if record["kind"] == kind:
                    _put(fresh, record)
        fresh.db.execute("UPDATE state SET number = ?", (max(last, 1),))
        fresh.db.execute("COMMIT")
        fresh.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        fresh.db.execute("PRAGMA journal_mode = DELETE")
    set_aside = _free(path.with_name(f"{path.name}.damaged-{stamp}"))
    aside = set_aside if path.exists() else None
    with spoken(path):
        for tail in ("-wal", "-shm"):
            side = path.with_name(path.name + tail)
            if side.exists():
                os.replace(side, set_aside.with_name(set_aside.name + tail))
        if aside is not None:
            os.replace(path, aside)
        os.replace(fresh_path, path)
    _remove(fresh_path)
    with open_archive(path) as archive:
        archive.back_up()
    kinds = [r["kind"] for r in records.values()]
    only = sum(uid not in before_file for uid in records)
    return Mended(kinds.count("make"), kinds.count("look"), only, aside)


def _free(place: Path) -> Path:
    """A name like this that no file has: what was set aside before stays."""
    number, found = 1, place
    while found.exists():
        number += 1
        found = place.with_name(f"{place.name}-{number}")
    return found


def _put(fresh: Archive, record: Record) -> None:
    try:
        put_record(fresh.db, record)
    except KeyError:  # its make is lost: the look is worth keeping without it
        loose = {**record, "wheel": None}
        put_record(fresh.db, {**loose, "digest": digest_of(loose)})


def _gather(records: dict[str, Record], found: Iterator[Record]) -> None:
    for record in found:
        if record["uid"] not in records or records[record["uid"]]["revision"] < record["revision"]:
            records[record["uid"]] = record


def salvaged(path: Path) -> Iterator[Record]:
    """Every record of a file that still hashes to its digest; whatever cannot be read is passed over."""
    if not path.exists():
        return
    try:
        db = sqlite3.connect(path.absolute().as_uri() + "?mode=ro", uri=True)
        db.execute("SELECT 1 FROM sqlite_schema").fetchone()
    except BROKEN:
        return
    try:
        for kind in ("make", "look", "learnt"):
            for id in _ids(db, kind):
                with contextlib.suppress(sqlite3.Error, ValueError, TypeError, IndexError, KeyError):
                    if kind == "learnt":
                        yield learnt_record(db, id)
                        continue
                    digest = db.execute(f"SELECT digest FROM {kind} WHERE id = ?", (id,)).fetchone()[0]
                    record = _sound(db, kind, id, digest)
                    if record is not None:
                        yield record
    finally:
        db.close()


def _ids(db: sqlite3.Connection, table: str) -> list[int]:
    try:
        return [row[0] for row in db.execute(f"SELECT id FROM {table}")]
    except BROKEN:  # the walk breaks off at a bad page: try every number instead
        found = []
        for id in range(1, 1_000_000):
            try:
                if db.execute(f"SELECT id FROM {table} WHERE id = ?", (id,)).fetchone():
                    found.append(id)
                elif not found or id > found[-1] + 10_000:
                    break
            except BROKEN:
                continue
        return found


def _sound(db: sqlite3.Connection, kind: str, id: int, digest: str) -> Record | None:
    try:
        record = RECORD_OF[kind](db, id)
    except sqlite3.DatabaseError:
        return None
    return record if digest == digest_of(record) else None


def _remove(path: Path) -> None:
    for tail in ("", "-wal", "-shm"):
        path.with_name(path.name + tail).unlink(missing_ok=True)
    keep = Keep(path)
    if keep.folder.is_dir():
        for file in keep.folder.iterdir():
            file.unlink()
        keep.folder.rmdir()
