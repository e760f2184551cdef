"""What the knowledge says, held against published values (``check_values.csv``, each with its source).

Values from memory are listed for completeness and are not used.
"""

from __future__ import annotations

import csv
from pathlib import Path

from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.review import strings_in


def value(id: str) -> tuple[float, float]:
    with (Path(__file__).parent / "check_values.csv").open(encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if r["id"] == id)
    assert row["status"] != "memory", "a value from memory is no oracle"
    low, _, high = row["value"].partition("-")
    return float(low), float(high or low)


def sign_there(diagnoser: Diagnoser, sign: str, **answers: float) -> bool | None:
    return diagnoser.chainer.run(Answers.of({k: float(v) for k, v in answers.items()})).sign(sign)


def holds(diagnoser: Diagnoser, circumstance: str, style: str, **answers: float) -> bool | None:
    given = {"family": "washed", "style": style, **{k: float(v) for k, v in answers.items()}}
    return diagnoser.chainer.run(Answers.of(given)).circumstance(circumstance)


def test_surface_ph_bands_follow_what_smear_bacteria_need(diagnoser: Diagnoser) -> None:
    low, _ = value("b_linens_ph")
    best_low, best_high = value("b_linens_optimum_ph")
    assert not sign_there(diagnoser, "ph_ok", surface_ph=low - 0.1)
    assert sign_there(diagnoser, "ph_ok", surface_ph=best_low)
    assert not sign_there(diagnoser, "ph_low", surface_ph=low)
    start_low, start_high = value("smear_start_ph")
    assert sign_there(diagnoser, "ph_low", surface_ph=start_low)
    assert sign_there(diagnoser, "ph_low", surface_ph=start_high)
    assert sign_there(diagnoser, "ph_high", surface_ph=best_high)


def test_no_wash_is_stronger_than_wanted_organisms_stand(knowledge: Knowledge) -> None:
    limit_g_per_l = min(value("b_linens_salt_pct")[0], value("d_hansenii_salt_pct")[0]) * 10
    for cause in knowledge.causes:
        for step in (*cause.today, *cause.next_make):
            if step.amount is not None and step.amount.per == "litre of wash":
                assert step.amount.high < limit_g_per_l, (cause.id, step.do)


def test_weak_brine_begins_where_the_trade_says(diagnoser: Diagnoser) -> None:
    limit, _ = value("brine_trouble_pct")
    assert holds(diagnoser, "brine_weak", "monastery", brine_pct=limit - 0.1)
    assert not holds(diagnoser, "brine_weak", "monastery", brine_pct=limit)


def test_no_style_is_called_late_long_before_colour_can_show(knowledge: Knowledge) -> None:
    earliest, latest = value("colour_days")
    for family in knowledge.families:
        for style in family.styles:
            assert style.tint_due_day >= earliest - 1, style.id  # a first tint precedes a measured difference
            assert style.colour_due_day >= latest, style.id


def test_prescribed_climates_raise_no_alarm(diagnoser: Diagnoser) -> None:
    for c in value("italian_square_c"):
        assert holds(diagnoser, "cold", "cold_square", temp_low_c=c) is False
    for rh in value("italian_square_rh"):
        assert holds(diagnoser, "air_very_dry", "cold_square", humidity_pct=rh) is False
    for rh in value("raclette_rh"):
        assert holds(diagnoser, "air_very_dry", "tilsit", humidity_pct=rh) is False
    middle = sum(value("raclette_c")) / 2
    assert holds(diagnoser, "cold", "tilsit", temp_low_c=middle) is False


def test_the_listeria_note_gives_the_surveys_figure(knowledge: Knowledge) -> None:
    note = next(c for c in knowledge.cautions if c.id == "note_listeria_rind")
    share = value("listeria_smear_pct")[0]
    assert f"1 in {round(100 / share)}" in " ".join(strings_in(note))


def test_probability_words_are_the_published_scale(knowledge: Knowledge) -> None:
    """EFSA, Guidance on Uncertainty Analysis (2018), approximate probability scale, percent."""
    published = {
        "almost certain": (99, 100), "extremely likely": (95, 99), "very likely": (90, 95), "likely": (66, 90),
        "about as likely as not": (33, 66), "unlikely": (10, 33), "very unlikely": (5, 10),
        "extremely unlikely": (1, 5), "almost impossible": (0, 1),
    }  # fmt: skip
    scale = next(s for s in knowledge.words.scales if s.id == "probability")
    assert {w.word: (round((w.low or 0) * 100), round((w.high or 0) * 100)) for w in scale.words} == published
