"""What must hold of air whatever the figures: directions, limits, units, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.sums import air, air_changes, air_gases, air_salts, air_wheel
from rindwright.engine.sums.ground import OutOfRange

temperatures = st.floats(0, 40)
humidities = st.floats(1, 100)
few = settings(max_examples=60)


@few
@given(temperatures, humidities, humidities)
def test_drier_air_has_a_lower_dew_point_and_less_water(t: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    dry, moist = air.air_state(t, low), air.air_state(t, high)
    assert dry.dew_point_c <= moist.dew_point_c
    assert dry.absolute_humidity_g_per_m3 <= moist.absolute_humidity_g_per_m3
    assert dry.wet_bulb_c <= moist.wet_bulb_c + 1e-9
    assert dry.deficit_pa >= moist.deficit_pa


@few
@given(temperatures, temperatures, humidities)
def test_colder_air_never_has_a_higher_dew_point(one: float, other: float, h: float) -> None:
    cold, warm = sorted((one, other))
    assert air.dew_point_c(cold, h) <= air.dew_point_c(warm, h) + 1e-9


@few
@given(temperatures, humidities)
def test_dew_point_and_wet_bulb_lie_below_the_air(t: float, h: float) -> None:
    state = air.air_state(t, h)
    assert state.dew_point_c <= t + 1e-9
    assert state.dew_point_c <= state.wet_bulb_c + 0.01 or state.wet_bulb_c < 0.02
    assert state.wet_bulb_c <= t + 1e-9


@few
@given(temperatures, humidities)
def test_there_and_back(t: float, h: float) -> None:
    swung = air_changes.swing(t, h, 40.0)
    assert (
        air_changes.swing(40.0, max(1.0, swung.humidity_pct), t).humidity_pct == pytest.approx(h, rel=1e-6)
        or swung.humidity_pct < 1
    )


@few
@given(temperatures, humidities, temperatures)
def test_a_swing_keeps_the_water_or_drops_it(t: float, h: float, to: float) -> None:
    swung = air_changes.swing(t, h, to)
    assert swung.condensed_g_per_m3 == 0 or swung.unclipped_pct > 100
    assert swung.humidity_pct == min(100.0, swung.unclipped_pct)
    assert swung.dew_point_c == pytest.approx(air.dew_point_c(t, h), abs=1e-6)
    if to >= t:
        assert swung.humidity_pct <= h + 1e-9


@few
@given(temperatures, humidities, temperatures, humidities, st.floats(0.01, 100), st.floats(0.01, 100))
def test_mixed_air_lies_between(t1: float, h1: float, t2: float, h2: float, a: float, b: float) -> None:
    mixed = air_changes.mix([(a, t1, h1), (b, t2, h2)])
    assert min(t1, t2) - 0.1 <= mixed.temperature_c <= max(t1, t2) + 0.1
    again = air_changes.mix([(b, t2, h2), (a, t1, h1)])
    assert again.temperature_c == pytest.approx(mixed.temperature_c, abs=1e-9)
    assert air_changes.mix([(a, t1, h1)]).humidity_pct == pytest.approx(h1, rel=1e-6)


@few
@given(temperatures, humidities, temperatures, humidities)
def test_opening_nothing_changes_nothing(t: float, h: float, outside: float, outside_pct: float) -> None:
    closed = air_changes.opening(t, h, outside, outside_pct, 0, 1)
    assert closed.temperature_c == pytest.approx(t, abs=1e-6)
    assert closed.humidity_pct == pytest.approx(h, rel=1e-6)
    assert closed.water_g == 0
    wide = air_changes.opening(t, h, outside, outside_pct, 100, 1)
    assert wide.temperature_c == pytest.approx(outside, abs=1e-6)


@few
@given(st.floats(-5, 40), temperatures, humidities, st.floats(0.1, 48))
def test_a_wheel_sweats_only_below_the_dew_point(wheel: float, t: float, h: float, tau: float) -> None:
    found = air_wheel.sweat(wheel, t, h, tau)
    assert found.sweats == (wheel < found.dew_point_c)
    assert not air_wheel.sweat(max(-5.0, min(40.0, found.safe_start_c + 1e-6)), t, h, tau).sweats
    if found.sweats and found.wet_hours is not None:
        surface = t + (wheel - t) * math.exp(-found.wet_hours / tau)
        assert surface == pytest.approx(found.dew_point_c, abs=1e-6)
    if found.wet_hours is None:
        assert h > 99.9


def test_a_wheel_in_saturated_air_stays_wet() -> None:
    assert air_wheel.sweat(4, 12, 100, 4).wet_hours is None


@few
@given(st.floats(0.1, 40), st.floats(0.1, 40))
def test_heavier_wheels_warm_slower(one: float, other: float) -> None:
    light, heavy = sorted((one, other))
    assert air_wheel.usual_time_constant_h(light) <= air_wheel.usual_time_constant_h(heavy)


@few
@given(st.floats(5, 25), st.sampled_from(sorted(air_salts.NAMES)), st.floats(0.1, 5000), st.floats(0.1, 5000))
def test_a_jar_holds_the_box_between_itself_and_the_cheese(t: float, salt: str, cheese: float, jar: float) -> None:
    found = air_wheel.jar_in_box(salt, t, 20, 90, cheese, jar, 0.97)
    low, high = sorted((97.0, found.jar_alone_pct))
    assert low - 1e-9 <= found.settles_pct <= high + 1e-9
    more = air_wheel.jar_in_box(salt, t, 20, 90, cheese, 2 * jar, 0.97)
    assert abs(more.settles_pct - more.jar_alone_pct) <= abs(found.settles_pct - found.jar_alone_pct) + 1e-9


@few
@given(st.floats(60, 100), st.floats(-5, 5))
def test_a_plain_offset_is_taken_away_by_one_salt_and_by_two(true: float, offset: float) -> None:
    s1, s2 = 75.61, 97.89
    one = air_salts.correct_by_one(min(105, true + offset), s1, s1 + offset)
    two = air_salts.correct_by_two(min(105, true + offset), (s1, s2), (s1 + offset, s2 + offset))
    if true + offset <= 105:
        assert one.humidity_pct == pytest.approx(true, abs=1e-9)
        assert two.humidity_pct == pytest.approx(true, abs=1e-9)
    assert two == air_salts.correct_by_two(min(105, true + offset), (s2, s1), (s2 + offset, s1 + offset))


@few
@given(st.lists(st.one_of(st.floats(-20, 60), st.just(math.nan)), min_size=1, max_size=30))
def test_many_at_once_are_the_same_as_one_by_one(values: list[float]) -> None:
    found = air.saturation_pressures_pa(np.array(values))
    for value, pressure in zip(values, found.tolist(), strict=True):
        if math.isnan(value):
            assert math.isnan(pressure)
        else:
            assert pressure == pytest.approx(air.saturation_pressure_pa(value), rel=1e-12)


@pytest.mark.parametrize(
    ("refused", "sentence"),
    [
        (lambda: air.air_state(45, 90), "Air temperature cannot be 45 °C; expected 0 to 40 °C"),
        (lambda: air.air_state(12, 0), "Humidity cannot be 0 %; expected 1 to 100 %"),
        (lambda: air.air_state(12, math.nan), "Humidity cannot be nan"),
        (lambda: air.air_state(12, 90, 4000), "Altitude cannot be 4000 m; expected 0 to 1950 m"),
        (lambda: air.humidity_from_psychrometer_pct(12, 13), "a wet cloth never warms"),
        (lambda: air.humidity_from_psychrometer_pct(12, -1), "the cloth freezes"),
        (lambda: air.humidity_from_psychrometer_pct(30, 1), "no air is that dry"),
        (lambda: air.humidity_from_psychrometer_pct(12, 11, "gale"), "expected draught, wall, still"),
        (lambda: air_changes.mix([]), "expected some to mix"),
        (lambda: air_wheel.sweat(60, 12, 90, 4), "Temperature of the wheel cannot be 60 °C"),
        (lambda: air_wheel.sweat(4, 12, 90, 0), "Time constant cannot be 0 h"),
        (lambda: air_salts.salt_point("NaCl", 30), "expected 5 to 25 °C"),
        (lambda: air_salts.salt_point("kcll", 12), 'did you mean "kcl"?'),
        (lambda: air_salts.correct_by_two(90, (75, 98), (90, 92)), "more than 5 % apart"),
        (lambda: air_salts.correct_by_one(120, 75, 78), "broken sensor"),
        (lambda: air_salts.correct_by_one(2, 75, 90), "Do the check again"),
        (lambda: air_salts.drift(77, 78, 0), "expected 1 to 3650 days: a slope needs time"),
        (lambda: air_gases.closed_box(-1, 20, 12), "Lactic acid cannot be -1 g"),
        (lambda: air_gases.aired_room(1, 0), "without any it never settles"),
    ],
)
def test_refusals_name_the_range_and_the_reason(refused: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as problem:
        refused()  # type: ignore[operator]
    assert sentence in str(problem.value)


def test_salts_answer_to_their_everyday_names() -> None:
    assert air_salts.salt_named("Kitchen salt") == "NaCl"
    assert air_salts.salt_named(" potash ") == "K2CO3"
    assert air_salts.salt_named("k2so4") == "K2SO4"


def test_a_reading_far_from_the_salts_is_not_trusted() -> None:
    far = air_salts.correct_by_one(95, 75.61, 78.2)
    assert not far.trusted
    assert "one salt speaks" in far.said
    assert air_salts.correct_by_one(84, 85.9, 86).trusted
