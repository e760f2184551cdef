"""Air, wheels and hygrometers against published values, and against two libraries of others over a grid.

Referees: PsychroLib 2.5 (ASHRAE formulas) and CoolProp (real humid air, hence a little more water at
the same humidity). They are not needed to run the program.
"""

from __future__ import annotations

import math

import pytest
from rindwright.engine.sums import air, air_changes, air_gases, air_salts
from rindwright.engine.sums.diffusion import solve
from rindwright.engine.sums.ground import table

from .published import ROWS, Worked, agrees, remembered, seen


def _pair(id: str) -> tuple[float, float]:
    """The two figures at the end of a name such as ``dew_12_90``."""
    first, second = id.split("_")[-2:]
    return float(first), float(second)


def _humidity_of_wet_bulb(dry: float, wet: float) -> float:
    """The humidity at which a wet cloth takes on a temperature."""
    return solve(lambda h: air.wet_bulb_c(dry, h), wet, 1, 100)


EXPONENTIAL = {"MgCl2": (29.26, 34.0), "NaCl": (69.20, 25.0), "KCl": (49.38, 159.0), "K2SO4": (86.75, 34.0)}
"""A (percent) and B (kelvin) of RH = A·exp(B/T) in the CRC Handbook of Chemistry and Physics: a referee."""


def _second_opinion(salt: str, temperature_c: float) -> float:
    a, b = EXPONENTIAL[salt]
    return a * math.exp(b / (temperature_c + 273.15))


WORKED: dict[str, Worked] = {}
for name in ROWS:
    if name.startswith("psat_"):
        WORKED[name] = lambda id=name: air.saturation_pressure_pa(float(id.split("_")[1]))
    elif name.startswith("dew_"):
        WORKED[name] = lambda id=name: air.dew_point_c(*_pair(id))
    elif name.startswith("wb_"):
        WORKED[name] = lambda id=name: air.wet_bulb_c(*_pair(id))
    elif name.startswith("ah_"):
        WORKED[name] = lambda id=name: air.absolute_humidity_g_per_m3(*_pair(id))
    elif name.startswith("w_"):
        WORKED[name] = lambda id=name: air.humidity_ratio_g_per_kg(*_pair(id))
    elif name.startswith("rhshift_"):
        WORKED[name] = lambda id=name: air_changes.swing(*(float(x) for x in id.split("_")[1:])).humidity_pct
    elif name.startswith("dewdep_"):
        WORKED[name] = lambda id=name: air.air_state(*_pair(id)).margin_k
    elif name.startswith("psychrom_"):
        WORKED[name] = lambda id=name: air.humidity_from_psychrometer_pct(*_pair(id))
    elif name.startswith("psychrothermo_"):
        WORKED[name] = lambda id=name: _humidity_of_wet_bulb(*_pair(id))
    elif name.startswith("salt_crc_"):
        WORKED[name] = lambda id=name: _second_opinion(id.split("_")[2], float(id.split("_")[3]))
    elif name.startswith("salt_phq_"):
        WORKED[name] = lambda id=name: air_salts.salt_point(id.split("_")[2], float(id.split("_")[3])).humidity_pct
    elif ROWS[name]["quantity"] == "RH over saturated salt":
        WORKED[name] = lambda id=name: air_salts.salt_point(id.split("_")[1], float(id.split("_")[2])).humidity_pct

_STREAMS = {"1": [(3, 12, 90), (1, 20, 50)], "2": [(1, 12, 90), (1, 4, 95)], "3": [(4, 13, 92), (1, 25, 60)]}
for _k, _streams in _STREAMS.items():
    WORKED[f"mix_T_{_k}"] = lambda s=_streams: air_changes.mix(s).temperature_c
    WORKED[f"mix_RH_{_k}"] = lambda s=_streams: air_changes.mix(s).humidity_pct
