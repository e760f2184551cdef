"""A folder of YAML to one ``Knowledge``, or to every fault in it.

families.yaml words.yaml sources.yaml normal*.yaml remedies.yaml cautions*.yaml organisms*.yaml
questions*.yaml signs*.yaml   lists
derive/*.yaml                 lists of circumstances
causes/FAMILY/ID.yaml         one cause each
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from .. import model
from ..errors import Fault, FileProblem
from ..model import Knowledge
from .contents import LISTS, knowledge_files
from .nodes import Path_, Read, read_text, read_yaml


@dataclass(slots=True)
class Loaded:
    """Knowledge as read, before review: sound records, faults, and where each record stands."""

    knowledge: Knowledge
    faults: list[Fault] = field(default_factory=list)
    places: dict[tuple[str, str], tuple[Read, tuple[str | int, ...]]] = field(default_factory=dict)
    """(kind of record, id) to its file and path."""
    dropped: dict[str, set[str]] = field(default_factory=dict)
    """Kind of record to ids of entries that are there but misshapen: named elsewhere, they are no second fault."""
    broken: set[str] = field(default_factory=set)
    """Kinds of record with a file that could not be read: what stood in it cannot be known."""

    @property
    def complete(self) -> bool:
        """Whether every entry was read, so that "nothing uses it" can be said."""
        return not self.dropped and not self.broken

    def whole(self, kind: str) -> bool:
        """Whether every file of a kind was read, so that an id can be called unknown."""
        return kind not in self.broken

    def ids(self, kind: str) -> set[str]:
        """Every id of a kind that stands in the files, in sound entries or in others."""
        return {entry.id for entry in getattr(self.knowledge, kind)} | self.dropped.get(kind, set())

    def fault(self, kind: str, id: str, path: tuple[str | int, ...], sentence: str) -> None:
        """Note a fault inside a record."""
        read, base = self.places.get((kind, id), (Read(""), ()))
        self.faults.append(read.fault((*base, *path), sentence))


def load(folder: Path) -> Loaded:
    """Read a whole folder. Raises ``FileProblem`` only when there is no such folder."""
    from .shape import shaped, shaped_list

    if not folder.is_dir():
        raise FileProblem(f"{folder} is not a folder of knowledge.")
    if not knowledge_files(folder):
        raise FileProblem(f"{folder} holds no knowledge: no words.yaml, signs.yaml or causes in it.")
    faults: list[Fault] = []
    places: dict[tuple[str, str], tuple[Read, tuple[str | int, ...]]] = {}
    lists: dict[str, list[object]] = {}

    def note(kind: str, id: str, read: Read, path: tuple[str | int, ...]) -> None:
        if (kind, id) in places:
            other = places[(kind, id)]
            line = other[0].marks.get(other[1], (1, 1))[0]
            faults.append(read.fault(path, f'The id "{id}" is taken: {other[0].file}, line {line}.'))
        else:
            places[(kind, id)] = (read, path)

    dropped: dict[str, set[str]] = {}
    broken: set[str] = set()

    def drop(kind: str, entry: object) -> None:
        id = entry.get("id") if isinstance(entry, dict) else None
        if isinstance(id, str):
            dropped.setdefault(kind, set()).add(id)
        else:
            broken.add(kind)

    for pattern, kind, record in LISTS:
        found: list[object] = lists.setdefault(kind, [])
        for path in sorted(folder.glob(pattern)):
            read = _read(folder, path, faults)
            if read is None:
                broken.add(kind)
                continue
            sound: dict[int, Any]
            sound, wrong = shaped_list(record, read)
            faults.extend(wrong)
            found.extend(sound.values())
            if not isinstance(read.data, list):
                broken.add(kind)
                continue
            for k, entry in enumerate(read.data):
                if k in sound:
                    note(kind, sound[k].id, read, (k,))
                else:
                    drop(kind, entry)
    lists["sources"].sort(key=lambda source: source.id)  # type: ignore[attr-defined]
    words = _words(folder, faults, note)
    causes: list[model.Cause] = []
    for path in sorted(folder.glob("causes/*/*.yaml")):
        read = _read(folder, path, faults)
        if read is None:
            dropped.setdefault("causes", set()).add(path.stem)
            continue
        cause, wrong = shaped(model.Cause, read)
        faults.extend(wrong)
        if cause is None:
            dropped.setdefault("causes", set()).add(path.stem)
            continue
        if cause.id != path.stem:
            faults.append(read.fault(("id",), f'The id "{cause.id}" differs from the file\'s name "{path.stem}".'))
        note("causes", cause.id, read, ())
        causes.append(cause)
    faults.extend(_strays(folder))
    knowledge = Knowledge(
        words=words,
        causes=tuple(sorted(causes, key=lambda c: c.id)),
        **{kind: tuple(entries) for kind, entries in lists.items()},  # type: ignore[arg-type]
    )
    return Loaded(knowledge, faults, places, dropped, broken)


def _words(folder: Path, faults: list[Fault], note: Callable[[str, str, Read, Path_], None]) -> model.Words:
    from .shape import shaped

    nothing = model.Words((), (), ())
    if not (folder / "words.yaml").exists():
        faults.append(Fault("words.yaml", 1, 1, "The file is missing: it holds the number behind every word."))
        return nothing
    read = _read(folder, folder / "words.yaml", faults)
    if read is None:
        return nothing
    words, wrong = shaped(model.Words, read)
    faults.extend(wrong)
    if words is None:
        return nothing
    note("words", "words", read, ())
    return words


def _strays(folder: Path) -> list[Fault]:
    """YAML files in the folder that nothing reads: a slip of the pen in a name must not pass in silence."""
    known = set(knowledge_files(folder))
    found = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*.y*ml") if p not in known)
    expected = "expected one of the names in FORMAT.md, such as signs_mine.yaml or causes/washed/its_id.yaml"
    return [Fault(name, 1, 1, f"A file of this name is not read; {expected}.") for name in found]


def _read(folder: Path, path: Path, faults: list[Fault]) -> Read | None:
    name = path.relative_to(folder).as_posix()
    try:
        read = read_yaml(read_text(path, name), name)
    except FileProblem as problem:
        faults.append(Fault(name, problem.line, problem.column, str(problem)))
        return None
    faults.extend(read.faults)
    if read.empty:
        faults.append(Fault(name, 1, 1, "The file is empty."))
    return None if read.faults or read.empty else read
