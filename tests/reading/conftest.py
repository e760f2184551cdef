"""A copy of the packaged knowledge to spoil."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest


@pytest.fixture
def folder(tmp_path: Path, knowledge_folder: Path) -> Path:
    place = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder, place, ignore=shutil.ignore_patterns("*.md", "*.json", "*.py*", "catalogue"))
    return place
