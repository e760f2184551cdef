"""Counts in sentences: one of a thing, and several."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from rindwright.cli.past import looks, repeat
from rindwright.cli.rules import trial
from rindwright.engine.house.trying import Tally


class Lines:
    """Keeps what is printed."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def line(self, text: str) -> None:
        """Keep one line."""
        self.said.append(text)


@pytest.mark.parametrize(
    ("tally", "said"),
    [
        (
            Tally(1, 1, 0, 1, 0.011),
            "Of 1 look: 1 verdict, 0 first causes and the advice of 1 look would change. "
            "The furthest any cause moves: 1 point of a hundred.",
        ),
        (
            Tally(3, 0, 1, 2, 0.2),
            "Of 3 looks: 0 verdicts, 1 first cause and the advice of 2 looks would change. "
            "The furthest any cause moves: 20 points of a hundred.",
        ),
    ],
)
def test_what_a_trial_changes(monkeypatch: pytest.MonkeyPatch, tally: Tally, said: str) -> None:
    monkeypatch.setattr("rindwright.engine.house.trying.tally", lambda _: tally)
    pen: Any = Lines()
    trial.summary(pen, [])
    assert pen.said == [said]


@pytest.mark.parametrize(
    ("outcomes", "moves", "said"),
    [
        (3, 0.5, "Your own 3 outcomes speak for it."),
        (1, 0.5, "Your own 1 outcome speaks for it."),
        (3, -0.5, "Your own 3 outcomes speak against it."),
    ],
)
def test_what_own_outcomes_say(outcomes: int, moves: float, said: str) -> None:
    deviation: Any = SimpleNamespace(by_knowledge=0.0, by_outcomes=moves, outcomes=outcomes)
    assert repeat._why(deviation) == said


def test_answers_to_questions_that_changed() -> None:
    assert looks._outdated(1) == "1 answer is to a question that is"
    assert looks._outdated(2) == "2 answers are to questions that are"
