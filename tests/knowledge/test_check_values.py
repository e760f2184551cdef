"""What the knowledge says, held against published values (``check_values.csv``, each with its source).

A value whose status is ``memory`` is listed for completeness and is no oracle.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.diagnosis import NORMAL_CAUSE_CAP, Diagnoser
from rindwright.engine.model import Cause, Knowledge, Sign
from rindwright.engine.reading.review import strings_in

with (Path(__file__).parent / "check_values.csv").open(encoding="utf-8") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}


def span(id: str) -> tuple[float, float]:
    row = ROWS[id]
    assert row["status"] != "memory", "a value from memory is no oracle"
    found = re.fullmatch(r"(-?[\d.]+)(?:-([\d.]+))?", row["value"])
    assert found, row["value"]
    return float(found[1]), float(found[2] or found[1])


def value(id: str) -> float:
    low, high = span(id)
    assert low == high, f"{id} is a span"
    return low


def shown(id: str) -> str:
    """The value as a text writes it."""
    return f"{value(id):g}"


def text_of(entry: object) -> str:
    return " ".join(" ".join(strings_in(entry)).split())


def named(entries: tuple[object, ...], id: str) -> object:
    return next(e for e in entries if getattr(e, "id") == id)  # noqa: B009  (records of several kinds)


def cause(knowledge: Knowledge, id: str) -> Cause:
    return next(c for c in knowledge.causes if c.id == id)


def given(**answers: float | str) -> Answers:
    return Answers.of({k: v if isinstance(v, str) else float(v) for k, v in answers.items()})


def sign_there(diagnoser: Diagnoser, sign: str, **answers: float | str) -> bool | None:
    return diagnoser.chainer.run(given(**answers)).sign(sign)


def holds(diagnoser: Diagnoser, circumstance: str, style: str = "monastery", **answers: float | str) -> bool | None:
    return diagnoser.chainer.run(given(family="washed", style=style, **answers)).circumstance(circumstance)


def cautions_of(diagnoser: Diagnoser, **answers: float | str) -> set[str]:
    return {c.id for c in diagnoser.diagnose(given(**answers)).cautions}


def rate_on(sign: Sign, style: str, group: str, age: int) -> str:
    """How often a sign shows on a sound rind of a style at an age: the last rate that fits counts."""
    fitting = [
        r.seen
        for r in sign.on_sound_rinds
        if (not r.rinds or {"washed", group, style} & set(r.rinds))
        and r.from_day <= age
        and (r.to_day is None or age <= r.to_day)
    ]
    return fitting[-1]


# --- the list itself -------------------------------------------------------------------------


def test_each_value_names_a_listed_source_that_was_read_as_it_says(knowledge: Knowledge) -> None:
    checked = {s.id: s.checked for s in knowledge.sources}
    for id, row in ROWS.items():
        assert row["published_in"].strip(), id
        if row["status"] == "memory":
            assert row["asserted"].startswith("no"), id
        else:
            assert checked[row["source"]] == row["status"], id


def test_each_value_is_used_or_says_why_not() -> None:
    files = (Path(__file__), Path(__file__).parent / "test_values_of_other_rinds.py")
    code = "".join(file.read_text(encoding="utf-8") for file in files)
    used = set(re.findall(r"""(?:span|value|shown)\(["'](\w+)["']\)""", code))
    assert used == {id for id, row in ROWS.items() if row["asserted"] == "yes"}


def test_a_value_from_memory_is_refused() -> None:
    memory = next(id for id, row in ROWS.items() if row["status"] == "memory")
    with pytest.raises(AssertionError, match="no oracle"):
        span(memory)


# --- acid ------------------------------------------------------------------------------------


def test_the_bands_of_surface_ph_follow_what_smear_bacteria_need(diagnoser: Diagnoser) -> None:
    """Bergey: growth from 6.0, none at 5.0. Rattray and Fox: best at 6.5 to 8.5."""
    low, high = span("b_linens_ph")
    best_low, best_high = span("b_linens_optimum_ph")
    assert sign_there(diagnoser, "ph_low", surface_ph=value("b_linens_no_growth_ph"))
    assert not sign_there(diagnoser, "ph_ok", surface_ph=low - 0.1)
    assert not sign_there(diagnoser, "ph_low", surface_ph=low)
    assert sign_there(diagnoser, "ph_ok", surface_ph=best_low)
    assert sign_there(diagnoser, "ph_high", surface_ph=best_high)
    lowest_ok = min(ph / 10 for ph in range(40, 100) if sign_there(diagnoser, "ph_ok", surface_ph=ph / 10))
    highest_low = max(ph / 10 for ph in range(40, 100) if sign_there(diagnoser, "ph_low", surface_ph=ph / 10))
    assert low <= lowest_ok <= best_low
    assert value("b_linens_no_growth_ph") < highest_low < low < high


def test_a_young_smear_cheese_starts_in_the_low_band(diagnoser: Diagnoser, knowledge: Knowledge) -> None:
    """Cheese Problems Solved: pH 4.9 to 5.2 at the start."""
    sign = next(s for s in knowledge.signs if s.id == "ph_low")
    for ph in span("smear_start_ph"):
        assert sign_there(diagnoser, "ph_low", surface_ph=ph)
    for style in knowledge.families[0].styles:
        assert rate_on(sign, style.id, style.group, 1) == "usually", style.id


def test_the_texts_give_the_published_limits_of_smear_bacteria(knowledge: Knowledge) -> None:
    """Bergey; Rattray and Fox."""
    page = text_of(named(knowledge.organisms, "brevibacterium"))
    low, high = span("b_linens_ph")
    best_low, best_high = span("b_linens_optimum_ph")
    cool, warm = span("b_linens_optimum_c")
    assert f"pH {low:.1f} to {high:g}, best at {best_low:g} to {best_high:g}" in page
    assert f"{cool:g} to {warm:g} °C" in page
    assert f"{shown('b_linens_salt_pct')} % salt" in page
    what = text_of(cause(knowledge, "acid_locked_surface"))
    assert f"start at about pH {low:g} and do not grow at pH {value('b_linens_no_growth_ph'):g}" in what


def test_acid_is_no_fault_before_yeasts_could_have_eaten_it(knowledge: Knowledge) -> None:
    """Mounier 2006: lactose gone in 6 days (14 °C) or 10 (10 °C), lactate by day 21. Bockelmann 2000: pH 6 by day 2."""
    locked = cause(knowledge, "acid_locked_surface")
    assert locked.from_day >= value("lactose_days_14c") > value("seeded_ph6_days")
    assert locked.to_day is not None
    assert locked.to_day >= value("lactate_days_14c")
    low = next(s for s in knowledge.signs if s.id == "ph_low")
    assert rate_on(low, "small_soft", "small", int(value("lactate_days_14c"))) in ("almost never", "rarely")
    days = f"{shown('lactose_days_14c')} days at 14 °C but took {shown('lactose_days_10c')} at 10 °C"
    assert days in text_of(cause(knowledge, "too_cold"))


# --- salt ------------------------------------------------------------------------------------

WASH = re.compile(r"(\d+)(?: (?:to|and|or) (\d+))? (?:g/L|g of salt per litre|grams of salt per litre|g per litre)")


def test_no_wash_is_stronger_than_wanted_organisms_stand(knowledge: Knowledge) -> None:
    """Bergey and Praphailong 1997: Brevibacterium and Debaryomyces grow at 15 % salt."""
    limit = 10 * min(value("b_linens_salt_pct"), value("d_hansenii_salt_pct"))
    met = 0
    for c in knowledge.causes:
        for step in (*c.today, *c.next_make):
            if step.amount is not None and step.amount.per == "litre of wash":
                assert step.amount.low <= step.amount.high < limit, (c.id, step.do)
            for found in WASH.finditer(step.do):
                assert all(float(x) < limit for x in found.groups() if x), (c.id, step.do)
                met += 1
    assert met > 20


def test_salt_tender_yeasts_have_their_published_limits(knowledge: Knowledge) -> None:
    """Praphailong and Fleet 1997."""
    missing = text_of(cause(knowledge, "no_deacidifying_yeast"))
    assert (
        f"stops at {shown('k_marxianus_stop_pct')} % salt, bread yeast at {shown('s_cerevisiae_stop_pct')} %" in missing
    )
    hardy = shown("d_hansenii_salt_pct")
    assert f"grows even at {hardy} % salt" in text_of(cause(knowledge, "over_salted"))
    assert f"Grows at {hardy} % salt" in text_of(named(knowledge.organisms, "debaryomyces"))


def test_geotrichum_gives_up_where_it_was_published(diagnoser: Diagnoser, knowledge: Knowledge) -> None:
    """Boutrou and Guéguen 2005 for salt, Liptáková 2011 for time."""
    low, high = span("geotrichum_salt_pct")
    knocked = cause(knowledge, "geotrichum_salt_knockout")
    assert f"{low:g} to {high:g} % salt in the water" in text_of(knocked)
    assert holds(diagnoser, "dry_salt_heavy", salt_pct=high)
    assert holds(diagnoser, "dry_salt_heavy", salt_pct=low) is False
    # No coat can be missed before it could be there, and none is called early that could not be there yet.
    assert knocked.from_day * 24 >= value("geotrichum_3mm_h_14c")
    early = next(n for n in knowledge.normal if n.id == "thin_early_felt")
    assert early.from_day * 24 >= value("geotrichum_3mm_h_14c")
    assert early.to_day is not None
    assert early.to_day * 24 > value("geotrichum_3mm_h_10c")


def test_the_salt_and_colour_trial_is_told_as_it_was(knowledge: Knowledge) -> None:
    """Sutthiwong et al.: in the medium, not in a wash; clear at pH 5.8, only the top dose at 7.0 to 7.5."""
    page = text_of(cause(knowledge, "wash_brine_too_strong"))
    assert (
        f"dulled the colour at pH {shown('arthrobacter_dulled_ph')}, while at pH 7 to 7.5 only the highest dose did"
        in page
    )
    top = value("arthrobacter_top_pct")
    assert f"a wash of {top * 10:g} g/L does not make {top:g} % at the rind" in page


def test_salting_brines_keep_to_the_usual_strength(diagnoser: Diagnoser, knowledge: Knowledge) -> None:
    """Dairy Foods 95161: 18 to 24 %, trouble below 16."""
    low, high = span("salting_brine_pct")
    trouble = value("brine_trouble_pct")
    assert holds(diagnoser, "brine_weak", brine_pct=trouble - 0.1)
    assert holds(diagnoser, "brine_weak", brine_pct=trouble) is False
    for usual in (low, high):
        assert holds(diagnoser, "brine_weak", brine_pct=usual) is False
        assert holds(diagnoser, "brine_saturated", brine_pct=usual) is False
    told = re.findall(r"(\d+) to (\d+) percent salt by weight", text_of(knowledge.causes))
    assert told
    assert all(low <= float(a) <= float(b) <= high for a, b in told)
    assert f"Below {trouble:g} percent salt by weight" in text_of(cause(knowledge, "contaminated_salting_brine"))


def test_mucor_and_salt(knowledge: Knowledge) -> None:
    """Koňuchová 2024: one percent of salt took 46 % of the best growth, on agar, one isolate."""
    cut = value("mucor_salt_cut_pct")
    assert 40 <= cut < 50
    assert "one percent of salt cut the best growth of one cat-hair mould by nearly half" in text_of(
        cause(knowledge, "under_salted")
    )


# --- colour and film -------------------------------------------------------------------------


def test_no_style_is_called_late_before_colour_can_show(diagnoser: Diagnoser, knowledge: Knowledge) -> None:
    """Mounier 2006: colour passed a yeast-only control at day 15 with one species, at day 21 with the others.

    A first trace by eye precedes that measured difference, hence the one day for the quickest style.
    """
    earliest, latest = span("colour_days")
    due = {s.id: s.shows_by_day for s in knowledge.families[0].styles}
    assert min(due.values()) >= earliest - 1
    assert all(day >= earliest for style, day in due.items() if style != "small_soft")
    assert all(s.closed_by_day >= latest for s in knowledge.families[0].styles)
    for style in due:
        case: dict[str, Value] = {"family": "washed", "style": style, "age_days": earliest - 2, "tint": "none"}
        found = diagnoser.diagnose(Answers.of(case))
        assert all(c.probability < NORMAL_CAUSE_CAP for c in found.causes), style


def test_the_first_film_is_awaited_when_yeasts_peak(knowledge: Knowledge) -> None:
    """Leclercq-Perlat 1999: most Debaryomyces at day 6."""
    film = next(s for s in knowledge.signs if s.id == "slippery_film")
    peak = int(value("d_hansenii_peak_day"))
    for style, group in (("small_soft", "small"), ("monastery", "medium"), ("tilsit", "large")):
        assert rate_on(film, style, group, peak) in ("often", "usually"), style
    assert f"highest on day {peak}" in text_of(named(knowledge.organisms, "debaryomyces"))
    row = next(n for n in knowledge.normal if n.id == "slippery_ivory_film")
    assert row.to_day is not None
    assert row.from_day <= peak <= row.to_day


def test_brown_pigment(knowledge: Knowledge) -> None:
    """Ross 2000: pH 6 to 8, and it needs oxygen."""
    low, high = span("brown_pigment_ph")
    assert f"only with air, and only at pH {low:g} to {high:g}" in text_of(cause(knowledge, "tyrosine_browning"))


def test_gram_negatives_on_a_sound_rind(knowledge: Knowledge) -> None:
    """Larpin-Laborde 2011: 32 % of the isolates."""
    assert abs(value("livarot_gram_negative_pct") - 100 / 3) < 3
    assert "A third of the bacteria on a sound smear" in text_of(cause(knowledge, "smear_gram_negatives"))


# --- climate ---------------------------------------------------------------------------------

PRESCRIBED = [("cold_square", "cold_square", 30), ("raclette", "tilsit", 15), ("raclette", "tilsit", 30)]
CLIMATE = ("too_cold", "too_warm", "box_too_dry", "box_too_wet", "stale_air", "climate_swinging")


@pytest.mark.parametrize(("rules", "style", "age"), PRESCRIBED)
def test_a_prescribed_climate_is_no_fault(diagnoser: Diagnoser, rules: str, style: str, age: int) -> None:
    """Rules of two protected names: every corner of the prescribed climate, alone and on a sound rind."""
    spans = {
        "cold_square": (span("cold_square_c"), span("cold_square_rh")),
        "raclette": (span("raclette_c"), span("raclette_rh")),
    }[rules]
    for c in spans[0]:
        for rh in spans[1]:
            climate: dict[str, Value] = {"family": "washed", "style": style, "age_days": float(age),
                                         "temp_low_c": c, "temp_high_c": c, "humidity_pct": rh}  # fmt: skip
            alone = diagnoser.diagnose(Answers.of(climate))
            assert all(x.probability < NORMAL_CAUSE_CAP for x in alone.causes if x.id in CLIMATE), (c, rh)
            sound = {"even_blush": "clear", "tacky": "clear", "sulphur_ok": "clear"}
            assert diagnoser.diagnose(Answers.of({**climate, **sound})).verdict == "normal", (c, rh)


def test_the_cold_square_is_judged_by_its_own_climate(diagnoser: Diagnoser) -> None:
    """The same cold that is prescribed for it counts against every other style."""
    for c in span("cold_square_c"):
        assert holds(diagnoser, "cold", "cold_square", temp_low_c=c) is False
        assert holds(diagnoser, "cold", "monastery", temp_low_c=c)
    for rh in span("cold_square_rh"):
        assert holds(diagnoser, "air_very_dry", "cold_square", humidity_pct=rh) is False
        assert holds(diagnoser, "air_dry", "cold_square", humidity_pct=rh) is False
    for rh in span("raclette_rh"):
        assert holds(diagnoser, "air_very_dry", "tilsit", humidity_pct=rh) is False


def test_ready_days_keep_to_the_rules(knowledge: Knowledge) -> None:
    """Rules of two protected names: 35 days, and two months."""
    ready = {s.id: s for s in knowledge.families[0].styles}
    assert ready["cold_square"].ready_day >= value("cold_square_days")
    assert ready["tilsit"].ready_day >= value("raclette_days")
    (low_c, high_c), (low_rh, high_rh) = span("cold_square_c"), span("cold_square_rh")
    told = f"{low_c:g} to {high_c:g} °C at {low_rh:g} to {high_rh:g} % humidity"
    assert told in text_of(ready["cold_square"])


def test_mites(knowledge: Knowledge) -> None:
    """Society of Dairy Technology."""
    page = text_of(cause(knowledge, "cheese_mites"))
    low, high = span("mite_cycle_days")
    assert f"above {shown('mite_humidity_pct')} % humidity" in page
    assert f"{low:g} to {high:g} days" in page


# --- cautions --------------------------------------------------------------------------------


def test_the_listeria_note_gives_the_surveys_figures(knowledge: Knowledge) -> None:
    """Rudolf and Scherer 2001: 6.4 % of all, 8.0 % from pasteurised and 4.8 % from raw milk."""
    note = text_of(named(knowledge.cautions, "note_listeria_rind"))
    assert f"about 1 in {round(100 / value('listeria_smear_pct'))} red smear cheeses" in note
    assert value("listeria_smear_pasteurised_pct") >= value("listeria_smear_raw_pct")
    assert "those from pasteurised milk no less than raw" in note


def test_listeria_outlives_brine_and_fridge(knowledge: Knowledge) -> None:
    """Larson 1999: under 7 to over 259 days in brine. USDA-ARS: growth from -0.4 °C."""
    least, most = span("listeria_brine_days")
    assert least == 7  # "under a week"
    page = text_of(cause(knowledge, "contaminated_salting_brine"))
    assert f"from under a week to over {most:g} days in dairy brines" in page
    assert -1 < value("listeria_least_c") < 0
    assert "it can grow just below 0 °C" in text_of(named(knowledge.acts, "cool"))


def test_pasteurising_and_cooling_of_milk(knowledge: Knowledge) -> None:
    """21 CFR 1240.61; FSANZ P1022."""
    batch = f"{shown('batch_pasteurise_c')} °C for {shown('batch_pasteurise_min')} minutes"
    flow = f"{shown('flow_pasteurise_c')} °C for {shown('flow_pasteurise_s')} seconds"
    milk = text_of(named(knowledge.acts, "milk"))
    for page in (milk, text_of(named(knowledge.cautions, "note_heated_milk"))):
        assert f"{batch} or {flow}" in page
    assert f"{shown('milk_cooled_c')} °C within {shown('milk_cooled_h')} hours" in milk
    assert f"keep it at {shown('milk_stored_c')} °C or colder" in milk


def test_slow_acid_is_held_where_toxin_was_found(diagnoser: Diagnoser, knowledge: Knowledge) -> None:
    """J Food Prot 69:2161: at most 5.8 at six hours (6.3 with a slow flora); toxin found from about 6.5."""
    gate, toxin = value("semi_hard_6h_ph"), value("toxin_found_6h_ph")
    for style in ("monastery", "tilsit"):
        assert "hold_slow_first_hours" in cautions_of(diagnoser, family="washed", style=style, ph_6h=gate + 0.1)
        assert "hold_slow_first_hours" not in cautions_of(diagnoser, family="washed", style=style, ph_6h=gate)
    for style in ("small_soft", "cold_square", "monastery", "tilsit"):
        assert "hold_slow_first_hours" in cautions_of(diagnoser, family="washed", style=style, ph_6h=toxin)
    assert f"at {shown('slow_flora_6h_ph')} or lower" in text_of(named(knowledge.cautions, "hold_slow_first_hours"))


def test_raw_milk_and_age(knowledge: Knowledge) -> None:
    """Currie 2018: E. coli O157 after 83 days in a whole wheel."""
    page = text_of(named(knowledge.cautions, "note_raw_milk"))
    assert re.search(rf"after {shown('o157_wheel_days')} days in a whole raw-milk wheel", page)


def test_boards_are_heated_as_was_tried(knowledge: Knowledge) -> None:
    """Zangerl 2010: 80 °C for 5 minutes or 65 °C for 15, wherever a board is heated."""
    hot, warm = shown("board_hot_c"), shown("board_warm_c")
    told = re.findall(r"(\d+) °C for 5 minutes or (\d+) °C for 15", text_of((knowledge.causes, knowledge.acts)))
    assert len(told) > 3
    assert set(told) == {(hot, warm)}


def test_every_trimming_keeps_the_published_distance(knowledge: Knowledge) -> None:
    """USDA: one inch around and below, hard cheese only."""
    distance = shown("trim_cm")
    hard = {s.id for f in knowledge.families for s in f.styles if s.hardness == "hard"}
    steps = [(c.id, s) for c in knowledge.causes for s in (*c.today, *c.next_make) if s.act == "trim"]
    assert steps
    for id, step in steps:
        assert f"at least {distance} cm" in step.do, id
        assert step.rinds, id
        assert set(step.rinds) <= hard, id
    assert f"at least {distance} cm on all sides" in text_of(named(knowledge.acts, "trim"))
    told = re.findall(r"([\d.]+) cm around", text_of((knowledge.causes, knowledge.cautions)))
    assert set(told) == {distance}


# --- words -----------------------------------------------------------------------------------


def test_probability_words_are_the_published_scale(knowledge: Knowledge) -> None:
    """EFSA, Guidance on Uncertainty Analysis (2018), approximate probability scale, percent."""
    published = {
        "almost certain": (99, 100), "extremely likely": (95, 99), "very likely": (90, 95), "likely": (66, 90),
        "about as likely as not": (33, 66), "unlikely": (10, 33), "very unlikely": (5, 10),
        "extremely unlikely": (1, 5), "almost impossible": (0, 1),
    }  # fmt: skip
    scale = next(s for s in knowledge.words.scales if s.id == "probability")
    assert {w.word: (round((w.low or 0) * 100), round((w.high or 0) * 100)) for w in scale.words} == published
