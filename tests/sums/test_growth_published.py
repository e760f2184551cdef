"""The growth models against printed outputs of others, and the figures against what was published."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest
from rindwright.engine.sums import growth, growth_courses, growth_ph, growth_race
from rindwright.engine.sums.ground import sources
from rindwright.engine.sums.growth import Surface, cardinal_share, grower, water_share

from .published import ROWS, Worked, agrees, remembered, seen


def _figures(id: str) -> list[float]:
    return [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", ROWS[id]["inputs"])]


def _cardinal(id: str, order: int) -> float:
    minimum, optimum, maximum, x = _figures(id)
    return cardinal_share(x, minimum, optimum, maximum, order)


def _aureus_rate(id: str) -> float:
    best, minimum, optimum, maximum, x = (
        float(n) for n in re.findall(r"\d+(?:\.\d+)?", ROWS[id]["inputs"].replace("1/h", ""))
    )
    return best * cardinal_share(x, minimum, optimum, maximum, 2)


def _hours(rate_per_h: float) -> float:
    found = growth._doubling(rate_per_h)
    assert found is not None
    return found


def _shown(true_ph: float, sample_c: float) -> float:
    """What a meter left at 25 °C shows: the way back, with the two temperatures changed about."""
    return growth_ph.true_from_meter(true_ph, 25, sample_c).true_ph


WORKED: dict[str, Worked] = {}
for name in ROWS:
    if name.startswith("ctmi_"):
        WORKED[name] = lambda id=name: _cardinal(id, 2)
    elif name.startswith("cpmph_"):
        WORKED[name] = lambda id=name: _cardinal(id, 1)
    elif name.startswith("cpmaw_"):
        # Optimum and maximum of water activity stand apart here; the program itself uses the linear term.
        WORKED[name] = lambda id=name: cardinal_share(
            _figures(id)[3], _figures(id)[0], _figures(id)[1], _figures(id)[2], 2
        )
    elif name.startswith("nernst_"):
        WORKED[name] = lambda id=name: growth_ph.slope_mv_per_ph(float(id.split("_")[1]))
    elif name.startswith("ph_noatc_"):
        WORKED[name] = lambda id=name: _shown(*(float(x) for x in id.split("_")[2:]))
    elif name.startswith("mu_sa_"):
        WORKED[name] = lambda id=name: _aureus_rate(id)
WORKED |= {
    "gamma_product": lambda: cardinal_share(12, -0.4, 37, 45, 2) * cardinal_share(5.8, 4.39, 7.0, 9.4, 1),
    "aw_lin_lm": lambda: water_share(0.97, 0.92),
    "dh_mu": lambda: math.log(2) / 5.8,
    # Rates with these generation times, and back.
    "dh_slow": lambda: _hours(math.log(2) / 94) / _hours(math.log(2) / 5.8),
}


@pytest.mark.parametrize("id", seen(WORKED))
def test_value_that_was_looked_up(id: str) -> None:
    agrees(id, WORKED[id]())


def test_no_row_of_growth_is_left_out() -> None:
    assert remembered(WORKED) == []
    ours = [
        id for id in ROWS if id.startswith(("ctmi_", "cpm", "mu_", "gamma", "aw_lin", "nernst_", "ph_noatc", "dh_"))
    ]
    assert len(ours) == 36
    assert [id for id in ours if id not in WORKED] == []


def test_geotrichum_slows_with_cold_about_as_published_colonies_do() -> None:
    """Hudecová, Liptáková, Valík 2011 print hours to a 3 mm colony without salt at five temperatures.

    The colonies need a lag and a width besides a rate, so the model must only follow the trend.
    """
    hours = {t: float(ROWS[f"geo_3mm_{t}"]["expected"]) for t in (10, 14, 19, 23, 27)}
    figures = grower("geotrichum candidum").figures
    at = {t: cardinal_share(t, *(figures[p].value for p in ("T_min", "T_opt", "T_max")), 2) for t in hours}
    for cold, warm in ((10, 14), (14, 19), (19, 23), (10, 27)):
        assert at[warm] / at[cold] == pytest.approx(hours[cold] / hours[warm], rel=0.2)
    published = float(ROWS["geo_Q10_10_19"]["expected"])
    assert (at[19] / at[10]) ** (10 / 9) == pytest.approx(published, rel=0.2)


def test_the_smear_s_acid_goes_as_published() -> None:
    """Aseptic curd with D. hansenii: lactose gone in 10 days at 10 °C and in 6 at 14 °C (Q10 3.59)."""
    smear = growth_courses.course("smear_soft")
    ratio = growth_race.speed(smear, 14, 0.97) / growth_race.speed(smear, 10, 0.97)
    published = float(ROWS["lactose_Q10"]["expected"]) ** 0.4
    assert ratio == pytest.approx(published, rel=0.15)
    # Nine tenths of its lactate were gone in 21 days at 10 °C: the late course has risen as far by then.
    days = math.log(10) / float(ROWS["lactate_k10"]["expected"])
    late = growth_race.rise(smear, 10, 0.97)
    assert (late.ph(days, which=2) - smear.start_ph) / smear.rise == pytest.approx(0.9, abs=0.1)


def test_a_bloom_rises_as_published() -> None:
    """Cheese Problems Solved: Camembert's surface barely moves for 5 days, then climbs within about 2 days."""
    found = growth_race.rise(growth_courses.course("bloomy"), 12, 0.975)
    at_7 = found.day_of(7.0)
    at_5 = found.day_of(5.0)
    assert at_7 is not None
    assert at_5 is not None
    assert found.ph(5) < 5.0
    assert at_7[1] - at_5[1] < 2.1


PUBLISHED: dict[str, Callable[[growth.Grower], bool]] = {
    # ICMSF 1996 as printed by the USDA page; for hazards the widest published span is kept.
    "listeria_monocytogenes": lambda g: g.figures["T_min"].value <= -0.4 and g.figures["aw_min"].value <= 0.92,
    "staphylococcus_aureus": lambda g: g.figures["T_min"].value <= 7 and g.figures["aw_min"].value <= 0.83,
    "escherichia_coli": lambda g: g.figures["pH_min"].value <= 4.4 and g.figures["aw_min"].value <= 0.95,
}


@pytest.mark.parametrize("id", PUBLISHED)
def test_hazards_keep_the_widest_published_limits(id: str) -> None:
    found = grower(id)
    assert PUBLISHED[id](found)
    for figure in found.figures.values():
        assert not figure.estimate, "a limit of a hazard is never an estimate"
        if figure.parameter.endswith("min"):
            assert figure.value == figure.low or figure.parameter == "T_min"


def test_every_figure_names_a_source_and_lies_in_its_span() -> None:
    known = sources()
    for organism in growth.growers().values():
        for f in organism.figures.values():
            assert f.low <= f.value <= f.high, (organism.id, f)
            for source in (f.source, *f.also):
                assert source in known
            assert f.what


def test_the_curve_of_temperature_holds_for_every_organism() -> None:
    for organism in growth.growers().values():
        points = [organism.figures[f"T_{end}"].value for end in ("min", "opt", "max")]
        assert cardinal_share(points[1], *points, 2) == 1


def test_what_is_estimated_says_so() -> None:
    found = growth.growth(grower("corynebacterium_casei"), Surface(12, 6.5, 0.97))
    assert found.estimate
    assert all(f.grade == "memory" for f in found.factors[0].figures)
    assert not growth.growth(grower("listeria"), Surface(12, 6.5, 0.97)).estimate
