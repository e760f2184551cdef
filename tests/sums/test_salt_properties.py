"""Salt in cheese and composition: against scipy where it knows the answer, and the laws both obey."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.sums import composition, diffusion, salt
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.shape import Shape, block, wheel

wheels = st.builds(wheel, st.floats(5, 60), st.floats(2, 25))
blocks = st.builds(block, st.floats(5, 40), st.floats(5, 40), st.floats(2, 20))
shapes = st.one_of(wheels, blocks)
coefficients = st.floats(0.05, 0.45)


def test_bessel_zeros_are_those_of_scipy() -> None:
    from scipy.special import j1, jn_zeros

    assert diffusion.j0_zeros() == pytest.approx(jn_zeros(0, 60), abs=5e-9)
    assert j1(diffusion.J1_ZERO) == pytest.approx(0, abs=1e-12)


@given(shapes, st.floats(0.001, 200), st.floats(0.001, 200), coefficients)
def test_uptake_only_grows_and_ends_at_one(shape: Shape, a: float, b: float, d: float) -> None:
    early, late = sorted((a, b))
    assert 0 <= diffusion.uptake(shape, early, d) <= diffusion.uptake(shape, late, d) + 1e-9
    assert diffusion.uptake(shape, late, d) <= 1 + 1e-9


@given(shapes, st.floats(0.01, 0.98), coefficients)
def test_time_and_uptake_are_inverse(shape: Shape, share: float, d: float) -> None:
    days = diffusion.days_for_uptake(shape, share, d)
    if days < 399:
        assert diffusion.uptake(shape, days, d) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("x", [0.0099, 0.01, 0.0101, 0.0049, 0.005, 0.0051])
def test_short_time_forms_join_the_series(x: float) -> None:
    slab = 1 - sum(
        8 / ((2 * n + 1) ** 2 * math.pi**2) * math.exp(-((2 * n + 1) ** 2) * math.pi**2 * x) for n in range(2000)
    )
    assert diffusion.slab_uptake(x) == pytest.approx(slab, abs=1e-9)
    round_ = 1 - sum(4 / a**2 * math.exp(-(a**2) * x) for a in diffusion.j0_zeros(400))
    assert diffusion.cylinder_uptake(x) == pytest.approx(round_, abs=2e-5)


@settings(max_examples=25)
@given(shapes, st.floats(0.05, 10), coefficients)
def test_finite_volumes_take_up_what_the_series_say(shape: Shape, days: float, d: float) -> None:
    found = diffusion.profile(shape, days, 0, d)
    assert found.mean_share == pytest.approx(diffusion.uptake(shape, days, d), rel=0.02)


@settings(max_examples=25)
@given(shapes, st.floats(0.05, 5), st.floats(0, 60), coefficients)
def test_resting_keeps_the_salt_and_evens_it(shape: Shape, salting: float, rest: float, d: float) -> None:
    before, after = diffusion.profile(shape, salting, 0, d), diffusion.profile(shape, salting, rest, d)
    assert after.mean_share == pytest.approx(before.mean_share, rel=1e-6)
    assert after.core >= before.core - 1e-9
    assert after.core <= 1 + 1e-6 or after.core <= before.core


def test_after_three_constants_little_unevenness_is_left() -> None:
    """Handbook rule: about 5 % of it after three time constants (quoted with the formula)."""
    flat = wheel(100, 6)  # so wide that only the thickness counts in the middle
    tau = diffusion.evening(flat, 0.2).across_days
    early, late = diffusion.profile(flat, 0.5, 0.2 * tau, 0.2), diffusion.profile(flat, 0.5, 3.2 * tau, 0.2)
    left = (late.face - late.core) / (early.face - early.core)
    assert left == pytest.approx(math.exp(-3), abs=0.03)


@given(wheels, st.floats(0.5, 200), st.floats(10, 26), st.floats(35, 60), st.sampled_from(sorted(salt.PASTES)))
def test_brined_band_holds_its_value(shape: Shape, hours: float, pct: float, moisture: float, paste: str) -> None:
    found = salt.in_brine(shape, hours, pct, moisture, paste).salt_pct
    assert found.low <= found.value <= found.high
    stronger = salt.in_brine(shape, hours, min(26.2, pct + 1), moisture, paste).salt_pct
    warmer = salt.in_brine(shape, hours, pct, moisture, paste, 16).salt_pct
    assert stronger.value >= found.value
    assert warmer.value >= found.value


@given(wheels, st.floats(0.5, 2.5), st.sampled_from(sorted(salt.PASTES)))
def test_brining_time_gives_the_salt_wanted(shape: Shape, pct: float, paste: str) -> None:
    hours = salt.brine_time(shape, pct, 20, 45, paste).hours
    assert hours.low <= hours.value <= hours.high
    if 0.05 <= hours.value <= 1500:
        assert salt.in_brine(shape, hours.value, 20, 45, paste).salt_pct.value == pytest.approx(pct, abs=1e-4)


@given(wheels, st.floats(50, 10000), st.floats(0.5, 2.5))
def test_dry_salt_allows_for_what_drips_away(shape: Shape, weight: float, pct: float) -> None:
    found = salt.dry_salt(shape, weight, pct)
    assert found.apply_g.value * 0.75 == pytest.approx(weight * pct / 100)
    assert found.apply_g.low < found.apply_g.value < found.apply_g.high


def test_dry_salt_does_not_pass_two_centimetres_in_a_day() -> None:
    """A 2013 study of dry-salted goat cheese found no salt deeper than 2 cm after 24 hours."""
    row = diffusion.Row.of(5.0, round_=False)
    missing = row.after([1.0] * len(row.bulk), 1.0, 0.2, open_wall=True)
    deeper = [1 - m for m, edge in zip(missing, row.edges[1:], strict=True) if edge <= 3.0]
    assert max(deeper) < 0.01


@given(st.floats(0, 30), st.floats(60, 99), st.floats(61, 100), st.floats(5, 20))
def test_drier_air_never_makes_a_rind_wetter(ratio: float, a: float, b: float, temperature_c: float) -> None:
    dry, humid = sorted((a, b))
    assert (
        salt.rind_balance(ratio, dry, temperature_c).margin_pct
        >= salt.rind_balance(ratio, humid, temperature_c).margin_pct
    )


def test_rind_and_air_as_the_table_has_them() -> None:
    """PHREEQC at 12 °C: 98 % humidity holds 3.4 % by weight, 97 % 5.1, 95 % 8.1, 92 % 12.0, 90 % 14.3, 85 % 19.3."""
    for humidity, pct in ((98, 3.44), (97, 5.07), (95, 8.08), (92, 12.03), (90, 14.35), (85, 19.26)):
        ratio = 100 * pct / (100 - pct)
        found = salt.rind_balance(ratio, humidity)
        assert found.says == "holds"
        assert found.balance_salt_pct == pytest.approx(pct, abs=0.03)
    assert salt.rind_balance(5.3, 94).says == "dries"
    assert salt.rind_balance(17.6, 93).says == "takes up water"  # fresh from brine, in air that looks right


# --- composition ----------------------------------------------------------------------------


def test_worked_cheeses() -> None:
    """Composition from a food-microbiology textbook's table; classes of EU 97/80 and Codex."""
    camembert = composition.compose(52.5, 2.5, 23)
    assert camembert.eu_class == "soft"
    assert camembert.codex_classes == ("soft", "firm/semi-hard")  # Codex bands overlap on purpose
    limburger = composition.compose(45, 2, 28)
    assert limburger.eu_class == "semi-soft"
    assert limburger.fat_class == "full fat"
    feta = composition.compose(59.7, 2.2, 20.3)
    assert feta.codex_classes == ("soft",)
    assert feta.salt_pct_of_brine_phase == pytest.approx(3.554, abs=0.001)


