"""Figures of the archive: faults, learning, and 100,000 looks.

python tests/benchmarks/archive.py                 all of it, about half an hour
python tests/benchmarks/archive.py faults learning scale     parts
python tests/benchmarks/archive.py learning-b --worlds=3     one kind of world, fewer of them
python tests/benchmarks/archive.py --quick         a smaller sample
"""

from __future__ import annotations

import json
import os
import random
import resource
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "archive"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
from faults import harm, kill_loop, lost, weighed, write_look
from learning import echoed, gap_closed, partial, set_up, world
from rindwright.engine.archive import listing
from rindwright.engine.archive.alike import alike, marks_of_look
from rindwright.engine.archive.cohort import VERDICTS
from rindwright.engine.archive.columns import Cohort, Reader
from rindwright.engine.archive.daybook import Record, digest_of
from rindwright.engine.archive.learn import score
from rindwright.engine.archive.mending import check, mend
from rindwright.engine.archive.problems import Damaged
from rindwright.engine.archive.records import new_uid
from rindwright.engine.archive.replay import Worker, replay, replay_on
from rindwright.engine.archive.store import Archive, open_archive
from rindwright.engine.catalog import Catalog
from rindwright.engine.gates import FIRST, screened
from rindwright.engine.local import NONE
from rindwright.engine.model import Knowledge
from rindwright.engine.reading import load_checked
from simulate import draw

QUICK = "--quick" in sys.argv
LOOKS = 10_000 if QUICK else 100_000
TOLD = (8, 30)
"""How many answers a look has beyond the opening ones."""


def main() -> None:
    """Measure the parts that are asked for."""
    parts = [word for word in sys.argv[1:] if not word.startswith("-")] or ["faults", "learning", "scale"]
    knowledge = load_checked(Path(str(files("rindwright.knowledge"))))
    works: dict[str, Callable[[Knowledge], None]] = {
        "faults": faults,
        "learning": learning,
        "learning-a": lambda k: learning(k, "A"),
        "learning-b": lambda k: learning(k, "B"),
        "scale": scale,
    }
    for part in parts:
        works[part](knowledge)


def say(what: str, figure: str, aim: str) -> None:
    """One line of the table."""
    print(f"{what:<58} {figure:<44} aim {aim}", flush=True)


def clock(work: Callable[[], object]) -> float:
    """Seconds a piece of work takes by the wall."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def core_seconds(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the wall, and of work by this process and its children: others may share the machine."""
    before = os.times()
    seconds = clock(work)
    after = os.times()
    return seconds, sum(after[:4]) - sum(before[:4])


def faults(_: Knowledge) -> None:
    """Killed writers, and harmed files made whole."""
    with tempfile.TemporaryDirectory() as folder:
        kills = 30 if QUICK else 300
        confirmed, gone = kill_loop(Path(folder) / "archive.db", kills, random.Random(2))
        say(f"confirmed looks lost, writer killed {kills} times", f"{gone} of {confirmed}", "0")
    harmed, gone, unnoticed = 20 if QUICK else 200, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "whole"
        whole.mkdir()
        names = []
        with open_archive(whole / "archive.db") as archive:
            for k in range(60):
                if k in (20, 40):
                    archive.back_up()
                write_look(archive, f"look {k}", k)
                names.append(f"look {k}")
            archive.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for seed in range(harmed):
            place = Path(folder) / "harmed"
            shutil.copytree(whole, place)
            path = place / "archive.db"
            harm(path, random.Random(seed))
            try:
                with open_archive(path) as archive:
                    sound = not check(archive).faults
            except Damaged:
                sound = False
            if sound:
                unnoticed += lost(path, names) > 0
            mend(path, "now")
            gone += lost(path, names)
            shutil.rmtree(place)
    say(f"confirmed looks lost, file cut or altered {harmed} times", f"{gone} of {harmed * len(names)}", "0")
    say("harms that took a look away and were not noticed", f"{unnoticed} of {harmed}", "0")


