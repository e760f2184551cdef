"""The cheese that a set of answers speaks of: its style, and its age when only the day of making is known."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import AGE, MADE, UNKNOWN, Answers, Value
from rindwright.engine.catalog import Catalog
from rindwright.engine.conditions import leaf_truth, leaves
from rindwright.engine.errors import AnswersError
from rindwright.engine.gates import FIRST, must_ask, offered, plain_view
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.answers_file import read_answers


@pytest.fixture(scope="module")
def catalog(knowledge: Knowledge) -> Catalog:
    return Catalog(knowledge)


@pytest.mark.parametrize(
    ("given_answers", "age"),
    [
        ({"style": "small_soft", "age_days": 9.0, "made_days_ago": 40.0}, 9.0),  # the count asked for comes first
        ({"style": "small_soft", "made_days_ago": 10.0}, 9.0),
        ({"style": "small_soft", "age_days": UNKNOWN, "made_days_ago": 10.0}, 9.0),
        ({"style": "blue_moist", "made_days_ago": 30.0}, 23.0),
        ({"style": "blue_moist", "made_days_ago": 3.0}, 0.0),  # still being salted
        ({"style": "hard_cloth", "made_days_ago": 0.0}, 0.0),
        ({"family": "lactic", "made_days_ago": 10.0}, 8.0),  # all its styles agree
        ({"family": "blue", "made_days_ago": 20.0}, 16.0),  # 1, 4, 7 and 7 days of salting: the lower middle one
        ({"style": "small_soft", "made_days_ago": UNKNOWN}, None),
        ({"style": "small_soft"}, None),
    ],
)
def test_the_age_of_a_cheese_whose_day_of_making_is_known(
    catalog: Catalog, given_answers: dict[str, Value], age: float | None
) -> None:
    assert Answers.of(given_answers).cheese(catalog).age_days == age


@pytest.mark.parametrize("made", [0.0, 1.5, 12.0, 400.0])
def test_the_day_of_making_says_the_same_as_the_age_it_gives(catalog: Catalog, made: float) -> None:
    for style in catalog.styles.values():
        by_make = Answers.of({"style": style.id, MADE: made})
        by_age = Answers.of({"style": style.id, AGE: max(0.0, made - style.salting_ends_day)})
        assert by_make.cheese(catalog) == by_age.cheese(catalog)
        for circumstance in catalog.circumstances.values():
            for leaf in leaves(circumstance.when):
                if leaf.ask == AGE:
                    cheese = by_make.cheese(catalog)
                    assert leaf_truth(leaf, by_make, cheese) == leaf_truth(leaf, by_age, cheese)


def test_the_day_of_making_is_asked_only_after_the_age_is_not_known(catalog: Catalog) -> None:
    given_answers: dict[str, Value] = {"family": "blue", "style": "blue_moist"}
    assert must_ask(catalog, plain_view(catalog, Answers.of(given_answers)), ids=FIRST) == AGE
    known = Answers.of({**given_answers, AGE: 20.0})
    assert must_ask(catalog, plain_view(catalog, known), ids=FIRST) is None
    unknown = Answers.of({**given_answers, AGE: UNKNOWN})
    assert must_ask(catalog, plain_view(catalog, unknown), ids=FIRST) == MADE
    assert must_ask(catalog, plain_view(catalog, Answers.of(given_answers)), frozenset({AGE}), FIRST) == MADE


def test_each_family_is_offered_its_own_styles(catalog: Catalog) -> None:
    question = catalog.questions["style"]
    assert [o.id for o in catalog.questions["family"].options] == list(catalog.families)
    for family in catalog.families.values():
        cheese = Answers.of({"family": family.id}).cheese(catalog)
        assert [o.id for o in offered(question, cheese)] == [s.id for s in family.styles]
    assert {o.id for o in offered(question, Answers().cheese(catalog))} == set(catalog.styles)


def test_a_style_of_another_family_is_left_out_of_the_cheese_and_refused_in_a_file(catalog: Catalog) -> None:
    cheese = Answers.of({"family": "blue", "style": "small_soft"}).cheese(catalog)
    assert (cheese.family, cheese.style) == ("blue", None)
    with pytest.raises(AnswersError) as caught:
        read_answers(catalog, "family: blue\nstyle: small_soft\nage_days: 20\n", "mine.yaml")
    assert [str(f) for f in caught.value.faults] == [
        'mine.yaml:2:8: "small_soft" is a washed rind, but "family" says blue; '
        "expected blue_coated, blue_moist, blue_cold or blue_small."
    ]
