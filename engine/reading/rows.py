"""Records as plain JSON and back, as short and as quick to read as can be: every start reads all of them.

A record is a row of its fields in their order, cut off where only defaults are left; the knowledge
itself is a map of its parts by name. Rows say nothing of their shape: whoever keeps them keeps
``shape_stamp`` beside them.
"""

from __future__ import annotations

import gc
import hashlib
import json
import types
import typing
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from typing import Any

from .. import model
from ..model import Knowledge

Reviver = Callable[[Any], Any]


def body_of(knowledge: Knowledge) -> str:
    """Knowledge as JSON that ``revived`` takes."""
    parts = {f.name: getattr(knowledge, f.name) for f in fields(knowledge)}
    return json.dumps({name: _plain(part) for name, part in parts.items()}, separators=(",", ":"))


def revived(body: str) -> Knowledge:
    """Knowledge from its JSON. Raises ``ValueError``, ``TypeError``, ``KeyError`` and the like on anything odd."""
    collecting = gc.isenabled()
    gc.disable()  # nothing here is ever garbage, and looking for it takes a fifth of the time
    try:
        hints = typing.get_type_hints(Knowledge, vars(model))
        parts = json.loads(body)
        return Knowledge(**{name: _revive(hints[name], part) for name, part in parts.items()})
    finally:
        if collecting:
            gc.enable()


def shape_stamp() -> str:
    """A stamp of the record definitions: a changed record makes old rows worthless."""
    text = json.dumps(
        [
            [name, [(f.name, str(f.type), "" if f.default is MISSING else repr(f.default)) for f in fields(thing)]]
            for name, thing in sorted(vars(model).items())
            if isinstance(thing, type) and is_dataclass(thing)
        ]
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(thing: Any) -> Any:
    if is_dataclass(thing):
        row = [getattr(thing, f.name) for f in fields(thing)]
        for f in reversed(fields(thing)):
            if f.default is MISSING or row[-1] != f.default:
                break
            row.pop()
        return [_plain(value) for value in row]
    return [_plain(part) for part in thing] if isinstance(thing, tuple) else thing


def _revive(kind: Any, data: Any) -> Any:
    revive = _reviver(kind)
    return data if revive is None else revive(data)


@cache
def _reviver(kind: Any) -> Reviver | None:
    """How plain JSON becomes a value of a type again; nothing when it already is one."""
    if isinstance(kind, type) and is_dataclass(kind):
        return _of_record(kind)
    origin = typing.get_origin(kind)
    if origin is tuple:
        inner = _reviver(typing.get_args(kind)[0])
        return tuple if inner is None else _each(inner)
    if origin in (types.UnionType, typing.Union):
        inner = _reviver(next(a for a in typing.get_args(kind) if a is not type(None)))
        return None if inner is None else _if_given(inner)
    return None


def _of_record(kind: type) -> Reviver:
    @cache  # worked out with the first row, since a condition holds conditions
    def parts() -> list[tuple[int, Reviver]]:
        hints = typing.get_type_hints(kind, vars(model))
        found = [(n, _reviver(hints[f.name])) for n, f in enumerate(fields(kind))]
        return [(n, revive) for n, revive in found if revive is not None]

    def record(row: list[Any]) -> Any:
        given = len(row)
        for n, revive in parts():
            if n < given:
                row[n] = revive(row[n])
        return kind(*row)

    return record


def _each(inner: Reviver) -> Reviver:
    return lambda data: tuple([inner(part) for part in data])


def _if_given(inner: Reviver) -> Reviver:
    return lambda data: None if data is None else inner(data)
