"""Organisms and look-alikes: what is claimed by eye, what print says of them, and who decides about the cheese."""

from __future__ import annotations

import re
from collections import defaultdict

import pytest
from rindwright.engine.model import Knowledge, Organism
from rindwright.engine.reading.review import strings_in

PUBLISHED = [
    # organism, what its page must say, source: each figure as the abstract or page gives it
    ("wild_blue_penicillia", "91 % of mould isolates", "lund_1995"),
    ("wild_blue_penicillia", "commune 42 %", "lund_1995"),
    ("wild_blue_penicillia", "20 to 22 °C and pH 4.8 to 7", "farm_press_blue_crust"),
    ("ochratoxin_penicillia", "grows at 0 to 31 °C", "ochratoxin_penicillia_review"),
    ("ochratoxin_penicillia", "nordicum's toxin about 90 % stayed in the growth", "camardo_leggieri_2020"),
    ("ochratoxin_penicillia", "verrucosum's 58 % was in the rind", "camardo_leggieri_2020"),
    ("ochratoxin_penicillia", "7 of 51 grated hard cheeses", "altafini_2021"),
    ("aspergillus", "71 % of it lay in the rind itself", "camardo_leggieri_2020"),
    ("aspergillus", "9 of 39 cheeses overgrown with it", "sterigmatocystin_1980"),
    ("aspergillus", "15 to 25 °C", "camardo_leggieri_2016"),
    ("house_penicillia", "All 27 moulds", "taleggio_cpa_1999"),
    ("penicillium_roqueforti", "near 20 °C and pH 6, with about 5 % oxygen", "fairclough_2011"),
    ("mucor", "1 % salt cut its growth by 46 %", "konuchova_2024"),
    ("mucor", "more than 200 complaints", "lee_2014"),
    ("debaryomyces", "at 15 % salt and not at 20", "praphailong_1997"),
    ("chrysosporium", "pH 6 to 8, 14 to 18 °C", "page_chrysosporium"),
    ("yarrowia", "pH 3.5 to 8 and colours only at pH 6 to 8 with air, at 10 as at 30 °C", "ross_2000"),
    ("serratia", "not troubled by 5 % salt", "rodriguez_2023"),
    ("thermus", "about 1000 were found in each gram", "quigley_2016"),
    ("coliforms", "ten million a gram within seven weeks at 10 °C", "rutzinski_1979"),
    ("coliforms", "the blow came within 24 hours", "early_blowing_goat_2018"),
    ("clostridia", "37 and 20 °C, for some strains at 14 °C", "podrzaj_2020"),
    ("listeria", "55 % of rind samples", "bernini_2013"),
    ("mites", "15 to 20 days", "sdt_mites"),
    ("mites", "11 to 13 °C and 85 to 88 % humidity", "acarus_cheddar_1983"),
    ("sulphide_specks", "0.2 to 4.7 mm, about two to the kilogram", "teat_sealant_2007"),
    ("tyrosine_crystals", "up to 6 mm", "cheese_crystals_xrd"),
    ("annatto_pink", "pH below 5.4", "daly_2012"),
    ("horny_rind", "90 to 95 % for a washed rind, 85 to 90 % for a mould rind", "guelph_curing"),
    ("horny_rind", "80 to 85 % for a dry one", "guelph_curing"),
]  # fmt: skip
"""Read off abstracts and pages, each with its source in the knowledge; none is from memory."""

LIFELESS = (
    "tyrosine_crystals", "lactate_crystals", "smear_grit", "maillard_browning", "light_bleach", "freeze_burn",
    "white_band",
)  # fmt: skip
"""Marks that are taken for growth and are none."""


def text_of(organism: Organism) -> str:
    return " ".join(" ".join(strings_in(organism)).split())


@pytest.mark.parametrize(("id", "says", "source"), PUBLISHED)
def test_published_figures_are_told_as_printed(knowledge: Knowledge, id: str, says: str, source: str) -> None:
    organism = next(o for o in knowledge.organisms if o.id == id)
    assert says in text_of(organism)
    assert source in organism.sources
    assert next(s for s in knowledge.sources if s.id == source).checked in ("seen", "seen second-hand")


def test_no_page_judges_a_cheese(knowledge: Knowledge) -> None:
    """Stops and holds decide. A page may name them, never pass their sentence or offer a rescue."""
    for o in knowledge.organisms:
        assert not re.search(r"\bis an? (stop|hold)\b|\b[Hh]old and\b", text_of(o)), o.id
        assert not re.search(r"\b([Tt]rim|[Dd]iscard|[Cc]ut out|[Ss]crape|[Rr]ewax)\b", o.harm), o.id


NAMED_BY_LAB = re.compile(r"laborator|no bench test|[Nn]othing at the bench|no reliable bench test|None at the bench")


def test_kinds_that_share_a_group_are_not_told_apart_by_eye(knowledge: Knowledge) -> None:
    """Where several living kinds share what may be claimed by eye, at least all but one say what a laboratory adds."""
    groups: dict[str, list[Organism]] = defaultdict(list)
    for o in knowledge.organisms:
        groups[o.group].append(o)
    shared = {group: found for group, found in groups.items() if len(found) > 1}
    assert {"smear bacteria", "blue-green Penicillium", "red or pink wet growth"} <= set(shared)
    for group in ("smear bacteria", "blue-green Penicillium", "red or pink wet growth", "purple smear bacteria"):
        silent = [o.id for o in shared[group] if not NAMED_BY_LAB.search(o.test)]
        assert len(silent) <= 2 if group == "smear bacteria" else silent == [], (group, silent)


def test_dust_is_never_rubbed_or_smelt_dry(knowledge: Knowledge) -> None:
    """Mould dust harms lungs: a test on loose powder names mask or damp, or forbids it."""
    for id in ("scopulariopsis", "mites", "sporendonema", "aspergillus"):
        test = next(o.test for o in knowledge.organisms if o.id == id)
        assert re.search(r"mask|[Dd]amp|no brushing", test), id


def test_the_silent_germ_shows_nothing_and_is_no_look_alike(knowledge: Knowledge) -> None:
    listeria = next(o for o in knowledge.organisms if o.id == "listeria")
    assert listeria.see == "There is never anything to see."
    assert not listeria.mistaken_for
    assert not [o.id for o in knowledge.organisms if "listeria" in o.mistaken_for]
    assert not [c.id for c in knowledge.causes if "listeria" in c.organisms]


def test_every_other_germ_is_met_on_some_page(knowledge: Knowledge) -> None:
    """An organism that no cause names is a page that nobody comes to. What does not live needs no cause."""
    met = {o for c in knowledge.causes for o in c.organisms}
    assert {o.id for o in knowledge.organisms} - met == {"listeria", *LIFELESS}
