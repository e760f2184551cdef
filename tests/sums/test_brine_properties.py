"""Brine against a general library, and the laws every brine obeys."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.sums import brine, kitchen, salt_water, scales, wash
from rindwright.engine.sums.ground import OutOfRange

pct = st.floats(0.0, 26.2)
strong = st.floats(0.5, 26.2)
celsius = st.floats(1.0, 35.0)
kilos = st.floats(0.1, 500.0)


@pytest.mark.parametrize("temperature_c", range(5, 26, 2))
@pytest.mark.parametrize("salt_pct", [0.5, 1, 2, 3, 5, 8, 10, 13, 16, 18, 20, 22.5])
def test_density_agrees_with_coolprop(salt_pct: float, temperature_c: float) -> None:
    """CoolProp, INCOMP::MNA, fitted up to 23 % by weight.

    ``thermo`` 0.6.1 holds the very formula and coefficients used here: over 294 points of 0 to 40 °C and 0 to
    26 % it agrees to 5e-13 kg/m³. Ten of its values stand in ``check_values.csv``; at 190 MB with what it needs it is
    not installed for the tests.
    """
    from CoolProp.CoolProp import PropsSI

    other = PropsSI("D", "T", temperature_c + 273.15, "P", 101325, f"INCOMP::MNA[{salt_pct / 100}]")
    assert salt_water.density_kg_m3(salt_pct, temperature_c) == pytest.approx(other, abs=0.9)


@pytest.mark.parametrize("temperature_c", [1, 4, 12, 20, 60, 95])
def test_water_agrees_with_coolprop(temperature_c: float) -> None:
    from CoolProp.CoolProp import PropsSI

    other = PropsSI("D", "T", temperature_c + 273.15, "P", 101325, "Water")
    assert salt_water.water_density_kg_m3(temperature_c) == pytest.approx(other, abs=0.1)


@given(pct, celsius, celsius, st.sampled_from(get_args(scales.Scale)), st.sampled_from([26.395, 25.0]))
def test_round_trip_between_all_scales(
    value: float, temperature_c: float, read_at_c: float, scale: scales.Scale, full: float
) -> None:
    there = scales.from_pct_by_weight(value, scale, temperature_c, read_at_c, full)
    assert scales.to_pct_by_weight(there, scale, temperature_c, read_at_c, full) == pytest.approx(value, abs=1e-6)


@given(pct, pct, celsius, st.sampled_from(get_args(scales.Scale)))
def test_every_scale_rises_with_the_salt(a: float, b: float, temperature_c: float, scale: scales.Scale) -> None:
    low, high = sorted((a, b))
    assert scales.from_pct_by_weight(low, scale, temperature_c) <= scales.from_pct_by_weight(high, scale, temperature_c)


@given(pct, pct, celsius)
def test_more_salt_never_raises_water_activity(a: float, b: float, temperature_c: float) -> None:
    low, high = sorted((a, b))
    assert salt_water.water_activity(high, temperature_c) <= salt_water.water_activity(low, temperature_c) <= 1


@given(st.floats(77, 100), celsius)
def test_balance_and_activity_are_inverse(humidity: float, temperature_c: float) -> None:
    salted = salt_water.balance_salt_pct(humidity, temperature_c)
    assert 100 * salt_water.water_activity(salted, temperature_c) == pytest.approx(humidity, abs=1e-6)


@given(st.lists(st.tuples(kilos, pct), min_size=1, max_size=6))
def test_mixing_keeps_salt_and_water(parts: list[tuple[float, float]]) -> None:
    mixed = brine.mix(parts)
    assert mixed.brine_kg * mixed.salt_pct == pytest.approx(sum(kg * p for kg, p in parts))
    assert min(p for _, p in parts) - 1e-9 <= mixed.salt_pct <= max(p for _, p in parts) + 1e-9


@given(st.floats(0.1, 500), strong, celsius)
def test_a_batch_adds_up(litres: float, salt_pct: float, temperature_c: float) -> None:
    batch = brine.make(litres, salt_pct, temperature_c)
    assert batch.salt_g + batch.water_g == pytest.approx(1000 * batch.brine_kg)
    again = brine.dissolve(batch.salt_g, batch.water_g, temperature_c)
    assert again.salt_pct == pytest.approx(salt_pct)
    assert again.brine_l == pytest.approx(litres)
    assert again.undissolved_g == pytest.approx(0, abs=1e-6)
    by_water = brine.make_with_water(batch.water_g, salt_pct, temperature_c)
    assert by_water.salt_g == pytest.approx(batch.salt_g)


@given(kilos, strong, strong)
def test_changing_and_mixing_agree(kg: float, before: float, after: float) -> None:
    change = brine.change(kg, before, after)
    salt_then = kg * before / 100 + change.salt_g / 1000
    assert salt_then / (kg + (change.salt_g + change.water_g) / 1000) * 100 == pytest.approx(after)
    assert change.salt_g >= 0
    assert change.water_g >= 0


@given(kilos, strong, st.floats(1.0, 3.0), strong)
def test_restoring_reaches_both_aims(kg: float, before: float, times: float, after: float) -> None:
    try:
        found = brine.restore(kg, before, kg * times, after)
    except OutOfRange:
        # Only what would have to be taken out is refused.
        salt, water = kg * (times * after - before), kg * (times * (100 - after) - (100 - before))
        assert min(salt, water) < 0
        return
    assert kg + (found.salt_g + found.water_g) / 1000 == pytest.approx(kg * times)
    assert kg * before / 100 + found.salt_g / 1000 == pytest.approx(kg * times * after / 100)


def test_a_refused_restoring_says_how_much_to_keep() -> None:
    with pytest.raises(OutOfRange, match="keep at most 36 kg"):
        brine.restore(50, 20, 40, 18)
    found = brine.restore(36, 20, 40, 18)
    assert found.salt_g == pytest.approx(0, abs=1e-6)
    assert found.water_g == pytest.approx(4000)


@given(st.floats(1, 20), st.floats(0, 0.9), st.floats(0, 1))
def test_proportions_meet_their_strength(high: float, share: float, between: float) -> None:
    low = high * share
    wanted = low + (high - low) * between
    found = brine.proportions(high, low, wanted)
    assert found.strong_share * high + found.weak_share * low == pytest.approx(wanted)
    assert found.strong_share + found.weak_share == pytest.approx(1)


@given(st.floats(20, 500), st.floats(10, 26), st.floats(0, 20), st.floats(0, 3))
def test_cheese_weakens_brine_and_salt_restores_it(kg: float, salt_pct: float, cheese: float, uptake: float) -> None:
    try:
        found = brine.after_cheese(kg, salt_pct, cheese, uptake)
    except OutOfRange:
        assert cheese * uptake > kg * salt_pct
        return
    assert found.salt_pct <= salt_pct + 1e-9
    assert found.salt_pct_low <= found.salt_pct + 1e-9
    assert found.salt_pct_high >= found.salt_pct - 1e-9
    back = brine.mix([(found.brine_kg, found.salt_pct)]).brine_kg
    salt_then = back * found.salt_pct / 100 + found.restore_salt_g / 1000
    assert 100 * salt_then / (back + found.restore_salt_g / 1000) == pytest.approx(salt_pct)


@given(st.floats(0, 1000), st.floats(1, 1000), celsius)
def test_salt_beyond_saturation_stays_on_the_bottom(salt_g: float, water_g: float, temperature_c: float) -> None:
    found = brine.dissolve(salt_g, water_g, temperature_c)
    assert found.salt_pct <= salt_water.saturation_pct(temperature_c) + 1e-9
    assert 0 <= found.undissolved_g <= salt_g
    assert found.brine_kg * 1000 + found.undissolved_g == pytest.approx(salt_g + water_g)


def test_alcohol_lowers_water_activity() -> None:
    plain = wash.mix_wash([wash.Part("water", 1000)], 30)
    spirited = wash.mix_wash([wash.Part("water", 950), wash.Part("spirit", 50)], 30)
    assert spirited.water_activity < plain.water_activity
    # At 2 % vol the share of water molecules is 0.994 (product rule, from memory).
    assert spirited.water_activity / plain.water_activity == pytest.approx(0.994, abs=0.001)


def test_weaker_acid_product_needs_more_and_two_thirds_first() -> None:
    five, ten = (wash.acid_for_ph(10, 5.2, product_pct=p) for p in (5, 10))
    assert five.product_ml == pytest.approx(2 * ten.product_ml)
    assert five.first_ml == pytest.approx(five.product_ml * 2 / 3)
    assert wash.acid_for_ph(1, 5.2, 0).product_ml < 0.1  # soft water: a few drops


@given(st.floats(0.5, 50_000))
def test_rounding_for_the_scale_errs_little(amount: float) -> None:
    assert abs(kitchen.weighable(amount) - amount) <= max(0.0101 * amount, 0.0501)


def test_amounts_in_words() -> None:
    assert kitchen.grams(30.2) == "30 g"
    assert kitchen.grams(2303.9) == "2.3 kg"
    assert kitchen.grams(3.33) == "3.3 g"
    assert kitchen.millilitres(153) == "155 mL"
    assert kitchen.millilitres(1520) == "1.5 L"
    assert kitchen.duration(0.8) == "50 minutes"
    assert kitchen.duration(19.3) == "19 hours"
    assert kitchen.duration(24 * 3816) == "3800 days"


@given(st.floats(4.4, 5.8), st.floats(3.5, 8), st.floats(0, 26), st.floats(0, 15))
def test_a_brine_fits_or_says_in_which_way_not(cheese: float, ph: float, salt_pct: float, inside: float) -> None:
    found = wash.match(10, salt_pct, ph, cheese, inside)
    assert found.ph_fits == (abs(ph - cheese) <= 0.2 + 1e-9)
    assert found.holds_it_firm == (salt_pct - inside >= 2)
    # 0.1 to 0.2 % anhydrous for a new brine: 10 to 20 g in 10 kg.
    assert 10 <= found.calcium.anhydrous_g <= 20


# --- percent of what -------------------------------------------------------------------------


def test_a_bare_percent_may_mean_three_brines() -> None:
    assert scales.readings(20) == pytest.approx(
        {"pct_by_weight": 20, "pct_weight_in_volume": 17.70, "pct_of_water": 16.67}, abs=0.01
    )
    assert list(scales.readings(35)) == ["pct_of_water"]  # a "35 % saturated brine" can mean nothing else
    assert scales.readings(60) == {}


def test_it_is_asked_only_where_it_matters() -> None:
    assert not scales.matters(3)
    assert scales.matters(8)
    assert scales.matters(20)


def test_a_cold_brine_floats_the_hydrometer_higher() -> None:
    """A salometer scaled for 60 °F misreads at 38 °F, as an industry note on salometers warns."""
    cold = scales.from_pct_by_weight(20, "salometer", read_at_c=3.3)
    assert cold > scales.from_pct_by_weight(20, "salometer") + 2
    assert scales.to_pct_by_weight(cold, "salometer", read_at_c=3.3) == pytest.approx(20)


# --- refusals --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: brine.make(10, 30), "expected 0 to 26.29 % by weight: water at 12 °C holds no more"),
        (lambda: brine.make(0, 20), "expected 0.001 to 100000 L: from a spoonful to a large vat"),
        (lambda: brine.make(10, 20, 150), "expected 0 to 40 °C: the table of solubility"),
        (lambda: brine.make(float("nan"), 20), "cannot be nan"),
        (lambda: salt_water.density_kg_m3(40, 20), "fitted up to saturation"),
        (lambda: salt_water.balance_salt_pct(60), "even saturated salt water dries"),
        (lambda: scales.to_pct_by_weight(120, "salometer"), "expected 0 to 100.8 °Sal"),
        (lambda: scales.to_pct_by_weight(0.9, "specific_gravity"), "expected 1 to 1.2"),
        (lambda: brine.after_cheese(1, 20, 100, 2), "the brine holds 200 g"),
        (lambda: brine.proportions(20, 10, 25), "a mixture lies between its parts"),
        (lambda: brine.mix([]), "nothing to mix"),
        (lambda: wash.mix_wash([wash.Part("mead", 10)]), 'no figure for "mead"'),
        (lambda: wash.acid_for_ph(10, 9), "expected 4 to 6.5"),
        (lambda: wash.calcium_chloride(10, 3), "0.1 to 0.2 % is usual"),
    ],
)
def test_refusals_name_the_range_and_why(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)
    assert str(refused.value).endswith(".")
