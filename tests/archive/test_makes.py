"""Makes and wheels: what carries over, what is asked again, and the course of a wheel."""

from __future__ import annotations

import pytest
from rindwright.cli.context import console
from rindwright.cli.past.timeline import draw
from rindwright.cli.pen import Pen
from rindwright.engine.answers import Answers, Value
from rindwright.engine.archive import looks, makes
from rindwright.engine.archive.course import course
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.makes import Fact, Wheel
from rindwright.engine.archive.store import Archive
from rindwright.engine.archive.weighed import weighed_of
from rindwright.engine.cautions import rests_on
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.errors import FileProblem
from rindwright.engine.gates import screened

AT = "2026-09-01T09:00:00"


@pytest.fixture
def wheel(archive: Archive) -> Wheel:
    make_id = makes.open_make(archive, "spring", AT, ("a", "b"))
    makes.change_make(
        archive, make_id, AT,
        columns={"family": "washed", "style": "small_soft", "made_on": "2026-09-01", "salting_ended_on": "2026-09-03"},
        facts=[Fact("milk_heat", "raw", "2026-09-01")],
    )  # fmt: skip
    return makes.find_wheel(archive, "spring/a")


def look(archive: Archive, diagnoser: Diagnoser, wheel_id: int, day: str, given: dict[str, Value]) -> int:
    at = f"{day}T10:00:00"
    look_id, _ = looks.begin(archive, None, day, at, wheel_id)
    looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in given.items())), at)
    body = weighed_of(diagnoser.diagnose(Answers.of(given)), "washed", "small_soft", None)
    looks.finish(archive, look_id, body, "2027-01-01", at)
    return look_id


def test_only_what_lasts_carries_over(archive: Archive, wheel: Wheel, diagnoser: Diagnoser) -> None:
    said: dict[str, Value] = {
        "slimy_wet": "clear", "wash_interval_days": 2.0, "humidity_pct": 95.0, "someone_ill": "no",
        "cultures": ("geotrichum",), "drip_dry_hours": "unknown",
    }  # fmt: skip
    look(archive, diagnoser, wheel.id, "2026-09-10", said)
    carried = {f.question: f for f in makes.carried(archive, diagnoser.catalog, wheel, "2026-09-20")}
    assert carried["wash_interval_days"] == Fact("wash_interval_days", 2.0, "2026-09-10")
    assert carried["cultures"].value == ("geotrichum",)
    assert carried["milk_heat"] == Fact("milk_heat", "raw", "2026-09-01")
    assert carried["age_days"].value == 17.0
    assert carried["style"].value == "small_soft"
    for name in ("slimy_wet", "humidity_pct", "someone_ill", "drip_dry_hours"):
        assert name not in carried


def test_no_caution_ever_rests_on_an_old_answer(diagnoser: Diagnoser) -> None:
    kept = makes.lasting(diagnoser.catalog)
    assert not (set(screened(diagnoser.catalog)) - {"milk_heat"}) & kept
    for caution in diagnoser.catalog.cautions.values():
        if caution.level != "note":
            assert not set(rests_on(diagnoser.catalog, caution.when)) & kept - {"milk_heat", "family", "style"}


def test_own_words_stand_above_the_make_and_its_sisters(archive: Archive, wheel: Wheel, diagnoser: Diagnoser) -> None:
    sister = makes.find_wheel(archive, "spring/b")
    look(archive, diagnoser, sister.id, "2026-09-10", {"wash_interval_days": 3.0, "wash_water": "tap_chlorinated"})
    look(archive, diagnoser, wheel.id, "2026-09-08", {"wash_interval_days": 2.0})
    own = {f.question: f.value for f in makes.carried(archive, diagnoser.catalog, wheel, "2026-09-20")}
    assert own["wash_interval_days"] == 2.0
    later = {f.question: f.value for f in makes.carried(archive, diagnoser.catalog, sister, "2026-09-09")}
    assert later["wash_interval_days"] == 2.0  # its own look lies in the future of that day


def test_the_date_stays_that_of_the_first_word(archive: Archive, wheel: Wheel, diagnoser: Diagnoser) -> None:
    look(archive, diagnoser, wheel.id, "2026-09-10", {"wash_interval_days": 2.0})
    day = "2026-09-15"
    look_id, _ = looks.begin(archive, None, day, AT, wheel.id)
    looks.save(archive, look_id, Given((("wash_interval_days", 2.0, "2026-09-10"),)), AT)
    carried = {f.question: f for f in makes.carried(archive, diagnoser.catalog, wheel, "2026-09-20")}
    assert carried["wash_interval_days"].on_date == "2026-09-10"