WORKED |= {
    "condense_box": lambda: air_changes.swing(12, 90, 10).condensed_g_per_m3,
    "hyg_onepoint": lambda: air_salts.correct_by_one(91.0, 75.61, 78.2).humidity_pct,
    "hyg_twopoint": lambda: air_salts.correct_by_two(93.0, (85.92, 97.89), (88.1, 98.4)).humidity_pct,
    "hyg_twopoint_2": lambda: air_salts.correct_by_two(91.0, (75.61, 97.89), (78.2, 98.4)).humidity_pct,
    "hyg_dT": lambda: air_salts.error_of_temperature_pct(95, 12, 0.5),
    "resp_co2": lambda: air_gases.dioxide_given_g(1),
    "resp_o2": lambda: air_gases.dioxide_given_g(1) * 31.998 / 44.009,  # as many moles in as out
    "box_co2": lambda: air_gases.closed_box(1, 20, 12).dioxide_pct_per_day,
    "room_css": lambda: air_gases.aired_room(0.5, 200, 420).dioxide_ppm,
    "drift_slope": lambda: air_salts.drift(77.1, 79.0, 60).pct_per_30_days,
}


@pytest.mark.parametrize("id", seen(WORKED))
def test_value_that_was_looked_up(id: str) -> None:
    agrees(id, WORKED[id]())


def test_no_oracle_of_these_is_from_memory() -> None:
    assert remembered(WORKED) == []


def test_no_row_of_air_is_left_out() -> None:
    prefixes = (
        "psat_",
        "dew_",
        "wb_",
        "ah_",
        "w_",
        "rhshift_",
        "dewdep_",
        "psychro",
        "mix_T",
        "mix_RH",
        "hyg_",
        "condense",
        "resp_",
        "box_",
        "room_",
    )
    ours = [id for id in ROWS if id.startswith(prefixes)]
    ours += [id for id, row in ROWS.items() if row["quantity"].startswith("RH over saturated salt")]
    assert len(ours) > 60
    assert [id for id in ours if id not in WORKED] == []


GRID = [
    (t, h)
    for t in (0.5, 4.0, 8.0, 10.0, 12.0, 14.0, 20.0, 30.0, 40.0)
    for h in (20.0, 50.0, 75.0, 85.0, 92.0, 98.0, 100.0)
]


def test_psychrolib_agrees_over_a_grid() -> None:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for altitude in (0.0, 900.0, 1900.0):
        pressure = air.pressure_pa(altitude)
        assert pressure == pytest.approx(psychrolib.GetStandardAtmPressure(altitude), rel=1e-5)
        for t, h in GRID:
            state = air.air_state(t, h, altitude)
            ratio = psychrolib.GetHumRatioFromRelHum(t, h / 100, pressure)
            assert state.vapour_pressure_pa == pytest.approx(psychrolib.GetVapPresFromRelHum(t, h / 100), rel=1e-9)
            assert state.humidity_ratio_g_per_kg == pytest.approx(1000 * ratio, rel=1e-6)
            assert state.dew_point_c == pytest.approx(psychrolib.GetTDewPointFromRelHum(t, h / 100), abs=0.02)
            wet = psychrolib.GetTWetBulbFromHumRatio(t, ratio, pressure)
            if abs(wet) > 0.5:  # at freezing a wet bulb may bear ice or not, and two answers are right
                assert state.wet_bulb_c == pytest.approx(wet, abs=0.02)


@pytest.mark.parametrize("t", [-30.0, -12.0, -1.0, 0.0, 0.02, 5.0, 60.0])
def test_psychrolib_agrees_over_ice_too(t: float) -> None:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    assert air.saturation_pressure_pa(t) == pytest.approx(psychrolib.GetSatVapPres(t), rel=1e-9)


def test_coolprop_agrees_over_a_grid() -> None:
    from CoolProp.CoolProp import HAPropsSI as props

    for t, h in GRID:
        state = air.air_state(t, h)
        at = ("T", t + 273.15, "R", h / 100, "P", 101325)
        assert state.dew_point_c == pytest.approx(props("D", *at) - 273.15, abs=0.03)
        wet = props("B", *at) - 273.15
        if abs(wet) > 0.5:
            assert state.wet_bulb_c == pytest.approx(wet, abs=0.04)
        assert state.humidity_ratio_g_per_kg == pytest.approx(1000 * props("W", *at), rel=0.006)


def test_every_salt_lies_near_the_second_opinion() -> None:
    """The Handbook of Chemistry and Physics gives its exponential as good to about 2 %."""
    checked = 0
    for row in table("air_salts"):
        if row["salt"] in EXPONENTIAL:
            second = _second_opinion(row["salt"], float(row["temperature_c"]))
            assert second == pytest.approx(float(row["humidity_pct"]), abs=2)
            checked += 1
    assert checked == 20
