"""What must hold of growth whatever the figures."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.growth import Surface, cardinal_share, grower, growers, growth, growths, water_share
from rindwright.engine.sums.growth_courses import COURSES, course
from rindwright.engine.sums.growth_ph import slope, slope_mv_per_ph, true_from_meter
from rindwright.engine.sums.growth_race import carries, compare, race, rind_water_activity, rise

few = settings(max_examples=60)
organisms = st.sampled_from(sorted(growers()))
surfaces = st.builds(Surface, st.floats(-2, 45), st.floats(3, 10), st.floats(0.6, 1))


@few
@given(organisms, surfaces)
def test_a_share_is_a_share_and_lies_in_its_span(id: str, surface: Surface) -> None:
    found = growth(grower(id), surface)
    assert 0 <= found.low <= found.share <= found.high <= 1 + 1e-9
    for factor in found.factors:
        assert 0 <= factor.low <= factor.share <= factor.high <= 1 + 1e-9
    assert found.held_by in {f.name for f in found.factors}


@few
@given(organisms, surfaces, st.floats(0, 0.3))
def test_less_water_never_speeds_growth(id: str, surface: Surface, less: float) -> None:
    drier = Surface(surface.temperature_c, surface.ph, max(0.6, surface.water_activity - less))
    assert growth(grower(id), drier).share <= growth(grower(id), surface).share + 1e-12


@few
@given(organisms, st.floats(3, 10), st.floats(0.6, 1), st.floats(-2, 20), st.floats(-2, 20))
def test_below_the_optimum_colder_never_speeds_growth(id: str, ph: float, aw: float, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert growth(grower(id), Surface(cold, ph, aw)).share <= growth(grower(id), Surface(warm, ph, aw)).share + 1e-12


@few
@given(st.floats(-10, 10), st.floats(1, 20), st.floats(0.1, 15), st.sampled_from([1, 2]), st.floats(-20, 60))
def test_the_curve_is_one_at_its_best_and_nought_outside(
    minimum: float, rising: float, falling: float, order: int, x: float
) -> None:
    optimum = minimum + rising
    maximum = optimum + min(falling, 0.9 * rising)
    share = cardinal_share(x, minimum, optimum, maximum, order)
    assert 0 <= share <= 1
    assert cardinal_share(optimum, minimum, optimum, maximum, order) == 1
    if not minimum < x < maximum:
        assert share == 0


@few
@given(st.sampled_from([c.id for c in COURSES]), st.floats(4, 20), st.floats(0.94, 0.99))
def test_a_rise_only_rises_and_early_comes_first(kind: str, t: float, aw: float) -> None:
    found = rise(course(kind), t, aw)
    ph = [found.ph(d / 2) for d in range(80)]
    assert ph == sorted(ph)
    days = found.day_of(6.0)
    assert days is not None
    assert days[0] <= days[1] <= days[2]
    assert found.ph(days[1]) == pytest.approx(6.0, abs=1e-6) or days[1] == 0
    warmer = rise(course(kind), t + 1, aw).day_of(6.0)
    assert warmer is not None
    assert warmer[1] <= days[1] + 1e-9


@few
@given(st.floats(3, 12), st.floats(8, 16))
def test_strips_place_the_rise_where_they_were_read(middle: float, t: float) -> None:
    kind = course("smear_soft")
    truth = rise(kind, t, 0.97, readings=[(middle, kind.start_ph + kind.rise / 2)])
    again = rise(kind, t, 0.97, readings=[(d, truth.ph(d)) for d in (middle - 1, middle + 1.5)])
    assert again.fitted
    assert again.middle_days[1] == pytest.approx(truth.middle_days[1], abs=1e-6)


def test_a_race_goes_on_and_a_smear_waits_for_its_acid() -> None:
    there = [grower(id) for id in ("brevibacterium_linens", "debaryomyces_hansenii", "mucor_racemosus")]
    found = race(there, rise(course("smear_soft"), 12, 0.97), 12, 0.97, 20)
    for one in found.racers:
        assert list(one.progress) == sorted(one.progress)
        assert len(one.progress) == len(found.days) == 21
    linens = next(r for r in found.racers if r.organism == "brevibacterium_linens")
    start = carries(there[0], found.rise, 12, 0.97)
    assert start.days is not None
    assert linens.progress[int(start.days[1])] == 0
    assert linens.progress[-1] > 0


def test_the_same_race_twice_changes_nothing_and_salt_holds_geotrichum_back_most() -> None:
    there = [grower(id) for id in ("geotrichum_candidum", "debaryomyces_hansenii", "penicillium_commune")]
    before = race(there, rise(course("smear_soft"), 12, 0.975), 12, 0.975, 14)
    assert all(g.factor == pytest.approx(1) for g in compare(before, before))
    after = race(there, rise(course("smear_soft"), 12, 0.955), 12, 0.955, 14)
    factors = {g.organism: g.factor for g in compare(before, after)}
    assert factors["geotrichum_candidum"] == min(factors.values(), key=lambda f: f or 0)


@few
@given(st.floats(3, 9), st.floats(0, 40), st.floats(0, 40))
def test_a_meter_is_put_right_again(ph: float, sample: float, set_to: float) -> None:
    shown = 7 + (ph - 7) * (sample + 273.15) / (set_to + 273.15)
    assert true_from_meter(shown, sample, set_to).true_ph == pytest.approx(ph, abs=1e-9)
    assert true_from_meter(ph, sample, sample).true_ph == pytest.approx(ph)
    assert slope_mv_per_ph(sample) <= slope_mv_per_ph(sample + 1)
    assert slope(slope_mv_per_ph(sample), sample).share_pct == pytest.approx(100)


@few
@given(st.floats(0.6, 1), st.floats(60, 100))
def test_a_rind_lies_between_its_salt_and_its_air(aw: float, humidity: float) -> None:
    low, middle, high = rind_water_activity(aw, humidity)
    assert low <= middle <= high
    assert {low, high} == {aw, humidity / 100}
    drier = rind_water_activity(aw, max(60.0, humidity - 3))
    assert all(a <= b for a, b in zip(drier, (low, middle, high), strict=True))


def test_growers_are_found_by_name_and_put_in_order() -> None:
    assert grower("Geotrichum").id == "geotrichum_candidum"
    assert grower("penicillium commune and kin").id == "penicillium_commune"
    found = growths(growers().values(), Surface(12, 6, 0.97))
    assert [g.share for g in found] == sorted((g.share for g in found), reverse=True)
    assert len(found) == len(growers())


@pytest.mark.parametrize(
    ("refused", "sentence"),
    [
        (
            lambda: growth(grower("geotrichum"), Surface(60, 6, 0.97)),
            "Temperature cannot be 60 °C; expected -2 to 45 °C",
        ),
        (lambda: growth(grower("geotrichum"), Surface(12, 2, 0.97)), "Surface pH cannot be 2; expected 3 to 10"),
        (lambda: growth(grower("geotrichum"), Surface(12, 6, 97)), "Water activity cannot be 97; expected 0.6 to 1"),
        (lambda: grower("geotrichm_candidum"), 'did you mean "geotrichum_candidum"?'),
        (lambda: grower("mucor"), "may be Mucor racemosus, Mucor lanceolatus or Mucor plumbeus"),
        (lambda: grower(""), "No growth figures are known"),
        (lambda: cardinal_share(5, 10, 5, 20, 2), "expected this order"),
        (lambda: cardinal_share(9, 8, 20, 37, 2), "cannot lie nearer the minimum"),
        (lambda: water_share(0.9, 1), "Lowest water activity cannot be 1"),
        (lambda: carries(grower("listeria"), rise(course("bloomy"), 12, 0.97), 12, 0.97), "is given no days"),
        (lambda: race([grower("escherichia")], rise(course("bloomy"), 12, 0.97), 12, 0.97), "is given no days"),
        (lambda: course("smeer_soft"), 'did you mean "smear_soft"?'),
        (lambda: rise(course("smear_soft"), 12, 0.80), "does not grow there by the figures at hand"),
        (lambda: rise(course("smear_soft"), 12, 0.97, readings=[(-1, 6)]), "Age at a reading cannot be -1 days"),
        (lambda: rise(course("smear_soft"), 12, 0.97, start_ph=9), "Surface pH after salting cannot be 9"),
        (lambda: race([], rise(course("bloomy"), 12, 0.97), 12, 0.97, 500), "Last day cannot be 500 days"),
        (
            lambda: carries(grower("mucor_plumbeus"), rise(course("bloomy"), 12, 0.97), 12, 0.97),
            "No lowest pH is known",
        ),
    ],
)
def test_refusals_name_the_range_and_the_reason(refused: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as problem:
        refused()  # type: ignore[operator]
    assert sentence in str(problem.value)
