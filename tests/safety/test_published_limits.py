"""The numbers that the screen turns on, held against the tables they were taken from.

Each file beside this one names the source of its rows. Tables that the engine uses stand in
``knowledge/derive/safety.yaml`` as conditions; here every cell and both sides of every edge are tried.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.conditions import leaves
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Caution
from rindwright.engine.sums.growth import grower

HERE = Path(__file__).parent


def table(name: str) -> list[dict[str, str]]:
    lines = (HERE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def whole(c: Caution) -> str:
    return " ".join(" ".join((c.title, c.text, *c.do, c.test, c.sample, c.while_waiting)).split())


def holds(diagnoser: Diagnoser, circumstance: str, **given: float | str) -> bool | None:
    return diagnoser.chainer.run(Answers.of(given)).circumstance(circumstance)


def stands(diagnoser: Diagnoser, caution: str, **given: float | str) -> bool:
    return caution in {c.id for c in diagnoser.prepare(Answers.of(given))[2].cautions}


def limit(diagnoser: Diagnoser, circumstance: str, question: str, which: str) -> float:
    """The one limit that a circumstance sets on a question."""
    when = diagnoser.catalog.circumstances[circumstance].when
    found = {getattr(leaf, which) for leaf in leaves(when) if leaf.ask == question} - {None}
    assert len(found) == 1
    return float(found.pop())


GATES = {row["gate"]: float(row["value"]) for row in table("acid_and_heat_gates")}


def test_listeria_limits_are_those_of_the_growth_table(diagnoser: Diagnoser) -> None:
    # Where authorities differ, the one that leaves more room for growth is taken.
    limits = [r for r in table("growth_limits") if r["organism"].startswith("Listeria")]
    name = "listeria_grows_now"
    widest = {
        ("surface_ph", "at_least"): min(float(r["ph_min"]) for r in limits),
        ("surface_ph", "at_most"): max(float(r["ph_max"]) for r in limits),
        ("temp_high_c", "above"): min(float(r["t_min_c"]) for r in limits),
        ("temp_high_c", "at_most"): max(float(r["t_max_c"]) for r in limits),
    }
    text = whole(diagnoser.catalog.cautions["note_listeria_grows_now"])
    for (question, which), figure in widest.items():
        assert limit(diagnoser, name, question, which) == figure
        assert f"{figure:g}" in text


@pytest.mark.parametrize(
    ("id", "named"),
    [("listeria_monocytogenes", "Listeria"), ("staphylococcus_aureus", "Staph"), ("escherichia_coli", "Esch")],
)  # fmt: skip
def test_the_sums_leave_a_hazard_no_less_room_than_any_table(id: str, named: str) -> None:
    """The growth sums and the screen may not differ on where a hazard stops."""
    figures = grower(id).figures
    rows = [r for r in table("growth_limits") if r["organism"].startswith(named) and "toxin" not in r["organism"]]
    assert len(rows) >= 2
    for row in rows:
        for column, parameter, least in (
            ("t_min_c", "T_min", True), ("ph_min", "pH_min", True), ("aw_min", "aw_min", True),
            ("t_max_c", "T_max", False), ("ph_max", "pH_max", False),
        ):  # fmt: skip
            if row[column]:
                ours, theirs = figures[parameter].value, float(row[column])
                assert (ours <= theirs) if least else (ours >= theirs), (row, parameter)


def test_the_warm_line_lies_inside_the_growth_of_all_but_one(diagnoser: Diagnoser) -> None:
    """20 °C for two hours is a household rule; the table says why it is no more than that."""
    growing = {r["organism"] for r in table("growth_limits") if float(r["t_min_c"]) <= 20 <= float(r["t_max_c"] or 50)}
    assert {r["organism"] for r in table("growth_limits")} - growing == {"Campylobacter jejuni"}
    assert stands(diagnoser, "stop_too_long_warm", style="small_soft", warm_hours=2.01)
    assert not stands(diagnoser, "stop_too_long_warm", style="small_soft", warm_hours=2.0)


def test_the_pack_gate_lies_below_what_botulism_needs(diagnoser: Diagnoser) -> None:
    spores = [r for r in table("growth_limits") if r["organism"].startswith("Clostridium")]
    gate = limit(diagnoser, "low_acid_in_pack", "paste_ph", "above")
    assert gate == 4.6  # the edge of the Food Code tables as well
    assert all(gate < float(r["ph_min"]) for r in spores if r["ph_min"])
    cold = min(float(r["t_min_c"]) for r in spores)
    hold = diagnoser.catalog.cautions["hold_airless_not_cold"]
    warmth = next(leaf.above for leaf in leaves(hold.when) if leaf.ask == "temp_high_c")
    assert warmth is not None
    assert cold < warmth, "the text must not say that it cannot grow below"
    assert "grow at fridge warmth already" in whole(hold)


def test_acid_gates_lie_where_the_toxin_can_form(diagnoser: Diagnoser) -> None:
    toxin = next(r for r in table("growth_limits") if r["organism"].endswith("toxin"))
    for gate in ("rennet curd at 24 h is high above", "acid has failed at 24 h from"):
        assert float(toxin["ph_min"]) < GATES[gate] < float(toxin["ph_max"])
    # So the gates never say that toxin cannot form below them: each text speaks of what is possible above.
    assert "possible" in whole(diagnoser.catalog.cautions["hold_high_ph_day_one"])


@pytest.mark.parametrize(
    ("gate", "caution", "style", "question", "step"),
    [
        ("uncooked semi-hard at 6 h is late above", "hold_slow_first_hours", "monastery", "ph_6h", 0.01),
        ("rennet curd at 24 h is high above", "hold_high_ph_day_one", "small_soft", "ph_24h", 0.01),
        ("sour-set curd at 24 h is high above", "note_lactic_ph", "lactic_white", "ph_24h", 0.01),
        ("toxin was found at 6 h from", "hold_slow_first_hours", "small_soft", "ph_6h", 0.0),
        ("acid has failed at 24 h from", "stop_never_soured", "small_soft", "ph_24h", 0.0),
    ],
)
def test_acid_gates(diagnoser: Diagnoser, gate: str, caution: str, style: str, question: str, step: float) -> None:
    edge = GATES[gate]
    assert stands(diagnoser, caution, style=style, **{question: edge + step})
    assert not stands(diagnoser, caution, style=style, **{question: edge + step - 0.01})


def test_gates_of_pressed_cheese_are_not_put_on_other_makes(diagnoser: Diagnoser) -> None:
    for style in ("lactic_white", "small_lactic", "hard_bare", "alpine"):
        assert not stands(diagnoser, "hold_slow_first_hours", style=style, ph_6h=6.4)
    assert f"{GATES['slow natural flora at 6 h is late above']:g}" in whole(
        diagnoser.catalog.cautions["hold_slow_first_hours"]
    )


def test_count_and_heat_gates_are_named(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    option = next(o for o in catalog.questions["lab_what"].options if o.id == "staph_high")
    assert f"{GATES['staphylococci call for a toxin test above']:,.0f}".replace(",", " ") in option.text
    for text in (catalog.questions["milk_heat"].how, whole(catalog.cautions["hold_pasteurising"]),
                 whole(catalog.cautions["note_heated_milk"])):  # fmt: skip
        assert f"{GATES['holder pasteurising']:g} °C for 30 min" in text
        assert f"{GATES['short-time pasteurising']:g} °C for 15 s" in text


@pytest.mark.parametrize("row", table("food_code_tables"), ids=lambda r: f"{r['table']} {r['aw']} {r['ph']}")
def test_food_code_vectors(diagnoser: Diagnoser, row: dict[str, str]) -> None:
    aw, ph = float(row["aw"]), float(row["ph"])
    name = {"A": "keep_cold_in_pack_by_table", "B": "keep_cold_by_table"}[row["table"]]
    for place, low in (("surface_ph", "paste_ph"), ("paste_ph", "surface_ph")):
        # Rind and paste, and the worse counts: the other one is sour here.
        given: dict[str, float | str] = {"water_activity": aw, place: ph, low: 3.9, "airless_pack": "yes"}
        assert holds(diagnoser, name, **given) is (row["result"] == "PA"), place


def test_the_food_code_grid_has_no_hole(diagnoser: Diagnoser) -> None:
    """Table B, cell by cell, as a plain sum of its twelve cells; the worse is never less in a worse place."""
    before = -1
    for aw in (0.87, 0.88, 0.90, 0.91, 0.92, 0.93, 0.99):
        row = [bool(holds(diagnoser, "keep_cold_by_table", water_activity=aw, paste_ph=ph, surface_ph=ph))
               for ph in (4.1, 4.2, 4.6, 4.7, 5.0, 5.1, 7.0)]  # fmt: skip
        assert row == sorted(row)
        assert sum(row) >= before
        before = sum(row)
        first = {0.87: None, 0.88: 5.1, 0.90: 5.1, 0.91: 4.7, 0.92: 4.7, 0.93: 4.2, 0.99: 4.2}[aw]
        assert (None if not any(row) else (4.1, 4.2, 4.6, 4.7, 5.0, 5.1, 7.0)[row.index(True)]) == first


@pytest.mark.parametrize(
    ("ph", "aw", "grows"),
    [(6.8, 0.97, True), (4.3, 0.99, False), (7.0, 0.91, False), (4.9, 0.93, False), (4.9, 0.96, True),
     (4.39, 0.99, False), (4.4, 0.99, True), (7.0, 0.92, True), (5.0, 0.93, True), (4.99, 0.939, False),
     (4.99, 0.94, True)],
)  # fmt: skip
def test_codex_criteria_for_listeria(diagnoser: Diagnoser, ph: float, aw: float, grows: bool) -> None:
    """Codex CXG 61-2007: no growth below pH 4.4, below 0.92, or below pH 5.0 with less than 0.94.

    The European footnote reads "at or below"; at the limit itself the stricter of the two is taken.
    """
    assert holds(diagnoser, "listeria_may_grow", surface_ph=ph, paste_ph=3.5, water_activity=aw) is grows


@pytest.mark.parametrize("row", table("law_limits"), ids=lambda r: f"{r['caution']} {r['figure']}")
def test_law_is_pointed_to_with_its_figures(diagnoser: Diagnoser, row: dict[str, str]) -> None:
    caution = diagnoser.catalog.cautions[row["caution"]]
    assert row["figure"] in whole(caution)
    assert row["source"] in caution.sources


def test_every_law_is_dated_and_hands_over(diagnoser: Diagnoser) -> None:
    cited = 0
    for c in diagnoser.catalog.cautions.values():
        text = whole(c)
        if "CFR" in text or "Regulation" in text or "CPG" in text or c.id.startswith("note_law"):
            cited += 1
            assert "ooked up in November 2026" in text, c.id
            assert "heck what applies where you are" in text, c.id
    assert cited >= 9


def test_the_american_cold_limit_is_not_rounded_the_wrong_way(diagnoser: Diagnoser) -> None:
    stop = diagnoser.catalog.cautions["stop_sale_us_raw"]
    below = next(leaf.below for leaf in leaves(stop.when) if leaf.ask == "temp_low_c")
    assert below is not None
    assert below >= (35 - 32) * 5 / 9


def test_trimming_has_one_distance_and_one_condition(diagnoser: Diagnoser) -> None:
    """USDA advice as republished by a clinic: at least 1 inch (2.5 cm) around and below, hard cheese."""
    spoken = 0
    for c in diagnoser.catalog.cautions.values():
        if "2.5 cm" in whole(c):
            spoken += 1
            assert "hard, whole wheel with one or few spots" in whole(c), c.id
            assert "semi-hard" in whole(c), c.id
    assert spoken == 2
    trim = diagnoser.catalog.acts["trim"]
    assert "hard, whole wheel" in trim.hygiene[0]
    assert "2.5 cm" in trim.hygiene[1]
