from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rindwright.engine.archive.store import Archive, open_archive


@pytest.fixture
def archive(tmp_path: Path) -> Iterator[Archive]:
    with open_archive(tmp_path / "archive.db") as opened:
        yield opened
