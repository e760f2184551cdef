"""Dangerous facts come sideways, in everyday words. Invented sentences, each with what the screen must hear in it."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.noticing import _alike, readings, taking

SAID: list[tuple[str, str]] = [
    ("my daughter is expecting and wants a piece", "stop_eater_at_risk"),
    ("grandma will be there on Sunday", "stop_eater_at_risk"),
    ("it is for the care home", "stop_eater_at_risk"),
    ("he had a transplant last year", "stop_eater_at_risk"),
    ("mum is on chemo at the moment", "stop_eater_at_risk"),
    ("the toddler loves cheese", "stop_eater_at_risk"),
    ("she takes phenelzine for depression", "note_eater_maoi"),
    ("my husband is on an MAO inhibitor", "note_eater_maoi"),
    ("our guest has an egg allergy", "note_eater_allergy"),
    ("two of us got sick after the last one", "stop_someone_ill"),
    ("we all had the runs that night", "stop_someone_ill"),
    ("it burns my mouth a little", "hold_ate_burning"),
    ("the milk took all night to set", "hold_slow_souring"),
    ("it never tasted sour", "stop_never_soured"),
    ("it went sour far too late", "hold_slow_souring"),
    ("I think the starter was a dead starter", "stop_never_soured"),
    ("I forgot the culture altogether", "stop_no_starter"),
    ("she was off her food that week", "stop_milk_animal_ill"),
    ("it smells of faeces", "hold_gas_first_days"),
    ("stinks like poo when I lift the lid", "hold_gas_first_days"),
    ("the inside smells of poo", "stop_paste_stinks"),
    ("the paste smells like faeces", "stop_paste_stinks"),
    ("black pins all over the fluff", "hold_blue_or_hairs"),
    ("it grew black hairs", "hold_blue_or_hairs"),
    ("one goat had mastitis", "stop_milk_animal_ill"),
    ("the cow is on antibiotics", "stop_milk_animal_ill"),
    ("clots in the milk on one side", "stop_milk_animal_ill"),
    ("we had a tb reactor in spring", "stop_herd_disease"),
    ("they found bird flu down the road", "hold_bird_flu"),
    ("the fridge died over the weekend", "stop_too_long_warm"),
    ("there was a power cut", "stop_too_long_warm"),
    ("I left it out overnight", "stop_too_long_warm"),
    ("it came in the post", "stop_too_long_warm"),
    ("the bag has puffed up", "stop_swollen_airless"),
    ("the lid is bulging", "stop_swollen_airless"),
    ("it blew up overnight in the mould", "stop_swollen_early"),
    ("the curd floated like a sponge", "stop_swollen_early"),
    ("mouse droppings on the shelf", "stop_pests_or_flood"),
    ("the cat got at it", "stop_pests_or_flood"),
    ("the dog licked it", "stop_pests_or_flood"),
    ("raw chicken dripped from the shelf above", "stop_pests_or_flood"),
    ("the cellar flooded in March", "stop_pests_or_flood"),
    ("I spilt bleach near it", "stop_cleaner_or_glass"),
    ("a bulb broke over the board", "stop_cleaner_or_glass"),
    ("I used fly spray in there", "stop_cleaner_or_glass"),
    ("our well is under a boil notice", "hold_unfit_water"),
    ("I made it in a galvanised tub", "stop_poison_material"),
    ("an old copper pot of my aunt's", "stop_poison_material"),
    ("sealed with candle wax", "stop_poison_material"),
    ("I rubbed it with pink salt from the sausage shelf, the curing salt", "stop_poison_material"),
    ("rolled in stove ash", "stop_poison_material"),
    ("wrapped in laurel leaves from the garden", "stop_poison_material"),
    ("the shed had fresh paint", "stop_poison_material"),
    ("they were eating mouldy silage", "stop_poison_material"),
    ("the culture was recalled", "stop_recalled"),
    ("I had a stomach bug when I made it", "hold_handler_ill"),
    ("I cut my finger in the curd", "hold_handler_ill"),
    ("my eyes sting when I open the cave", "note_room_ill"),
    ("I get dizzy in the cellar", "note_room_ill"),
    ("wheezing after brushing", "note_room_ill"),
    ("the lab found listeria", "stop_lab_found"),
    ("there is some weird mould on it", "stop_unnamed_mould_soft"),
    ("the brine stinks", "hold_old_brine"),
    ("I am taking some to the farmers market", "note_sale_law"),
    ("my granny will eat it", "stop_eater_at_risk"),
    ("the milk was lukewarm all night", "hold_milk_kept_warm"),
    ("I left the milk on the counter", "hold_milk_kept_warm"),
    ("my nan wants some", "stop_eater_at_risk"),
    ("she's six months along", "stop_eater_at_risk"),
    ("there will be children", "stop_eater_at_risk"),
    ("my dad has leukaemia", "stop_eater_at_risk"),
    ("her immune system is weak", "stop_eater_at_risk"),
    ("is there lysozyme in it", "note_eater_allergy"),
    ("my face went red", "hold_ate_burning"),
    ("we were sick after eating", "stop_someone_ill"),
    ("my husband got ill", "stop_someone_ill"),
    ("the vat never went sour", "stop_never_soured"),
    ("it was still sweet in the morning", "stop_never_soured"),
    ("the starter was dead", "stop_never_soured"),
    ("took ages to set", "hold_slow_souring"),
    ("the wheel puffed up on day two", "stop_swollen_early"),
    ("the jar lid popped", "stop_swollen_airless"),
    ("oil bubbling in the jar", "stop_swollen_airless"),
    ("forgot it on the table", "stop_too_long_warm"),
    ("the fridge stopped working", "stop_too_long_warm"),
    ("fly eggs in a crack", "stop_larvae"),
    ("my cat sat on it and the cat is sick", "stop_pests_or_flood"),
    ("chicken juice ran down", "stop_pests_or_flood"),
    ("sewage backed up", "stop_pests_or_flood"),
    ("it smells of bleach", "stop_cleaner_or_glass"),
    ("kerosene was kept there", "stop_cleaner_or_glass"),
    ("glass in it", "stop_cleaner_or_glass"),
    ("we painted the cellar", "stop_poison_material"),
    ("wood ash from the stove", "stop_poison_material"),
    ("yew branches under it", "stop_poison_material"),
    ("the hay was mouldy", "stop_poison_material"),
    ("I had diarrhoea that week", "hold_handler_ill"),
    ("a cut on my hand", "hold_handler_ill"),
    ("water from the stream", "hold_unfit_water"),
    ("the goat miscarried", "stop_milk_animal_ill"),
    ("blood in the milk", "stop_milk_animal_ill"),
    ("the herd was never tested", "stop_herd_disease"),
    ("avian influenza in the village", "hold_bird_flu"),
    ("salmonella", "stop_lab_found"),
    ("black fluff", "stop_unnamed_mould_soft"),
    ("a chemical smell", "stop_medicinal"),
    ("it smells of nail varnish", "hold_taint"),
    ("my eyes burn in the cave", "note_room_ill"),
    ("I passed out in there", "note_room_ill"),
]

HARMLESS = [
    "I was expecting it to turn orange by now",
    "it smells of feet and barn, just as it should",
    "slimy, and drops on the lid",
    "the rind is dry and it cracks",
    "I use a fresh cloth each time",
    "made with shop milk and a new starter, it set on time",
    "no mastitis, no antibiotics, nobody got sick",
    "orange in places, pale in others, a bit sticky",
    "looks like cat hair",
    "there is nothing weird about it, only no colour",
    "the rind went red, as it should",
    "rubbed in olive oil",
    "made in a copper kettle, the milk was warm when the culture went in",
    "wrapped in fig leaves",
    "sealed with beeswax",
    "two year old wheel",
    "I don't recall what I did",
    "the curd was not sweet",
]  # fmt: skip


def cautions(diagnoser: Diagnoser, said: str) -> dict[str, str]:
    start = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0})
    answers = taking(start, readings(diagnoser.catalog, said))
    return {c.id: c.level for c in diagnoser.prepare(answers)[2].cautions}


@pytest.mark.parametrize(("said", "caution"), SAID, ids=lambda x: x[:40])
def test_dangerous_words_are_heard(diagnoser: Diagnoser, said: str, caution: str) -> None:
    assert caution in cautions(diagnoser, said)


@pytest.mark.parametrize("said", ["it smells of faeces", "smells of dung", "smells like manure", "stinks of poo"])
def test_dung_that_nobody_placed_in_the_paste_holds_and_does_not_stop(diagnoser: Diagnoser, said: str) -> None:
    levels = cautions(diagnoser, said)
    assert levels["hold_gas_first_days"] == "hold"
    assert "stop" not in levels.values()


@pytest.mark.parametrize("said", HARMLESS)
def test_ordinary_words_bring_no_stop(diagnoser: Diagnoser, said: str) -> None:
    stops = [id for id, level in cautions(diagnoser, said).items() if level == "stop"]
    assert stops == []


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("pasteurised milk", "pasteurised"), ("pasteurized milk", "pasteurised"), ("pasturised milk", "pasteurised"),
        ("unpasteurised milk", "raw"), ("unpasteurized milk", "raw"), ("unpasturised milk", "raw"),
        ("un-pasteurised milk", "raw"), ("non-pasteurised milk", "raw"), ("nonpasteurised milk", None),
        ("not pasteurised", "raw"), ("the milk wasn't pasteurised", None), ("never pasteurised", None),
    ],
)  # fmt: skip
def test_a_beginning_that_turns_a_word_round_is_heeded(diagnoser: Diagnoser, said: str, value: str | None) -> None:
    """ "Unpasteurised" is one slip of the pen from "pasteurised", and the opposite of it."""
    heard = [r.value for r in readings(diagnoser.catalog, said) if r.question == "milk_heat"]
    assert heard == ([] if value is None else [value])


TURNED = ("un", "non", "in", "dis")


def test_no_words_are_heard_as_their_opposite(diagnoser: Diagnoser) -> None:
    """Every word of the knowledge that makers use, with each beginning put before it or taken from it."""
    catalog = diagnoser.catalog
    words = {
        w
        for q in catalog.questions.values()
        for text in (*q.words, *(w for o in q.options for w in o.words))
        for w in text.casefold().split()
    } | {w for s in catalog.signs.values() for t in s.words for w in t.split()}
    long = [w for w in sorted(words) if len(w) >= 6]
    assert len(long) > 300
    for word in long:
        for start in TURNED:
            if not word.startswith(start):
                assert not _alike([word], [start + word], frozenset()), word
                assert not _alike([start + word], [word], frozenset()), word
    assert _alike(["pasteurised"], ["pasteurized"], frozenset())
    assert _alike(["unpasteurised"], ["unpasturised"], frozenset())
    assert not _alike(["pasteurised"], ["unpasturised"], frozenset())


def test_a_denial_does_not_answer_a_wide_question(diagnoser: Diagnoser) -> None:
    """ "No mastitis" says nothing of fever or medicine: the question is still put."""
    heard = readings(diagnoser.catalog, "no mastitis, nobody got sick, no bird flu")
    assert not {r.question for r in heard} & {"milk_animal_ill", "someone_ill", "bird_flu"}
