"""Laws that every house keeps, whatever it says."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.cautions import screen
from rindwright.engine.chaining import Chainer
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.house.keeping import open_house
from rindwright.engine.house.layering import layer
from rindwright.engine.house.reading import read_shelf
from rindwright.engine.house.speaking import view_of
from rindwright.engine.model import Cause, Knowledge
from rindwright.engine.noticing import readings
from rindwright.engine.protection import grave_words, protected

from tests.house_rules import entry_of, houses, rule_of, rules_of, text_of
from tests.strategies import answers_of

from .conftest import RED_DUST


def test_an_empty_house_is_the_packaged_knowledge_itself(knowledge: Knowledge, house: Path, tmp_path: Path) -> None:
    assert layer(knowledge, []).knowledge is knowledge
    for folder in (None, house, tmp_path / "nowhere"):
        opened = open_house(knowledge, folder, tmp_path / "cache")
        assert opened.knowledge is knowledge
        assert opened.version == ""


@settings(max_examples=12)
@given(st.data())
def test_the_order_of_files_never_matters(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    entries = data.draw(houses(catalog, 12))
    shuffled = data.draw(st.permutations(entries))
    one, two = layer(knowledge, entries), layer(knowledge, shuffled)
    assert one.knowledge == two.knowledge
    assert one.knowledge.house_version == two.knowledge.house_version
    assert (one.faults, one.in_force) == (two.faults, two.in_force)


@settings(max_examples=8)
@given(st.data())
def test_adding_and_taking_back_is_identity(
    knowledge: Knowledge, catalog: Catalog, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("house")
    for rule in rules_of(catalog, 5, data.draw(st.integers(0, 10_000))):
        (folder / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")
    before = open_house(knowledge, folder, None)
    extra = folder / "zz_more.yaml"
    extra.write_text(RED_DUST.replace("rule: red_dust", "rule: zz_more"), encoding="utf-8")
    between = open_house(knowledge, folder, None)
    assert between.version != before.version
    extra.unlink()
    after = open_house(knowledge, folder, None)
    assert (after.knowledge, after.version, after.faults) == (before.knowledge, before.version, before.faults)


@settings(max_examples=8)
@given(st.data())
def test_switching_off_is_the_same_as_deleting(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    gone = data.draw(st.sampled_from(sorted(catalog.causes)))
    answers = data.draw(answers_of(catalog, 12))
    rule = {"rule": "off_it", "owner": "Marta", "date": "2026-11-27", "because": "Invented.", "off": {"cause": gone}}
    layered = layer(knowledge, [entry_of(rule)])
    assert not layered.faults
    one, two = Diagnoser(layered.knowledge).diagnose(answers), Diagnoser(_deleted(knowledge, gone)).diagnose(answers)
    assert one.causes == two.causes
    assert (one.verdict, one.normal, one.explanations, one.plan) == (
        two.verdict,
        two.normal,
        two.explanations,
        two.plan,
    )
    assert one.next_question == two.next_question


def _deleted(knowledge: Knowledge, gone: str) -> Knowledge:
    """The knowledge as if a cause had never been written."""

    def without(cause: Cause) -> Cause:
        feeds = tuple(f for f in cause.leads_to if f.cause != gone)
        return replace(cause, leads_to=feeds, mistaken_for=tuple(m for m in cause.mistaken_for if m.cause != gone))

    signs = tuple(replace(s, spared_by=tuple(c for c in s.spared_by if c != gone)) for s in knowledge.signs)
    return replace(knowledge, causes=tuple(without(c) for c in knowledge.causes if c.id != gone), signs=signs)


@settings(max_examples=14)
@given(st.data())
def test_no_house_weakens_a_caution(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    entries = data.draw(houses(catalog, 10))
    layered = layer(knowledge, entries)
    answers = data.draw(answers_of(Catalog(layered.knowledge), 14))
    alone, now = Diagnoser(knowledge).diagnose(answers), Diagnoser(layered.knowledge).diagnose(answers)
    grave = [c for c in alone.cautions if c.level != "note"]
    assert [c for c in now.cautions if c.level != "note"] == grave
    assert {c.id for c in alone.cautions} <= {c.id for c in now.cautions}
    assert now.safety_open == alone.safety_open
    assert (now.verdict == alone.verdict) or alone.verdict not in ("stop", "hold")


@settings(max_examples=20)
@given(st.data())
def test_the_screen_is_the_same_with_any_house(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    layered = layer(knowledge, data.draw(houses(catalog, 12)))
    now = Catalog(layered.knowledge)
    assert now.cautions == catalog.cautions
    answers = data.draw(answers_of(catalog, 25))
    chained = Chainer(now).run(answers)
    view = replace(view_of(now, answers), holds=chained.circumstance, sign=chained.sign)
    assert screen(now, view) == screen(catalog, view_of(catalog, answers))


@settings(max_examples=20)
@given(st.data())
def test_truth_by_need_is_the_truth_of_chaining(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    now = Catalog(layer(knowledge, data.draw(houses(catalog, 6))).knowledge)
    answers = data.draw(answers_of(now, 30))
    chained, view = Chainer(now).run(answers), view_of(now, answers)
    assert {c: view.holds(c) for c in now.circumstances} == {c: chained.circumstance(c) for c in now.circumstances}
    assert {s: view.sign(s) for s in now.signs} == {s: chained.sign(s) for s in now.signs}


@settings(max_examples=12)
@given(st.data())
def test_words_of_a_house_never_hide_a_grave_word(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    safe = protected(knowledge)
    grave = sorted(grave_words(knowledge, safe))
    word = data.draw(st.sampled_from(grave))
    more = data.draw(st.lists(st.sampled_from((*word.split(), "odd")), max_size=2))
    mine = " ".join([*more, word, *data.draw(st.lists(st.sampled_from(("wheel", "today", "white")), max_size=2))])
    rule = rule_of(random.Random(1), catalog, "made_1", "sign")
    rule["sign"]["words"] = [mine]
    layered = layer(knowledge, [entry_of(rule), entry_of(RED_DUST)])
    assert ("made_1" in layered.in_force) == (mine not in grave)
    assert "red_dust" in layered.in_force  # whatever becomes of the other
    now = Catalog(layered.knowledge)
    for text in (mine, word, f"it is {word} and more", data.draw(st.sampled_from(grave)) + " " + mine):
        heard = {(r.question, r.value) for r in readings(catalog, text) if r.question in safe.questions}
        assert heard <= {(r.question, r.value) for r in readings(now, text)}


@settings(max_examples=8)
@given(st.data())
def test_a_broken_file_is_reported_and_the_rest_works(
    knowledge: Knowledge, catalog: Catalog, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("house")
    sound = rules_of(catalog, 4, data.draw(st.integers(0, 1000)), ("sign", "fact", "cause", "remedy"))
    for rule in sound:
        (folder / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")
    before = open_house(knowledge, folder, None)
    broken = data.draw(
        st.sampled_from((b"\xff\xfe", b"", b"rule: [", b"- 1\n", b"rule: broken\nlink: 3\n", b"%TAG ! x"))
    )
    (folder / "broken.yaml").write_bytes(broken)
    after = open_house(knowledge, folder, None)
    assert after.knowledge == before.knowledge
    assert after.version == before.version
    assert [f for f in after.faults if f not in before.faults]
    assert {f.file for f in after.faults if f not in before.faults} == {"broken.yaml"}


@settings(max_examples=3)
@given(st.data())
def test_the_cache_gives_back_the_same_house(
    knowledge: Knowledge, catalog: Catalog, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    place = tmp_path_factory.mktemp("place")
    folder, cache = place / "house", place / "cache"
    folder.mkdir()
    for rule in rules_of(catalog, 6, data.draw(st.integers(0, 1000))):
        (folder / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")
    first, again = open_house(knowledge, folder, cache), open_house(knowledge, folder, cache)
    assert len(list(cache.glob("house-*.json"))) == 1
    assert (again.knowledge, again.faults, again.version) == (first.knowledge, first.faults, first.version)
    assert again.knowledge.beneath is knowledge
    for bad in ("", "{}", "{}\n{}", "[1]\n[]", "\x00"):
        for file in cache.glob("house-*.json"):
            file.write_text(bad, encoding="utf-8")
        assert open_house(knowledge, folder, cache).knowledge == first.knowledge


def test_reading_a_folder_never_writes_in_it(knowledge: Knowledge, house: Path) -> None:
    (house / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    before = {p.name: p.stat().st_mtime_ns for p in house.iterdir()}
    read_shelf(house)
    open_house(knowledge, house, None)
    assert {p.name: p.stat().st_mtime_ns for p in house.iterdir()} == before


def test_without_house_answers_nothing_changes(knowledge: Knowledge) -> None:
    layered = layer(knowledge, [entry_of(RED_DUST)])
    answers = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0, "slimy_wet": "clear"})
    before, after = Diagnoser(knowledge).diagnose(answers), Diagnoser(layered.knowledge).diagnose(answers)
    assert [(c.id, c.probability) for c in before.causes] == [(c.id, c.probability) for c in after.causes]
