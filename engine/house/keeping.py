"""Opening a house: packaged knowledge with a folder of rules over it, from the cache when that is beyond doubt.

The cache is JSON under the hash of both, as for the packaged knowledge: anything odd about it means
that the rules are read again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from ..errors import Fault, FileProblem
from ..model import Knowledge
from ..reading.cache import keep_only
from ..reading.rows import body_of, revived, shape_stamp
from .folder import MOST_RULES, read_bytes

_MARK = "rindwright-house-cache/3"


@dataclass(frozen=True, slots=True)
class House:
    """Knowledge to diagnose with, and the faults of rules that do not count."""

    knowledge: Knowledge
    faults: tuple[Fault, ...] = ()

    @property
    def version(self) -> str:
        """Hash of the rules in force; empty without any."""
        return self.knowledge.house_version


def open_house(packaged: Knowledge, folder: Path | None, cache_folder: Path | None) -> House:
    """The house in a folder, over the packaged knowledge. No folder, or an empty one: the packaged knowledge itself.

    Never raises for what stands in the folder: every fault comes back with the file it stands in.
    """
    if folder is None or not folder.is_dir():
        return House(packaged)
    try:
        names = [n for n in os.listdir(folder) if n.endswith((".yaml", ".yml")) and not n.startswith(".")]
    except OSError:
        names = ["?"]  # read_shelf says why
    if not names:
        return House(packaged)
    stamp = _stamp(packaged, folder, names)
    place = cache_folder / f"house-{stamp[:16]}.json" if cache_folder is not None and stamp else None
    if place is not None:
        kept = _read(place, stamp, packaged)
        if kept is not None:
            return kept
    from .layering import layer
    from .reading import read_shelf

    shelf = read_shelf(folder)
    layered = layer(packaged, shelf.entries)
    house = House(layered.knowledge, tuple(sorted({*shelf.faults, *layered.faults})))
    if place is not None:
        _write(place, stamp, house, packaged)
    return house


def _stamp(packaged: Knowledge, folder: Path, names: Iterable[str]) -> str:
    """Hash of the packaged version, the shapes and every file; empty when a file cannot be read as it should."""
    digest = hashlib.sha256(f"{_MARK} {packaged.version} {shape_stamp()}".encode())
    for name in sorted(names)[: MOST_RULES + 1]:
        try:
            raw = read_bytes(folder / name, name)
        except (FileProblem, OSError, ValueError):
            return ""
        digest.update(hashlib.sha256(name.encode("utf-8", "surrogateescape")).digest() + hashlib.sha256(raw).digest())
    return digest.hexdigest()


def _write(place: Path, stamp: str, house: House, packaged: Knowledge) -> None:
    alone = house.knowledge is packaged
    body = "" if alone else body_of(replace(house.knowledge, beneath=None))
    faults = [[f.file, f.line, f.column, f.sentence] for f in house.faults]
    head = json.dumps({"stamp": stamp, "faults": faults, "digest": _digest(body, faults)})
    keep_only(place, head + "\n" + body)


def _read(place: Path, stamp: str, packaged: Knowledge) -> House | None:
    try:
        head_text, body = place.read_text(encoding="utf-8").split("\n", 1)
        head = json.loads(head_text)
        if head["stamp"] != stamp or head["digest"] != _digest(body, head["faults"]):
            return None
        faults = tuple(Fault(str(f[0]), int(f[1]), int(f[2]), str(f[3])) for f in head["faults"])
        if not body:
            return House(packaged, faults)
        return House(replace(revived(body), version=packaged.version, beneath=packaged), faults)
    except (OSError, ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError):
        return None


def _digest(body: str, faults: object) -> str:
    return hashlib.sha256((body + json.dumps(faults)).encode("utf-8")).hexdigest()
