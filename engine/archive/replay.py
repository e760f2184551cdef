"""Replay: every stored look weighed again under today's knowledge, many at once.

A *worker* turns a span of look numbers into one compact table; it opens the archive for reading, needs nothing
else, and keeps its prepared knowledge from one span to the next. The same worker runs in this process, in a
pool of processes, and on a dask cluster.
"""

from __future__ import annotations

import contextlib
import json
import pickle
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..answers import Answers
from ..catalog import Catalog
from ..diagnosis import Diagnoser
from ..figures import EARLIER, WEIGHT, with_figures
from ..local import NONE, Local
from ..model import Knowledge
from ..reasons import SHOWN
from .cohort import VERDICTS, Weighed, Weigher
from .columns import Cohort, Reader
from .housekeeping import memory_held, without_sweeps
from .listing import count
from .looks import fitting
from .problems import ArchiveProblem
from .store import Archive, reading

LEVEL = 1e-6
"""Probabilities closer than this are level: as many digits as are kept with a look."""
SPAN = 4_000
"""Looks of one piece of work."""
WEIGHINGS = (WEIGHT, EARLIER[0][0])
"""Answers without which no figure follows."""
TABLE = np.dtype(
    [
        ("id", np.int64),
        ("first", np.int16),
        ("probability", np.float64),
        ("verdict", np.int8),
        ("then_first", np.int16),
        ("then_probability", np.float64),
        ("then_verdict", np.int8),
        ("evidence", np.float64),
    ]
)
"""One row a look: places in the causes of the catalog (-1: none, -2: one that is gone) and in ``VERDICTS``."""
Table = NDArray[np.void]
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Task:
    """What a worker needs: the archive's path, and knowledge and corrections packed once."""

    path: str
    packed: bytes
    stamp: str
    """Names the packed content: a worker that has unpacked it keeps it."""

    @staticmethod
    def of(path: Path, knowledge: Knowledge, local: Local = NONE) -> Task:
        """A task for an archive under some knowledge."""
        packed = pickle.dumps((knowledge, Local(dict(local.base), dict(local.links), dict(local.leaks))))
        return Task(str(path), packed, f"{knowledge.version} {knowledge.house_version} {local.stamp}")

    def __hash__(self) -> int:
        return hash((self.path, self.stamp))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Task) and (self.path, self.stamp) == (other.path, other.stamp)


class Worker:
    """Weighs spans of looks again."""

    def __init__(self, knowledge: Knowledge, local: Local = NONE) -> None:
        self._diagnoser = Diagnoser(knowledge, local)
        self.catalog: Catalog = self._diagnoser.catalog
        self._reader = Reader(self.catalog)
        self._weigher = Weigher(self.catalog, local)
        self.nodes = self._weigher.nodes
        self._place = {c: k for k, c in enumerate(self.nodes)}

    def weigh(self, looks: Sequence[tuple[Sequence[Sequence[Any]], bool]]) -> Weighed:
        """Looks as (kept answers, listed all) to posteriors and verdicts, all of them settled."""
        listed = np.array([listed_all for _, listed_all in looks], dtype=bool)
        said = self._reader.read((kept for kept, _ in looks), len(looks))
        if all(question in said for question in WEIGHINGS):
            both = np.logical_and.reduce([said[question].codes >= 0 for question in WEIGHINGS])
            more = ((row, self._figures(looks[row][0])) for row in np.flatnonzero(both).tolist())
            said = self._reader.adding(said, more, len(looks))
        found = self._weigher.weigh(Cohort(self.catalog, said, listed))
        for row in np.flatnonzero(found.hard).tolist():
            self._one(found, row, *looks[row])
        return found

    def _figures(self, kept: Sequence[Sequence[Any]]) -> list[Sequence[Any]]:
        """What follows from the weighings among kept answers."""
        given = Answers.of((q, v) for q, v, _ in fitting(self.catalog, kept))
        return [(q, v, None) for q, v in with_figures(self.catalog, given) if v != given.get(q)]

    def _one(self, found: Weighed, row: int, kept: Sequence[Sequence[Any]], listed_all: bool) -> None:
        """The one-look path, for a look that has too many findings to write out."""
        answers = Answers.of(((q, v) for q, v, _ in fitting(self.catalog, kept)), listed_all)
        belief, normal, verdict = self._diagnoser.verdict_of(answers)
        found.posterior[row] = 0.0
        for name, p in belief.items():
            found.posterior[row, self._place.get(name, -1)] = p
        found.log_evidence[row] = np.nan
        found.normal[row] = normal
        found.verdict[row] = VERDICTS.index(verdict)

    def span(self, connection: sqlite3.Connection, first: int, last: int) -> Table:
        """Looks numbered from first to last, weighed again, beside what was said of them then."""
        rows = connection.execute(
            "SELECT id, answers, listed_all, first_cause, first_probability, verdict FROM look "
            "JOIN said ON look_id = id WHERE id BETWEEN ? AND ? ORDER BY id",
            (first, last),
        ).fetchall()
        table = np.zeros(len(rows), dtype=TABLE)
        if not rows:
            return table
        found = self.weigh([(json.loads(row[1]), bool(row[2])) for row in rows])
        named = found.posterior[:, :-1]
        then = np.array([-1 if row[3] is None else self._place.get(row[3], -2) for row in rows])
        everyone = np.arange(len(rows))
        order = np.argmax(named, axis=1)
        # Two causes level with each other are no news: the one that was told first then stays first.
        level = (then >= 0) & (named[everyone, np.maximum(then, 0)] >= named[everyone, order] - LEVEL)
        order = np.where(level, then, order)
        p = named[everyone, order]
        table["id"] = [row[0] for row in rows]
        table["first"] = np.where(p >= SHOWN, order, -1)
        table["probability"] = np.where(p >= SHOWN, p, 0.0)
        table["verdict"] = found.verdict
        table["evidence"] = found.log_evidence
        table["then_first"] = then
        table["then_probability"] = [row[4] or 0.0 for row in rows]
        table["then_verdict"] = [VERDICTS.index(row[5]) if row[5] in VERDICTS else -1 for row in rows]
        return table


