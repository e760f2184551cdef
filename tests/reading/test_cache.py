"""The cache is a convenience that is never trusted."""

from __future__ import annotations

import ast
import errno
import hashlib
import json
import os
import pickle
import sys
import tempfile
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from subprocess import run

import pytest
from rindwright.engine.errors import KnowledgeError
from rindwright.engine.model import Caution, Condition, Knowledge
from rindwright.engine.reading import cache as cache_module
from rindwright.engine.reading import checked, open_knowledge
from rindwright.engine.reading.contents import content_hash, knowledge_files

Damage = Callable[[str], str]


def kept(folder: Path) -> Path:
    (path,) = folder.glob("knowledge-*.json")
    return path


def head_of(text: str) -> dict[str, str]:
    head: dict[str, str] = json.loads(text.split("\n", 1)[0])
    return head


def forged(body: str, **head: str) -> Damage:
    """Another body under a head whose digest fits it, so that only the body can give it away."""
    digest = hashlib.sha256(body.encode()).hexdigest()
    return lambda text: json.dumps({**head_of(text), "digest": digest, **head}) + "\n" + body


def without(key: str) -> Damage:
    def damage(text: str) -> str:
        body = json.loads(text.split("\n", 1)[1])
        del body[key]
        return forged(json.dumps(body))(text)

    return damage


def with_(key: str, value: object) -> Damage:
    def damage(text: str) -> str:
        return forged(json.dumps({**json.loads(text.split("\n", 1)[1]), key: value}))(text)

    return damage


def deep_condition(text: str) -> str:
    body = json.loads(text.split("\n", 1)[1])
    all_of = [f.name for f in fields(Condition)].index("all")
    around = json.dumps([*[""] * all_of, "HERE"]).split('"HERE"')
    caution = body["cautions"][0]
    caution[[f.name for f in fields(Caution)].index("when")] = "HERE"
    whole = json.dumps({**body, "cautions": [caution]})
    deep = f"{around[0]}[" * 20_000 + "]" + f"{around[1]}]" * 19_999 + around[1]
    return forged(whole.replace('"HERE"', deep))(text)


