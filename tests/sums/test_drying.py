"""Drying: weighings, the balance at the rind, and the laws both obey."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.sums import drying
from rindwright.engine.sums.drying import Weighing
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.shape import block, wheel

from .published import ROWS

SMALL = wheel(11, 3)


@given(st.floats(2, 25), st.floats(40, 99), st.floats(41, 100), st.floats(0.9, 1), st.sampled_from([2.0, 3.0, 6.0]))
def test_drier_air_takes_more(temperature_c: float, a: float, b: float, activity: float, h_c: float) -> None:
    dry, humid = sorted((a, b))
    at_dry = drying.evaporation(temperature_c, dry, activity, h_c)
    at_humid = drying.evaporation(temperature_c, humid, activity, h_c)
    assert at_dry.flux_g_m2_day >= at_humid.flux_g_m2_day - 1e-6
    assert at_dry.rind_temperature_c <= at_humid.rind_temperature_c + 1e-6


@given(st.floats(2, 25), st.floats(50, 99), st.floats(0.9, 0.99), st.floats(0.9, 0.99))
def test_saltier_rinds_give_off_less(temperature_c: float, humidity: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert (
        drying.evaporation(temperature_c, humidity, low).flux_g_m2_day
        <= drying.evaporation(temperature_c, humidity, high).flux_g_m2_day + 1e-6
    )


def test_still_air_lies_by_the_published_correlation() -> None:
    """Churchill's vertical plate, as ``ht`` 1.2.0 has it: 2.52 W/m²K for an 8 cm side 1 K colder than the air."""
    assert drying.DRAUGHTS["box"] < float(ROWS["h_nat_1K"]["expected"]) < drying.DRAUGHTS["still"]


@given(st.floats(2, 25), st.floats(75, 99))
def test_at_balance_nothing_moves(temperature_c: float, humidity: float) -> None:
    found = drying.evaporation(temperature_c, humidity, humidity / 100)
    assert found.flux_g_m2_day == pytest.approx(0, abs=1e-6)
    assert found.rind_temperature_c == pytest.approx(temperature_c, abs=1e-6)


@given(st.floats(5, 20), st.floats(40, 96))
def test_humidity_for_a_flux_is_the_inverse(temperature_c: float, humidity: float) -> None:
    flux = drying.evaporation(temperature_c, humidity).flux_g_m2_day
    assert drying.humidity_for_flux(flux, temperature_c) == pytest.approx(humidity, abs=1e-3)


def test_no_humidity_gives_an_impossible_flux() -> None:
    assert drying.humidity_for_flux(50_000, 12) is None


def test_cooling_slows_evaporation_by_a_third_or_more() -> None:
    """The balance at the rind cuts the naive flux by 30 to 60 % (worked out with scipy for 12 °C, 92 %)."""
    from psychrolib import SI, GetSatVapPres, SetUnitSystem

    SetUnitSystem(SI)
    naive = drying.transfer_coefficient(3) * (0.98 - 0.92) * GetSatVapPres(12) * 86400 * 1000
    for h_r in (0.0, 5.0):
        cooled = drying.evaporation(12, 92, 0.98, 3, h_r).flux_g_m2_day
        assert 0.3 <= 1 - cooled / naive <= 0.62


# --- weighings ------------------------------------------------------------------------------


@given(st.floats(20, 3000), st.floats(0.5, 30), st.floats(0, 0.1))
def test_flux_times_area_is_the_loss(weight: float, days: float, share: float) -> None:
    later = weight * (1 - share)
    if later < 10:
        return
    found = drying.weighed([Weighing(0, weight), Weighing(days, later)], SMALL)
    loss = found.overall.flux_g_m2_day * found.area_m2 * days
    assert loss == pytest.approx(weight - later, abs=1e-6)


@given(st.permutations([Weighing(0, 620), Weighing(3, 610), Weighing(7, 598), Weighing(9, 592)]), st.floats(-50, 50))
def test_order_and_the_first_day_make_no_difference(weighings: list[Weighing], shift: float) -> None:
    plain = drying.weighed(sorted(weighings, key=lambda w: w.day), wheel(13, 4.5))
    moved = drying.weighed([Weighing(w.day + shift, w.weight_g) for w in weighings], wheel(13, 4.5))
    assert moved.verdict == plain.verdict
    assert moved.trend == plain.trend
    assert moved.overall.flux_g_m2_day == pytest.approx(plain.overall.flux_g_m2_day)


@pytest.mark.parametrize(
    ("weights", "verdict", "trend"),
    [
        ([(0, 620), (3, 608), (7, 590)], "too much", "steady"),
        ([(0, 620), (3, 615), (7, 608)], "usual", "not clear"),
        ([(0, 620), (7, 619)], "too little", "not clear"),
        ([(0, 620), (7, 650)], "gains weight", "not clear"),
        ([(0, 620), (0.5, 619)], "not clear", "not clear"),
        ([(0, 620), (4, 600), (8, 592)], "too much", "falling"),
        ([(0, 620), (4, 612), (8, 592)], "too much", "rising"),
    ],
)
def test_verdicts(weights: list[tuple[float, float]], verdict: str, trend: str) -> None:
    found = drying.weighed([Weighing(*w) for w in weights], wheel(13, 4.5))
    assert (found.verdict, found.trend) == (verdict, trend)


def test_percent_misleads_where_surface_does_not() -> None:
    """The same air on a small and a large wheel: four times the percent, one flux."""
    small, large = wheel(11, 3), wheel(28, 11)
    for shape, kg in ((small, 0.25), (large, 7.0)):
        lost = 50 * shape.area_m2 * 7
        found = drying.weighed([Weighing(0, 1000 * kg), Weighing(7, 1000 * kg - lost)], shape, scale_g=0.1)
        assert found.overall.flux_g_m2_day == pytest.approx(50)
        assert found.verdict == "usual"
    assert (small.area_m2 / 0.25) / (large.area_m2 / 7) == pytest.approx(3.74, abs=0.01)


def test_a_block_has_the_area_of_its_sides() -> None:
    assert block(18, 18, 5).area_cm2 == 2 * 18 * 18 + 4 * 18 * 5


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: drying.weighed([Weighing(0, 600)], SMALL), "at least two on different days"),
        (lambda: drying.weighed([Weighing(0, 600), Weighing(0, 590)], SMALL), "at least two on different days"),
        (lambda: drying.weighed([Weighing(0, 600), Weighing(1, 1)], SMALL), "A weight cannot be 1 g"),
        (lambda: drying.weighed([Weighing(0, 60), Weighing(1, 50)], SMALL, "cheddar"), "expected one of bloomy_drying"),
        (lambda: drying.evaporation(12, 120), "air holds no more"),
        (lambda: drying.evaporation(12, 90, 0.3), "The rind's water activity cannot be 0.3; expected 0.7 to 1"),
        (lambda: drying.evaporation(60, 90), "The temperature cannot be 60 °C"),
    ],
)
def test_refusals(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)