def learning(knowledge: Knowledge, kinds: str = "AB") -> None:
    """Worlds where the knowledge is nearly right (A), and where local rates and noise differ (B)."""
    catalog = Catalog(knowledge)
    set_up(catalog)
    number = next((int(word[9:]) for word in sys.argv if word.startswith("--worlds=")), 2 if QUICK else 4)
    aims = {
        ("A", 20): "harm at most +0.02, stretch 0",
        ("B", 100): "0.40, stretch 0.55",
        ("B", 500): "0.65, stretch 0.80",
    }
    for name in kinds:
        different = name == "B"
        worlds = [world(catalog, 100 + k, different, 500, 150) for k in range(number)]
        base = statistics.fmean(score(catalog, NONE, w.test) for w in worlds)
        true = statistics.fmean(score(catalog, w.truth, w.test) for w in worlds)
        say(f"world {name}: log loss by the knowledge, by the truth", f"{base:.3f}, {true:.3f} ({number} worlds)", "-")
        for size, (share, change, worst) in gap_closed(catalog, worlds, (20, 100, 500)).items():
            figure = f"{share:.2f} of the gap, {change:+.3f} (worst {worst:+.3f})"
            say(f"world {name}: {size} confirmed looks", figure, aims.get((name, size), "-"))
        for title, changed in (
            ("3 in 10 echo the first cause, weight 1", echoed(worlds, 0.3, 1.0)),
            ("the same, weight 0.2", echoed(worlds, 0.3, 0.2)),
            ("one true cause confirmed, rest unsaid", partial(worlds)),
        ):
            share, change, worst = gap_closed(catalog, changed, (500,))[500]
            say(f"world {name}: 500, {title}", f"{share:.2f} of the gap, {change:+.3f} (worst {worst:+.3f})", "-")