def test_names_of_makes_and_wheels(archive: Archive, wheel: Wheel) -> None:
    assert makes.find_wheel(archive, "SPRING/A").id == wheel.id
    with pytest.raises(FileProblem, match="more than one"):
        makes.find_wheel(archive, "spring")
    with pytest.raises(FileProblem, match='did you mean "spring"'):
        makes.find_make(archive, "sprng")
    with pytest.raises(FileProblem, match="already"):
        makes.open_make(archive, "Spring", AT)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("humidity_pct", "question=answer"),
        ("humidty_pct=9", "humidity_pct"),
        ("humidity_pct=950", "cannot be 950"),
        ("=", "question=answer"),
    ],
)
def test_facts_as_typed(diagnoser: Diagnoser, text: str, sentence: str) -> None:
    with pytest.raises(FileProblem, match=sentence):
        makes.fact_of(diagnoser.catalog, text, "2026-09-01")


def test_the_course_of_a_wheel(archive: Archive, wheel: Wheel, diagnoser: Diagnoser) -> None:
    first = look(
        archive, diagnoser, wheel.id, "2026-09-10",
        {
            "family": "washed", "style": "small_soft", "age_days": 7.0, "slimy_wet": "clear", "never_dries": "yes",
            "lid_drops": "clear", "weight_g": 600.0, "cracks": "no", "wash_interval_days": 2.0,
        },
    )  # fmt: skip
    again: dict[str, Value] = {"family": "washed", "style": "small_soft", "age_days": 17.0, "wash_interval_days": 4.0}
    again |= {"weight_g": 560.0, "slimy_wet": "no", "never_dries": "yes", "lid_drops": "clear", "pooled": "clear"}
    look(archive, diagnoser, wheel.id, "2026-09-20", again)
    looks.add_deeds(archive, first, "2026-09-11", [("aired it", "air")], AT)
    found = course(archive, diagnoser.catalog, wheel.id)
    assert [r.looked_on for r in found.looks] == ["2026-09-10", "2026-09-20"]
    assert [(r.question.id, r.values) for r in found.signs] == [
        ("slimy_wet", ("clear", "no")),
        ("lid_drops", ("clear", "clear")),
        ("pooled", (None, "clear")),
        ("never_dries", ("yes", "yes")),
    ]
    assert [(r.question.id, r.values) for r in found.figures] == [("weight_g", (600.0, 560.0))]
    assert [r.question.id for r in found.care] == ["wash_interval_days"]
    assert [e.text for e in found.events] == ["aired it", "looked again: see look 2026-09-20-1"]
    assert [r.due_on for r in found.looks] == [None, "2027-01-01"]  # the second look closed the first's follow-up


def test_a_colour_is_seen_and_not_made_and_rows_keep_their_places(
    archive: Archive, wheel: Wheel, diagnoser: Diagnoser, capsys: pytest.CaptureFixture[str]
) -> None:
    given: dict[str, Value] = {"family": "washed", "style": "small_soft", "weight_g": 600.0, "tint": "none"}
    look(archive, diagnoser, wheel.id, "2026-09-10", given | {"age_days": 7.0, "wash_interval_days": 2.0})
    look(archive, diagnoser, wheel.id, "2026-09-14", given | {"weight_g": 580.0, "tint": "coloured"})  # of no known age
    last = given | {"age_days": 17.0, "weight_g": 560.0, "tint": "coloured", "wash_interval_days": 4.0}
    look(archive, diagnoser, wheel.id, "2026-09-20", last)
    found = course(archive, diagnoser.catalog, wheel.id)
    assert [r.question.id for r in found.seen] == ["tint"]
    assert [r.question.id for r in found.care] == ["wash_interval_days"]
    for width in (40, 80):
        draw(Pen(console(True), width), diagnoser.catalog, found)
        text = capsys.readouterr().out
        told = " ".join(text.split())
        seen, made = told.index("What else changed on the cheese"), told.index("What changed in its care and making")
        assert seen < told.index("none, still white or ivory") < made < told.index("(look 3)", made)
        rows = [line for line in text.splitlines() if line.endswith("#") and " g " in line]
        assert len(rows) == 3
        assert len({(line.index("#"), line.index(" g ")) for line in rows}) == 1
        assert max(len(line) for line in rows) <= width
