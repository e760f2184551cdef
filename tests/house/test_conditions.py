"""Every key of a condition is looked at by a house rule: what it names, what rests on it, what can be."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.conditions import ATOMS, JOINS, LIMITS, describe, names_in, truth
from rindwright.engine.house.firing import answers_for, can_be
from rindwright.engine.house.saying import needs
from rindwright.engine.house.speaking import told, view_of
from rindwright.engine.house.writing import rule_text
from rindwright.engine.model import Condition, Knowledge

from tests.house_rules import HEAD, entry_of

from .conftest import laid, sentences

KEYS = [f.name for f in fields(Condition)]
HEAT: dict[str, Any] = {"ask": "milk_heat", "one_of": ["raw"]}
GOOD: dict[str, dict[str, Any]] = {
    "ask": HEAT,
    "one_of": HEAT,
    "unanswered": {"unanswered": "milk_heat"},
    "dont_know": {"dont_know": "milk_heat"},
    "holds": {"holds": "air_very_wet"},
    "sign": {"sign": "slimy_wet"},
    "rind": {"rind": ["washed"]},
    "may_be": {"may_be": ["washed", "small_soft"]},
    "paste": {"paste": ["soft"]},
    "all": {"all": [HEAT, {"rind": ["washed"]}]},
    "any": {"any": [HEAT, {"rind": ["washed"]}]},
    "none": {"none": [HEAT, {"rind": ["washed"]}]},
    **{key: {"ask": "surface_ph", key: "6"} for key in LIMITS},
}
"""A condition with each key, as a maker writes it."""


def rule_with(when: dict[str, Any], name: str = "red_dust") -> str:
    """An invented rule whose circumstance stands on a condition."""
    fact = {"id": name, "means": f"{name} is so", "how_common": "few makers", "when": when}
    return rule_text({"rule": name, **HEAD, "circumstance": fact})


def condition_of(when: dict[str, Any]) -> Condition:
    return entry_of(rule_with(when)).rule.circumstance[0].when


def wrong(when: object) -> Any:
    """A condition with every name in it made an unknown one."""
    if isinstance(when, list):
        return [wrong(part) for part in when]
    if isinstance(when, dict):
        return {key: value if key in LIMITS else wrong(value) for key, value in when.items()}
    return "no_such_name"


@pytest.mark.parametrize("key", KEYS)
def test_every_key_is_known_of_and_its_names_are_looked_up(knowledge: Knowledge, key: str) -> None:
    assert key in {*ATOMS, *JOINS, *LIMITS, "one_of"}
    good = GOOD[key]
    assert sentences(laid(knowledge, entry_of(rule_with(good)))) == []
    if key == "paste":  # a closed list of words, refused as the file is read
        with pytest.raises(AssertionError, match="no_such_name"):
            entry_of(rule_with(wrong(good)))
    else:
        layered = laid(knowledge, entry_of(rule_with(wrong(good))))
        assert layered.in_force == ()
        assert any("no_such_name" in s for s in sentences(layered))


def test_a_single_unknown_name_in_a_list_is_found_where_it_stands(knowledge: Knowledge) -> None:
    layered = laid(knowledge, entry_of(rule_with({"may_be": ["washed", "washt"]})))
    assert sentences(layered) == ['"washt" is not a known rind (did you mean "washed"?).']


@pytest.mark.parametrize("key", KEYS)
def test_a_rule_rests_on_whatever_its_condition_names(key: str) -> None:
    needed = {(kind, id) for kind, id, _ in needs(entry_of(rule_with(GOOD[key])).rule)}
    named = {(kind, id) for atom in _atoms(condition_of(GOOD[key])) for kind, id, _ in names_in(atom)}
    assert named
    assert named <= needed


def _atoms(condition: Condition) -> list[Condition]:
    parts = condition.all or condition.any or condition.none
    return [condition] if not parts else [atom for part in parts for atom in _atoms(part)]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("so", [True, False])
def test_answers_are_found_that_make_it_so_and_not_so(catalog: Catalog, key: str, so: bool) -> None:
    condition = condition_of(GOOD[key])
    assert can_be(catalog, condition if so else Condition(none=(condition,)))
    written = answers_for(catalog, condition, so)
    assert written is not None
    answers, faults = told(catalog, written)
    assert faults == []
    assert truth(condition, view_of(catalog, answers)) is so


def test_no_two_keys_are_described_alike() -> None:
    atoms = [atom for when in GOOD.values() for atom in _atoms(condition_of(when))]
    assert len({describe(atom) for atom in atoms}) == len(set(atoms))


def test_a_rule_on_a_question_that_does_not_count_is_set_aside_with_it(knowledge: Knowledge) -> None:
    asked = {"id": "red_dust", "ask": "Is it so?", "kind": "yes_no", "about": "look", "effort": "glance"}
    broken = rule_text({"rule": "broken", **HEAD, "question": asked,
                        "link": {"cause": "no_such_cause", "sign": "slimy_wet", "seen": "often"}})  # fmt: skip
    resting = entry_of(rule_with({"dont_know": "red_dust"}, "resting"))
    layered = laid(knowledge, entry_of(broken), resting)
    assert layered.in_force == ()
    assert '"red_dust" comes from house rule broken, which does not count.' in sentences(layered)


@pytest.mark.parametrize(
    ("when", "possible"),
    [
        ([{"unanswered": "age_days"}], True),
        ([{"none": [{"unanswered": "age_days"}]}], True),
        ([{"unanswered": "age_days"}, {"ask": "age_days", "above": "10"}], False),
        ([{"dont_know": "age_days"}, {"ask": "age_days", "above": "10"}], True),  # it follows from the day of making
        (
            [{"dont_know": "age_days"}, {"ask": "age_days", "above": "10"}, {"ask": "made_days_ago", "below": "9"}],
            False,
        ),
        ([{"dont_know": "style"}, {"rind": ["washed"]}], True),  # the family may be known
        ([{"dont_know": "style"}, {"dont_know": "family"}, {"rind": ["washed"]}], False),
        ([{"dont_know": "style"}, {"dont_know": "family"}, {"may_be": ["washed"]}], True),
        ([{"may_be": ["small_soft"]}, {"may_be": ["small_lactic"]}], True),
        ([{"may_be": ["small_soft"]}, {"may_be": ["small_lactic"]}, {"none": [{"unanswered": "style"}]}], False),
        ([{"may_be": ["small_soft"]}, {"rind": ["small_lactic"]}], False),
        ([{"paste": ["soft"]}, {"none": [{"paste": ["soft"]}]}], False),
        ([{"paste": ["hard"]}, {"rind": ["small_soft"]}], False),
        ([{"ask": "style", "one_of": ["small_soft"]}, {"none": [{"rind": ["washed"]}]}], False),
        ([{"dont_know": "milk_heat"}, {"ask": "milk_heat", "one_of": ["raw"]}], False),
        ([{"dont_know": "milk_heat"}, {"unanswered": "milk_heat"}], True),
    ],
)
def test_what_the_cheese_and_its_age_allow(catalog: Catalog, when: list[dict[str, Any]], possible: bool) -> None:
    condition = condition_of({"all": when})
    assert can_be(catalog, condition) is possible
    found = answers_for(catalog, condition)
    assert (found is not None) is possible
    if found is not None:
        answers, faults = told(catalog, found)
        assert faults == []
        assert truth(condition, view_of(catalog, answers)) is True


def test_nothing_told_leaves_every_rind_open(catalog: Catalog) -> None:
    may = condition_of(GOOD["may_be"])
    assert truth(may, view_of(catalog, Answers.of({}))) is True
    assert answers_for(catalog, may) == {}