def scale(knowledge: Knowledge) -> None:
    """A large archive: opening, listing, likeness, replay."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "archive.db"
        began = time.perf_counter()
        fill(path, knowledge, LOOKS)
        size = path.stat().st_size / 1e6
        say(f"{LOOKS} looks written", f"{time.perf_counter() - began:.0f} s, {size:.0f} MB", "-")

        def opening() -> None:
            with open_archive(path) as archive:
                listing.listed(archive)
                listing.count(archive)

        # Core-seconds: on a machine of one's own they are seconds.
        say("open and list", f"{_middle(opening):.3f} s", "0.3 s")
        with open_archive(path) as archive:
            say("list one cause", f"{_middle(lambda: listing.listed(archive, cause='box_too_wet')):.3f} s", "0.3 s")
            say("list by words", f"{_middle(lambda: listing.listed(archive, text='look 77')):.3f} s", "0.3 s")
            some = archive.db.execute("SELECT id FROM look ORDER BY id DESC LIMIT 1").fetchone()[0]
            marks = marks_of_look(archive, some)
            say("alike", f"{_middle(lambda: alike(archive, marks, leave=some)):.3f} s", "0.3 s")
            for processes in (1, 2):
                seconds, work = core_seconds(lambda n=processes: replay(archive, knowledge, processes=n))  # type: ignore[misc]
                say(
                    f"replay, {processes} process{'es' * (processes > 1)}",
                    f"{LOOKS / seconds:.0f} looks/s, {LOOKS / work:.0f} per core-second",
                    "4,000/s on two, stretch 50,000",
                )
            _on_dask(archive, knowledge, seconds, work)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        say("peak memory, this process / a worker", f"{peak:.0f} MB / {child:.0f} MB", "bounded")


def _on_dask(archive: Archive, knowledge: Knowledge, pool_seconds: float, pool_work: float) -> None:
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        say("replay on dask", "dask is not installed", "within 30 % of the pool")
        return
    with (
        tempfile.TemporaryDirectory() as folder,
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, local_directory=folder) as cluster,
        Client(cluster) as client,
    ):
        before = sum(client.run(_worked).values())
        seconds, work = core_seconds(lambda: replay_on(client, archive, knowledge))
        work += sum(client.run(_worked).values()) - before
    say(
        "replay on dask, 2 workers, cluster running",
        f"{LOOKS / seconds:.0f} looks/s, {seconds / pool_seconds:.2f} of the pool's time, {work / pool_work:.2f} work",
        "within 30 % of the pool",
    )


def _worked() -> float:
    """Seconds of work by a worker so far."""
    return sum(os.times()[:2])


def _middle(work: Callable[[], object], runs: int = 7) -> float:
    return statistics.median(core_seconds(work)[1] for _ in range(runs))


def fill(path: Path, knowledge: Knowledge, number: int) -> None:
    """An archive of invented looks, each drawn from one of some hundred wheels, no two alike."""
    rng = np.random.default_rng(4)
    catalog = Catalog(knowledge)
    wheels = [draw(catalog, rng) for _ in range(min(400, max(40, number // 50)))]
    worker, reader = Worker(knowledge), Reader(catalog)
    first = frozenset((*FIRST, *screened(catalog)))
    with open_archive(path) as archive:
        for start in range(0, number, 2_000):
            part = [_told(first, wheels[int(rng.integers(len(wheels)))].answers.given, rng) for _ in range(2_000)]
            part = part[: number - start]
            listed = np.zeros(len(part), dtype=bool)
            cohort = Cohort(catalog, reader.read(part, len(part)), listed)
            found = worker.weigh([(kept, False) for kept in part])
            signs = {s: cohort.sign(s) for s in catalog.signs}
            holds = {c: cohort.holds(c) for c in catalog.circumstances}
            with archive.change():
                for row, kept in enumerate(part):
                    top = [int(k) for k in np.argsort(-found.posterior[row, :-1])[:8]]
                    body: Record = {
                        **weighed(),
                        "verdict": VERDICTS[found.verdict[row]],
                        "knowledge": knowledge.version,
                        "causes": [
                            {**weighed()["causes"][0], "id": worker.nodes[k],  # type: ignore[index]
                             "probability": round(float(found.posterior[row, k]), 6)}
                            for k in top if found.posterior[row, k] >= 0.02
                        ],
                        "signs": {
                            s: "there" if t[row] else "not there" for s, (t, f) in signs.items() if t[row] | f[row]
                        },
                        "holds": {c: bool(t[row]) for c, (t, f) in holds.items() if t[row] | f[row]},
                    }  # fmt: skip
                    archive.adopt(_record(start + row, kept, body))
            archive.back_up_if_due()


def _told(first: frozenset[str], given: tuple[tuple[str, object], ...], rng: np.random.Generator) -> list[list[object]]:
    opening = [pair for pair in given if pair[0] in first]
    rest = [pair for pair in given if pair[0] not in first]
    chosen = [rest[int(k)] for k in rng.permutation(len(rest))[: int(rng.integers(*TOLD))]]
    return json.loads(json.dumps([[q, v, None] for q, v in opening + chosen]))  # type: ignore[no-any-return]


def _record(number: int, kept: list[list[object]], body: Record) -> Record:
    said = {q: v for q, v, _ in kept}
    first = body["causes"][0] if body["causes"] else None
    day = f"{2020 + number % 6}-{number % 12 + 1:02}-{number % 28 + 1:02}"
    record: Record = {
        "kind": "look", "uid": new_uid("look", str(number), day), "revision": 1, "name": f"look {number}",
        "looked_on": day, "opened_at": day + "T09:00", "changed_at": day + "T09:00", "finished": True,
        "family": said.get("family"), "style": said.get("style"), "age_days": said.get("age_days"),
        "verdict": body["verdict"], "first_cause": first["id"] if first else None,
        "first_probability": first["probability"] if first else None, "knowledge": body["knowledge"], "wheel": None,
        "answers": kept, "skipped": [], "words": [f"words of look {number}"], "measured": [], "listed_all": False,
        "noticed": True, "weighed": body, "follow_up": None, "deeds": [], "outcomes": [], "notes": [],
    }  # fmt: skip
    return {**record, "digest": digest_of(record)}


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main()
