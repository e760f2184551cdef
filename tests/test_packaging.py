"""The packages listed for shipping are the folders that hold code, and nothing stands out of place."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_every_package_is_listed() -> None:
    listed = set(tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"])
    found = {
        "rindwright." + ".".join(path.parent.relative_to(ROOT).parts)
        for room in ("engine", "cli", "knowledge", "cases")
        for path in (ROOT / room).rglob("__init__.py")
    }
    assert listed == found


def test_imports_run_one_way() -> None:
    for path in (ROOT / "engine").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "cli" not in [
            part.strip(".") for line in text.splitlines() if line.startswith("from .") for part in line.split()
        ]
        for word in ("print(", "input(", "datetime.now", ".today(", "utcnow", "import time", "Path.home"):
            assert word not in text, f"{path.name} holds {word}"


def test_only_one_module_opens_experta() -> None:
    users = [p.name for p in (ROOT / "engine").rglob("*.py") if "import experta" in p.read_text(encoding="utf-8")]
    assert users == ["_experta.py"]
