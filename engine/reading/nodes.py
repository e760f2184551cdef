"""YAML text to plain data, with the place of every value, and nothing silently turned.

Every scalar stays the text that was written: ``no``, ``12:30`` and ``1.10`` are not
interpreted here; whoever needs a number or a yes asks for it. Aliases and tags are faults,
so that no file can grow in memory or make objects. Works on the parser's event stream, so
deep nesting cannot exhaust the stack.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from ..errors import Fault, FileProblem

Path_ = tuple[str | int, ...]
Data = str | None | list["Data"] | dict[str, "Data"]

SIZE_CAP = 2 * 1024 * 1024
DEPTH_CAP = 40

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NO_TEXT = yaml.reader.Reader.NON_PRINTABLE


@dataclass(slots=True)
class Read:
    """One file as read: its data, where each value stands, and what is wrong with it."""

    file: str
    data: Data = None
    marks: dict[Path_, tuple[int, int]] = field(default_factory=dict)
    """Path of a value to its line and column, both from 1."""
    faults: list[Fault] = field(default_factory=list)
    empty: bool = False
    """Nothing stands in it: no text at all, only comments, or a lone null."""

    def fault(self, path: Path_, sentence: str) -> Fault:
        """A fault at the place of a value, or of the nearest thing around it."""
        while path and path not in self.marks:
            path = path[:-1]
        line, column = self.marks.get(path, (1, 1))
        return Fault(self.file, line, column, sentence)


def read_text(path: Path, name: str | None = None) -> str:
    """The text of a file. Raises ``FileProblem`` with one sentence when there is none to be had."""
    shown = name or str(path)
    try:
        if path.is_dir():
            raise FileProblem(f"{shown} is a folder; expected a file.")
        size = path.stat().st_size
        if size > SIZE_CAP:
            raise FileProblem(f"{shown} holds {size / 1e6:.0f} MB; files up to {SIZE_CAP // 1024 // 1024} MB are read.")
        raw = path.read_bytes()
    except FileNotFoundError:
        raise FileProblem(f"{shown} does not exist.") from None
    except PermissionError:
        raise FileProblem(f"{shown} may not be read: no permission.") from None
    except OSError as error:
        raise FileProblem(f"{shown} cannot be read: {error.strerror or 'unknown error'}.") from None
    return decode(raw, shown)


def decode(raw: bytes, shown: str) -> str:
    """Bytes as text. Raises ``FileProblem`` when they are not UTF-8 text."""
    if len(raw) > SIZE_CAP:
        raise FileProblem(f"{shown} is too long; up to {SIZE_CAP // 1024 // 1024} MB are read.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line, column = raw.count(b"\n", 0, error.start) + 1, error.start - raw.rfind(b"\n", 0, error.start)
        raise FileProblem(
            f"{shown}, line {line}, is not text in UTF-8; expected a YAML or JSON text file.", line, column
        ) from None
    if "\x00" in text:
        raise FileProblem(f"{shown} is a binary file; expected a YAML or JSON text file.")
    return text


def read_yaml(text: str, file: str) -> Read:
    """Plain data and faults of a YAML (or JSON) text. Never raises on any text."""
    read = Read(file)
    odd = _NO_TEXT.search(text)
    if odd is not None:
        read.faults.append(
            Fault(file, *_counted(text, odd.start()), "This is not text: it holds a character that no text has.")
        )
        return read
    try:
        _build(text, read)
    except yaml.MarkedYAMLError as error:
        mark, end = error.problem_mark or error.context_mark, len(text.rstrip())
        if mark and error.context_mark and mark.index >= end:
            mark = error.context_mark  # what was never closed is mended where it was opened
        inside = mark if mark and mark.index < end else None
        line, column = (inside.line + 1, inside.column + 1) if inside else _counted(text, max(0, end - 1))
        problem = (error.problem or "the text breaks off").replace("\n", " ")
        read.faults.append(Fault(file, line, column, f"This is not YAML: {problem}."))
    return read


def _counted(text: str, index: int) -> tuple[int, int]:
    return text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index)


@dataclass(slots=True)
class _Open:
    """A map or list being filled."""

    value: dict[str, Data] | list[Data]
    path: Path_
    key: str | None = None
    skip: bool = False


def _build(text: str, read: Read) -> None:
    stack: list[_Open] = []
    documents = 0
    event: Any  # events differ by kind; the kind is asked for by name
    for event in yaml.parse(text, Loader=_Loader):
        kind = type(event).__name__
        if kind == "DocumentStartEvent":
            documents += 1
            if documents > 1:
                read.faults.append(_at(read, event, "A second document starts here; expected one."))
                return
            continue
        if kind in ("MappingEndEvent", "SequenceEndEvent"):
            stack.pop()
            continue
        if kind not in ("ScalarEvent", "MappingStartEvent", "SequenceStartEvent", "AliasEvent"):
            continue
        if kind == "AliasEvent":
            read.faults.append(_at(read, event, f"Aliases (*{event.anchor}) are not used here; write it out."))
            return
        if event.anchor is not None:
            read.faults.append(_at(read, event, f"Anchors (&{event.anchor}) are not used here."))
            return
        if event.tag is not None and event.tag != "!":
            read.faults.append(_at(read, event, f"Tags ({event.tag}) are not used here."))
            return
        if len(stack) >= DEPTH_CAP:
            read.faults.append(_at(read, event, f"Nested more than {DEPTH_CAP} deep."))
            return
        top = stack[-1] if stack else None
        if top is not None and isinstance(top.value, dict) and top.key is None:
            if kind != "ScalarEvent":
                read.faults.append(_at(read, event, "A key must be a word, not a list or a map."))
                return
            _take_key(read, top, event)
            continue
        value: Data
        if kind == "ScalarEvent":
            plain = event.style is None or event.style == ""
            value = None if plain and event.value in ("", "~", "null") else event.value
        else:
            value = {} if kind == "MappingStartEvent" else []
        path = _place(top)
        read.marks[path] = (event.start_mark.line + 1, event.start_mark.column + 1)
        if top is None:
            read.data = value
        elif isinstance(top.value, list):
            top.value.append(value)
        else:
            if not top.skip:
                top.value[top.key or ""] = value
            top.key, top.skip = None, False
        if isinstance(value, (dict, list)):
            stack.append(_Open(value, path))
    read.empty = read.data is None


def _take_key(read: Read, top: _Open, event: Any) -> None:
    key = event.value
    place = (event.start_mark.line + 1, event.start_mark.column + 1)
    path = (*top.path, key)
    assert isinstance(top.value, dict)
    if key in top.value:
        line, column = read.marks.get((*path, "\0key"), place)
        read.faults.append(
            Fault(read.file, *place, f'"{key}" stands here a second time; first at line {line}, column {column}.')
        )
        top.skip = True
    else:
        read.marks[(*path, "\0key")] = place
    top.key = key


def _place(top: _Open | None) -> Path_:
    if top is None:
        return ()
    if isinstance(top.value, list):
        return (*top.path, len(top.value))
    return (*top.path, top.key or "")


def _at(read: Read, event: Any, sentence: str) -> Fault:
    return Fault(read.file, event.start_mark.line + 1, event.start_mark.column + 1, sentence)


def key_place(read: Read, path: Path_) -> tuple[int, int]:
    """Line and column of a key, falling back to its value."""
    return read.marks.get((*path, "\0key"), read.marks.get(path, (1, 1)))


__all__ = ["Data", "Read", "decode", "key_place", "read_text", "read_yaml"]
