"""Ids are permanent: a diagnosis kept today must still be readable in ten years.

To add the ids of new knowledge: RENEW=1 pytest tests/knowledge/test_ids.py (it only ever adds).
"""

from __future__ import annotations

import os
from pathlib import Path

from rindwright.engine.model import Knowledge

KINDS = ("families", "questions", "signs", "circumstances", "causes", "normal", "acts", "cautions", "organisms")


def test_no_id_is_lost_or_unlisted(knowledge: Knowledge, knowledge_folder: Path) -> None:
    path = knowledge_folder / "ids.txt"
    now = {f"{kind} {entry.id}" for kind in KINDS for entry in getattr(knowledge, kind)}
    now |= {f"styles {s.id}" for f in knowledge.families for s in f.styles}
    listed = set(path.read_text(encoding="utf-8").split("\n")) - {""} if path.exists() else set()
    if os.environ.get("RENEW"):
        path.write_text("\n".join(sorted(listed | now)) + "\n", encoding="utf-8")
        listed |= now
    assert listed - now == set(), "an id was given up; keep it (a cause: with replaced_by)"
    assert now - listed == set(), "new ids are not listed yet"
