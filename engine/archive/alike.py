"""Alike: past looks and published cases most like a look, and why.

Every look is kept with its *marks*: signs there and not there, circumstances that hold, rind, style, week.
Likeness is the cosine of the two sets of marks, each mark weighted by how telling it is (the rarer in the
archive, the more) and by its kind; a sign there on one side and not on the other counts against. The marks of
a whole archive are read in one pass and weighed in columns.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..catalog import Catalog
from ..gates import screened
from .records import marks_of
from .store import Archive

KIND_WEIGHT = {"sign": 1.0, "holds": 0.6, "no": 0.25, "style": 0.5, "family": 0.3, "week": 0.3}
"""What a shared mark of each kind is worth: judgement, no source."""
FRAME = frozenset({"style", "family", "week"})
"""Kinds of mark that say which cheese it is, and nothing of its rind."""
CONTRARY = 0.5
"""What a sign there on one side and not there on the other takes away, as a share of its weight."""


@dataclass(frozen=True, slots=True)
class Case:
    """A published case, ready to be compared."""

    title: str
    marks: frozenset[str]
    causes: tuple[str, ...]
    sources: tuple[str, ...]
    story: str
    """What was found, and what came of it."""
    ground: str
    """How it was established."""


@dataclass(frozen=True, slots=True)
class Alike:
    """A past look or published case, its likeness 0 to 1, and the marks that make it."""

    likeness: float
    look_id: int | None
    case: Case | None
    shared: tuple[str, ...]
    """Most telling first."""
    contrary: tuple[str, ...]


def marks_of_look(archive: Archive, look_id: int) -> frozenset[str]:
    """The marks of a finished look; none when it was never finished."""
    row = archive.db.execute("SELECT body FROM weighed WHERE look_id = ?", (look_id,)).fetchone()
    return frozenset(marks_of(json.loads(row[0]))) if row else frozenset()


def beside_the_point(catalog: Catalog) -> frozenset[str]:
    """Marks that bear on no cause, and what everyone answers "no" to for safety: those make no two rinds alike."""
    causes = catalog.causes.values()
    signs = {link.sign for c in causes for link in c.signs} | {a.sign for c in causes for a in c.against}
    signs |= {sign.id for sign in catalog.signs.values() if sign.healthy}
    moving = {shift.when for c in causes for shift in c.likelier} | {a.when for c in causes for a in c.against}
    return frozenset(
        [f"{kind} {sign}" for sign in catalog.signs if sign not in signs for kind in ("sign", "no")]
        + [f"holds {name}" for name in catalog.circumstances if name not in moving]
        + [f"no {question}" for question in screened(catalog)]
    )


def alike(
    archive: Archive,
    marks: frozenset[str],
    cases: Sequence[Case] = (),
    leave: int | None = None,
    most: int = 5,
    aside: frozenset[str] = frozenset(),
) -> list[Alike]:
    """The most similar looks and cases.

    ``leave`` is a look not to be compared with itself; marks set ``aside`` count for nothing.
    """
    names = dict(archive.db.execute("SELECT id, name FROM token").fetchall())
    ids = {name: id for id, name in names.items()}
    for name in sorted(marks.union(*(case.marks for case in cases))):  # marks that no look has
        ids.setdefault(name, len(ids) + max(names, default=0) + 1)
    rows = archive.db.execute("SELECT look_id, tokens FROM mark ORDER BY look_id").fetchall()
    bodies = [blob for _, blob in rows] + [_packed(ids, case.marks) for case in cases]
    if not bodies or not marks:
        return []
    flat = np.frombuffer(b"".join(bodies), dtype=np.uint32)
    lengths = np.array([len(b) // 4 for b in bodies])
    weights = _weights(ids, flat, len(bodies), aside)
    gain = np.zeros(len(weights))
    shown = np.zeros(len(weights))
    for name in marks:
        gain[ids[name]] = weights[ids[name]] ** 2
        shown[ids[name]] = 0.0 if name.partition(" ")[0] in FRAME else weights[ids[name]]
        other = ids.get(_opposite(name))
        if other is not None:
            gain[other] = -CONTRARY * max(weights[ids[name]], weights[other]) ** 2
    starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
    score = _sums(gain[flat], starts, lengths)
    norm = np.sqrt(_sums(weights[flat] ** 2, starts, lengths))
    own = math.sqrt(math.fsum(weights[ids[name]] ** 2 for name in marks))
    likeness = np.where(norm > 0, score / np.maximum(norm * own, 1e-12), 0.0)
    # Two cheeses of a kind, and nothing more, are not alike.
    likeness[_sums(shown[flat], starts, lengths) == 0] = 0.0
    if leave is not None:
        own_row = np.flatnonzero(np.fromiter((row[0] for row in rows), dtype=np.int64, count=len(rows)) == leave)
        likeness[own_row] = -1.0
    order = np.argsort(-np.round(likeness, 9), kind="stable")[:most]
    found = []
    for k in order:
        if likeness[k] <= 0:
            break
        one = cases[k - len(rows)] if k >= len(rows) else None
        theirs = one.marks if one else _unpacked(names, bodies[k])
        found.append(
            Alike(
                float(min(likeness[k], 1.0)),
                None if one else int(rows[k][0]),
                one,
                _telling(marks & theirs, ids, weights),
                _telling((m for m in marks if _opposite(m) in theirs), ids, weights),
            )
        )
    return found


def _weights(ids: dict[str, int], flat: NDArray[np.uint32], looks: int, aside: frozenset[str]) -> NDArray[np.float64]:
    size = max(ids.values(), default=0) + 1
    seen = np.bincount(flat, minlength=size)[:size]
    kind = np.zeros(size)
    for name, id in ids.items():
        kind[id] = 0.0 if name in aside else KIND_WEIGHT.get(name.split(" ", 1)[0], 0.0)
    rarity: NDArray[np.float64] = np.log1p((looks + 1) / (seen + 1))
    return kind * rarity


def _sums(values: NDArray[np.float64], starts: NDArray[np.int64], lengths: NDArray[np.int64]) -> NDArray[np.float64]:
    # ``reduceat`` gives an empty stretch the value at its start: those are put right afterwards.
    if not len(values):
        return np.zeros(len(lengths))
    sums: NDArray[np.float64] = np.add.reduceat(values, np.minimum(starts, len(values) - 1))
    return np.where(lengths > 0, sums, 0.0)


def _packed(ids: dict[str, int], marks: Iterable[str]) -> bytes:
    return np.array(sorted(ids[name] for name in marks), dtype=np.uint32).tobytes()


def _unpacked(names: dict[int, str], blob: bytes) -> frozenset[str]:
    return frozenset(names[int(t)] for t in np.frombuffer(blob, dtype=np.uint32))


def _opposite(mark: str) -> str:
    kind, _, name = mark.partition(" ")
    return {"sign": f"no {name}", "no": f"sign {name}"}.get(kind, "")


def _telling(marks: Iterable[str], ids: dict[str, int], weights: NDArray[np.float64]) -> tuple[str, ...]:
    return tuple(sorted((m for m in marks if weights[ids[m]] > 0), key=lambda m: (-weights[ids[m]], m)))
