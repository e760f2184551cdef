"""Laws that every house keeps, whatever it says."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers, understand
from rindwright.engine.catalog import Catalog
from rindwright.engine.cautions import screen
from rindwright.engine.chaining import Chainer
from rindwright.engine.conditions import leaves
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.house.firing import answers_for
from rindwright.engine.house.keeping import open_house
from rindwright.engine.house.layering import layer
from rindwright.engine.house.promising import promised
from rindwright.engine.house.reading import read_shelf
from rindwright.engine.house.speaking import view_of
from rindwright.engine.house.writing import awake, put_to_rest
from rindwright.engine.model import Cause, Knowledge
from rindwright.engine.noticing import readings
from rindwright.engine.protection import grave_words, protected, weakened
from rindwright.engine.short import in_short

from tests.house_rules import KINDS, entry_of, houses, meddlers, rule_of, rules_of, text_of
from tests.strategies import answers_of

from .conftest import RED_DUST


def test_an_empty_house_is_the_packaged_knowledge_itself(knowledge: Knowledge, house: Path, tmp_path: Path) -> None:
    assert layer(knowledge, []).knowledge is knowledge
    for folder in (None, house, tmp_path / "nowhere"):
        opened = open_house(knowledge, folder, tmp_path / "cache")
        assert opened.knowledge is knowledge
        assert opened.version == ""


@settings(max_examples=40)
@given(st.data())
def test_the_order_of_files_never_matters(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    entries = data.draw(houses(catalog, 12))
    shuffled = data.draw(st.permutations(entries))
    one, two = layer(knowledge, entries), layer(knowledge, shuffled)
    assert one.knowledge == two.knowledge
    assert one.knowledge.house_version == two.knowledge.house_version
    assert (one.faults, one.in_force) == (two.faults, two.in_force)


@settings(max_examples=25)
@given(st.data())
def test_adding_and_taking_back_is_identity(
    knowledge: Knowledge, catalog: Catalog, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Of what is opened, through the cache that every start uses, whatever the rule does to the others."""
    place, seed = tmp_path_factory.mktemp("place"), data.draw(st.integers(0, 10_000))
    folder, cache = place / "house", place / "cache"
    folder.mkdir()
    for rule in rules_of(catalog, 5, seed):
        (folder / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")
    before = open_house(knowledge, folder, cache)
    more = rule_of(random.Random(seed + 1), catalog, "zz_more", data.draw(st.sampled_from(KINDS)))
    (folder / "zz_more.yaml").write_text(text_of(more), encoding="utf-8")
    between = open_house(knowledge, folder, cache)
    assert between.version != before.version or between.faults != before.faults
    (folder / "zz_more.yaml").unlink()
    after = open_house(knowledge, folder, cache)
    assert (after.knowledge, after.version, after.faults) == (before.knowledge, before.version, before.faults)


@settings(max_examples=30)
@given(st.data())
def test_a_resting_rule_is_the_same_as_a_deleted_one(
    knowledge: Knowledge, catalog: Catalog, data: st.DataObject
) -> None:
    kinds = data.draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=8))
    texts = [text_of(rule) for rule in rules_of(catalog, len(kinds), data.draw(st.integers(0, 10_000)), kinds)]
    gone = data.draw(st.integers(0, len(texts) - 1))
    rested = put_to_rest(texts[gone], "2026-11-28", "It rests.")
    one = layer(knowledge, [entry_of(rested if k == gone else text) for k, text in enumerate(texts)])
    two = layer(knowledge, [entry_of(text) for k, text in enumerate(texts) if k != gone])
    assert one.knowledge == two.knowledge
    assert (one.in_force, one.faults) == (two.in_force, two.faults)
    assert entry_of(awake(rested)).rule == entry_of(texts[gone]).rule


