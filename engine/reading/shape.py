"""Plain data to records, by pydantic; its complaints turned into sentences with a place.

Opened only when knowledge is read afresh: a cached knowledge base never pays for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar, cast, get_args, get_type_hints

from pydantic import TypeAdapter, ValidationError

from ..errors import Fault, listed, nearest
from .nodes import Path_, Read

T = TypeVar("T")

_PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)

_ADAPTERS: dict[object, TypeAdapter[Any]] = {}


def adapter(kind: object) -> TypeAdapter[Any]:
    """The validator of a record type, built once."""
    if kind not in _ADAPTERS:
        _ADAPTERS[kind] = TypeAdapter(cast(Any, kind))
    return _ADAPTERS[kind]


def shaped(kind: type[T], read: Read) -> tuple[T | None, list[Fault]]:
    """The record in a file, or every fault that keeps it from being one."""
    try:
        record: T = adapter(kind).validate_python(read.data)
    except ValidationError as error:
        return None, _faults(kind, read, error)
    turned = [read.fault(path, sentence) for path, sentence in _turned(record, read.data, ())]
    return (None, turned) if turned else (record, [])


def shaped_list(kind: type[T], read: Read) -> tuple[dict[int, T], list[Fault]]:
    """The records of a list file that are sound, by their place in it, and every fault of the others."""
    if not isinstance(read.data, list):
        return {}, [read.fault((), "Expected a list: each entry starts with a dash.")]
    sound: dict[int, T] = {}
    faults: list[Fault] = []
    for k, entry in enumerate(read.data):
        try:
            record: T = adapter(kind).validate_python(entry)
        except ValidationError as error:
            faults.extend(_faults(kind, read, error, (k,)))
            continue
        turned = [read.fault(path, sentence) for path, sentence in _turned(record, entry, (k,))]
        faults.extend(turned)
        if not turned:
            sound[k] = record
    return sound, faults


def _turned(record: object, data: object, path: Path_) -> Iterator[tuple[Path_, str]]:
    """Where the validator took a word for a number or a yes that a maker may not have meant, such as `on` or `1_0`."""
    if is_dataclass(record) and isinstance(data, dict):
        for key, part in data.items():
            yield from _turned(getattr(record, key), part, (*path, key))
    elif isinstance(record, tuple) and isinstance(data, list):
        for n, (made, part) in enumerate(zip(record, data, strict=True)):
            yield from _turned(made, part, (*path, n))
    elif isinstance(record, bool) and data not in ("true", "false"):
        yield path, f'"{path[-1]}" must be true or false; "{data}" is neither.'
    elif isinstance(record, int | float) and not isinstance(record, bool) and not _PLAIN_NUMBER.fullmatch(str(data)):
        yield path, f'"{path[-1]}" must be a number written in digits; "{data}" is not one.'


def _faults(kind: object, read: Read, error: ValidationError, under: Path_ = ()) -> list[Fault]:
    found = []
    for detail in error.errors(include_url=False):
        path = (*under, *detail["loc"])
        line, column = _place(read, path, detail["type"])
        found.append(Fault(read.file, line, column, _sentence(kind, path, dict(detail))))
    return found


def _place(read: Read, path: Path_, kind: str) -> tuple[int, int]:
    if kind == "unexpected_keyword_argument" and (*path, "\0key") in read.marks:
        return read.marks[(*path, "\0key")]
    while path and path not in read.marks:
        path = path[:-1]
    return read.marks.get(path, (1, 1))


def _sentence(kind: object, path: Path_, detail: dict[str, Any]) -> str:
    words = [str(p) for p in path if not isinstance(p, int)]
    key = words[-1] if words else "this"
    shown = str(detail.get("input"))
    what = detail["type"]
    if what == "missing":
        return f'"{key}" is missing.'
    if what == "unexpected_keyword_argument":
        return f'"{key}" is not a key here{nearest(key, _keys(kind, path[:-1]))}.'
    if what == "literal_error":
        choices = [c.strip(" '\"") for c in detail["ctx"]["expected"].replace(" or ", ", ").split(", ")]
        return f'"{key}" cannot be "{shown}"{nearest(shown, choices)}; expected {listed(choices)}.'
    if what == "int_parsing" and shown.replace(".", "", 1).lstrip("-").isdecimal():
        return f'"{key}" must be a whole number; "{shown}" is not one.'
    if what in ("float_parsing", "float_type", "finite_number", "int_parsing", "int_type"):
        return f'"{key}" must be a number; "{shown}" is not one.'
    if what in ("bool_parsing", "bool_type"):
        return f'"{key}" must be true or false; "{shown}" is neither.'
    if what == "string_type":
        return f'"{key}" must be words; {_kind_of(detail.get("input"))} stands here.'
    if what in ("tuple_type", "list_type"):
        return f'"{key}" must be a list; {_kind_of(detail.get("input"))} stands here.'
    if what in ("dataclass_type", "dict_type", "model_type"):
        return f'"{key}" must be a map of keys; {_kind_of(detail.get("input"))} stands here.'
    return f'"{key}": {detail["msg"][0].lower()}{detail["msg"][1:]}.'


def _kind_of(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a map"
    if isinstance(value, (list, tuple)):
        return "a list"
    return f'"{value}"'


def _keys(kind: object, path: Path_) -> set[str]:
    """The keys that may stand at a place: those of the record there."""
    for step in path:
        if isinstance(step, str) and is_dataclass(kind):
            kind = get_type_hints(kind).get(step)
        kind = _record_in(kind) or kind
    kind = _record_in(kind)
    return {f.name for f in fields(kind)} if kind is not None else set()


def _record_in(hint: object) -> type | None:
    """The record inside a type such as a tuple of records, or one that may be left out."""
    if isinstance(hint, type) and is_dataclass(hint):
        return hint
    return next((found for part in get_args(hint) if (found := _record_in(part)) is not None), None)


def schema_of(kind: object) -> dict[str, Any]:
    """JSON Schema of a record type, for editors."""
    return adapter(kind).json_schema()


def words_of(literal: object) -> tuple[str, ...]:
    """The words of a Literal type."""
    return tuple(str(a) for a in get_args(literal))