@given(st.floats(25, 90))
def test_every_cheese_has_a_class(mffb: float) -> None:
    assert len(composition.firmness(mffb, "eu")) == 1
    assert 1 <= len(composition.firmness(mffb)) <= 2
    assert composition.firmness(mffb, "codex_older")


@given(st.floats(35, 60), st.floats(0, 4), st.floats(0.5, 20))
def test_losing_weight_concentrates_salt_and_lowers_activity(moisture: float, salted: float, lost: float) -> None:
    after = composition.after_loss(moisture, 1000, 1000 * (1 - lost / 100), salted)
    assert after.moisture_pct < moisture
    assert after.salt_pct >= salted
    before = composition.cheese_activity(salted, moisture).water_activity
    if after.moisture_pct >= 30:
        assert composition.cheese_activity(after.salt_pct, after.moisture_pct).water_activity <= before + 1e-12
    # Water and dry matter: what is gone is water alone.
    assert (100 - after.moisture_pct) * (1 - lost / 100) == pytest.approx(100 - moisture)


@given(st.floats(40, 60), st.floats(41, 59))
def test_weight_at_a_moisture_is_the_inverse(moisture: float, wanted: float) -> None:
    if wanted <= moisture:
        weight = composition.weight_at_moisture(moisture, 1000, wanted)
        assert composition.after_loss(moisture, 1000, weight).moisture_pct == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: wheel(0, 5), "The diameter cannot be 0 cm"),
        (lambda: block(10, 500, 5), "The width cannot be 500 cm"),
        (lambda: salt.coefficient("rubber"), "expected one of soft, semi-hard, hard"),
        (lambda: salt.coefficient("soft", 30), "the coefficients were measured there"),
        (lambda: salt.in_brine(wheel(10, 5), 2, 2), "weaker brine softens the cheese"),
        (lambda: salt.brine_time(wheel(10, 5), 9), "gives a cheese of 45 % moisture no more in fair time"),
        (lambda: salt.rind_balance(5, 20), "The humidity cannot be 20 %"),
        (lambda: composition.compose(45, 30), "even cheese kept in brine"),
        (lambda: composition.compose(60, 2, 45), "it must stay below 100 %"),
        (lambda: composition.after_loss(45, 1000, 400), "it cannot lose more than its water"),
        (lambda: composition.firmness(60, "french"), "no scheme"),
        (lambda: composition.cheese_activity(2, 15), "The moisture cannot be 15 %"),
        (lambda: diffusion.uptake(wheel(10, 5), -1, 0.2), "The time cannot be -1 days"),
        (lambda: diffusion.uptake(wheel(10, 5), 1, 5), "0.05 to 0.46 was measured"),
    ],
)
def test_refusals_name_the_range_and_why(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)
