"""JSON Schema of every kind of knowledge file, for editors. Written from the records themselves.

``python -m rindwright.engine.reading.schemas FOLDER`` writes them; a test keeps them fresh.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from .. import model
from .shape import schema_of

KINDS: dict[str, object] = {
    "cause": model.Cause,
    "words": model.Words,
    "families": list[model.Family],
    "questions": list[model.Question],
    "signs": list[model.Sign],
    "circumstances": list[model.Circumstance],
    "normal": list[model.Normal],
    "remedies": list[model.Act],
    "cautions": list[model.Caution],
    "organisms": list[model.Organism],
    "sources": list[model.Source],
}


def schema(name: str) -> dict[str, Any]:
    """The schema of one kind of file."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema_of(KINDS[name])}


def text(name: str) -> str:
    """The schema as it stands in its file."""
    return json.dumps(schema(name), indent=1, ensure_ascii=False) + "\n"


def write(folder: Path) -> None:
    """Write every schema."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in KINDS:
        (folder / f"{name}.json").write_text(text(name), encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
