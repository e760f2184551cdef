"""Every kind of handling carries the hygiene it needs, and every step that is shown brings its act's lines.

Order of cleaning after a dairy cleaning sheet, mixing of chemicals after university safety pages, masks after the
measurements of dust in ripening rooms: all are named as sources of the acts. Gloves and cloths: common practice, no
source.
"""

from __future__ import annotations

import re

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Act, Knowledge
from rindwright.engine.planning import QUIET_ACTS

HANDS = r"\b(hands?|gloves?)\b"
LAST = r"\b(last|young before old|clean before suspect)\b"
CLOTH = r"\b(boil\w*|bin|bag|throw\w*|new piece|clean paper)\b"
NEVER_MIX = r"(single product|one product at a time|must not meet|never meet|no chlorine in the same place)"
MASK = r"\bmask\b"
DAMP = r"\bdamp\b"

NEEDED: dict[str, tuple[str, ...]] = {
    "dry": (HANDS, LAST, CLOTH),
    "moisten": (HANDS, CLOTH),
    "wash": (HANDS, LAST, CLOTH, r"same day", r"does not remove Listeria"),
    "spot": (HANDS, LAST, CLOTH, NEVER_MIX),
    "lift_mould": (HANDS, LAST, CLOTH, MASK, DAMP, r"toxins sit in the rind"),
    "pat": (HANDS, LAST, r"[Nn]ever pat it over foreign mould"),
    "trim": (HANDS, r"2\.5 cm", r"sanitise the knife", r"does nothing about bacteria"),
    "brush": (HANDS, LAST, MASK, DAMP, r"fine filter", r"asthma"),
    "turn": (HANDS, LAST),
    "pierce": (HANDS, LAST, r"[Bb]oil the needles", r"[Nn]ever pierce a cheese that swells"),
    "scrape": (HANDS, LAST, CLOTH, r"boil the knife", r"does not make a slimy rind clean"),
    "fill": (HANDS, r"[Nn]ever fill over mould", r"never on a soft one"),
    "press": (HANDS, r"never on a cheese that has swollen", r"scalds"),
    "oil": (r"fresh portion", r"Nothing infused with garlic", r"catch fire"),
    "bind": (HANDS, MASK, r"water bath", r"swollen cheese"),
    "wax": (HANDS, r"water bath", r"No water", r"kills no spores"),
    "coat": (r"sold for cheese", r"thrown away", r"law"),
    "strip": (MASK, CLOTH, r"tight and swollen"),
    "pack": (HANDS, r"[Nn]ever a soft, damp or ripe one", r"do not open it"),
    "pests": (MASK, DAMP, r"asthma", r"No insect spray"),
    "apart": (HANDS, LAST),
    "rub_on": (r"eaten and were not sprayed", r"No fresh garlic", r"dry face only"),
    "salt": (HANDS, r"does not remove Listeria"),
    "mats": (HANDS, r"[Bb]oil"),
    "boards": (HANDS, MASK, NEVER_MIX, r"80 °C for 5 minutes or 65 °C for 15"),
    "box": (HANDS, NEVER_MIX, r"[Rr]inse", r"smells of ammonia is aired and rinsed before"),
    "room": (NEVER_MIX, r"Air out ammonia first", r"[Gg]oggles, gloves", r"Take the cheese out", r"lamps off"),
    "wrap": (HANDS, r"vacuum", r"cold"),
    "unwrap": (HANDS, r"do not open it"),
    "culture": (r"once", r"never poured back"),
    "brine": (r"[Tt]hrow suspect brine out", r"Stronger is not cleaner"),
    "curd": (HANDS, r"sick people"),
    "milk": (r"sick or treated", r"63 °C for 30 minutes or 72 °C for 15 seconds", r"6 °C within 2 hours"),
    "water": (r"[Bb]oil",),
    "liquid": (r"same day", r"does not remove Listeria"),
    "isolate": (HANDS, LAST, r"Do not wash, brush, taste, sell"),
    "discard": (HANDS, r"out of animal feed", r"authority"),
    "air": (r"[Ii]f your eyes sting, leave", r"carbon dioxide"),
    "light": (r"burn eyes and skin",),
    "warm": (r"20 °C",),
    "cool": (r"never stops it",),
    "wait": (HANDS, r"put the cheese aside"),
    "record": (r"fresh buffer", r"Do not taste"),
    "serve": (r"[Nn]ever for anyone pregnant", r"stop or a hold"),
}
"""What the hygiene of each act has to say. An act that is new gets its line here, or this file fails."""


def said(act: Act) -> str:
    return " ".join(act.hygiene)


def test_every_act_is_listed_here(knowledge: Knowledge) -> None:
    assert {a.id for a in knowledge.acts} == set(NEEDED)


@pytest.mark.parametrize("id", NEEDED)
def test_each_act_says_what_it_needs(knowledge: Knowledge, id: str) -> None:
    act = next(a for a in knowledge.acts if a.id == id)
    assert act.sources
    for pattern in NEEDED[id]:
        assert re.search(pattern, said(act), re.IGNORECASE), (id, pattern)


def test_steps_stand_under_an_act_that_fits_what_they_do(knowledge: Knowledge) -> None:
    """A step that speaks of acid, chlorine, dust or a brush brings the line about it, in itself or by its act."""
    acts = {a.id: a for a in knowledge.acts}
    met = {"chemical": 0, "dust": 0}
    for cause in knowledge.causes:
        for step in (*cause.today, *cause.next_make):
            text = step.do + " " + said(acts[step.act])
            if re.search(r"\b(vinegar|bleach|hypochlorite|peracetic|sanitis\w+|caustic|lye)\b", step.do, re.IGNORECASE):
                met["chemical"] += 1
                assert re.search(NEVER_MIX + r"|never near a chlorine|one at a time", text, re.IGNORECASE), (
                    cause.id,
                    step.do,
                )
            if (
                re.search(r"\b(?:mite|the) dust\b|\bpowdery\b|dry[- ]brush|\bscour", step.do, re.IGNORECASE)
                and step.act != "discard"
            ):
                met["dust"] += 1
                assert re.search(MASK, text, re.IGNORECASE), (cause.id, step.do)
    assert all(met.values())


def test_a_hold_leaves_only_quiet_acts(knowledge: Knowledge) -> None:
    """Nothing that wets, rubs, cuts, salts, seeds, warms or serves is done to a cheese on hold."""
    assert set(NEEDED) >= QUIET_ACTS
    assert QUIET_ACTS.isdisjoint(
        {"wash", "spot", "lift_mould", "trim", "brush", "turn", "salt", "dry", "moisten", "warm", "wrap", "culture",
         "liquid", "serve", "pat", "pierce", "scrape", "fill", "press", "oil", "bind", "wax", "coat", "strip", "pack",
         "rub_on"}
    )  # fmt: skip


def test_every_step_that_is_planned_brings_its_hygiene(diagnoser: Diagnoser) -> None:
    planned = 0
    for sign in ("slimy_wet", "dries_fast", "clean_no_film", "pale_late", "slip_skin", "dry_leather"):
        if sign not in diagnoser.catalog.questions:
            continue
        value = "clear" if diagnoser.catalog.questions[sign].kind == "scale" else "yes"
        answers = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0, sign: value})
        plan = diagnoser.diagnose(answers).plan
        for step in (*plan.today, *plan.next_make):
            planned += 1
            assert step.hygiene == diagnoser.catalog.acts[step.act].hygiene
    assert planned > 10
