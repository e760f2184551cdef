"""A question is put in the words of the rind in hand, and shows no word of another family's rind."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from rindwright.cli import as_json, card, listing
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import RIND, Catalog, asked
from rindwright.engine.diagnosis import Diagnoser, NextQuestion
from rindwright.engine.gates import offered
from rindwright.engine.model import Question, Style
from rindwright.engine.noticing import readings

OWN_WORDS = {
    r"\bsmear\b(?! (?:or|and) )|\bsmearing\b": {"washed", "mixed"},
    r"\bblooms?\b": {"bloomy", "mixed", "lactic"},
    r"\bveins?\b|\bpierced\b|\bpiercing\b|\bthe holes\b": {"blue"},
    r"\bwax\b|\bplastic coat\b|\bsealed bag\b": {"coated", "hard"},
    r"\bthe cloth (?:is|was|went|comes)\b|\bunder the cloth\b|\bcloth-bound\b|\blayers of cloth\b": {"hard"},
    r"\bash\b": {"lactic"},
    r"\bwashes\b|\bfirst wash\b|\bwashed rind\b": {"washed", "mixed"},
}
"""Words of a rind, and the families that may be asked in them."""
PRESUMED = r"\b(?:your|the) (?:smear|bloom|veins?)\b"
"""What a hint may not take for granted; it may speak of "a smear" or of "a washed rind" by name."""
NAMED_BEFORE = {"pack_state", "only_under_rub", "ash_how", "ash_mottle"}
"""Asked only once the maker has named a sealed pack or a rub."""
NOT_THE_RIND = {
    ("orange_powder", "smear"),  # a verb: puffs that do not smear
    ("pink_wet", "smear"),  # what a wet red stain is
}


def put_to(catalog: Catalog) -> Iterator[tuple[Question, str, Style]]:
    """Each question with each family and a style it is put to."""
    for question in catalog.questions.values():
        if question.id in ("family", "style") or question.screen or question.worked_out:
            continue
        for family in catalog.families.values():
            for style in family.styles:
                if not question.rinds or {family.id, style.group, style.id} & set(question.rinds):
                    yield question, family.id, style


def test_no_family_is_asked_in_the_words_of_another(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    strange = set()
    met = 0
    for question, family, _ in put_to(catalog):
        put = asked(question, catalog.families[family].noun)
        assert "{" not in put
        for words, own in OWN_WORDS.items():
            found = re.search(words, put, re.IGNORECASE)
            met += found is not None
            if found is None or family in own or question.id in NAMED_BEFORE:
                continue
            if (question.id, found[0].lower()) not in NOT_THE_RIND:
                strange.add((question.id, family, put))
    assert met > 40
    assert strange == set()


def test_no_hint_takes_the_rind_of_another_family_for_granted(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    strange = set()
    for question, family, style in put_to(catalog):
        cheese = catalog.cheese(family, style.id, None)
        for text in (question.how, question.why, *(o.text for o in offered(question, cheese))):
            found = re.search(PRESUMED, text, re.IGNORECASE)
            if found and catalog.families[family].noun.split()[1] not in found[0]:
                own = next(own for words, own in OWN_WORDS.items() if re.search(words, found[0], re.IGNORECASE))
                if family not in own:
                    strange.add((question.id, family, text))
    assert strange == set()


def test_the_words_are_known_to_this_test(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    question = replace(catalog.questions["ammonia"], ask="Does {rind} smell?")
    assert [asked(question, f.noun) for f in catalog.families.values()][:3] == [
        "Does the smear smell?", "Does the bloom smell?", "Does the skin smell?",
    ]  # fmt: skip
    assert asked(question) == "Does the rind smell?"
    assert asked(replace(question, ask="{rind}: does it smell?"), "the smear").startswith("The smear")
    assert catalog.noun(Answers().cheese(catalog)) == "the rind"


@pytest.fixture(scope="module")
def with_noun(diagnoser: Diagnoser) -> list[Question]:
    found = [q for q in diagnoser.catalog.questions.values() if RIND in q.ask]
    assert found
    return found


def test_only_what_is_put_holds_the_place_of_the_noun(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        for text in (question.how, question.why, question.topic, *(o.text for o in question.options)):
            assert "{" not in text, question.id


def test_cards_and_lists_fill_the_noun(
    diagnoser: Diagnoser, with_noun: list[Question], capsys: pytest.CaptureFixture[str]
) -> None:
    for question in with_noun:
        card.run(question.id, True)
        told = capsys.readouterr().out
        assert "{" not in told
        assert "the rind" in told.lower()
    listing.questions(False)
    assert "{rind}" not in capsys.readouterr().out


def test_json_fills_the_noun(diagnoser: Diagnoser, with_noun: list[Question]) -> None:
    catalog = diagnoser.catalog
    assert RIND not in json.dumps(as_json.questions(catalog))
    found = diagnoser.diagnose(Answers.of({"style": "blue_coated", "age_days": 12.0}))
    for question in with_noun:
        asks = replace(found, next_question=NextQuestion(question.id, 0.1, 0.1, ()))
        for family in catalog.families.values():
            assert as_json.diagnosis(catalog, asks, family.noun)["next_question"]["ask"] == asked(question, family.noun)
        assert RIND not in json.dumps(as_json.diagnosis(catalog, asks))


def test_what_was_noticed_is_read_back_with_the_noun(diagnoser: Diagnoser) -> None:
    for question in diagnoser.catalog.questions.values():
        for words in question.words[:1] if RIND in question.ask else ():
            assert all(RIND not in r.says for r in readings(diagnoser.catalog, words))
