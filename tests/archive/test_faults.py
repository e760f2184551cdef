"""Nothing confirmed is lost: killed writers, full disks, failing disks, two writers, harmed files.

The loops are short here; ``RINDWRIGHT_KILLS=300`` makes them long, and tests/benchmarks/archive.py runs them.
"""

from __future__ import annotations

import contextlib
import errno
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from rindwright.engine.archive import listing, looks
from rindwright.engine.archive.daybook import Keep
from rindwright.engine.archive.mending import check, mend
from rindwright.engine.archive.problems import ArchiveProblem, Damaged, spoken
from rindwright.engine.archive.replay import replay
from rindwright.engine.archive.store import Archive, copy_to, open_archive
from rindwright.engine.diagnosis import Diagnoser

from .faults import AT, given, harm, kill_loop, lost, start_writer, write_look

KILLS = int(os.environ.get("RINDWRIGHT_KILLS", "6"))


def test_killed_at_any_moment(tmp_path: Path) -> None:
    confirmed, gone = kill_loop(tmp_path / "archive.db", KILLS, random.Random(1))
    assert confirmed >= KILLS
    assert gone == 0
    with open_archive(tmp_path / "archive.db") as archive:
        assert not check(archive).faults


def test_two_writers_at_once(tmp_path: Path) -> None:
    path = tmp_path / "archive.db"
    writers = [start_writer(path, tag, 15) for tag in ("a", "b", "c")]
    said = [w.communicate(timeout=120) for w in writers]
    assert [w.returncode for w in writers] == [0, 0, 0], said
    names = [name for out, _ in said for name in out.decode().split()]
    assert len(names) == 45
    assert lost(path, names) == 0
    with open_archive(path) as archive:
        assert not check(archive).faults


def test_a_full_database(archive: Archive) -> None:
    write_look(archive, "first", 1)
    pages = archive.db.execute("PRAGMA page_count").fetchone()[0]
    archive.db.execute(f"PRAGMA max_page_count = {pages}")
    saved = 0

    def fill() -> None:
        nonlocal saved
        for number in range(1000):
            look_id, _ = looks.begin(archive, None, "2026-10-02", AT)
            looks.save(archive, look_id, given(number, 50), AT)
            saved += 1

    with pytest.raises(ArchiveProblem, match="is full"):
        fill()
    archive.db.execute(f"PRAGMA max_page_count = {pages * 100}")
    assert listing.count(archive) in (saved + 1, saved + 2)
    assert not check(archive).faults
    write_look(archive, "after", 2)
    assert lost(archive.path, ["first", "after"]) == 0


