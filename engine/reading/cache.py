"""Checked knowledge, kept as JSON so that a start does not pay for validation.

The cache file names the content hash of the knowledge it was made from, the version of the
records, and a digest of its own body. Anything odd about it (missing, cut short, damaged,
older) means: read the YAML again. The digest guards against damage, not against someone who
may write in this folder and makes a fitting one; JSON holds no code, so such a file could
change what is said and never what is run.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import types
import typing
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from .. import model
from ..model import Knowledge
from .contents import content_hash

_MARK = "rindwright-knowledge-cache/2"


def open_knowledge(folder: Path, cache_folder: Path | None) -> Knowledge:
    """Checked knowledge of a folder, from the cache when that is beyond doubt.

    Raises ``KnowledgeError`` with every fault when the folder does not pass its checks.
    """
    try:
        version = content_hash(folder)
    except OSError:  # something among the files cannot be read: reading afresh says which
        cache_folder, version = None, ""
    place = cache_folder / f"knowledge-{version[:16]}.json" if cache_folder else None
    if place is not None:
        cached = _read(place, version)
        if cached is not None:
            return cached
    from .checked import load_checked

    knowledge = load_checked(folder)
    if place is not None:
        _write(place, knowledge)
    return knowledge


def shape_stamp() -> str:
    """A stamp of the record definitions: a changed record makes old caches worthless."""
    text = json.dumps(
        [
            [name, [(f.name, str(f.type), "" if f.default is MISSING else repr(f.default)) for f in fields(thing)]]
            for name, thing in sorted(vars(model).items())
            if isinstance(thing, type) and is_dataclass(thing)
        ]
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _write(place: Path, knowledge: Knowledge) -> None:
    body = body_of(knowledge)
    head = json.dumps({"mark": _MARK, "version": knowledge.version, "shape": shape_stamp(), "digest": _digest(body)})
    keep_only(place, head + "\n" + body)


def body_of(knowledge: Knowledge) -> str:
    """Knowledge as JSON that ``revived`` takes."""
    return json.dumps(_plain(knowledge), separators=(",", ":"))


def keep_only(place: Path, text: str) -> None:
    """Put a cache file KIND-HASH.json in place, whole or not at all, and drop older ones of its kind.

    A cache that cannot be written costs time, never the answer.
    """
    kind = place.name.partition("-")[0]
    with contextlib.suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{kind}-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            os.replace(name, place)
        except OSError:
            os.unlink(name)
            raise
        for old in place.parent.glob(f"{kind}-*.json"):
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


def _plain(thing: Any) -> Any:
    """A record as plain data, without what is left at its default: a start reads half as much."""
    if is_dataclass(thing):
        given = ((f, getattr(thing, f.name)) for f in fields(thing))
        return {f.name: _plain(value) for f, value in given if value != f.default}
    return [_plain(part) for part in thing] if isinstance(thing, tuple) else thing


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()


Reviver = Callable[[Any], Any]


@cache
def _reviver(kind: Any) -> Reviver | None:
    """How plain JSON becomes a value of a type again; nothing when it already is one."""
    if kind is model.Condition:  # holds conditions itself: its inner lists are revived by name
        return _condition
    if isinstance(kind, type) and is_dataclass(kind):
        parts = {name: _reviver(hint) for name, hint in typing.get_type_hints(kind, vars(model)).items()}

        def record(data: Any) -> Any:
            return kind(**{n: part if (revive := parts[n]) is None else revive(part) for n, part in data.items()})

        return record
    origin = typing.get_origin(kind)
    if origin is tuple:
        inner = _reviver(typing.get_args(kind)[0])
        return tuple if inner is None else _each(inner)
    if origin in (types.UnionType, typing.Union):
        inner = _reviver(next(a for a in typing.get_args(kind) if a is not type(None)))
        return None if inner is None else _if_given(inner)
    return None


def _each(inner: Reviver) -> Reviver:
    return lambda data: tuple([inner(part) for part in data])


def _if_given(inner: Reviver) -> Reviver:
    return lambda data: None if data is None else inner(data)


def _condition(data: Any) -> model.Condition:
    return model.Condition(**{key: _IN_CONDITION.get(key, _as_it_is)(part) for key, part in data.items()})


def _conditions(data: Any) -> tuple[model.Condition, ...]:
    return tuple([_condition(part) for part in data])


def _as_it_is(data: Any) -> Any:
    return data


_IN_CONDITION: dict[str, Reviver] = {
    **dict.fromkeys(("all", "any", "none"), _conditions),
    **dict.fromkeys(("one_of", "rind", "may_be", "paste"), tuple),
}


def _revive(kind: Any, data: Any) -> Any:
    revive = _reviver(kind)
    return data if revive is None else revive(data)


def revived(body: str) -> Knowledge:
    """Knowledge from its JSON. Raises ``ValueError``, ``TypeError``, ``KeyError`` and the like on anything odd."""
    made = _revive(Knowledge, json.loads(body))
    if not isinstance(made, Knowledge):
        raise ValueError("not knowledge")
    return made
