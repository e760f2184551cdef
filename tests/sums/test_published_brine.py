"""Brine, salt, composition and drying held against published and independently worked values."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
from rindwright.engine.sums import brine, composition, diffusion, drying, salt, salt_water, scales, wash
from rindwright.engine.sums.ground import between, table
from rindwright.engine.sums.shape import Shape, wheel

from .published import ROWS, Worked, agrees, remembered, seen


def numbers(id: str) -> list[float]:
    """The figures of a row's inputs, in order."""
    return [float(x) for x in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", ROWS[id]["inputs"])]


def of(id: str, quantity: str) -> float:
    """The figure that a row's inputs give for a name such as ``w``, ``T`` or ``salt``."""
    found = re.search(rf"\b{re.escape(quantity)}\s*=?\s*(-?\d+(?:\.\d+)?)", ROWS[id]["inputs"])
    assert found, (id, quantity)
    return float(found[1])


def _wheel_uptake(id: str) -> Worked:
    return lambda: diffusion.uptake(wheel(2 * of(id, "R"), of(id, "L")), of(id, "t"), of(id, "D"))


def _density(id: str) -> Worked:
    return lambda: salt_water.density_kg_m3(of(id, "w"), of(id, "T"))


def _cheese(id: str, what: str) -> Worked:
    def work() -> float:
        moisture = of(id, "moisture")
        salted = of(id, "salt") if "salt" in ROWS[id]["inputs"] else 0.0
        found = composition.compose(moisture, salted, of(id, "fat") if "fat" in ROWS[id]["inputs"] else None)
        value = getattr(found, what)
        assert isinstance(value, float)
        return value

    return work


WORKED: dict[str, Worked] = {}
for name in ROWS:
    if name.startswith("brine_rho"):
        WORKED[name] = _density(name)
    elif name.startswith("brine_gL_"):
        WORKED[name] = lambda id=name: scales.from_pct_by_weight(of(id, "w"), "g_per_l_brine", of(id, "T"))
    elif name.startswith("brine_molL_"):
        WORKED[name] = lambda id=name: (
            scales.from_pct_by_weight(of(id, "w"), "g_per_l_brine", of(id, "T")) / salt_water.NACL_G_PER_MOL
        )
    elif name.startswith("brine_gperkg_"):
        WORKED[name] = lambda id=name: scales.from_pct_by_weight(of(id, "w"), "g_per_kg_water")
    elif name.startswith("salometer_"):
        WORKED[name] = lambda id=name: scales.to_pct_by_weight(numbers(id)[0], "salometer")
    elif name.startswith("baume_") and name != "baume_def_10":
        WORKED[name] = lambda id=name: scales.from_pct_by_weight(of(id, "w"), "baume")
    elif name.startswith("nacl_sat_"):
        WORKED[name] = lambda id=name: salt_water.saturation_pct(of(id, "T"))
    elif re.fullmatch(r"aw_nacl\d+_[\d.]+", name):
        WORKED[name] = lambda id=name: salt_water.water_activity(salt_water.pct_from_molality(of(id, "m")), of(id, "T"))
    elif name.startswith("erh_salt_"):
        WORKED[name] = lambda id=name: salt_water.balance_salt_pct(of(id, "RH"), 12)
    elif name.startswith("mffb_"):
        WORKED[name] = _cheese(name, "moisture_fat_free_pct")
    elif name.startswith("sm_"):
        WORKED[name] = _cheese(name, "salt_in_moisture")
    elif name.startswith("fdm_"):
        WORKED[name] = _cheese(name, "fat_in_dry_matter_pct")
    elif name.startswith("molal_"):
        WORKED[name] = _cheese(name, "nacl_molality")
    elif name.startswith("awmarcos_"):
        WORKED[name] = lambda id=name: composition.cheese_activity(of(id, "salt"), of(id, "moisture")).water_activity
    elif name.startswith("codex_class_"):
        WORKED[name] = lambda id=name: "|".join(composition.firmness(of(id, "MFFB")))
    elif name.startswith("eu_class_"):
        WORKED[name] = lambda id=name: "|".join(composition.firmness(of(id, "MFFB"), "eu"))
    elif re.fullmatch(r"slab_[\d.]+", name):
        WORKED[name] = lambda id=name: diffusion.slab_uptake(of(id, "Dt/L^2"))
    elif re.fullmatch(r"cyl_[\d.]+", name):
        WORKED[name] = lambda id=name: diffusion.cylinder_uptake(of(id, "Dt/R^2"))
    elif name.startswith("fincyl_"):
        WORKED[name] = _wheel_uptake(name)
    elif name.startswith("tau_slab_"):
        WORKED[name] = lambda id=name: diffusion.evening(wheel(20, of(id, "L")), of(id, "D")).across_days
    elif name.startswith("tau_cyl_"):
        WORKED[name] = lambda id=name: diffusion.evening(wheel(2 * of(id, "R"), 5), of(id, "D")).around_days
    elif name.startswith(("evap_J_", "evap_Ts_")):
        WORKED[name] = lambda id=name: getattr(
            drying.evaporation(of(id, "T"), 100 * of(id, "RH"), of(id, "aw"), of(id, "hc"), of(id, "hr")),
            "flux_g_m2_day" if "_J_" in id else "rind_temperature_c",
        )
    elif name.startswith("area_"):
        WORKED[name] = lambda id=name: wheel(100 * of(id, "d"), 100 * of(id, "h")).area_m2 / of(id, "m")

_LB_PER_GAL_G_PER_L = 2.25 * 453.59237 / 3.785411784


def _two_shells(days: float, cell: int) -> float:
    """Salt over mean in a closed 10 cm slab whose salt all stood in two outer 0.5 cm shells."""
    row = diffusion.Row.of(5.0, round_=False, cells=400)
    shell = [max(0.0, b - max(a, 4.5)) / (b - a) * 10 for a, b in pairwise(row.edges)]
    assert row.mean(shell) == pytest.approx(1)
    return row.after(shell, days, 0.2, open_wall=False, steps=600)[cell]


def _loss_in_a_day(flux: float, shape: Shape, weight_g: float) -> float:
    """Percent of its weight that a cheese loses in a day at a loss by surface, as its weighings tell it."""
    after = weight_g - flux * shape.area_m2
    found = drying.weighed([drying.Weighing(0, weight_g), drying.Weighing(1, after)], shape, scale_g=0.1)
    assert found.overall.flux_g_m2_day == pytest.approx(flux)
    return found.overall.pct_per_day


WORKED |= {
    "brine_w_from_20perL": lambda: brine.dissolve(20_000, 100_000, 20).salt_pct,
    "brine_35w_trap": lambda: scales.to_pct_by_weight(35, "pct_of_water"),
    "brine_70gperL": lambda: scales.to_pct_by_weight(70, "g_per_l_brine", 20),
    "brine_lbgal": lambda: _LB_PER_GAL_G_PER_L,
    "brine_lbgal_w": lambda: scales.to_pct_by_weight(_LB_PER_GAL_G_PER_L, "g_per_l_water", 20),
    "brine_lbgal_sal": lambda: scales.from_pct_by_weight(
        scales.to_pct_by_weight(_LB_PER_GAL_G_PER_L, "g_per_l_water", 20), "salometer"
    ),
    "make_10L_20_salt": lambda: brine.make(10, 20, 12).salt_g,
    "make_10L_20_water": lambda: brine.make(10, 20, 12).water_g,
    "make_2L_3_salt": lambda: brine.make(2, 3, 20).salt_g,
    "topup_50kg": lambda: brine.change(50, 17, 20).salt_g / 1000,
    "dilute_50kg": lambda: brine.change(50, 22, 18).water_g / 1000,
    "evap_50kg": lambda: brine.change(50, 18, 20).boil_off_g / 1000,
    "mix_brines": lambda: brine.mix([(10, 22), (5, 10)]).salt_pct,
    "brine_drop_10kg": lambda: brine.after_cheese(50, 20, 10, 1.5).salt_pct,
    "brine_drop_topup": lambda: brine.after_cheese(50, 20, 10, 1.5).restore_salt_g / 1000,
    "cacl2_dihydrate": lambda: wash.calcium_chloride(10, 0.1).dihydrate_g,
    "cacl2_liquid32": lambda: wash.calcium_chloride(10, 0.1, 32).liquid_g,
    "vinegar_5.2": lambda: wash.acid_for_ph(1, 5.2, 2.5).mmol_per_l,
    "vinegar_5.2_phq": lambda: wash.acid_for_ph(1, 5.2, 2.5).mmol_per_l,
    "vinegar_4.6": lambda: wash.acid_for_ph(1, 4.6, 2.5).mmol_per_l,
    "vinegar_4.6_phq": lambda: wash.acid_for_ph(1, 4.6, 2.5).mmol_per_l,
    "wash_mix": lambda: (
        wash.mix_wash([wash.Part("water", 900 / 0.998), wash.Part("whey", 100 / 1.025, salt_pct=0.1)], 30).salt_pct
    ),
    "wash_spirit_abv": lambda: wash.mix_wash([wash.Part("water", 950), wash.Part("spirit", 50)]).alcohol_pct_vol,
    "aw_nacl25_6_pub": lambda: salt_water.water_activity(salt_water.pct_from_molality(6), 25),
    "aw_nacl_1m_pub": lambda: salt_water.water_activity(salt_water.pct_from_molality(1), 25),
    "aw_nacl_sat_pub": lambda: salt_water.water_activity(salt_water.saturation_pct(25), 25),
    "aw_from_phi": lambda: math.exp(-2 * 1.271 * 6 * salt_water.WATER_KG_PER_MOL),
    "salt_from_sodium_brie": lambda: composition.salt_from_sodium(629),
    "aw_unripe": lambda: composition.unripe_activity(2.0, 5.0).water_activity,
    "aw_mould": lambda: composition.mould_ripened_activity(8, 0.8).water_activity,
    "aw_processed": lambda: composition.processed_activity(9).water_activity,
    "D_units": lambda: 2.3e-10 * diffusion.CM2_DAY_PER_M2_S,
    "D_sbrinz_12": lambda: 1.06 / (1 + salt.SLOPE_PER_C * (7 - 12)),
    "slab_half": lambda: diffusion.solve(diffusion.slab_uptake, 0.5, 0, 1),
    "cyl_half": lambda: diffusion.solve(diffusion.cylinder_uptake, 0.5, 0, 1),
    "equal_38d_core": lambda: _two_shells(38, 0),
    "equal_38d_rind": lambda: _two_shells(38, -1),
    "kp_3": lambda: drying.transfer_coefficient(3) * 1e8,
    "loss_camembert": lambda: _loss_in_a_day(94.721, wheel(11, 3), 250),
    "moist_from_weight": lambda: composition.after_loss(45, 2000, 1840).moisture_pct,
    "weight_for_moist": lambda: composition.weight_at_moisture(52, 260, 50),
    "salt_after_loss": lambda: composition.after_loss(45, 100, 92, 1.6).salt_pct,
    "baume_def_10": lambda: 145 / (145 - 10),
}


@pytest.mark.parametrize("id", seen(WORKED))
def test_value_that_was_looked_up(id: str) -> None:
    agrees(id, WORKED[id]())


@pytest.mark.parametrize("id", remembered(WORKED))
def test_value_from_memory(id: str) -> None:
    agrees(id, WORKED[id]())


def test_no_row_of_these_sums_is_left_out() -> None:
    ids = list(ROWS)
    # The file is in order: brine to evening-out, then drying up to growth.
    ours = ids[: ids.index("psat_4")] + ids[ids.index("evap_J_1") : ids.index("ctmi_pub_6")]
    assert [id for id in ours if id not in WORKED] == []


# --- tables ---------------------------------------------------------------------------------


def test_table_of_solubility_lies_near_handbook_values() -> None:
    for row in table("nacl_solubility"):
        if row["handbook_pct_by_weight"]:
            assert salt_water.saturation_pct(float(row["temperature_c"])) == pytest.approx(
                float(row["handbook_pct_by_weight"]), abs=0.15
            )


def test_every_row_of_the_activity_table_comes_back() -> None:
    for row in table("nacl_water_activity"):
        pct = salt_water.pct_from_molality(float(row["molality_mol_per_kg_water"]))
        found = salt_water.water_activity(pct, float(row["temperature_c"]))
        assert found == pytest.approx(float(row["water_activity"]), abs=2e-5)


@pytest.mark.parametrize(
    "name", ["sources", "nacl_solubility", "nacl_water_activity", "firmness_classes", "weight_loss", "lactic_loss"]
)
def test_tables_say_where_they_come_from(name: str) -> None:
    for row in table(name):
        assert row["checked"], row
        assert row["source" if name != "sources" else "reference"], row


def test_published_brining_times_lie_in_the_band() -> None:
    """Times of a dairy-technology text (20 to 22 % brine, 10 to 15 °C) against the wheel they are for."""
    for shape, hours, moisture, paste, low, high in (
        (wheel(11, 3), (0.5, 3), 58, "soft", 1.5, 2.5),  # Camembert
        (wheel(22, 11), (24, 72), 43, "semi-hard", 1.6, 2.2),  # Gouda
        (wheel(84, 18), (72, 72), 40, "hard", 0.8, 1.0),  # Emmental
        (wheel(44, 23), (504, 504), 36, "hard", 1.7, 1.7),  # Grana
    ):
        least = salt.in_brine(shape, hours[0], 20, moisture, paste).salt_pct
        most = salt.in_brine(shape, hours[1], 22, moisture, paste).salt_pct
        assert least.low <= high
        assert most.high >= low


def test_pastes_lie_within_the_measured_coefficients() -> None:
    """Floury et al. 2010, Table II, and Guinee and Fox 1983, cm² a day."""
    measured = {"soft": (0.199, 0.311), "semi-hard": (0.142, 0.367), "hard": (0.054, 0.289)}
    for paste, (low, high) in measured.items():
        value, least, most = salt.PASTES[paste]
        assert low - 0.005 <= least <= value <= most <= high


def test_sbrinz_slope_is_the_published_one() -> None:
    assert pytest.approx(0.063) == salt.SLOPE_PER_C * 1.375


def test_interpolation() -> None:
    assert between([(0, 0), (10, 1)], 5) == 0.5
    assert between([(0, 0), (10, 1)], -5) == 0
    assert between([(0, 0), (10, 1)], 50) == 1
