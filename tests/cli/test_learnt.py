"""What was learnt, in the report and for machines: beside the cited value, with the number of confirmed looks."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from rindwright.cli.context import console
from rindwright.cli.pen import Pen
from rindwright.engine.archive import looks
from rindwright.engine.archive.learn import Learnt
from rindwright.engine.archive.learnt import NOTHING, beside, standing, take
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.rates import Count
from rindwright.engine.archive.store import open_archive
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.local import Local
from rindwright.engine.reading.answers_file import read_answers

from ..archive.faults import AT, weighed
from .conftest import Program
from .test_json import shape

ANSWERS = "{family: washed, style: small_soft, age_days: 20, slimy_wet: clear, never_dries: yes}"


@pytest.fixture
def lesson(diagnoser: Diagnoser, tmp_path: Path) -> Path:
    """A home whose archive holds a lesson from 40 looks: a base rate, a link, and a rate on sound rinds."""
    links = diagnoser.catalog.causes["box_too_wet"].signs
    place = next(k for k, link in enumerate(links) if link.sign == "slimy_wet")
    local = Local({"box_too_wet": 1.0}, {("box_too_wet", "slimy_wet", place): 0.61}, {("slimy_wet", 0): 0.11})
    counts = {
        "base box_too_wet": Count(9, 4), f"link box_too_wet slimy_wet {place}": Count(5, 9),
        "leak slimy_wet 0": Count(3, 30),
    }  # fmt: skip
    (tmp_path / "home").mkdir()
    with open_archive(tmp_path / "home" / "archive.db") as archive:
        take(archive, diagnoser.catalog, Learnt(local, counts, 40, 40, 2.0, 1.5, 0.1, 20), "2026-10-01T09:00:00")
    return tmp_path / "home"


def test_the_report_shows_both_values_beside_the_cause(program: Program, lesson: Path) -> None:
    text = " ".join(program("weigh", "-", typed=ANSWERS).stdout.split())
    listed = text[text.index("What in the process may have done it") :]
    assert 'Cited "common" (2.8%); with your 40 confirmed looks 7.3%.' in listed
    assert listed.count("confirmed looks") == 2  # the one cause, and the line at the end
    assert 'learnt: cited "usually" (' in listed
    assert "with yours 61.0%" in listed
    assert "learnt of sound rinds: cited" in listed
    assert "with yours 11.0%" in listed
    asked = program("ask", "--fact", "family=washed", "--fact", "style=small_soft", "--fact", "age_days=20",
                    typed="slimy, and it stays wet\nall\n1\nenough\n").stdout  # fmt: skip
    assert "with your 40 confirmed looks" in " ".join(asked.split())


def test_machines_get_the_same(program: Program, lesson: Path) -> None:
    d = json.loads(program("weigh", "-", "--json", typed=ANSWERS).stdout)
    jsonschema.validate(d, shape("diagnosis"))
    assert d["learnt"] == {"looks": 40, "since": "2026-10-01"}
    mine = next(c for c in d["causes"] if c["id"] == "box_too_wet")
    assert mine["learnt"] == {"cited_word": "common", "cited": 0.028, "local": 0.072618, "seen": 9, "of": 4}
    reason = next(r for r in mine["reasons"]["for"] if r["by"] == "slimy_wet")
    assert reason["learnt"]["link"]["local"] == 0.61
    assert reason["learnt"]["sound_rind"]["local"] == 0.11
    other = next(c for c in d["causes"] if c["id"] != "box_too_wet")
    assert other["learnt"] is None
    beside_it = [r for r in other["reasons"]["for"] if r["by"] == "slimy_wet"]
    assert all(r["learnt"]["link"] is None and r["learnt"]["sound_rind"] for r in beside_it)
    alone = json.loads(program("weigh", "-", "--json", typed=ANSWERS, RINDWRIGHT_ARCHIVE="none.db").stdout)
    assert alone["learnt"] is None
    assert {c["learnt"] for c in alone["causes"]} == {None}


def test_only_what_counts_for_this_cheese_is_shown(lesson: Path, diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    with open_archive(lesson / "archive.db") as archive:
        found = standing(archive, catalog)
    assert found is not None
    answers = read_answers(catalog, ANSWERS, "answers")
    own = beside(found, catalog, answers, diagnoser.chainer.run(answers))
    assert set(own.base) == {"box_too_wet"}
    assert set(own.links) == {("box_too_wet", "slimy_wet")}
    elsewhere = tuple(replace(c, sign="slimy_wet 9") if c.kind == "link" else c for c in found.corrections)
    other = beside(replace(found, corrections=elsewhere), catalog, answers, diagnoser.chainer.run(answers))
    assert not other.links
    assert not beside(NOTHING, catalog, answers, diagnoser.chainer.run(answers)).base


def confirm(home: Path, outcomes: list[list[str]]) -> None:
    """A home whose archive holds a look for each outcome, everything else excluded."""
    home.mkdir()
    with open_archive(home / "archive.db") as archive:
        for number, causes in enumerate(outcomes):
            look_id, _ = looks.begin(archive, f"look {number}", "2026-10-01", AT)
            frame = (("family", "washed", None), ("style", "small_soft", None), ("age_days", 20.0, None))
            looks.save(archive, look_id, Given(frame), AT)
            looks.finish(archive, look_id, weighed(), None, AT)
            looks.add_outcome(archive, look_id, "2026-10-05", causes, "lens", True, "not tasted", AT)


def test_what_would_change_is_told_before_it_does(program: Program, tmp_path: Path) -> None:
    confirm(tmp_path / "home", [["box_too_wet", "stale_air", "too_warm"]] * 20)
    text = " ".join(program("learn").stdout.split())
    assert text.startswith("In force: the cited knowledge alone.")
    assert "20 confirmed looks, 20 of them with everything else excluded." in text
    assert 'Box too wet: cited "common" (2.8%), with yours ' in text
    assert "confirmed 20.0 times where 0." in text
    assert "All causes together were confirmed " in text
    assert "tell this from luck" not in text
    assert "Nothing is changed yet." in text
    assert program("learn").stdout == program("learn").stdout
    assert "Taken." in program("learn", "--take").stdout
    assert "In force since" in program("learn").stdout
    assert "Taken back" in program("learn", "--reset").stdout


def test_a_lesson_that_may_be_luck_says_so(diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str]) -> None:
    from rindwright.cli.past.learn import propose

    lesson = Learnt(Local({"box_too_wet": 0.5}), {"base box_too_wet": Count(9, 4)}, 12, 12, 2.0, 1.95, 0.1, 6)
    luck = "So few looks cannot tell this from luck"
    every = "All causes together were confirmed 9.0 times where 4.0 were expected"
    for found, told in ((lesson, (True, True)), (replace(lesson, error=0.04), (False, True))):
        propose(Pen(console(True), 200), diagnoser.catalog, found)
        text = capsys.readouterr().out
        assert (luck in text, every in text) == told
    propose(Pen(console(True), 200), diagnoser.catalog, replace(lesson, counts={"base box_too_wet": Count(4.2, 4)}))
    assert "All causes together" not in capsys.readouterr().out
