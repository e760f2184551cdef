"""Which files make up a folder of knowledge, and the hash that names their content.

Apart from the loader, so that a start from the cache opens neither the YAML parser nor the validator.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from .. import model

FORMAT = "1"
"""Version of the knowledge format; part of the hash."""

LISTS: tuple[tuple[str, str, type], ...] = (
    ("families.yaml", "families", model.Family),
    ("questions*.yaml", "questions", model.Question),
    ("signs*.yaml", "signs", model.Sign),
    ("derive/*.yaml", "circumstances", model.Circumstance),
    ("normal*.yaml", "normal", model.Normal),
    ("remedies.yaml", "acts", model.Act),
    ("cautions*.yaml", "cautions", model.Caution),
    ("organisms*.yaml", "organisms", model.Organism),
    ("sources.yaml", "sources", model.Source),
)


def knowledge_files(folder: Path) -> list[Path]:
    """Every YAML file that belongs to the knowledge, in a fixed order."""
    patterns = [pattern for pattern, _, _ in LISTS] + ["words.yaml", "causes/*/*.yaml"]
    found = {path for pattern in patterns for path in folder.glob(pattern)}
    return sorted(found, key=lambda p: p.relative_to(folder).as_posix())


def content_hash(folder: Path) -> str:
    """A hash of the knowledge: names and bytes of its files, and the version of the format."""
    digest = hashlib.sha256(FORMAT.encode())
    for path in knowledge_files(folder):
        digest.update(path.relative_to(folder).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(path.read_bytes().replace(b"\r\n", b"\n")).digest())
    return digest.hexdigest()
