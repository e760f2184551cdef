"""One file to one house rule, or to every fault in it. Every file is read as if a stranger had sent it.

Read with the strict reader of the knowledge (no tags, no aliases, capped depth). On top of that: a
small file, characters that can be seen, short texts, few entries, and no words that offer a cheese or wave a hold away.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import get_args, get_type_hints

from ..catalog import HOUSE
from ..errors import Fault, FileProblem
from ..model import Condition
from ..reading.nodes import Data, Path_, Read, decode, read_yaml
from .folder import HOUSE_CAP, NAME, read_bytes, rule_files
from .promising import refused_at
from .shapes import PARTS, HouseRule
from .sound import wrong_alone

MOST_TEXT = 1200
"""Most letters of one text."""
MOST_ITEMS = 40
"""Most items of one list."""
_OWN_SOURCES = ("sources", "base_rate_sources")


@dataclass(frozen=True, slots=True)
class Entry:
    """A rule that is sound by itself, with the place of each part."""

    rule: HouseRule
    read: Read

    @property
    def name(self) -> str:
        """The rule's name."""
        return self.rule.rule

    def fault(self, path: Path_, sentence: str) -> Fault:
        """A fault at the place of a part."""
        return self.read.fault(path, sentence)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A folder of rules as read: the sound ones by name, and what is wrong with the others."""

    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]


def read_shelf(folder: Path) -> Shelf:
    """Every rule of a folder. Never raises: a file that cannot be used is a fault, the others go on."""
    names, faults = rule_files(folder)
    entries: list[Entry] = []
    size = 0
    for name in names:
        try:
            raw = read_bytes(folder / name, name)
            size += len(raw)
            if size > HOUSE_CAP:
                faults.append(
                    Fault(name, 1, 1, f"A house holds up to {HOUSE_CAP // 1024**2} MB; the rest is left out.")
                )
                break
            text = decode(raw, name)
        except FileProblem as problem:
            faults.append(Fault(name, 1, 1, str(problem)))
            continue
        entry, wrong = read_rule(text, name)
        faults.extend(wrong)
        if entry is not None:
            entries.append(entry)
    return Shelf(tuple(entries), tuple(sorted(set(faults))))


def read_rule(text: str, file: str) -> tuple[Entry | None, list[Fault]]:
    """The rule in a text, or every fault that keeps it from being one. ``file`` ends in its name."""
    from ..reading.shape import shaped

    read = read_yaml(text, file)
    if read.faults:
        return None, read.faults
    if not isinstance(read.data, dict):
        return None, [read.fault((), "Expected a house rule: keys such as rule, owner, date, because, link.")]
    faults = list(_odd_or_long(read))
    if faults:
        return None, faults  # nothing of it is repeated on a screen
    read = _spread(read)
    data = read.data
    assert isinstance(data, dict)
    faults.extend(_own_sources(read, data))
    name = str(data.get("rule") or "")
    _fill(data, HOUSE + (name if NAME.fullmatch(name) else "nameless"))
    rule, wrong = shaped(HouseRule, read)
    faults.extend(wrong)
    if rule is None:
        return None, faults
    faults.extend(wrong_alone(rule, read, Path(file).name))
    return (None if faults else Entry(rule, read)), faults


def _odd_or_long(read: Read) -> Iterator[Fault]:
    """Texts that no house rule may hold: unseen characters, too long, too many, or a promise."""
    waiting: list[tuple[Path_, Data]] = [((), read.data)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict):
            for key in value:
                if not key.isprintable() or len(key) > 60:
                    yield read.fault(path, "A key here holds a character that cannot be seen, or is too long.")
                    return
            if len(value) > MOST_ITEMS:
                yield read.fault(path, f"{len(value)} keys stand here; up to {MOST_ITEMS} are read.")
            waiting.extend(((*path, key), inner) for key, inner in value.items())
        elif isinstance(value, list):
            if len(value) > MOST_ITEMS:
                yield read.fault(path, f"{len(value)} items stand here; up to {MOST_ITEMS} are read.")
            waiting.extend(((*path, k), inner) for k, inner in enumerate(value))
        elif value is not None:
            if len(value) > MOST_TEXT:
                yield read.fault(path, f"This text has {len(value)} letters; up to {MOST_TEXT} are read.")
            line = value.replace("\n", " ").replace("\t", " ")
            if not line.isprintable() and any(unicodedata.category(c)[0] == "C" for c in line):
                yield read.fault(path, "This text holds a character that cannot be seen; type it again.")
            refused = refused_at(path, line)
            if refused:
                yield read.fault(path, refused)


def _spread(read: Read) -> Read:
    """The same file with every part as a list, so that one entry needs no dash; places move with it."""
    assert isinstance(read.data, dict)
    data: dict[str, Data] = {}
    lone: set[str] = set()
    for key, value in read.data.items():
        if (key in PARTS and isinstance(value, dict)) or (key == "replaces" and isinstance(value, str)):
            data[key] = [value]
            lone.add(key)
        elif key == "examples" and isinstance(value, dict):
            data[key] = {k: [v] if isinstance(v, dict) else v for k, v in value.items()}
        else:
            data[key] = value
    marks = dict(read.marks)
    for path, place in read.marks.items():
        if path and path[0] in lone and path[1:] != ("\0key",):
            marks[(path[0], 0, *path[1:])] = place
        if len(path) > 1 and path[0] == "examples" and isinstance(read.data["examples"], dict):
            inner = read.data["examples"].get(str(path[1]))
            if isinstance(inner, dict) and path[2:] != ("\0key",):
                marks[("examples", path[1], 0, *path[2:])] = place
    return Read(read.file, data, marks, [], read.empty)


def _own_sources(read: Read, data: dict[str, Data]) -> Iterator[Fault]:
    waiting: list[tuple[Path_, Data]] = [((key,), data[key]) for key in PARTS if key in data]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict):
            for key in _OWN_SOURCES:
                if key in value:
                    yield read.fault((*path, key), f'Leave "{key}" out: a house rule is its own source.')
            waiting.extend(((*path, key), inner) for key, inner in value.items())
        elif isinstance(value, list):
            waiting.extend(((*path, k), inner) for k, inner in enumerate(value))


def _fill(data: dict[str, Data], source: str) -> None:
    """Name the rule as the source of everything it says; and "rarely" alone is a rate for every rind."""
    signs = data.get("sign")
    for sign in signs if isinstance(signs, list) else ():
        if isinstance(sign, dict) and isinstance(sign.get("on_sound_rinds"), str):
            sign["on_sound_rinds"] = [{"seen": sign["on_sound_rinds"]}]
    for key, kind in _claims(HouseRule):
        _fill_in(data.get(key), kind, source)


def _fill_in(value: Data, kind: type, source: str) -> None:
    if isinstance(value, list):
        for part in value:
            _fill_in(part, kind, source)
        return
    if not isinstance(value, dict):
        return
    for f in fields(kind):
        if f.name in _OWN_SOURCES:
            value[f.name] = [source]
    for key, inner in _claims(kind):
        _fill_in(value.get(key), inner, source)


@cache
def _claims(kind: type) -> list[tuple[str, type]]:
    """Fields of a record that hold records, with their kind."""
    found: list[tuple[str, type]] = []
    for name, hint in get_type_hints(kind).items():
        inner = next((a for a in (hint, *get_args(hint)) if isinstance(a, type) and is_dataclass(a)), None)
        if inner is not None and inner is not Condition:
            found.append((name, inner))
    return found


def named(entries: Iterable[Entry]) -> dict[str, Entry]:
    """Entries by name, in the order of their names."""
    return {e.name: e for e in sorted(entries, key=lambda e: e.name)}


__all__ = ["Entry", "Shelf", "named", "read_rule", "read_shelf"]
