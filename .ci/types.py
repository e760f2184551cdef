"""Lay out build/types/rindwright/ as links to the rooms, since type checkers cannot follow the mapping."""

from __future__ import annotations

import os
from pathlib import Path

root = Path(__file__).resolve().parent.parent
tree = root / "build" / "types" / "rindwright"
tree.mkdir(parents=True, exist_ok=True)
for room in ("engine", "cli", "knowledge", "cases"):
    link = tree / room
    if link.is_symlink():
        link.unlink()
    os.symlink(root / room, link, target_is_directory=True)
