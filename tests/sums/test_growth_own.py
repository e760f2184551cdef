"""Rinds whose course of pH nobody has published: the maker's own readings, and the grey wheel's published means."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.growth import grower
from rindwright.engine.sums.growth_courses import COURSES, RINDS, UNKNOWN, course
from rindwright.engine.sums.growth_own import Line, line, rise_on
from rindwright.engine.sums.growth_race import carries, race, rise
from rindwright.engine.sums.growth_strips import STRIP_PH

few = settings(max_examples=60)
LINENS = grower("brevibacterium_linens")


@few
@given(st.floats(0, 10), st.floats(4, 12), st.floats(4.4, 5.2), st.floats(0.12, 0.4), st.integers(2, 6))
def test_readings_on_a_line_give_that_line(first: float, apart: float, ph: float, slope: float, n: int) -> None:
    readings = [(first + apart * k / (n - 1), ph + slope * apart * k / (n - 1)) for k in range(n)]
    found = line("blue", readings)
    assert found.ph_per_day == pytest.approx(slope)
    for day in (first, first + apart / 3, first + apart, first + 2 * apart):
        assert found.ph(day) == pytest.approx(min(9, ph + slope * (day - first)))
        early, likely, late = found.day_of(ph + slope * (day - first))
        assert early <= likely + 1e-9 <= late + 2e-9
        assert likely == pytest.approx(max(0, day))
        if ph + slope * (day - first) > 9:
            continue
        # Where the early and the late curve really pass that pH.
        if early > first:
            assert found.ph(early, which=0) == pytest.approx(ph + slope * (day - first), abs=1e-6)
        if late < found.reaches_day:
            assert found.ph(late, which=2) == pytest.approx(ph + slope * (day - first), abs=1e-6)


@few
@given(st.floats(4, 12), st.floats(0.12, 0.3), st.floats(0.5, 1.5))
def test_more_readings_and_nearer_ones_say_more(apart: float, slope: float, share: float) -> None:
    def on(days: list[float]) -> Line:
        return line("hard", [(d, 5 + slope * d) for d in days])

    def width(found: Line, day: float) -> float:
        early, _, late = found.day_of(5 + slope * day)
        return late - early

    day = share * apart
    assert width(on([0, apart / 2, apart, apart]), day) <= width(on([0, apart]), day) + 1e-9
    assert width(on([0, apart]), apart / 2) <= width(on([0, apart]), day) + 1e-9


def test_by_hand() -> None:
    """pH 4.8 on day 3 and 5.6 on day 9: 0.1333 a day, so 6.0 on day 12; the mean lies at day 6 and pH 5.2."""
    found = line("blue", [(3, 4.8), (9, 5.6)])
    early, likely, late = found.day_of(6.0)
    assert likely == pytest.approx(12)
    for day in (early, late):
        off = STRIP_PH * (1 / 2 + (day - 6) ** 2 / 18) ** 0.5
        assert abs(5.2 + 0.8 / 6 * (day - 6) - 6.0) == pytest.approx(off)
    assert carries(LINENS, found, 11, 0.97).days == (early, likely, late)


@pytest.mark.parametrize("rind", UNKNOWN)
def test_a_rind_without_a_course_says_what_to_give_and_takes_it(rind: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        rise_on(rind, 11, 0.97)
    said = str(refused.value)
    assert "no usual course of the surface pH is known" in said
    assert "--strip 3:4.8 --strip 9:5.6" in said
    assert said.count(". ") == 0
    assert said.endswith(".")
    for one in ([(3.0, 4.8)], [(3.0, 4.8), (3.0, 5.4)]):
        with pytest.raises(OutOfRange, match="two days or more"):
            rise_on(rind, 11, 0.97, readings=one)
    found = rise_on(rind, 11, 0.97, readings=[(3, 4.8), (9, 5.6)])
    assert found.fitted
    assert rise_on(rind, 11, 0.97, start_ph=4.8, readings=[(6, 5.6)]).ph(6) == pytest.approx(5.6)
    run = race([LINENS, grower("debaryomyces_hansenii")], found, 11, 0.97, 20)
    linens = next(r for r in run.racers if r.organism == LINENS.id)
    assert linens.progress[11] == 0 < linens.progress[14]
    assert list(run.ph) == sorted(run.ph)
    assert found.formula in run.formulas


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ([(3, 4.8), (9, 5.0)], "do not show a rise"),
        ([(3, 5.6), (9, 4.8)], "do not show a rise"),
        ([(-1, 4.8), (9, 5.6)], "Age at a reading cannot be -1 days"),
        ([(3, 48), (9, 5.6)], "Surface pH cannot be 48; expected 3.5 to 9"),
    ],
)
def test_readings_that_tell_nothing_are_refused(readings: list[tuple[float, float]], sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        line("hard", readings)
    assert sentence in str(refused.value)


def test_a_line_is_not_drawn_far_beyond_its_readings() -> None:
    found = line("hard", [(3, 4.5), (5, 5.0)])
    assert found.reaches_day == 9
    assert found.day_of(5.9)[1] == pytest.approx(8.6)
    with pytest.raises(OutOfRange, match=r"pH 6\.5 would come about day 11, too far .* expected it by day 9"):
        found.day_of(6.5)


@pytest.mark.parametrize("kind", [c.id for c in COURSES])
def test_known_courses_are_as_before(kind: str) -> None:
    assert rise_on(kind, 11, 0.97) == rise(course(kind), 11, 0.97)
    assert set(RINDS) == {c.id for c in COURSES} | set(UNKNOWN)


def test_a_grey_wheel_passes_the_published_means() -> None:
    """Retureau 2010, table III, 39 wheels: on day 18 mean 6.89, lowest 6.21; on day 28 mean 7.15."""
    found = rise_on("grey_mould", 10, 0.97)
    assert found.ph(18) == pytest.approx(6.89, abs=0.05)
    assert found.ph(28) == pytest.approx(7.15, abs=0.05)
    at_6 = found.day_of(6.0)
    assert at_6 is not None
    # By the day on which every wheel was past 6.2, the late course is past 6.0: late enough, and no later.
    assert at_6[2] == pytest.approx(18)
    assert found.ph(18, which=2) <= 6.21
    assert course("grey_mould").caveat


@few
@given(
    st.sampled_from([c.id for c in COURSES]), st.floats(4, 6.5), st.floats(0, 2), st.floats(4, 20), st.floats(5.2, 7)
)
def test_more_acid_at_the_start_is_never_earlier(kind: str, start: float, more: float, t: float, ph: float) -> None:
    sour, mild = (rise_on(kind, t, 0.97, start_ph=s) for s in (max(4.0, start - more), start))
    later, sooner = sour.day_of(ph), mild.day_of(ph)
    assert later is not None
    assert sooner is not None
    assert all(a >= b - 1e-9 for a, b in zip(later, sooner, strict=True))
    for day in (0, 3, 7, 15, 40):
        assert sour.ph(day) <= mild.ph(day) + 1e-9


def test_the_usual_start_keeps_its_published_days() -> None:
    """7.5 days to pH 6 at 13 °C; from pH 4 the same share of the acid is gone later, by hand 1.30 days."""
    for start, expected in ((None, 7.5), (5.05, 7.5), (4.0, 8.80), (5.9, 3.56)):
        found = rise_on("smear_soft", 13, 0.97, start_ph=start).day_of(6.0)
        assert found is not None
        assert found[1] == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("rind", [*(c.id for c in COURSES), *UNKNOWN])
@pytest.mark.parametrize(
    "readings", [[(6, 5.9), (12, 5.4)], [(3, 5.0), (8, 6.4), (12, 5.6)], [(6, 6.9), (6, 5.0), (9, 7)]]
)
def test_readings_that_fall_are_refused_on_every_rind(rind: str, readings: list[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRange, match="do not show a rise, and two strips on one surface"):
        rise_on(rind, 12, 0.97, readings=readings)
    with pytest.raises(OutOfRange, match=r"pH 5\.9 on day 0 and pH 5 on day 6 do not show a rise"):
        rise_on(COURSES[0].id, 12, 0.97, start_ph=5.9, readings=[(6, 5.0)])


@few
@given(
    st.sampled_from([c.id for c in COURSES]),
    st.lists(st.tuples(st.floats(0, 60), st.floats(4.2, 8)), min_size=1, max_size=4),
    st.floats(5.2, 7),
)
def test_a_rise_never_contradicts_the_readings_it_stands_on(
    kind: str, readings: list[tuple[float, float]], ph: float
) -> None:
    try:
        found = rise_on(kind, 12, 0.97, readings=readings)
        days = found.day_of(ph)
    except OutOfRange:
        return
    if isinstance(found, Line) or days is None:
        return
    for age, read in readings:
        assert found.ph(age, 2) - 0.31 <= min(read, found.ph(1000)) <= found.ph(age, 0) + 0.31
    assert days[0] <= days[1] <= days[2]


def test_readings_off_the_usual_course_are_followed_by_themselves() -> None:
    """Level at pH 5.4 from day 1 to day 30 is no rise; a slow one is a line; on the flat ends few days are told."""
    with pytest.raises(OutOfRange, match="do not show a rise"):
        rise_on("smear_soft", 12, 0.97, readings=[(1, 5.4), (30, 5.4)])
    slow = [(6.0, 5.4), (12.0, 5.8), (20.0, 6.2)]
    assert rise_on("smear_soft", 12, 0.97, readings=slow) == line("smear_soft", slow)
    steep = rise_on("smear_soft", 12, 0.97, readings=[(7, 6.0)]).day_of(6.0)
    flat = rise_on("smear_soft", 12, 0.97, readings=[(0, 5.1), (7, 6.0), (40, 7.6)]).day_of(6.0)
    assert steep is not None
    assert flat is not None
    assert flat[1] == pytest.approx(steep[1], abs=0.2)
    risen = rise_on("smear_soft", 12, 0.97, readings=[(20, 7.5), (30, 7.9)]).day_of(6.0)
    assert risen is not None
    assert risen[1] < 15
    low = rise_on("smear_soft", 12, 0.97, readings=[(6, 4.5)])
    assert low.ph(0) == pytest.approx(4.5, abs=0.05)