DAMAGES: dict[str, Damage] = {
    "cut in half": lambda text: text[: len(text) // 2],
    "last character gone": lambda text: text[:-1],
    "one more character": lambda text: text + " ",
    "empty": lambda text: "",
    "only a line break": lambda text: "\n",
    "head alone": lambda text: text.split("\n", 1)[0],
    "head and nothing": lambda text: text.split("\n", 1)[0] + "\n",
    "no head": lambda text: text.split("\n", 1)[1],
    "altered word": lambda text: text.replace("Box too wet", "Box is fine!"),
    "altered number": lambda text: text.replace(",0.95,", ",0.59,"),
    "other mark": lambda text: text.replace("rindwright-knowledge-cache/3", "rindwright-knowledge-cache/0"),
    "other knowledge": lambda text: text.replace(head_of(text)["version"], "0" * 64, 1),
    "other records": lambda text: text.replace(head_of(text)["shape"], "0" * 64, 1),
    "no digest": lambda text: text.replace('"digest"', '"tsegid"', 1),
    "more in the head": lambda text: text.replace('{"mark"', '{"more": 1, "mark"', 1),
    "head is a list": lambda text: "[]\n" + text.split("\n", 1)[1],
    "head is deep": lambda text: "[" * 200_000 + "\n" + text.split("\n", 1)[1],
    "garbage": lambda text: "\x00\x01 garbage \x7f" * 50,
    "a pickle": lambda text: "cos\nsystem\n(S'true'\ntR.",
    "fits, but nothing": forged(""),
    "fits, but null": forged("null"),
    "fits, but a list": forged("[]"),
    "fits, but an empty map": forged("{}"),
    "fits, but a word": forged('"knowledge"'),
    "fits, but not JSON": forged("{'a': 1}"),
    "fits, but a hundred thousand lists": forged("[" * 100_000 + "]" * 100_000),
    "fits, but a hundred thousand maps": forged('{"words":' * 100_000 + "1" + "}" * 100_000),
    "fits, but an endless number": forged('{"words":' + "9" * 10_000 + "}"),
    "fits, but conditions without end": deep_condition,
    "fits, but no causes": without("causes"),
    "fits, but no words": without("words"),
    "fits, but causes are a word": with_("causes", "none"),
    "fits, but causes are a number": with_("causes", 3),
    "fits, but causes are nulls": with_("causes", [None]),
    "fits, but cautions are empty maps": with_("cautions", [{}]),
}


@pytest.fixture(scope="module")
def written(knowledge_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """Name and text of a sound cache file."""
    place = tmp_path_factory.mktemp("written")
    open_knowledge(knowledge_folder, place)
    return kept(place).name, kept(place).read_text(encoding="utf-8")


@pytest.fixture
def read_afresh(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Every reading of the YAML, answered at once with what it gave the first time."""
    asked: list[Path] = []

    def load_checked(folder: Path) -> Knowledge:
        asked.append(folder)
        return knowledge

    monkeypatch.setattr(checked, "load_checked", load_checked)
    return asked


def test_cached_equals_fresh(knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path) -> None:
    first = open_knowledge(knowledge_folder, tmp_path / "made" / "anew")
    second = open_knowledge(knowledge_folder, tmp_path / "made" / "anew")
    assert first == second == knowledge
    assert repr(first) == repr(second) == repr(knowledge)  # types and all, down to 1 and 1.0
    assert second.version == knowledge.version == content_hash(knowledge_folder)
    assert [path.name for path in (tmp_path / "made" / "anew").iterdir()] == [f"knowledge-{second.version[:16]}.json"]


def test_a_sound_cache_spares_the_reading(
    knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path, written: tuple[str, str], read_afresh: list[Path]
) -> None:
    (tmp_path / written[0]).write_text(written[1], encoding="utf-8")
    assert open_knowledge(knowledge_folder, tmp_path) == knowledge
    assert read_afresh == []


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_a_damaged_cache_is_refused_and_made_anew(
    knowledge: Knowledge,
    knowledge_folder: Path,
    tmp_path: Path,
    written: tuple[str, str],
    read_afresh: list[Path],
    damage: Damage,
) -> None:
    name, text = written
    damaged = damage(text)
    assert damaged != text
    (tmp_path / name).write_text(damaged, encoding="utf-8")
    assert open_knowledge(knowledge_folder, tmp_path) == knowledge
    assert read_afresh == [knowledge_folder]
    assert (tmp_path / name).read_text(encoding="utf-8") == text
    assert open_knowledge(knowledge_folder, tmp_path) == knowledge
    assert len(read_afresh) == 1


def test_bytes_that_are_no_text_are_refused(
    knowledge_folder: Path, tmp_path: Path, written: tuple[str, str], read_afresh: list[Path]
) -> None:
    name, text = written
    (tmp_path / name).write_bytes(text.encode("utf-16"))
    open_knowledge(knowledge_folder, tmp_path)
    assert read_afresh == [knowledge_folder]


def test_old_caches_make_room_and_strangers_stay(
    knowledge_folder: Path, tmp_path: Path, read_afresh: list[Path]
) -> None:
    (tmp_path / "knowledge-0123456789abcdef.json").write_text("old")
    (tmp_path / "letters.json").write_text("mine")
    open_knowledge(knowledge_folder, tmp_path)
    assert kept(tmp_path).name != "knowledge-0123456789abcdef.json"
    assert (tmp_path / "letters.json").read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 2


def refuse(*_: object, **__: object) -> object:
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize(
    "what", ["a file in its place", "a folder in its place", "no room", "no room later", "no name"]
)
def test_a_folder_that_cannot_be_written_costs_nothing(
    knowledge: Knowledge,
    knowledge_folder: Path,
    tmp_path: Path,
    read_afresh: list[Path],
    monkeypatch: pytest.MonkeyPatch,
    what: str,
) -> None:
    place = tmp_path / "cache"
    if what == "a file in its place":
        place.write_text("")
    elif what == "a folder in its place":
        (place / f"knowledge-{knowledge.version[:16]}.json").mkdir(parents=True)
    elif what == "no room":
        monkeypatch.setattr(tempfile, "mkstemp", refuse)
    elif what == "no room later":
        monkeypatch.setattr(os, "replace", refuse)
    else:
        monkeypatch.setattr(Path, "mkdir", refuse)
    for _ in range(2):
        assert open_knowledge(knowledge_folder, place) == knowledge
    assert len(read_afresh) == 2
    if place.is_dir():  # nothing half written is left lying about
        assert [path.name for path in place.iterdir() if path.name.startswith(".")] == []


def test_without_a_folder_nothing_is_kept(
    knowledge: Knowledge, knowledge_folder: Path, read_afresh: list[Path]
) -> None:
    assert open_knowledge(knowledge_folder, None) == knowledge
    assert read_afresh == [knowledge_folder]


def test_changed_knowledge_has_another_version(folder: Path, knowledge: Knowledge, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    assert open_knowledge(folder, cache).version == knowledge.version
    before = kept(cache).name
    path = folder / "words.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("value: 0.95,", "value: 0.94,"), encoding="utf-8")
    changed = open_knowledge(folder, cache)
    assert changed.version != knowledge.version
    assert changed.words != knowledge.words
    assert kept(cache).name != before
    path.write_text("- spoilt\n", encoding="utf-8")
    with pytest.raises(KnowledgeError):  # the cache of better days does not hide the fault
        open_knowledge(folder, cache)


def test_any_change_of_any_file_changes_the_version(folder: Path) -> None:
    seen = [content_hash(folder)]
    for path in knowledge_files(folder):
        path.write_bytes(path.read_bytes() + b"#")
        seen.append(content_hash(folder))
    (folder / "signs.yaml").rename(folder / "signs_all.yaml")
    seen.append(content_hash(folder))
    assert len(set(seen)) == len(seen)


def test_line_breaks_and_stray_files_do_not_change_the_version(folder: Path) -> None:
    before = content_hash(folder)
    for path in knowledge_files(folder):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    (folder / "notes.txt").write_text("mine")
    assert content_hash(folder) == before


def test_a_file_that_cannot_be_read_is_a_fault_and_not_a_crash(folder: Path, tmp_path: Path) -> None:
    (folder / "signs_lost.yaml").symlink_to(folder / "nowhere.yaml")
    (folder / "signs_of_mine.yaml").mkdir()
    with pytest.raises(KnowledgeError) as caught:
        open_knowledge(folder, tmp_path / "cache")
    assert [fault.file for fault in caught.value.faults] == ["signs_lost.yaml", "signs_of_mine.yaml"]


class Trap:
    def __init__(self, proof: str) -> None:
        self.proof = proof

    def __reduce__(self) -> tuple[object, ...]:
        return open, (self.proof, "w")


def test_a_planted_pickle_is_never_opened(
    knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path, read_afresh: list[Path]
) -> None:
    proof = tmp_path / "proof"
    trap = pickle.dumps(Trap(str(proof)))
    (tmp_path / f"knowledge-{knowledge.version[:16]}.json").write_bytes(trap)
    (tmp_path / f"knowledge-{knowledge.version[:16]}.pickle").write_bytes(trap)
    assert open_knowledge(knowledge_folder, tmp_path) == knowledge
    assert not proof.exists()
    pickle.loads(trap).close()
    assert proof.exists()  # so the trap was set


def test_nothing_of_the_reader_can_turn_bytes_into_code() -> None:
    names: set[str] = set()
    for path in Path(cache_module.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names.update(alias.name.split(".")[0] for alias in node.names)
            elif isinstance(node, ast.ImportFrom) and not node.level:
                names.add(str(node.module).split(".")[0])
            elif isinstance(node, ast.Name):
                names.add(node.id)
            elif isinstance(node, ast.Attribute):
                names.add(f".{node.attr}")
    assert "json" in names
    assert names.isdisjoint({"pickle", "marshal", "shelve", "dill", "importlib"})
    assert names.isdisjoint({"eval", "exec", "compile", "__import__"})
    assert names.isdisjoint({".load", ".unsafe_load", ".full_load", ".UnsafeLoader", ".FullLoader", ".Loader"})


def test_a_start_from_the_cache_opens_neither_parser_nor_validator(
    knowledge_folder: Path, tmp_path: Path, written: tuple[str, str]
) -> None:
    (tmp_path / written[0]).write_text(written[1], encoding="utf-8")
    program = (
        "import sys; from pathlib import Path; from rindwright.engine.reading import open_knowledge; "
        "k = open_knowledge(Path(sys.argv[1]), Path(sys.argv[2])); "
        "print(k.version, *[m for m in ('yaml', 'pydantic', 'numpy', 'pickle', 'shelve') if m in sys.modules])"
    )
    done = run([sys.executable, "-c", program, str(knowledge_folder), str(tmp_path)], capture_output=True, text=True)
    assert (done.stdout.split(), done.stderr) == ([head_of(written[1])["version"]], "")
