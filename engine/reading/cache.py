"""Checked knowledge, kept as JSON so that a start does not pay for validation.

The cache file names the content hash of the knowledge it was made from, the version of the
records, and a digest of its own body. Anything odd about it (missing, cut short, altered,
older) means: read the YAML again. JSON holds no code, so a hostile file can at worst be
refused.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import types
import typing
from dataclasses import asdict, fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from .. import model
from ..model import Knowledge
from .loader import content_hash, load_checked

_MARK = "rindwright-knowledge-cache/1"


def open_knowledge(folder: Path, cache_folder: Path | None) -> Knowledge:
    """Checked knowledge of a folder, from the cache when that is beyond doubt.

    Raises ``KnowledgeError`` with every fault when the folder does not pass its checks.
    """
    version = content_hash(folder)
    place = cache_folder / f"knowledge-{version[:16]}.json" if cache_folder else None
    if place is not None:
        cached = _read(place, version)
        if cached is not None:
            return cached
    knowledge = load_checked(folder)
    if place is not None:
        _write(place, knowledge)
    return knowledge


def shape_stamp() -> str:
    """A stamp of the record definitions: a changed record makes old caches worthless."""
    text = json.dumps(
        [
            [name, [(f.name, str(f.type)) for f in fields(thing)]]
            for name, thing in sorted(vars(model).items())
            if isinstance(thing, type) and is_dataclass(thing)
        ]
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _write(place: Path, knowledge: Knowledge) -> None:
    body = json.dumps(asdict(knowledge), separators=(",", ":"), ensure_ascii=False)
    head = json.dumps({"mark": _MARK, "version": knowledge.version, "shape": shape_stamp(), "digest": _digest(body)})
    # A cache that cannot be written costs time, never the answer.
    with contextlib.suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=".knowledge-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(head + "\n" + body)
        os.replace(name, place)
        for old in place.parent.glob("knowledge-*.json"):
            if old != place:
                old.unlink(missing_ok=True)


def _read(place: Path, version: str) -> Knowledge | None:
    try:
        head_text, body = place.read_text(encoding="utf-8").split("\n", 1)
        head = json.loads(head_text)
        if head != {"mark": _MARK, "version": version, "shape": shape_stamp(), "digest": _digest(body)}:
            return None
        made = _revive(Knowledge, json.loads(body))
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return replace(made, version=version) if isinstance(made, Knowledge) else None


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()


@cache
def _hints(kind: type) -> tuple[tuple[str, Any], ...]:
    return tuple(typing.get_type_hints(kind, vars(model)).items())


def _revive(kind: Any, data: Any) -> Any:
    """Plain JSON back to records, by the records' own annotations."""
    if isinstance(kind, type) and is_dataclass(kind):
        return kind(**{name: _revive(hint, data[name]) for name, hint in _hints(kind)})
    origin = typing.get_origin(kind)
    if origin is tuple:
        inner = typing.get_args(kind)[0]
        if inner is str:
            return tuple(data)
        return tuple(_revive(inner, part) for part in data)
    if origin in (types.UnionType, typing.Union):
        if data is None:
            return None
        return _revive(next(a for a in typing.get_args(kind) if a is not type(None)), data)
    return data
