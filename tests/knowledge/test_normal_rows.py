"""No normal row excuses a sign whose own question describes what the row calls a fault.

"Deep wrinkles, like a brain" was once answered, and called normal as "fine, shallow wrinkles". A machine cannot tell a
contradiction, but it can find where the question and the fault share a word that the row's name does not have. Each
such place is judged below, or the row refuses the full answer.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.catalog import Catalog
from rindwright.engine.conditions import leaves, truth
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import plain_view
from rindwright.engine.model import Normal, Sign

JUDGED = {
    ("ammonia_whiff", "ammonia_after_shut"): "30 minutes divide the two: gone within them, or still sharp after",
    ("ammonia_on_unwrapping", "ammonia_after_shut"): "the same 30 minutes",
    ("feet_and_onion_smell", "sulphur_ok"): "smoked meat, and nothing worse; the fault is rotting meat",
    ("mat_pattern", "mat_grid"): "the place alone; each kind of growth there is a sign of its own that is not excused",
    ("slight_lean", "leans"): "one side either way; a wet low side is excluded by the condition",
    ("ivory_with_age", "even_grey_beige"): "without hairs; the fault is with hairs",
    ("ash_patchy_at_first", "patchy_bloom"): "bare places are the fault past day 9, and the row ends on day 8",
    ("grey_cat_hair_meant", "fluff_growth"): "tall as a form; hairs above 10 mm are excluded by the condition",
    ("white_before_blue", "turns_blue"): "turned blue within three days; the fault is still white",
    ("blind_before_piercing", "no_veins"): "white inside either way; the condition holds the row to the time for air",
    ("mould_outside_cloth", "powder_growth"): "loose powder; the fault is loose cloth",
    ("soft_white_film", "lactate_smear"): "not salty; the fault is salt",
}
SMALL = frozenset(
    [
        "the",
        "and",
        "are",
        "there",
        "with",
        "not",
        "does",
        "you",
        "your",
        "all",
        "any",
        "than",
        "that",
        "this",
        "one",
        "most",
        "over",
        "under",
        "face",
        "rind",
        "cheese",
        "when",
        "after",
        "before",
        "day",
        "days",
        "still",
        "more",
        "less",
        "has",
        "have",
        "had",
        "been",
        "was",
        "were",
        "into",
        "nothing",
        "something",
        "would",
        "call",
        "stand",
        "stands",
        "come",
        "comes",
        "goes",
        "they",
        "who",
        "for",
        "from",
    ]
)


def described(catalog: Catalog) -> Iterator[tuple[Normal, Sign, set[str]]]:
    """Every row with every sign it excuses, and the words that question and fault share."""
    for row in catalog.normal.values():
        for id in row.signs:
            sign = catalog.signs[id]
            yield row, sign, (_words(_asked(catalog, sign)) & _words(row.fault_when)) - _words(row.name)


def test_no_row_excuses_what_it_calls_a_fault(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    found = {
        (row.id, sign.id) for row, sign, shared in described(catalog) if shared and not refuses(catalog, row, sign)
    }
    assert found == set(JUDGED)


def refuses(catalog: Catalog, row: Normal, sign: Sign) -> bool:
    """Whether the full answer to the sign's own question keeps the row away, whatever else is said."""
    if sign.when is not None or row.only_if is None:
        return False
    full: Value = "clear" if catalog.questions[sign.id].kind == "scale" else "yes"
    return truth(row.only_if, plain_view(catalog, Answers.of([(sign.id, full)]))) is False


@pytest.mark.parametrize(
    ("frame", "days"),
    [
        ({"family": "bloomy", "style": "bloomy_small"}, (8.0, 12.0)),
        ({"family": "lactic", "style": "lactic_white"}, (8.0,)),
        ({"family": "washed", "style": "small_lactic"}, (8.0,)),
        ({"family": "mixed", "style": "mixed_white"}, (8.0,)),
    ],
)
def test_deep_wrinkles_are_no_fine_ones(diagnoser: Diagnoser, frame: dict[str, Value], days: tuple[float, ...]) -> None:
    for day in days:
        said: dict[str, Value] = {**frame, "age_days": day}
        deep = diagnoser.diagnose(Answers.of({**said, "toad_wrinkle": "clear"}))
        assert deep.verdict != "normal"
        assert deep.normal.rows == ()
        fine = diagnoser.diagnose(Answers.of({**said, "toad_wrinkle": "slight"}))
        assert fine.normal.rows == ("fine_wrinkles_on_lactic",)


@pytest.mark.parametrize("said", [{}, {"cracks": "clear"}, {"cracks": "no", "knock": "drum"}, {"cracks": "no"}])
def test_a_dome_is_planned_only_without_a_split(diagnoser: Diagnoser, said: dict[str, Value]) -> None:
    """The question is whether it has domed, swollen or split."""
    frame: dict[str, Value] = {"family": "natural", "style": "wheel_brushed", "age_days": 30.0, "swelling_late": "yes"}
    planned: dict[str, Value] = {"eyes_meant": "yes", "starter_gas": "eyes", "first_seen_day": 26.0}
    assert diagnoser.diagnose(Answers.of({**frame, **planned, **said})).verdict != "normal"


def test_eyes_that_prick_at_every_opening_are_no_whiff(diagnoser: Diagnoser) -> None:
    said: dict[str, Value] = {"family": "washed", "style": "monastery", "age_days": 12.0, "airing_days": 1.5}
    assert diagnoser.diagnose(Answers.of({**said, "ammonia_fades": "yes"})).verdict != "normal"
    assert diagnoser.diagnose(Answers.of({**said, "ammonia_after_shut": "yes"})).verdict == "normal"


def _asked(catalog: Catalog, sign: Sign) -> str:
    if sign.when is None:
        return catalog.questions[sign.id].ask
    said = []
    for leaf in leaves(sign.when):
        question = catalog.questions.get(leaf.ask)
        if question is not None:
            said += [o.text for o in question.options if o.id in leaf.one_of] or [question.ask]
    return " ".join(said)


def _words(text: str) -> set[str]:
    """Words that carry meaning, without their endings."""
    plain = (w for w in re.findall(r"[a-z]+", text.casefold()) if len(w) > 2 and w not in SMALL)
    return {re.sub(r"(ing|ed|es|s|ly|y)$", "", w)[:6] for w in plain}