@lru_cache(maxsize=2)
def _ready(task: Task) -> Worker:
    knowledge, local = pickle.loads(task.packed)  # packed by ``Task.of`` in this very run
    return Worker(knowledge, local)


def work(task: Task, first: int, last: int) -> Table:
    """One piece of work, anywhere: a span of looks weighed again."""
    with without_sweeps(), memory_held(), contextlib.closing(reading(Path(task.path))) as db:
        return _ready(task).span(db, first, last)


def spans(archive: Archive, size: int = SPAN) -> list[tuple[int, int]]:
    """Spans of look numbers that hold every look."""
    low, high = archive.db.execute("SELECT min(id), max(id) FROM look").fetchone()
    if low is None:
        return []
    return [(start, start + size - 1) for start in range(low, high + 1, size)]


def replay(
    archive: Archive,
    knowledge: Knowledge,
    local: Local = NONE,
    processes: int = 1,
    tell: Tell = lambda done, of: None,
    size: int = SPAN,
) -> Table:
    """Every look weighed again, in the order of their numbers. Raises ``ArchiveProblem`` when it cannot be read."""
    pieces, total, done = spans(archive, size), count(archive), 0
    task = Task.of(archive.path, knowledge, local)
    found: list[Table] = []
    for table in _in_turn(task, pieces, processes):
        found.append(table)
        done += len(table)
        tell(done, total)
    return np.concatenate(found) if found else np.zeros(0, dtype=TABLE)


def _in_turn(task: Task, pieces: Sequence[tuple[int, int]], processes: int) -> Iterator[Table]:
    if processes < 2 or len(pieces) < 2:
        for first, last in pieces:
            yield work(task, first, last)
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    context = get_context("spawn")
    try:
        with ProcessPoolExecutor(processes, mp_context=context, initializer=_ready, initargs=(task,)) as pool:
            # The knowledge went over once, with the initializer: the pieces carry only its name.
            light = Task(task.path, b"", task.stamp)
            yield from pool.map(work, [light] * len(pieces), [a for a, _ in pieces], [b for _, b in pieces])
    except BrokenProcessPool:
        raise ArchiveProblem(
            "A process that weighed looks has died, perhaps for want of memory. Nothing is changed; "
            "try again with --processes 1."
        ) from None


def replay_on(
    client: Any,
    archive: Archive,
    knowledge: Knowledge,
    local: Local = NONE,
    tell: Tell = lambda done, of: None,
    size: int = SPAN,
) -> Table:
    """The same on a dask cluster (``dask.distributed`` client).

    Raises ``ArchiveProblem`` when a worker cannot read the archive at its path, or when the cluster fails.
    """
    from distributed import KilledWorker, as_completed

    pieces, total, done = spans(archive, size), count(archive), 0
    found: dict[Any, Table] = {}
    try:
        task = client.scatter(Task.of(archive.path.absolute(), knowledge, local), broadcast=True)
        futures = [client.submit(work, task, first, last, pure=False) for first, last in pieces]
        for future in as_completed(futures):  # type: ignore[no-untyped-call]
            found[future] = future.result()
            done += len(found[future])
            tell(done, total)
    except sqlite3.Error as error:
        raise ArchiveProblem(
            f"A dask worker cannot read the archive {archive.path} ({error}). It must lie where every worker finds it."
        ) from None
    except (KilledWorker, CancelledError, OSError, ImportError, RuntimeError) as error:
        raise ArchiveProblem(
            f"The dask cluster did not finish ({type(error).__name__}). Nothing is changed; try again, or without it."
        ) from None
    return np.concatenate([found[future] for future in futures]) if found else np.zeros(0, dtype=TABLE)