@settings(max_examples=40)
@given(st.data())
def test_switching_off_is_the_same_as_deleting(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    """Whatever is switched off: a cause, one tie of it, a sign, a circumstance or a normal row."""
    kind = data.draw(st.sampled_from(("cause", "cause and sign", "cause and when", "sign", "circumstance", "normal")))
    target = data.draw(st.sampled_from(_targets(catalog, kind)))
    rule = {"rule": "off_it", "owner": "Marta", "date": "2026-11-27", "because": "Invented.", "off": target}
    layered = layer(knowledge, [entry_of(rule)])
    assert not layered.faults
    answers = data.draw(answers_of(catalog, 12))
    deleted = _deleted(knowledge, **target)
    assert deleted != knowledge
    one, two = Diagnoser(layered.knowledge).diagnose(answers), Diagnoser(deleted).diagnose(answers)
    assert one.causes == two.causes
    assert (one.verdict, one.normal, one.explanations, one.plan) == (
        two.verdict,
        two.normal,
        two.explanations,
        two.plan,
    )
    assert one.next_question == two.next_question


def _targets(catalog: Catalog, kind: str) -> list[dict[str, str]]:
    """Everything packaged of a kind that may be switched off: no caution and no condition rests on it."""
    safe = protected(catalog.knowledge)
    held = [leaf for record in (*catalog.signs.values(), *catalog.circumstances.values()) if record.when
            for leaf in leaves(record.when)]  # fmt: skip
    held += [leaf for q in catalog.questions.values() if q.ask_if for leaf in leaves(q.ask_if)]
    held += [leaf for r in catalog.normal.values() if r.only_if for leaf in leaves(r.only_if)]
    causes = list(catalog.causes.values())
    held += [leaf for c in causes for s in (*c.today, *c.next_make) for x in (s.only_if, s.unless) if x
             for leaf in leaves(x)]  # fmt: skip
    read = {leaf.sign for leaf in held} | {leaf.holds for leaf in held}
    return {
        "cause": [{"cause": c.id} for c in causes],
        "cause and sign": [{"cause": c.id, "sign": x.sign} for c in causes for x in c.signs],
        "cause and when": [{"cause": c.id, "when": x.when} for c in causes for x in c.likelier],
        "sign": [{"sign": s} for s in catalog.signs if s not in safe.signs and s not in read],
        "circumstance": [
            {"circumstance": x} for x in catalog.circumstances if x not in safe.circumstances and x not in read
        ],
        "normal": [{"normal": row} for row in catalog.normal],
    }[kind]


def _deleted(
    knowledge: Knowledge, cause: str = "", sign: str = "", when: str = "", circumstance: str = "", normal: str = ""
) -> Knowledge:
    """The knowledge as if something had never been written."""
    whole = cause and not (sign or when)

    def without(c: Cause) -> Cause:
        mine = not cause or c.id == cause
        no_sign, no_when = (sign if mine else "", (when or circumstance) if mine else "")
        return replace(
            c,
            signs=tuple(x for x in c.signs if not no_sign or x.sign != no_sign),
            likelier=tuple(x for x in c.likelier if not no_when or x.when != no_when),
            against=tuple(
                x for x in c.against if (not no_sign or x.sign != no_sign) and (not no_when or x.when != no_when)
            ),
            leads_to=tuple(f for f in c.leads_to if not whole or f.cause != cause),
            mistaken_for=tuple(m for m in c.mistaken_for if not whole or m.cause != cause),
        )

    alone = sign if not cause else ""
    rows = [replace(r, signs=tuple(s for s in r.signs if s != alone)) for r in knowledge.normal if r.id != normal]
    return replace(
        knowledge,
        causes=tuple(without(c) for c in knowledge.causes if not whole or c.id != cause),
        signs=tuple(
            replace(s, spared_by=tuple(c for c in s.spared_by if not whole or c != cause))
            for s in knowledge.signs
            if s.id != alone
        ),
        circumstances=tuple(c for c in knowledge.circumstances if c.id != circumstance),
        normal=tuple(r for r in rows if r.signs),
    )


@settings(max_examples=40)
@given(st.data())
def test_no_house_weakens_a_caution(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    """Sound rules, and among them some that try just that; on answers that raise one caution or another."""
    entries = data.draw(houses(catalog, 6)) + data.draw(meddlers(catalog, 6))
    layered = layer(knowledge, data.draw(st.permutations(entries)))
    assert weakened(knowledge, layered.knowledge) == ()
    answers = data.draw(answers_of(catalog, 14))
    caution = data.draw(st.sampled_from(sorted(catalog.cautions)))
    told: dict[str, object] = {q.id: "yes" for q in layered.knowledge.questions if q.id not in catalog.questions}
    told |= answers_for(catalog, catalog.cautions[caution].when) or {}
    questions = Catalog(layered.knowledge).questions
    for question, value in told.items():
        answers = answers.adding(question, understand(questions[question], value))
    one, two = Diagnoser(knowledge), Diagnoser(layered.knowledge)
    alone, now = in_short(one, answers), in_short(two, answers)
    assert set(alone.cautions) <= set(now.cautions)
    grave = {c.id for c in catalog.cautions.values() if c.level != "note"}
    assert [c for c in now.cautions if c[0] in grave] == [c for c in alone.cautions if c[0] in grave]
    assert (now.verdict == alone.verdict) or alone.verdict not in ("stop", "hold")
    before, after = one.prepare(answers)[2], two.prepare(answers)[2]
    assert (after.open_questions, after.told, after.untold) == (before.open_questions, before.told, before.untold)
    assert after.tasting_allowed == before.tasting_allowed


@settings(max_examples=40)
@given(st.data())
def test_the_screen_is_the_same_with_any_house(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    layered = layer(knowledge, data.draw(houses(catalog, 12)))
    now = Catalog(layered.knowledge)
    assert now.cautions == catalog.cautions
    answers = data.draw(answers_of(catalog, 25))
    chained = Chainer(now).run(answers)
    view = replace(view_of(now, answers), holds=chained.circumstance, sign=chained.sign)
    assert screen(now, view) == screen(catalog, view_of(catalog, answers))


@settings(max_examples=40)
@given(st.data())
def test_truth_by_need_is_the_truth_of_chaining(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    now = Catalog(layer(knowledge, data.draw(houses(catalog, 6))).knowledge)
    answers = data.draw(answers_of(now, 30))
    chained, view = Chainer(now).run(answers), view_of(now, answers)
    assert {c: view.holds(c) for c in now.circumstances} == {c: chained.circumstance(c) for c in now.circumstances}
    assert {s: view.sign(s) for s in now.signs} == {s: chained.sign(s) for s in now.signs}


@settings(max_examples=40)
@given(st.data())
def test_words_of_a_house_never_hide_a_grave_word(knowledge: Knowledge, catalog: Catalog, data: st.DataObject) -> None:
    safe = protected(knowledge)
    grave = sorted(grave_words(knowledge, safe))
    word = data.draw(st.sampled_from(grave))
    more = data.draw(st.lists(st.sampled_from((*word.split(), "odd")), max_size=2))
    mine = " ".join([*more, word, *data.draw(st.lists(st.sampled_from(("wheel", "today", "white")), max_size=2))])
    assume(not promised(mine))  # such as "kids eat": no rule may say that at all
    rule = rule_of(random.Random(1), catalog, "made_1", "sign")
    rule["sign"]["words"] = [mine]
    layered = layer(knowledge, [entry_of(rule), entry_of(RED_DUST)])
    assert ("made_1" in layered.in_force) == (mine not in grave)
    assert "red_dust" in layered.in_force  # whatever becomes of the other
    now = Catalog(layered.knowledge)
    for text in (mine, word, f"it is {word} and more", data.draw(st.sampled_from(grave)) + " " + mine):
        heard = {(r.question, r.value) for r in readings(catalog, text) if r.question in safe.questions}
        assert heard <= {(r.question, r.value) for r in readings(now, text)}


@settings(max_examples=25)
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


@settings(max_examples=8)
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
