"""The cache is a convenience that is never trusted."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from rindwright.engine.model import Knowledge
from rindwright.engine.reading import cache as cache_module
from rindwright.engine.reading import open_knowledge


def kept(folder: Path) -> Path:
    return next(folder.glob("knowledge-*.json"))


def test_cached_equals_fresh(knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path) -> None:
    first = open_knowledge(knowledge_folder, tmp_path)
    assert kept(tmp_path).exists()
    second = open_knowledge(knowledge_folder, tmp_path)
    assert first == second == knowledge
    assert second.version == knowledge.version


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[: len(text) // 2],
        lambda text: "",
        lambda text: text.replace("Box too wet", "Box is fine!"),
        lambda text: text.replace("rindwright-knowledge-cache/1", "rindwright-knowledge-cache/0"),
        lambda text: text.split("\n", 1)[0] + "\n" + "[" * 5000,
        lambda text: "cos\nsystem\n(S'true'\ntR.",
    ],
    ids=["cut short", "empty", "altered", "other version", "deep", "a pickle"],
)
def test_a_damaged_cache_is_refused_and_made_anew(
    knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path, damage
) -> None:  # type: ignore[no-untyped-def]
    open_knowledge(knowledge_folder, tmp_path)
    path = kept(tmp_path)
    path.write_text(damage(path.read_text(encoding="utf-8")), encoding="utf-8")
    assert cache_module._read(path, knowledge.version) is None
    assert open_knowledge(knowledge_folder, tmp_path) == knowledge
    assert json.loads(path.read_text(encoding="utf-8").split("\n", 1)[0])["version"] == knowledge.version


def test_a_folder_that_cannot_be_written_costs_nothing(
    knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    assert open_knowledge(knowledge_folder, tmp_path / "file") == knowledge


def test_changed_knowledge_has_another_version(knowledge: Knowledge, knowledge_folder: Path, tmp_path: Path) -> None:
    place = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder, place)
    path = place / "words.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("value: 0.95,", "value: 0.94,"), encoding="utf-8")
    assert open_knowledge(place, tmp_path / "cache").version != knowledge.version


def test_nothing_here_unpickles() -> None:
    text = Path(cache_module.__file__).read_text(encoding="utf-8")
    assert "pickle" not in text
    assert "marshal" not in text
