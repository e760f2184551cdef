"""The packages listed for shipping are the folders that hold code, and nothing stands out of place."""

from __future__ import annotations

import ast
import graphlib
import tomllib
from collections.abc import Iterator
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


def test_no_modules_go_in_a_circle() -> None:
    """Also where an import stands inside a function: what needs what must have a beginning."""
    needs = {path: {other for other in needed(path) if other != path} for path in modules()}
    assert len(needs) > 150
    assert sum(map(len, needs.values())) > 500
    list(graphlib.TopologicalSorter(needs).static_order())  # raises CycleError, which names the circle


def modules() -> list[Path]:
    return sorted(p for room in ("engine", "cli") for p in (ROOT / room).rglob("*.py"))


def needed(path: Path) -> Iterator[Path]:
    """The project's own modules that a module opens, anywhere in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            place = path.parents[node.level - 1].joinpath(*(node.module or "").split("."))
            for name in node.names:
                found = [place / f"{name.name}.py", place / name.name / "__init__.py", place.with_suffix(".py"),
                         place / "__init__.py"]  # fmt: skip
                yield from [p for p in found if p.is_file()][:1]
