"""The decision table as values the tests can use."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from rindwright.engine.answers import Answers, Value, understand
from rindwright.engine.catalog import Catalog
from rindwright.engine.cautions import Screen, counted, screen
from rindwright.engine.conditions import View
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.reading.nodes import read_yaml


@dataclass(frozen=True)
class Row:
    """One invented set of answers, and what it is there to show."""

    caution: str
    column: str
    answers: Answers
    level: str = ""

    def __str__(self) -> str:
        told = ", ".join(f"{k}={v}" for k, v in self.answers)
        return f"{self.caution} {self.column}: {told}"


@lru_cache(maxsize=1)
def rows(catalog: Catalog) -> tuple[Row, ...]:
    """Every row of the table, checked against what the questions take."""
    read = read_yaml((Path(__file__).parent / "decisions.yaml").read_text(encoding="utf-8"), "decisions.yaml")
    assert not read.faults
    data: Any = read.data
    cheeses = data.pop("cheeses")
    found = []
    for caution, columns in data.items():
        assert set(columns) <= {"fires", "near", "unknown"}, caution
        for column, cases in columns.items():
            for case in cases:
                raw = {**cheeses[case.pop("on")], **case}
                level = raw.pop("level", "")
                found.append(Row(caution, column, answers(catalog, raw), level))
    return tuple(found)


def answers(catalog: Catalog, raw: dict[str, Any]) -> Answers:
    """Answers from words as they stand in a file."""
    given: dict[str, Value] = {name: understand(catalog.questions[name], value) for name, value in raw.items()}
    return Answers.of(given)


def screened_by(diagnoser: Diagnoser, answers: Answers, skipped: frozenset[str] = frozenset()) -> Screen:
    """The safety part of ``Diagnoser.prepare``, without the network: for the tests that need many."""
    answers = counted(diagnoser.catalog, answers, skipped)
    cheese = answers.cheese(diagnoser.catalog)
    chained = diagnoser.chainer.run(answers, cheese)
    return screen(diagnoser.catalog, View(answers, cheese, chained.circumstance, chained.sign))
