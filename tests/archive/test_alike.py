"""Alike, compare and repeat: what is like what, what made the difference, and what to do again."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.archive import alike as alike_room
from rindwright.engine.archive import looks, makes
from rindwright.engine.archive.alike import Case, alike, beside_the_point, marks_of_look
from rindwright.engine.archive.compare import compare, posteriors
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.makes import Fact
from rindwright.engine.archive.repeat import repeat, same, turned_out_well
from rindwright.engine.archive.store import Archive
from rindwright.engine.archive.weighed import weighed_of
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.pages.investigations import read_investigation
from rindwright.engine.reading.answers_file import read_answers

from .stock import random_answers, stock
from .test_makes import AT, look


def slow_likeness(archive: Archive, marks: frozenset[str], other: frozenset[str], pool: list[frozenset[str]]) -> float:
    """The same likeness written out for one pair, without columns."""

    def weight(mark: str) -> float:
        seen = sum(mark in one for one in pool)
        return alike_room.KIND_WEIGHT[mark.split(" ")[0]] * math.log1p((len(pool) + 1) / (seen + 1))

    def opposite(mark: str) -> str:
        kind, _, name = mark.partition(" ")
        return {"sign": f"no {name}", "no": f"sign {name}"}.get(kind, "")

    gain = sum(weight(m) ** 2 for m in marks & other)
    gain -= sum(alike_room.CONTRARY * max(weight(m), weight(opposite(m))) ** 2 for m in marks if opposite(m) in other)
    norm = math.sqrt(sum(weight(m) ** 2 for m in marks)) * math.sqrt(sum(weight(m) ** 2 for m in other))
    return gain / norm if norm else 0.0


def test_columns_give_the_likeness_of_pairs(archive: Archive, diagnoser: Diagnoser) -> None:
    stock(archive, diagnoser, 16, 3, learnt=False)
    ids = [row[0] for row in archive.db.execute("SELECT look_id FROM mark ORDER BY look_id")]
    marks = {id: marks_of_look(archive, id) for id in ids}
    case = Case("a case", frozenset({"sign slimy_wet", "family washed"}), (), (), "", "")
    pool = [*marks.values(), case.marks]
    found = alike(archive, marks[ids[0]], (case,), leave=ids[0], most=100)
    assert found
    assert [f.likeness for f in found] == sorted((f.likeness for f in found), reverse=True)
    for one in found:
        theirs = one.case.marks if one.case else marks[one.look_id or 0]
        assert one.likeness == pytest.approx(slow_likeness(archive, marks[ids[0]], theirs, pool), abs=1e-9)
        assert set(one.shared) == marks[ids[0]] & theirs
    assert ids[0] not in {f.look_id for f in found}


def test_a_look_is_most_like_its_double(archive: Archive, diagnoser: Diagnoser) -> None:
    rng = random.Random(9)
    for _ in range(12):
        given = random_answers(diagnoser, rng)
        for _ in range(2):
            look_id, _ = looks.begin(archive, None, "2026-10-01", AT)
            looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in given.items())), AT)
            body = weighed_of(diagnoser.diagnose(Answers.of(given)), "washed", str(given["style"]), None)
            looks.finish(archive, look_id, body, None, AT)
    for look_id in range(1, 24, 2):
        found = alike(archive, marks_of_look(archive, look_id), leave=look_id, most=1)
        assert found[0].look_id == look_id + 1
        assert found[0].likeness == pytest.approx(1.0)


def test_nothing_is_like_nothing(archive: Archive) -> None:
    assert alike(archive, frozenset()) == []
    assert alike(archive, frozenset({"sign cracks"})) == []


def test_compare_says_what_moved_the_ranking(diagnoser: Diagnoser) -> None:
    frame: dict[str, Value] = {"family": "washed", "style": "small_soft", "age_days": 20.0}
    before = Answers.of(frame)
    after = Answers.of({**frame, "slimy_wet": "clear", "for_sale": "own"})
    found = compare(diagnoser, before, after)
    assert [d.question for d in found.differences] == ["slimy_wet", "for_sale"]
    assert not found.differences[1].moved
    for cause, was, now in found.causes:
        assert was == pytest.approx(posteriors(diagnoser, before)[cause])
        assert now == pytest.approx(posteriors(diagnoser, after)[cause])
        # With one telling difference, its part is the whole change.
        part = dict(found.differences[0].moved).get(cause)
        if part is not None:
            assert was is not None
            assert now is not None
            assert part == pytest.approx(math.log(now / (1 - now)) - math.log(was / (1 - was)), abs=1e-6)
    assert compare(diagnoser, after, after).differences == ()


def test_repeat_puts_what_matters_first(archive: Archive, diagnoser: Diagnoser) -> None:
    ends = {"lucky": ("nothing", {"box_lid": "ajar", "box_fill": "third", "for_sale": "own", "light": "dim"})}
    ends |= {
        f"plain {k}": ("fault", {"box_lid": "sealed", "box_fill": "full", "for_sale": "sold", "light": "dark"})
        for k in range(4)
    }
    catalog = diagnoser.catalog
    for name, (end, conditions) in ends.items():
        make_id = makes.open_make(archive, name, AT, ("1",))
        makes.change_make(
            archive, make_id, AT, columns={"family": "washed", "style": "small_soft"},
            planned=[Fact("humidity_pct", 90.0, "2026-09-01")],
        )  # fmt: skip
        fits = {q: v for q, v in conditions.items() if v in {o.id for o in catalog.questions[q].options}}
        wheel = makes.find_wheel(archive, name)
        given: dict[str, Value] = {"family": "washed", "style": "small_soft", "age_days": 20.0, **fits}
        given["humidity_pct"] = 91.0
        look_id = look(archive, diagnoser, wheel.id, "2026-09-20", given)
        causes = [] if end == "nothing" else ["box_too_wet"]
        looks.add_outcome(archive, look_id, "2026-09-30", causes, "own view", True, "not tasted", AT)
    wheel = makes.find_wheel(archive, "lucky")
    assert turned_out_well(archive, wheel.id) is True
    assert turned_out_well(archive, makes.find_wheel(archive, "plain 1").id) is False
    found = repeat(archive, diagnoser, wheel)
    assert found
    assert "humidity_pct" not in {d.question for d in found}  # as near to the plan as a meter reads
    assert [d.weight for d in found] == sorted((d.weight for d in found), reverse=True)
    assert found[0].question in ("box_lid", "box_fill")
    assert found[0].by_knowledge > 0
    assert all(d.by_outcomes > 0 and d.outcomes == 5 for d in found)


def test_one_lucky_wheel_is_no_ground_for_its_own_luck(archive: Archive, diagnoser: Diagnoser) -> None:
    make_id = makes.open_make(archive, "only", AT, ("1",))
    makes.change_make(
        archive, make_id, AT, columns={"family": "washed", "style": "small_soft"},
        planned=[Fact("box_fill", "third", "2026-09-01"), Fact("box_lid", "sealed", "2026-09-01")],
    )  # fmt: skip
    wheel = makes.find_wheel(archive, "only")
    given: dict[str, Value] = {"family": "washed", "style": "small_soft", "box_fill": "full", "box_lid": "vented"}
    look_id = look(archive, diagnoser, wheel.id, "2026-09-20", given)
    looks.add_outcome(archive, look_id, "2026-09-30", [], "own view", True, "good", AT)
    found = {d.question: d for d in repeat(archive, diagnoser, wheel)}
    assert all(d.by_outcomes == 0 and d.outcomes == 0 for d in found.values())
    assert found["box_lid"].weight > 0 > found["box_fill"].weight


def test_numbers_nearly_the_same_are_the_same() -> None:
    assert same(90.0, 93.0)
    assert not same(90.0, 80.0)
    assert same("a", "a")
    assert not same(("a",), ("a", "b"))


def test_published_cases_are_in_the_pool(diagnoser: Diagnoser) -> None:
    from rindwright.cli.past.alike import published

    found = published(diagnoser.catalog)
    files = sorted((Path(__file__).parents[2] / "cases" / "published").glob("*.yaml"))
    assert len(found) == len(files) >= 5
    assert all(case.marks and case.sources and case.story for case in found)
    for case, path in zip(found, files, strict=True):
        told = read_investigation(path)
        assert case.causes == told.established  # what the investigators found, not what the program says
        answers = read_answers(diagnoser.catalog, told.text, path.name)
        settled = diagnoser.chainer.run(answers).settled.items()
        assert {m for m in case.marks if m.split()[0] in ("sign", "no", "holds")} == {
            f"{'sign' if so else 'no'} {name[5:]}" for name, so in settled if name.startswith("sign ")
        } | {f"holds {name[13:]}" for name, so in settled if so and name.startswith("circumstance ")}
    assert sum(bool(case.causes) for case in found) > len(found) // 2


def test_two_cheeses_of_a_kind_are_not_alike_by_that(archive: Archive) -> None:
    frame = {"family washed", "style small_soft", "week 3"}
    case = Case("Invented", frozenset({*frame, "sign cracks"}), (), (), "", "")
    assert alike(archive, frozenset({*frame, "sign slimy_wet"}), (case,)) == []
    found = alike(archive, frozenset({*frame, "sign cracks"}), (case,))
    assert [one.case for one in found] == [case]
    assert found[0].likeness == pytest.approx(1)


def test_what_bears_on_no_cause_makes_nothing_alike(archive: Archive, diagnoser: Diagnoser) -> None:
    stock(archive, diagnoser, 12, 4, learnt=False)
    aside = beside_the_point(diagnoser.catalog)
    assert "no someone_ill" in aside or "no grubs" in aside
    assert not aside & {f"sign {link.sign}" for c in diagnoser.catalog.causes.values() for link in c.signs}
    first = archive.db.execute("SELECT min(look_id) FROM mark").fetchone()[0]
    marks = marks_of_look(archive, first)
    plain, found = (alike(archive, marks, leave=first, most=50, aside=a) for a in (frozenset[str](), aside))
    assert any(set(one.shared) & aside for one in plain)
    assert not any((set(one.shared) | set(one.contrary)) & aside for one in found)
    double = alike(archive, marks, most=1, aside=aside)
    assert double[0].look_id == first
    assert double[0].likeness == pytest.approx(1.0)
