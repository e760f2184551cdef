"""What a maker said, and what may be counted as certain: plain words, trade words, common slips. Invented sentences."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import plain_view
from rindwright.engine.hinting import Hints
from rindwright.engine.noticing import readings

CERTAIN: list[tuple[str, set[str]]] = [
    ("it comes off like a sock", {"slip_skin"}),
    ("the skin slips like a sock", {"slip_skin"}),
    ("it smells like socks", {"sulphur_ok"}),
    ("a whiff of old socks", {"sulphur_ok"}),
    ("white fluffy patches", set()),
    ("tall and fluffy", {"tall_fluff"}),
    ("it runs under the rind", {"runny_under"}),
    ("the middle runs", {"core_state"}),
    ("poil de chat", {"long_hairs"}),
    ("stinks like a nappy", {"dung_smell"}),
    ("pale as a candle", {"tint"}),
    ("shiny as varnish", {"horny_edge"}),
    ("puffed up and spongy 24 hours after pressing", {"swollen_early"}),
    ("like the tomme I made last year", set()),
    ("a smear on the cloth", set()),
    ("there is a red smear on it", set()),
    ("my blue spots came back", {"blue_green_spot"}),
    ("my tomme", {"family"}),
    ("this is a tomme", {"family"}),
    ("a smear ripened cheese", {"family"}),
    ("my blue cheese", {"family"}),
]
"""What was said, and the questions it answers, no more and no fewer."""

OFFERED: list[tuple[str, str, set[str]]] = [
    ("washed", "smells of amonia", {"ammonia", "ammonia_fades"}),
    ("washed", "blak spots", {"black_spot"}),
    ("washed", "bleu spots", {"blue_green_spot"}),
    ("washed", "slymi", {"slimy_wet"}),
    ("washed", "white fluffy patches", {"white_velvet"}),
]
"""Family, what was said, and the questions that are offered."""

NOT_OFFERED: list[tuple[str, str, set[str]]] = [
    ("natural", "stinks like a nappy", {"dry_grey_nap"}),
    ("natural", "nappy", {"dry_grey_nap"}),
    ("blue", "4 hours for 600 g", {"vein_state", "ammonia"}),
    ("washed", "4 hours for 600 g", {"dries_fast", "ammonia"}),
    ("blue", "coming", {"crystals"}),
    ("washed", "the orange is coming", {"crystals"}),
    ("bloomy", "88,5 % humidity", {"tall_fluff"}),
]
"""Family, what was said, and the questions it has nothing to do with."""


@pytest.fixture(scope="module")
def hints(diagnoser: Diagnoser) -> Hints:
    return Hints(diagnoser.catalog)


def offered(hints: Hints, diagnoser: Diagnoser, family: str, said: str) -> set[str]:
    view = plain_view(diagnoser.catalog, Answers.of({"family": family}))
    return {r.question for r in hints.unsure(said, view, readings(diagnoser.catalog, said))}


@pytest.mark.parametrize(("said", "meant"), CERTAIN, ids=[said for said, _ in CERTAIN])
def test_what_counts_as_certain(diagnoser: Diagnoser, said: str, meant: set[str]) -> None:
    assert {r.question for r in readings(diagnoser.catalog, said)} == meant


@pytest.mark.parametrize(("family", "said", "meant"), OFFERED, ids=[said for _, said, _ in OFFERED])
def test_slips_are_offered(hints: Hints, diagnoser: Diagnoser, family: str, said: str, meant: set[str]) -> None:
    assert meant <= offered(hints, diagnoser, family, said)


@pytest.mark.parametrize(("family", "said", "strange"), NOT_OFFERED, ids=[f"{f}-{s}" for f, s, _ in NOT_OFFERED])
def test_nothing_absurd_is_offered(
    hints: Hints, diagnoser: Diagnoser, family: str, said: str, strange: set[str]
) -> None:
    assert strange.isdisjoint(offered(hints, diagnoser, family, said))
