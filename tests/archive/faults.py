"""Faults done to an archive on purpose: killed writers, full disks, cut and altered files.

Run as a program it is the writer: it saves looks and says on standard output what it was told is saved.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from rindwright.engine.archive import looks
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.store import Archive, open_archive

AT = "2026-10-01T09:00:00"


def weighed(cause: str = "box_too_wet") -> dict[str, object]:
    """A diagnosis as it is kept, small."""
    return {
        "knowledge": "k", "local": "", "verdict": "causes", "family": "washed", "style": "small_soft",
        "week": 2, "cautions": [],
        "causes": [{"id": cause, "title": cause, "probability": 0.4, "low": 0.2, "high": 0.6, "word": "w",
                    "for": [], "against": []}],
        "normal": {"probability": 0.2, "rows": []}, "unknown_cause": 0.01, "today": [], "next_make": [],
        "look_again": {"after_days": 3, "expect": "Dry.", "otherwise": "Wet."}, "approximate": False,
        "signs": {"slimy_wet": "there", "cracks": "not there"}, "holds": {"box_full": True},
    }  # fmt: skip


def given(number: int, size: int = 3) -> Given:
    """Answers of the look with a number: different for each."""
    rest = [(f"q{k}", f"answer {number} {k}", None) for k in range(size - 2)]
    return Given((("family", "washed", None), ("age_days", float(number % 90), None), *rest), words=(f"look {number}",))


def write_look(archive: Archive, name: str, number: int) -> None:
    """A look saved in two steps, finished, and confirmed."""
    look_id, _ = looks.begin(archive, name, "2026-10-01", AT)
    looks.save(archive, look_id, given(number), AT)
    looks.finish(archive, look_id, weighed(), "2026-10-04", AT)
    looks.add_outcome(archive, look_id, "2026-10-05", ["box_too_wet"], "lens", True, "good", AT)


def writer(path: str, tag: str, most: int) -> None:
    """Write looks, and say so after each."""
    with open_archive(Path(path)) as archive:
        for number in range(most):
            write_look(archive, f"{tag}-{number}", number)
            sys.stdout.write(f"{tag}-{number}\n")
            sys.stdout.flush()


def start_writer(path: Path, tag: str, most: int) -> subprocess.Popen[bytes]:
    """A writer as a process of its own."""
    return subprocess.Popen(
        [sys.executable, __file__, str(path), tag, str(most)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )


def kill_loop(path: Path, kills: int, rng: random.Random) -> tuple[int, int]:
    """Kill a writer again and again at any moment; looks confirmed, and confirmed looks lost."""
    confirmed: list[str] = []
    for turn in range(kills):
        process = start_writer(path, f"w{turn}", 10_000)
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(rng.random() * 0.05)
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read()
        process.wait()
        assert process.stderr is not None
        assert not process.stderr.read()
        process.stdout.close()
        process.stderr.close()
        confirmed += (first + rest[: rest.rfind(b"\n") + 1]).decode().split()
    return len(confirmed), lost(path, confirmed)


def lost(path: Path, names: list[str]) -> int:
    """How many of the named looks are not there whole."""
    with open_archive(path) as archive:
        there = 0
        for name in names:
            row = archive.db.execute("SELECT id FROM look WHERE name = ?", (name,)).fetchone()
            if row is not None:
                record = looks.record_of(archive, row[0])
                there += record["finished"] and len(record["outcomes"]) == 1 and bool(record["answers"])
    return len(names) - there


def harm(path: Path, rng: random.Random) -> str:
    """Cut a file short, flip bits in it, or blank a stretch of it; what was done."""
    size = path.stat().st_size
    kind = rng.choice(("cut", "flip", "blank"))
    with path.open("rb+") as file:
        if kind == "cut":
            file.truncate(rng.randrange(size))
        for _ in range({"cut": 0, "flip": rng.randint(1, 40), "blank": 1}[kind]):
            at = rng.randrange(size)
            file.seek(at)
            if kind == "flip":
                byte = file.read(1)[0] ^ (1 << rng.randrange(8))
                file.seek(at)
                file.write(bytes([byte]))
            else:
                file.write(b"\0" * min(4096, size - at))
    return kind


if __name__ == "__main__":
    writer(sys.argv[1], sys.argv[2], int(sys.argv[3]))
