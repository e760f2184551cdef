"""Everyday words that also stand for a danger: heard beside a telling word, let pass without. Sentences invented."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.noticing import readings, taking

ILL, EATER, MATERIAL = "stop_someone_ill", "stop_eater_at_risk", "stop_poison_material"
CONTACT, EARLY, PACK = "stop_cleaner_or_glass", "stop_swollen_early", "stop_swollen_airless"

HEARD: list[tuple[str, tuple[str, ...]]] = [
    (ILL, (
        "we all had the runs that night", "he got the runs", "my wife has the runs", "it gave us the runs",
        "both of them have the runs", "everybody got the runs next day", "two of us down with the runs",
        "it gave my sister the runs after eating it", "he had a bad case of the runs", "cramps and the runs",
        "she spent the night with the runs", "it gave everyone the runs", "the runs that night",
    )),
    (EATER, (
        "my kids love it", "it is for the kids", "the kids eat it", "the kids will have some", "two kids and us",
        "I eat it with the kids", "our kids", "there will be kids at the party", "my daughter's kids like it",
        "small kids", "a kid of three likes it", "my kid ate some", "me and the kids", "I give it to the kids",
        "the kids are coming on Sunday", "adults and kids", "the kids tried a piece", "for the neighbours' kids",
        "we have three kids", "the kids too", "his kids", "school kids will taste it", "a three year old kid",
        "lunch with the kids", "the kids take it to school in the kids lunch", "kids under ten",
        "children", "a child", "the baby", "the grandkids",
        "my elderly mother", "elderly people", "an elderly neighbour", "my father is elderly", "she is elderly",
        "for the elderly", "elderly parents", "we are elderly", "elderly guests", "an elderly aunt and uncle",
        "someone elderly", "young and elderly", "elderly customers", "he is elderly and frail",
        "grandma", "grandma will be there on Sunday", "it is for grandma's birthday", "grandma's coming",
        "my grandmother is having some", "grandfather's birthday", "grandpa's visiting", "my granny will eat it",
    )),
    (MATERIAL, (
        "sealed with candle wax", "I dipped it in melted candles", "wax from a candle", "rubbed with a candle",
        "I used candles", "old candles", "coated with candles", "some candle ends for the coat",
        "dripped a candle over it",
        "wax of leftover birthday candles", "church candles", "tea candles", "the wax is made of candles",
        "varnish", "I put varnish on it", "a varnished board", "the board was varnished", "it smells of varnish",
        "it smells like varnish", "coated it with wood varnish", "boat varnish", "something like varnish got on it",
    )),
    (CONTACT, (
        "broken glass", "broken glass on the shelf", "there was some broken glass", "bits of broken glass in it",
        "a broken glass fell on it", "something that looks like broken glass", "it looks like broken glass in it",
        "in it is something that looks like broken glass", "a broken glass jar",
        "smells of bleach", "smells like bleach", "it stinks of bleach", "it smelt of bleach", "smells of chlorine",
        "smells like chlorine", "cleaned the box with bleach and it still smells of it", "a chlorine smell",
        "wiped with bleach but it still smells", "smells of detergent", "smells like cleaner",
    )),
    (EARLY, (
        "swelled up like a football on day two", "puffed up and spongy 24 hours after pressing",
        "puffed up on day 3", "swelled up overnight", "like a balloon next morning", "blew up after a day",
        "it swelled up 24 hours after moulding", "swollen and spongy", "puffed up the day after pressing",
        "blew up on the second day", "swelled up in the mold", "like a football next day", "spongy on day two",
    )),
    (PACK, (
        "the bag puffed up overnight", "the bag blew up on day two", "the bag is swollen next morning",
        "the bag swelled up like that", "a pouch puffed up", "the bag swelled up after two days",
    )),
]  # fmt: skip
"""What must be heard, for each caution. Before telling words were asked for, the plain word was enough."""

PASSED = [
    "it runs under the rind", "the middle runs", "it runs when warm", "runs off the board", "the centre runs out",
    "the cheese has run all over",
    "made with kid rennet", "goat kids were born", "goat kid",
    "kid leather", "after the goats had kids",
    "an elderly goat",
    "the kids of our goats were weaned", "elderly rennet",
    "my grandma's recipe", "in grandmother's cellar", "grandfather's old press",
    "pale as a candle", "waxy like a candle", "I looked at it by candle light", "shiny as varnish",
    "it looks varnished",
    "glossy like varnish",
    "looks like broken glass",
    "comes off like a sock", "white fluffy patches", "little brown dust on the board, moves",
]  # fmt: skip


def heard(diagnoser: Diagnoser, said: str) -> dict[str, str]:
    start = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0})
    answers = taking(start, readings(diagnoser.catalog, said))
    return {c.id: c.level for c in diagnoser.prepare(answers)[2].cautions}


@pytest.mark.parametrize(
    ("caution", "said"), [(caution, said) for caution, rows in HEARD for said in rows], ids=lambda x: x[:40]
)
def test_a_danger_is_heard_in_everyday_words(diagnoser: Diagnoser, caution: str, said: str) -> None:
    assert caution in heard(diagnoser, said)


@pytest.mark.parametrize("said", PASSED)
def test_the_same_words_in_passing_bring_no_stop(diagnoser: Diagnoser, said: str) -> None:
    assert "stop" not in heard(diagnoser, said).values()


def test_swelling_that_nobody_dated_still_holds(diagnoser: Diagnoser) -> None:
    for said in ("puffed up", "it swelled up", "swelled up like a football", "round like a ball"):
        assert heard(diagnoser, said)["hold_swollen_late"] == "hold"


def test_dust_that_moves_is_mites_and_dust_that_lies_is_felt(diagnoser: Diagnoser) -> None:
    def asked(said: str) -> set[str]:
        return {r.question for r in readings(diagnoser.catalog, said)}

    assert asked("little brown dust on the board, moves") == {"dusty_moving"}
    assert asked("brown dust that moves under the lens") == {"dusty_moving"}
    assert asked("brown dust on the rind") == {"dusty_felt"}
    assert asked("skin moves") == {"slip_skin"}
