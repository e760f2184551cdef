"""Words that fit no phrase: what they may mean is offered, never assumed. Sentences are invented."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine import noticing
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import FIRST, makes_sense, plain_view
from rindwright.engine.hinting import Hints
from rindwright.engine.noticing import phrases_of, readings, unclaimed

MAY_MEAN: list[tuple[str, str, set[str]]] = [
    ("washed", "smells of ammonia", {"ammonia", "ammonia_fades"}),
    ("washed", "it is sticky all over", {"tacky", "clear_gel_film"}),
    ("washed", "a greasy skin", {"oil_beads", "weeping"}),
    ("washed", "the orange will not come", {"tint"}),
    ("washed", "pinkish blush on one side", {"even_blush"}),
    ("bloomy", "no white mould growing", {"cover"}),
    ("bloomy", "the skin is loose", {"slip_skin"}),
    ("bloomy", "white patches", {"cover"}),
    ("natural", "furry grey mould", {"grey_patch", "dry_grey_nap"}),
    ("natural", "tiny crystals", {"crystals"}),
    ("natural", "rind is dusty", {"white_frost"}),
    ("blue", "veins are missing", {"vein_state"}),
]
"""Family, what was said, and the questions that must be among those offered."""


@pytest.fixture(scope="module")
def hints(diagnoser: Diagnoser) -> Hints:
    return Hints(diagnoser.catalog)


def offered(hints: Hints, catalog: Catalog, family: str, said: str) -> list[str]:
    view = plain_view(catalog, Answers.of({"family": family}))
    return [r.question for r in hints.unsure(said, view, readings(catalog, said))]


@pytest.mark.parametrize(("family", "said", "meant"), MAY_MEAN, ids=[said for _, said, _ in MAY_MEAN])
def test_what_it_may_mean_is_offered(
    hints: Hints, diagnoser: Diagnoser, family: str, said: str, meant: set[str]
) -> None:
    assert meant <= set(offered(hints, diagnoser.catalog, family, said))
    assert meant.isdisjoint(r.question for r in readings(diagnoser.catalog, said))  # so it is not assumed


@pytest.mark.parametrize("said", ["it is what it is", "the cheese", "smell", "on the rind", "hello", "wood", "", ",;,"])
def test_words_that_tell_nothing_offer_nothing(hints: Hints, diagnoser: Diagnoser, said: str) -> None:
    assert offered(hints, diagnoser.catalog, "washed", said) == []


def test_a_word_that_is_known_is_no_slip_of_another(diagnoser: Diagnoser) -> None:
    assert "butyric" not in {r.question for r in readings(diagnoser.catalog, "sticky")}
    assert "butyric" in {r.question for r in readings(diagnoser.catalog, "sicky")}
    assert "leans" not in {r.question for r in readings(diagnoser.catalog, "a stain after cleaning")}


def test_denying_and_saying_are_never_taken_for_each_other(hints: Hints, diagnoser: Diagnoser) -> None:
    view = plain_view(diagnoser.catalog, Answers.of({"family": "blue"}))
    said = {r.value for r in hints.unsure("veins", view)}
    denied = {r.value for r in hints.unsure("veins are missing", view)}
    assert denied == {"none"}
    assert said
    assert said.isdisjoint(denied)


def test_it_stays_within_the_cheese_and_what_is_open(hints: Hints, diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    answers = Answers.of({"family": "washed", "ammonia": "clear"})
    found = {r.question for r in hints.unsure("smells of ammonia", plain_view(catalog, answers))}
    assert "ammonia_fades" in found
    assert "ammonia" not in found  # it is answered
    assert "vein_state" not in offered(hints, catalog, "washed", "veins are missing")


def test_of_a_phrase_nothing_is_left_over(hints: Hints, diagnoser: Diagnoser, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was understood is never offered again, so all of a phrase is claimed. Phrases are listed once for speed."""
    catalog = diagnoser.catalog
    phrases = list(phrases_of(catalog))
    monkeypatch.setattr(noticing, "phrases_of", lambda _: phrases)
    for phrase, question, *_ in phrases:
        assert question.id in {r.question for r in readings(catalog, phrase)}, phrase
        assert unclaimed(catalog, phrase) == [], phrase


def test_what_was_understood_is_not_offered_again(hints: Hints, diagnoser: Diagnoser) -> None:
    said = "blue with a white ring"
    assert [r.question for r in readings(diagnoser.catalog, said)] == ["white_margin"]
    assert offered(hints, diagnoser.catalog, "washed", said) == []


def test_names_are_compared_in_the_same_words_as_a_text(hints: Hints) -> None:
    """No mark of punctuation stays on a word: "dots," would equal no word that anybody says."""
    parts = {part for one in hints._phrases for part in one.sense}
    assert len(parts) > 500
    assert [part for part in sorted(parts) if re.search(r"[^a-z0-9°']", part)] == []


WORDS = [
    *("sticky", "ammonia", "grey", "fur", "black", "dust", "no", "not", "never", "wet", "orange", "veins"),
    *("white", "mould", "mold", "rind", "slips", "brown", "pink", "smells"),
]


@given(
    words=st.lists(st.sampled_from([*WORDS, ",", "and"]), max_size=12),
    family=st.sampled_from(["washed", "bloomy", "natural", "blue", "hard"]),
)
def test_any_words_give_the_same_open_questions_and_never_one_of_safety(
    hints: Hints, diagnoser: Diagnoser, words: list[str], family: str
) -> None:
    catalog, text = diagnoser.catalog, " ".join(words)
    view = plain_view(catalog, Answers.of({"family": family}))
    known = readings(catalog, text)
    found = hints.unsure(text, view, known)
    assert found == hints.unsure(text, view, known)
    asked = [r.question for r in found]
    assert len(asked) == len(set(asked))
    assert set(asked).isdisjoint(r.question for r in known)
    for name in asked:
        question = catalog.questions[name]
        assert makes_sense(question, view)
        assert not question.screen
        assert name not in FIRST
