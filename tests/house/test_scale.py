"""A thousand rules on top of the full knowledge. Generous bounds; figures come from tests/benchmarks/house.py."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import screened
from rindwright.engine.house.checking import check
from rindwright.engine.house.reading import read_shelf
from rindwright.engine.model import Knowledge

from tests.house_rules import KINDS, rules_of, text_of

RULES = 1000
TOLD = Answers.of(
    {"family": "washed", "style": "small_soft", "age_days": 20.0, "slimy_wet": "clear", "lid_drops": "clear"}
)


def test_a_thousand_rules_are_checked_and_weighed_in_time(knowledge: Knowledge, catalog: Catalog, house: Path) -> None:
    for rule in rules_of(catalog, RULES, 1, tuple(k for k in KINDS if k != "off")):
        (house / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")

    def whole() -> object:
        return check(knowledge, read_shelf(house))

    seconds, report = clock(whole)
    assert seconds < 12  # aim 3 s on a quiet machine
    layered = report.layered  # type: ignore[attr-defined]
    assert len(layered.in_force) > 0.9 * RULES
    alone, housed = Diagnoser(knowledge), Diagnoser(layered.knowledge)
    skipped = frozenset(screened(catalog))
    assert best(housed, skipped) / best(alone, skipped) < 6  # 1.5 times on a quiet machine


def clock(work: Callable[[], object]) -> tuple[float, object]:
    began = time.perf_counter()
    made = work()
    return time.perf_counter() - began, made


def best(diagnoser: Diagnoser, skipped: frozenset[str]) -> float:
    """Seconds for one answer more, each time another: what is worked out for one set of answers is kept."""
    seconds = []
    for age in range(20, 26):
        told = TOLD.adding("age_days", float(age))
        seconds.append(clock(lambda told=told: diagnoser.next_questions(told, skipped))[0])  # type: ignore[misc]
    return min(seconds[1:])
