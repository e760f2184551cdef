"""Ids are permanent: a diagnosis kept today must still be readable in ten years.

``ids.txt`` holds every id ever issued, one ``kind id`` a line, sorted. To add the ids of new
knowledge: RENEW=1 pytest tests/knowledge/test_ids.py (it only ever adds).
"""

from __future__ import annotations

import os
from collections.abc import Set
from pathlib import Path

from rindwright.engine.model import Knowledge

KINDS = ("families", "questions", "signs", "circumstances", "causes", "normal", "acts", "cautions", "organisms")


def ids_of(knowledge: Knowledge) -> frozenset[str]:
    """Every id in use. Options count, for answers are kept by them; sources do not, for an unused one is a fault."""
    ids = {f"{kind} {entry.id}" for kind in KINDS for entry in getattr(knowledge, kind)}
    ids |= {f"styles {style.id}" for family in knowledge.families for style in family.styles}
    ids |= {f"groups {style.group}" for family in knowledge.families for style in family.styles}
    ids |= {f"options {question.id}.{o.id}" for question in knowledge.questions for o in question.options}
    return frozenset(ids)


def complaints(listed: Set[str], now: Set[str]) -> list[str]:
    lost = [f"{line}: given up; keep it (a cause: with replaced_by)" for line in sorted(listed - now)]
    return lost + [f"{line}: not listed yet" for line in sorted(now - listed)]


def test_no_id_is_lost_or_unlisted(knowledge: Knowledge, knowledge_folder: Path) -> None:
    path = knowledge_folder / "ids.txt"
    now = ids_of(knowledge)
    listed = frozenset(path.read_text(encoding="utf-8").split("\n")) - {""}
    if os.environ.get("RENEW"):
        listed |= now
        path.write_text("\n".join(sorted(listed)) + "\n", encoding="utf-8")
    assert complaints(listed, now) == []


def test_the_list_is_sorted_and_each_id_stands_once(knowledge_folder: Path) -> None:
    lines = (knowledge_folder / "ids.txt").read_text(encoding="utf-8").splitlines()
    assert lines == sorted(set(lines))
    assert all(len(line.split(" ")) == 2 for line in lines)


def test_a_lost_id_and_a_new_one_are_named(knowledge: Knowledge) -> None:
    now = ids_of(knowledge)
    gone = "causes box_too_wet"
    assert complaints(now, now - {gone}) == [f"{gone}: given up; keep it (a cause: with replaced_by)"]
    assert complaints(now - {gone}, now) == [f"{gone}: not listed yet"]


def test_no_question_offers_one_option_twice(knowledge: Knowledge) -> None:
    """Two options of one id would make a kept answer mean either."""
    for question in knowledge.questions:
        ids = [o.id for o in question.options]
        assert len(set(ids)) == len(ids), question.id
