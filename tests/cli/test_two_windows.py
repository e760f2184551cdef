"""One look answered in several places at once: what each said stands, whatever the order."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rindwright.cli.ask.look import Look, new, reopen
from rindwright.engine.archive import looks
from rindwright.engine.diagnosis import Diagnoser

QUESTIONS = ("slimy_wet", "tacky", "cracks", "sour", "ammonia", "straw_dry")


@pytest.fixture(autouse=True)
def _day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RINDWRIGHT_NOW", "2026-10-01T09:00")


def windows(path: Path, diagnoser: Diagnoser, number: int) -> list[Look]:
    first = new(path, "one", diagnoser.catalog)
    first.put("family", "washed")
    return [first, *(reopen(path, "one", diagnoser.catalog) for _ in range(number - 1))]


def test_everything_that_was_said_stands(tmp_path: Path, diagnoser: Diagnoser) -> None:
    here, there, third = windows(tmp_path / "archive.db", diagnoser, 3)
    there.words.append("said there")
    there.measured.append("log.csv")
    there.listed_all = there.noticed = True
    there.put("slimy_wet", "clear")
    there.skip("cracks")
    third.put("sour", "slight")
    here.words.append("said here")
    here.skip("tacky")
    here.put("slimy_wet", "no")  # said twice: the later word stands
    for window in (here, there, third):
        assert not window.trouble
    assert here.archive is not None
    assert here.id is not None
    kept = looks.read_given(here.archive, here.id, diagnoser.catalog)
    assert {question: value for question, value, _ in kept.answers} == {
        "family": "washed", "slimy_wet": "no", "sour": "slight",
    }  # fmt: skip
    assert set(kept.words) == {"said here", "said there"}
    assert kept.measured == ("log.csv",)
    assert set(kept.skipped) == {"tacky", "cracks"}
    assert kept.listed_all
    assert kept.noticed


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(st.tuples(st.integers(0, 2), st.sampled_from(QUESTIONS), st.sampled_from(["no", "clear"])), max_size=9))
def test_the_last_word_of_all_stands(
    tmp_path_factory: pytest.TempPathFactory, diagnoser: Diagnoser, said: list[tuple[int, str, str]]
) -> None:
    some = windows(tmp_path_factory.mktemp("windows") / "archive.db", diagnoser, 3)
    last: dict[str, set[str]] = {}
    for window, question, value in said:
        some[window].put(question, value)
        last.setdefault(question, set()).add(value)
    assert some[0].archive is not None
    assert some[0].id is not None
    kept = looks.read_given(some[0].archive, some[0].id, diagnoser.catalog)
    found = {question: value for question, value, _ in kept.answers if question != "family"}
    assert found.keys() == last.keys()
    for question, value in found.items():
        assert value in last[question]
    if said:
        window, question, value = said[-1]
        assert found[question] == value