LIMITED = """
import resource, signal, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from faults import write_look
from rindwright.engine.archive.problems import ArchiveProblem
from rindwright.engine.archive.store import open_archive
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
archive = open_archive(Path(sys.argv[1]))
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), int(sys.argv[3])))
for number in range(10_000):
    try:
        write_look(archive, f"n{number}", number)
    except ArchiveProblem as problem:
        print("TROUBLE", problem)
        break
    print(f"n{number}", flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX systems")
@pytest.mark.parametrize("limit", [300_000, 600_000, 1_500_000])
def test_the_system_refuses_to_write_more(tmp_path: Path, limit: int) -> None:
    path = tmp_path / "archive.db"
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path), str(Path(__file__).parent), str(limit)],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert "TROUBLE" in done.stdout, done.stderr
    assert "What was saved before is kept" in done.stdout
    names = [line for line in done.stdout.split() if line.startswith("n") and line[1:].isdigit()]
    assert names
    assert lost(path, names) == 0


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO])
@pytest.mark.parametrize("call", ["write", "fsync"])
def test_the_daybook_cannot_be_written(
    archive: Archive, monkeypatch: pytest.MonkeyPatch, number: int, call: str
) -> None:
    write_look(archive, "first", 1)

    def fail(*_: object) -> int:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as broken:
        broken.setattr(f"rindwright.engine.archive.daybook.os.{call}", fail)
        with pytest.raises(ArchiveProblem, match="What was saved before is kept"):
            looks.add_note(archive, 1, "2026-10-02", "not this", AT)
    assert not looks.record_of(archive, 1)["notes"]
    looks.add_note(archive, 1, "2026-10-02", "but this", AT)
    assert not check(archive).faults
    assert [n["text"] for n in archive.keep.latest()[looks.record_of(archive, 1)["uid"]]["notes"]] == ["but this"]


def test_a_change_that_reached_only_the_daybook_is_taken_up(archive: Archive) -> None:
    write_look(archive, "first", 1)
    shutil.copy(archive.path, archive.path.with_suffix(".old"))
    archive.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    shutil.copy(archive.path, archive.path.with_suffix(".old"))
    looks.add_note(archive, 1, "2026-10-02", "late", AT)
    write_look(archive, "second", 2)
    archive.close()
    for tail in ("-wal", "-shm"):
        archive.path.with_name(archive.path.name + tail).unlink(missing_ok=True)
    shutil.copy(archive.path.with_suffix(".old"), archive.path)
    with open_archive(archive.path, writable=False) as before:
        assert (check(before).faults, check(before).waiting) == ((), 2)  # late, not lost
    with open_archive(archive.path) as again:
        assert looks.record_of(again, 1)["notes"][0]["text"] == "late"
        assert looks.find(again, "second")
        assert (check(again).faults, check(again).waiting) == ((), 0)
        again.db.execute("DELETE FROM look WHERE name = 'second'")
        assert check(again).faults == ('look "second" is older than the daybook, or missing',)


def test_what_another_writer_left_in_the_daybook_comes_first(tmp_path: Path) -> None:
    """A writer killed between daybook and commit, while this archive stays open: the next change takes its up."""
    path = tmp_path / "archive.db"
    with open_archive(path) as here:
        write_look(here, "first", 1)
        with open_archive(path) as there:
            looks.begin(there, "lost", "2026-10-02", AT)
            last = there.keep.lines()
            kept = [line for line in last if line.record["name"] == "lost"][-1]
            there.db.execute("BEGIN IMMEDIATE")  # as if the commit had never been
            there.db.execute("DELETE FROM said WHERE look_id = (SELECT id FROM look WHERE name = 'lost')")
            there.db.execute("DELETE FROM look WHERE name = 'lost'")
            there.db.execute("UPDATE state SET number = ?", (kept.number - 1,))
            there.db.execute("COMMIT")
        looks.begin(here, "next", "2026-10-03", AT)
        assert looks.find(here, "lost")
        assert not check(here).faults
        numbers = [line.number for line in here.keep.lines()]
        assert numbers == sorted(set(numbers))


def filled(path: Path, looks_before: int = 12, looks_after: int = 12) -> list[str]:
    names = []
    with open_archive(path) as archive:
        for k in range(looks_before + looks_after):
            if k == looks_before:
                archive.back_up()
            write_look(archive, f"look {k}", k)
            names.append(f"look {k}")
        archive.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return names


@pytest.mark.parametrize("seed", range(12))
def test_a_harmed_file_is_noticed_and_made_whole(tmp_path: Path, seed: int) -> None:
    path = tmp_path / "archive.db"
    names = filled(path)
    rng = random.Random(seed)
    kind = harm(path, rng)
    sound = False
    with contextlib.suppress(Damaged), open_archive(path) as archive:
        sound = not check(archive).faults
    if sound:  # the harm fell on a page that holds nothing
        assert lost(path, names) == 0, kind
    mended = mend(path, "now")
    assert mended.looks == len(names)
    assert lost(path, names) == 0, kind
    with open_archive(path) as archive:
        assert not check(archive).faults


@pytest.mark.parametrize("seed", range(6))
def test_a_harmed_daybook_or_backup_costs_nothing(tmp_path: Path, seed: int) -> None:
    path = tmp_path / "archive.db"
    names = filled(path)
    rng = random.Random(seed)
    keep = Keep(path)
    harm(rng.choice([keep.current(), keep.backup(keep.numbers()[-1])]), rng)
    assert lost(path, names) == 0
    mend(path, "now")
    assert lost(path, names) == 0


def test_looking_back_at_a_harmed_file_gives_looks_or_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "archive.db"
    filled(path, 20, 20)
    whole = path.read_bytes()
    read, told = 0, list[str]()
    for seed in range(60):
        path.write_bytes(whole)
        rng = random.Random(seed)
        with path.open("rb+") as file:  # behind the first pages, so that the archive can still be opened
            for _ in range(20):
                file.seek(rng.randrange(16 * 4096, len(whole)))
                file.write(bytes([rng.randrange(256)]))
        try:
            with open_archive(path, writable=False) as archive:
                for row in listing.listed(archive, most=100):
                    try:
                        looks.record_of(archive, row.id)
                        read += 1
                    except Damaged as damaged:
                        told.append(str(damaged))
                listing.due(archive, "2027-01-01")
        except ArchiveProblem as problem:
            told.append(str(problem))
    assert read > 100
    assert len(told) > 10
    assert all("past mend" in sentence for sentence in told)


def test_the_whole_file_gone(tmp_path: Path) -> None:
    path = tmp_path / "archive.db"
    names = filled(path)
    path.unlink()
    with pytest.raises(Damaged, match="past mend"):
        open_archive(path)
    mend(path, "now")
    assert lost(path, names) == 0


def test_nothing_left_at_all(tmp_path: Path) -> None:
    with pytest.raises(ArchiveProblem, match="neither"):
        mend(tmp_path / "archive.db", "now")


def test_what_was_set_aside_once_stays(tmp_path: Path) -> None:
    path = tmp_path / "archive.db"
    names = filled(path)
    for _ in range(3):
        path.write_bytes(b"x" * 5000)
        mend(path, "now")
    assert lost(path, names) == 0
    assert sorted(p.name for p in tmp_path.glob("*.damaged-*")) == [
        f"archive.db.damaged-now{n}" for n in ("", "-2", "-3")
    ]


@pytest.mark.parametrize(("free", "sentence"), [(0, "is full"), (1 << 30, "The disk reports an error")])
def test_an_error_of_a_disk_without_room_is_called_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, free: int, sentence: str
) -> None:
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    monkeypatch.setattr("rindwright.engine.archive.problems.shutil.disk_usage", lambda _: SimpleNamespace(free=free))
    with pytest.raises(ArchiveProblem, match=sentence), spoken(tmp_path / "archive.db"):
        raise error


def test_a_place_where_nothing_can_be_written_is_read(tmp_path: Path, diagnoser: Diagnoser) -> None:
    path = tmp_path / "shelf" / "archive.db"
    names = filled(path)
    assert sorted(p.name for p in path.parent.iterdir()) == ["archive.db", "archive.db.keep"]
    path.parent.chmod(0o555)
    try:
        if os.access(path.parent, os.W_OK):
            pytest.skip("this user may write anywhere")
        with open_archive(path, writable=False) as archive:
            assert listing.count(archive) == len(names)
            assert len(replay(archive, diagnoser.knowledge)) == len(names)
        copy_to(path, tmp_path / "copy.db")
        assert lost(tmp_path / "copy.db", names) == 0
        with pytest.raises(ArchiveProblem), open_archive(path) as archive:
            write_look(archive, "new", 1)
    finally:
        path.parent.chmod(0o755)
