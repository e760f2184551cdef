"""Every sentence that can be printed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import rindwright.cli.report as report
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.review import FORBIDDEN, strings_in

KINDS = ("families", "questions", "signs", "circumstances", "causes", "normal", "acts", "cautions", "organisms")


def sentences(knowledge: Knowledge) -> Iterator[tuple[str, str]]:
    for kind in KINDS:
        for entry in getattr(knowledge, kind):
            for text in strings_in(entry):
                yield entry.id, text


def test_nothing_promises_a_sound_cheese(knowledge: Knowledge) -> None:
    for id, text in sentences(knowledge):
        assert not FORBIDDEN.search(text), (id, text)


def test_the_screens_promise_nothing_either() -> None:
    for path in Path(report.__file__).parent.glob("*.py"):
        assert not FORBIDDEN.search(path.read_text(encoding="utf-8")), path.name


def test_only_the_rinds_own_word_is_filled_in(knowledge: Knowledge) -> None:
    for id, text in sentences(knowledge):
        assert set(re.findall(r"\{.*?\}", text)) <= {"{rind}"}, (id, text)


def test_no_stray_marks(knowledge: Knowledge) -> None:
    for id, text in sentences(knowledge):
        assert not re.search(r"\b(?:SF|[SEFO])(?!157)\d{1,3}\b", text), (id, text)
        assert "  " not in text.strip(), (id, text)


def test_grave_texts_begin_with_the_act(knowledge: Knowledge) -> None:
    for c in knowledge.cautions:
        if c.level == "stop":
            assert re.match(r"Do not|Not for|Stop|Leave", c.text), (c.id, c.text)
        if c.level == "hold":
            assert re.match(r"Put it aside|Do not|Stop|Treat", c.text), (c.id, c.text)


def test_salt_is_never_sold_as_a_cure_for_listeria(knowledge: Knowledge) -> None:
    """Wherever shared liquid, brine or mats spread things, the page says what salt does not do."""
    for id in ("dirty_wash_liquid", "old_to_young_smearing", "contaminated_salting_brine", "dirty_or_stale_mats"):
        cause = next(c for c in knowledge.causes if c.id == id)
        assert any("does not remove listeria" in " ".join(text.split()).casefold() for text in strings_in(cause)), id
