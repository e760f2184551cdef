"""A folder of YAML to one ``Knowledge``, or to every fault in it.

families.yaml words.yaml sources.yaml normal*.yaml remedies.yaml cautions*.yaml organisms*.yaml
questions*.yaml signs*.yaml   lists
derive/*.yaml                 lists of circumstances
causes/FAMILY/ID.yaml         one cause each
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from .. import model
from ..errors import Fault, FileProblem, KnowledgeError
from ..model import Knowledge
from .contents import LISTS, content_hash, knowledge_files
from .nodes import Read, read_text, read_yaml


@dataclass(slots=True)
class Loaded:
    """Knowledge as read, before review: sound records, faults, and where each record stands."""

    knowledge: Knowledge
    faults: list[Fault] = field(default_factory=list)
    places: dict[tuple[str, str], tuple[Read, tuple[str | int, ...]]] = field(default_factory=dict)
    """(kind of record, id) to its file and path."""

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

    for pattern, kind, record in LISTS:
        found: list[object] = []
        for path in sorted(folder.glob(pattern)):
            read = _read(folder, path, faults)
            if read is None:
                continue
            sound: dict[int, Any]
            sound, wrong = shaped_list(record, read)
            faults.extend(wrong)
            found.extend(sound.values())
            for k, entry in sound.items():
                note(kind, entry.id, read, (k,))
        lists[kind] = sorted(found, key=lambda entry: entry.id) if kind == "sources" else found  # type: ignore[attr-defined]
    words = model.Words((), (), ())
    read = _read(folder, folder / "words.yaml", faults) if (folder / "words.yaml").exists() else None
    if read is not None:
        shaped_words, wrong = shaped(model.Words, read)
        faults.extend(wrong)
        words = shaped_words or words
        if shaped_words is not None:
            note("words", "words", read, ())
    if not (folder / "words.yaml").exists():
        faults.append(Fault("words.yaml", 1, 1, "The file is missing: it holds the number behind every word."))
    causes: list[model.Cause] = []
    for path in sorted(folder.glob("causes/*/*.yaml")):
        read = _read(folder, path, faults)
        if read is None:
            continue
        cause, wrong = shaped(model.Cause, read)
        faults.extend(wrong)
        if cause is None:
            continue
        if cause.id != path.stem:
            faults.append(read.fault(("id",), f'The id "{cause.id}" differs from the file\'s name "{path.stem}".'))
        note("causes", cause.id, read, ())
        causes.append(cause)
    knowledge = Knowledge(
        words=words,
        causes=tuple(sorted(causes, key=lambda c: c.id)),
        **{kind: tuple(entries) for kind, entries in lists.items()},  # type: ignore[arg-type]
    )
    return Loaded(knowledge, faults, places)


def _read(folder: Path, path: Path, faults: list[Fault]) -> Read | None:
    name = path.relative_to(folder).as_posix()
    try:
        read = read_yaml(read_text(path, name), name)
    except FileProblem as problem:
        faults.append(Fault(name, 1, 1, str(problem)))
        return None
    faults.extend(read.faults)
    if read.empty:
        faults.append(Fault(name, 1, 1, "The file is empty."))
    return None if read.faults or read.empty else read


def load_checked(folder: Path) -> Knowledge:
    """Knowledge that passed every check. Raises ``KnowledgeError`` with all faults."""
    from .review import review

    loaded = load(folder)
    review(loaded)
    if loaded.faults:
        raise KnowledgeError(loaded.faults)
    return replace(loaded.knowledge, version=content_hash(folder))
