"""The worked log of ``logger_example.csv``, computed apart with pandas and PsychroLib, must come out exactly."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers
from rindwright.engine.model import Knowledge
from rindwright.engine.sums.air_salts import salt_point
from rindwright.engine.sums.ground import OutOfRange
from rindwright.engine.sums.logger import SMEAR_BANDS, SaltCheck, adding, corrected, facts_from_log, salt_check
from rindwright.engine.sums.logger_facts import equivalent_hours, log_facts, weights_h
from rindwright.engine.sums.logger_reading import Log, read_log
from rindwright.engine.sums.logger_record import Bands
from rindwright.engine.sums.logger_stamps import day_of

from .published import ROWS, Worked, agrees, seen

EXAMPLE = Path(__file__).parent / "logger_example.csv"
few = settings(max_examples=40)


def _log() -> Log:
    return read_log(io.BytesIO(EXAMPLE.read_bytes()), "logger_example.csv")


FACTS = log_facts(_log(), Bands(11, 13, 88, 95), wheel_hours=4.0)


def _not_none(value: float | None) -> float:
    assert value is not None
    return value


def _band(kind: str, side: str) -> float:
    found = getattr(FACTS, kind)
    value = getattr(found, side)
    assert isinstance(value, float)
    return value


WORKED: dict[str, Worked] = {
    "log_rows": lambda: FACTS.readings,
    "log_nominal": lambda: FACTS.step_h,
    "log_span": lambda: FACTS.span_h,
    "log_observed": lambda: FACTS.observed_h,
    "log_missing": lambda: FACTS.missing_h,
    "log_gaps": lambda: FACTS.gaps,
    "log_meanT": lambda: _not_none(FACTS.mean_c),
    "log_meanRH": lambda: _not_none(FACTS.mean_pct),
    "log_Tlow": lambda: _band("temperature", "below_h"),
    "log_Thigh": lambda: _band("temperature", "above_h"),
    "log_RHlow": lambda: _band("humidity", "below_h"),
    "log_RHhigh": lambda: _band("humidity", "above_h"),
    "log_dh13": lambda: _not_none(FACTS.degree_hours_above),
    "log_dh11": lambda: _not_none(FACTS.degree_hours_below),
    "log_dewmax": lambda: _not_none(FACTS.highest_dew_point_c),
    "log_vpd": lambda: _not_none(FACTS.mean_deficit_pa),
    "log_ah": lambda: _not_none(FACTS.mean_absolute_g_per_m3),
    "log_eq12": lambda: equivalent_hours(_log(), 12, -0.4, 37, 45).hours,
    "log_eq4": lambda: equivalent_hours(_log(), 4, -0.4, 37, 45).hours,
    "log_eqSa": lambda: equivalent_hours(_log(), 12, 7.7, 40.6, 46.7).hours,
    "log_mkt": lambda: _not_none(FACTS.kinetic_mean_c),
    "log_condrows": lambda: FACTS.wet_readings,
    "log_condep": lambda: len(FACTS.episodes),
    "log_condh": lambda: FACTS.sweating_h,
    "log_stuck": lambda: FACTS.stuck_readings,
    "log_sat": lambda: FACTS.saturated_readings,
    "log_maxstep": lambda: _not_none(FACTS.largest_step_k_per_h),
}


@pytest.mark.parametrize("id", seen(WORKED))
def test_worked_log(id: str) -> None:
    agrees(id, WORKED[id]())


def test_no_row_of_the_log_is_left_out() -> None:
    assert [id for id in ROWS if id.startswith("log_")] == list(WORKED)


def test_condensation_comes_after_the_cold_spell() -> None:
    (episode,) = FACTS.episodes
    assert episode.by_night
    coldest = int(np.argmin(_log().temperature_c))
    assert episode.start_wall_s > _log().wall_seconds[coldest]


def _made(temperature: list[float], humidity: list[float], step_s: int = 3600, start: str = "2025-03-01") -> Log:
    begin = day_of(start) * 86_400
    rows = "".join(
        f"{np.array(begin + k * step_s, 'M8[s]')};{t};{h}\n"
        for k, (t, h) in enumerate(zip(temperature, humidity, strict=True))
    )
    return read_log(io.BytesIO(("time;temperature °C;humidity %\n" + rows).encode()), "made")


numbers = st.lists(
    st.tuples(st.floats(-5, 30).map(lambda x: round(x, 1)), st.integers(30, 100)), min_size=1, max_size=60
)


@few
@given(numbers)
def test_hours_add_up(rows: list[tuple[float, int]]) -> None:
    facts = log_facts(_made([t for t, _ in rows], [float(h) for _, h in rows]), SMEAR_BANDS)
    for band in (facts.temperature, facts.humidity):
        assert band is not None
        assert band.below_h + band.within_h + band.above_h == pytest.approx(facts.observed_h)
        assert band.below_by_day_h <= band.below_h
        assert band.above_by_day_h <= band.above_h
    assert sum(e.hours for e in facts.episodes) == pytest.approx(facts.sweating_h)
    assert facts.observed_h == pytest.approx(float(weights_h(_made([t for t, _ in rows], [90.0] * len(rows))).sum()))


@few
@given(numbers, st.floats(0.1, 5))
def test_drier_air_never_makes_a_wheel_sweat_more(rows: list[tuple[float, int]], less: float) -> None:
    t, h = [t for t, _ in rows], [float(h) for _, h in rows]
    moist = log_facts(_made(t, h), SMEAR_BANDS)
    dry = log_facts(_made(t, [max(1.0, x - less) for x in h]), SMEAR_BANDS)
    assert dry.sweating_h <= moist.sweating_h
    assert dry.humidity is not None
    assert moist.humidity is not None
    assert dry.humidity.below_h >= moist.humidity.below_h


@few
@given(st.floats(2, 30), st.integers(2, 50))
def test_a_steady_log_is_its_own_equivalent(t: float, hours: int) -> None:
    log = _made([round(t, 1)] * hours, [90.0] * hours)
    assert equivalent_hours(log, round(t, 1), -0.4, 37, 45).hours == pytest.approx(hours)
    facts = log_facts(log, SMEAR_BANDS)
    assert facts.kinetic_mean_c == pytest.approx(round(t, 1), abs=1e-6)
    assert facts.sweating_h == 0


def test_weeks_go_by_the_age_of_the_wheel() -> None:
    log = _made([12.0] * 24 * 16, [80.0] * 24 * 8 + [93.0] * 24 * 8)
    facts = log_facts(log, SMEAR_BANDS, salted_day=day_of("2025-03-03"))
    assert facts.before_salting == 48
    assert [(w.from_day, w.to_day, w.hours) for w in facts.weeks] == [(0, 6, 168), (7, 13, 168)]
    assert [w.dry_h for w in facts.weeks] == [24 * 6, 0]
    with pytest.raises(OutOfRange, match="before salting ended"):
        log_facts(log, SMEAR_BANDS, salted_day=day_of("2026-01-01"))


def test_bands_are_checked() -> None:
    with pytest.raises(OutOfRange, match="expected the lower limit first"):
        log_facts(_log(), Bands(13, 11, 88, 95))
    with pytest.raises(OutOfRange, match="upper limit of humidity cannot be 950"):
        log_facts(_log(), Bands(11, 13, 88, 950))
    with pytest.raises(OutOfRange, match="where the organism grows"):
        equivalent_hours(_log(), -5, -0.4, 37, 45)


def test_a_sensor_that_stands_still_or_shifts_is_told() -> None:
    wet = log_facts(_made([12.0] * 96, [99.9] * 96), SMEAR_BANDS)
    assert any("upper end" in s for s in wet.said)
    whole = log_facts(_made([12.0] * 96, [92.0] * 96), SMEAR_BANDS)
    assert any("hardly ever moves" in s for s in whole.said)
    moved = log_facts(_made([12.0] * 96, ([91.0, 92.0] * 24) + ([95.5, 96.0] * 24)), SMEAR_BANDS)
    assert any("From 2025-03-03 on the middle humidity is" in s for s in moved.said)


def test_a_temperature_alone_is_enough() -> None:
    rows = "".join(f"2025-03-0{d} {h:02d}:00;{10 + h / 10}\n" for d in (1, 2) for h in range(24))
    facts = log_facts(read_log(io.BytesIO(("time;°C\n" + rows).encode()), "t"), SMEAR_BANDS)
    assert facts.humidity is None
    assert facts.mean_pct is None
    assert facts.sweating_h == 0
    assert facts.temperature is not None


# --- salt checks -----------------------------------------------------------------------------------


def test_one_salt_shifts_and_two_also_stretch() -> None:
    log = _made([12.0] * 48, [90.0] * 48)
    day = day_of("2025-03-01")
    one = corrected(log, [SaltCheck(day, "KCl", 86.4, 88.4)])
    assert one.humidity_pct == pytest.approx(np.full(48, 88.0))
    two = corrected(log, [SaltCheck(day, "KCl", 86.4, 88.4), SaltCheck(day, "K2SO4", 98.1, 99.1)])
    assert two.humidity_pct == pytest.approx(np.full(48, 86.4 + 1.6 * 11.7 / 10.7))
    assert "humidity put right by K2SO4 and KCl" in two.said[-1]
    assert corrected(log, []) is log
    with pytest.raises(OutOfRange, match="has no humidity that a salt check could put right"):
        corrected(replace(log, humidity_pct=np.full(len(log), np.nan)), [SaltCheck(day, "KCl", 86.4, 88.4)])


def test_drift_runs_straight_between_checks_and_stands_still_outside() -> None:
    log = _made([12.0] * 24 * 11, [90.0] * 24 * 11)
    first, last = day_of("2025-03-03"), day_of("2025-03-07")
    right = corrected(log, [SaltCheck(last, "KCl", 86.4, 90.4), SaltCheck(first, "KCl", 86.4, 86.4)])
    assert right.humidity_pct[0] == pytest.approx(90)
    assert right.humidity_pct[24 * 4] == pytest.approx(88)
    assert right.humidity_pct[-1] == pytest.approx(86)


def test_salt_checks_that_cannot_be() -> None:
    day = day_of("2025-03-01")
    log = _made([12.0] * 3, [90.0] * 3)
    with pytest.raises(OutOfRange, match="3 salt checks"):
        corrected(log, [SaltCheck(day, "KCl", 86, 88)] * 3)
    with pytest.raises(OutOfRange, match="more than 5 % apart"):
        corrected(log, [SaltCheck(day, "KCl", 86, 88), SaltCheck(day, "K2SO4", 98, 90)])
    assert salt_check(day, "kcl", 88, 12).salt_pct == salt_point("KCl", 12).humidity_pct
    with pytest.raises(OutOfRange, match="broken sensor"):
        salt_check(day, "KCl", 188, 12)


# --- from a log to answers ---------------------------------------------------------------------------


def test_a_week_becomes_answers_and_circumstances(knowledge: Knowledge) -> None:
    questions = {q.id: q for q in knowledge.questions}
    day = [12.0] * 7 + [15.5] * 12 + [12.0] * 5
    dry = [94.0] * 7 + [82.0] * 12 + [94.0] * 5
    found = facts_from_log(_made(day * 8, dry * 8), questions)
    given_ = dict(found.answers)
    assert given_ == {"humidity_pct": 88.0, "temp_low_c": 12.0, "temp_high_c": 15.5, "swings": "yes"}
    assert found.readings == 24 * 7
    assert found.period == "2025-03-02 00:00 to 2025-03-08 23:00, 168 readings"
    assert "too dry by day: 84 of 168 hours below 90 %" in found.told


def test_sweating_by_night_is_told(knowledge: Knowledge) -> None:
    day = [12.0] * 19 + [8.0, 8.0, 8.0, 12.0, 13.0]
    found = facts_from_log(_made(day * 3, [97.0] * 72), {q.id: q for q in knowledge.questions})
    assert any(t.startswith("sweats at night") for t in found.told)


def test_one_spike_is_no_lowest_or_highest(knowledge: Knowledge) -> None:
    found = facts_from_log(_made([12.0] * 70 + [25.0, 2.0], [92.0] * 72), {q.id: q for q in knowledge.questions})
    given_ = dict(found.answers)
    assert given_["temp_low_c"] == given_["temp_high_c"] == 12.0
    assert given_["warm_hours"] == 1.0  # a matter of safety: not smoothed away


def test_less_than_a_day_answers_nothing(knowledge: Knowledge) -> None:
    with pytest.raises(OutOfRange, match="expected at least 24"):
        facts_from_log(_made([12.0] * 10, [92.0] * 10), {q.id: q for q in knowledge.questions})


def test_the_maker_s_answer_stays_and_the_larger_warm_spell_counts(knowledge: Knowledge) -> None:
    questions = {q.id: q for q in knowledge.questions}
    found = facts_from_log(_made([12.0] * 40 + [22.0] * 8, [92.0] * 48), questions)
    before = Answers.of({"humidity_pct": 85.0, "warm_hours": 2.0, "temp_low_c": "unknown"})
    after, said = adding(before, found, questions)
    assert after.get("humidity_pct") == 85.0
    assert after.get("warm_hours") == 8.0
    assert after.get("temp_low_c") == 12.0
    assert len(said) == 2
    more, _ = adding(Answers.of({"warm_hours": 20.0}), found, questions)
    assert more.get("warm_hours") == 20.0
