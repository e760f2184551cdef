"""What the check says of rules that count and yet should be looked at again."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import UNKNOWN, Answers
from rindwright.engine.belief import Finding, Lane, Network, beliefs
from rindwright.engine.catalog import Catalog
from rindwright.engine.chaining import Chainer
from rindwright.engine.conditions import truth
from rindwright.engine.house.checking import Report, check
from rindwright.engine.house.firing import answers_for, can_be
from rindwright.engine.house.reach import Ruler
from rindwright.engine.house.reading import Shelf, read_rule, read_shelf
from rindwright.engine.house.speaking import speaks, view_of
from rindwright.engine.house.writing import awake, put_to_rest, rule_text, scalar
from rindwright.engine.model import Condition, Knowledge
from rindwright.engine.network import reliability
from rindwright.engine.reading.nodes import read_yaml

from tests.house_rules import entry_of
from tests.strategies import answers_of, value_of

from .conftest import RED_DUST, head

EXAMPLES = "examples: {speaks: {slimy_wet: clear}, silent: {slimy_wet: no}}\n"


def looked_over(knowledge: Knowledge, *texts: str) -> Report:
    return check(knowledge, Shelf(tuple(entry_of(t) for t in texts), ()))


def said(report: Report, kind: str = "doubt") -> str:
    return "\n".join(str(r.fault) for r in report.remarks if r.kind == kind)


def test_a_good_rule_gives_no_remark(knowledge: Knowledge) -> None:
    report = looked_over(knowledge, RED_DUST)
    assert report.remarks == ()
    assert report.layered.in_force == ("red_dust",)


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (
            "circumstance: {id: x1, means: x, how_common: few makers,"
            " when: {all: [{ask: surface_ph, above: 6}, {ask: surface_ph, below: 5}]}}",
            "never fire",
        ),
        (
            "circumstance: {id: x1, means: x, how_common: few makers,"
            " when: {all: [{ask: milk_heat, one_of: [raw]}, {ask: milk_heat, one_of: [heated]}]}}",
            "never fire",
        ),
        (
            "circumstance: {id: x1, means: x, how_common: few makers,"
            " when: {all: [{rind: [small_soft]}, {rind: [alpine]}]}}",
            "never fire",
        ),
        (
            "circumstance: {id: x1, means: x, how_common: few makers,"
            " when: {all: [{ask: slimy_wet}, {unanswered: slimy_wet}]}}",
            "never fire",
        ),
        ("link: {cause: box_too_wet, sign: sage_tinge, seen: often, rinds: [alpine]}", "share no rind"),
        (
            "cause: {id: x1, kind: fault, name: X, what: It is so., rinds: [washed], base_rate: rare}",
            "Nothing points to",
        ),
        ("change: {cause: box_too_wet, sign: slimy_wet, to: usually}", 'usually" already'),
        (
            "sign: {id: x1, name: Still pale when a tint is due, on_sound_rinds: rarely,"
            " when: {ask: tint, one_of: [trace]}}",
            "the same name",
        ),
        ("sign: {id: x1, name: x, on_sound_rinds: rarely, when: {ask: tint, one_of: ['none']}}", "the same condition"),
        ("likelier: {cause: blue_slimy, when: air_80_to_90, strength: small}", '"blue_slimy" cannot be'),
        ("against: {cause: blue_slimy, sign: sage_tinge, strength: small}", "Cause and sign share no rind"),
        (
            "remedy: {cause: blue_slimy, at: today, act: wait, do: Wait., rinds: [washed]}",
            "Cause and step share no rind",
        ),
        (
            "remedy: {cause: blue_slimy, at: today, act: wait, do: Wait., only_if: {rind: [washed]}}",
            "can never be so, whatever the answers",
        ),
        (
            "cause: {id: x1, kind: fault, name: X, what: It is so., rinds: [blue], base_rate: rare,"
            " signs: [{sign: sage_tinge, seen: often}], today: [{act: wait, do: Wait.}]}",
            "Nothing points to",
        ),
        (
            "question: {id: x1, ask: Is it so?, kind: yes_no, about: look, effort: glance}\n"
            "sign: {id: x1, name: x, on_sound_rinds: rarely}",
            'Nothing looks at "x1"',
        ),
        (
            "circumstance: {id: x1, means: x, how_common: few makers, when: {ask: surface_ph, above: 6}}",
            'Nothing looks at "x1"',
        ),
        ("link: {cause: box_too_wet, sign: cracks, seen: often}", "contradicts the packaged knowledge"),
        ("against: {cause: box_too_wet, sign: slimy_wet, strength: small}", "contradicts the packaged knowledge"),
    ],
)
def test_each_doubt(knowledge: Knowledge, parts: str, words: str) -> None:
    report = looked_over(knowledge, head() + parts + "\n" + EXAMPLES)
    assert report.layered.in_force == ("red_dust",), said(report, "fault")
    assert words in said(report)


def test_a_missing_example_and_one_that_fails(knowledge: Knowledge) -> None:
    bare = RED_DUST.split("examples:")[0]
    assert said(looked_over(knowledge, bare)).count("An example is missing") == 1
    swapped = bare + "examples: {speaks: {red_dust: no}, silent: {red_dust: yes}}\n"
    wrong = said(looked_over(knowledge, swapped), "example")
    assert "stays silent here, and should speak" in wrong
    assert "speaks here, and should stay silent" in wrong
    odd = bare + "examples: {speaks: {red_dusk: yes}, silent: {style: small_hard}}\n"
    wrong = said(looked_over(knowledge, odd), "example")
    assert 'did you mean "red_dust"' in wrong
    assert "small_hard" in wrong


def test_two_rules_that_say_the_same_and_one_that_contradicts_itself(knowledge: Knowledge) -> None:
    tie = "link: {cause: too_cold, sign: slimy_wet, seen: often}\n" + EXAMPLES
    report = looked_over(knowledge, head("one_rule") + tie, head("two_rule") + tie)
    assert "This repeats house rule two_rule." in said(report)
    itself = head() + (
        "link: {cause: too_cold, sign: slimy_wet, seen: often}\n"
        "against: {cause: too_cold, sign: slimy_wet, strength: small}\n"
        "examples: {speaks: {slimy_wet: clear}, silent: {slimy_wet: clear}}\n"
    )
    report = looked_over(knowledge, itself)
    assert "This contradicts itself" in said(report)
    assert "the same answers stand under speaks and silent" in said(report)


def test_a_rule_that_overwhelms_and_many_that_do_so_together(knowledge: Knowledge) -> None:
    strong = RED_DUST.replace("on_sound_rinds: rarely", "on_sound_rinds: almost never").replace(
        "often", "nearly always"
    )
    assert "and nothing packaged by more than 14" in said(looked_over(knowledge, strong))
    many = [
        RED_DUST.replace("red_dust", f"dust_{k}").replace("red dust", f"dust {k}").replace("Brush", f"{k} times brush")
        for k in range(6)
    ]
    again = head("dust_again") + "link: {cause: dirty_or_stale_mats, sign: dust_0, seen: often}\n"  # counts once
    together = said(looked_over(knowledge, *many, again))
    assert "6 house rules (dust_0, dust_1, dust_2, dust_3 and 2 more) work on dirty or stale mats" in together
    assert "the strongest packaged statement does so by" in together
    assert "e+" not in together


def test_a_changed_word_is_measured_from_the_packaged_one(knowledge: Knowledge) -> None:
    report = looked_over(knowledge, head() + "change: {cause: box_too_wet, to: rare}\n" + EXAMPLES)
    (reach,) = report.reach["red_dust"]
    catalog = Catalog(knowledge)
    assert reach.base == catalog.value("base_rate", catalog.causes["box_too_wet"].base_rate)
    assert reach.moved == pytest.approx(catalog.value("base_rate", "rare"))
    assert "it divides the odds by" in said(report)
    both = "change: [{cause: box_too_wet, sign: lid_drops, to: rarely}, {sign: lid_drops, to: usually}]\n"
    one = "change: {cause: box_too_wet, sign: lid_drops, to: rarely}\n"
    (weak,) = [r for r in looked_over(knowledge, head() + both).reach["red_dust"] if r.cause == "box_too_wet"]
    (less,) = looked_over(knowledge, head() + one).reach["red_dust"]
    assert 0 < weak.log_odds < less.log_odds  # two words for one tie count once, together
    quiet = head() + "change: {sign: lid_drops, to: almost never}\n" + EXAMPLES
    moved = {r.cause: r for r in looked_over(knowledge, quiet).reach["red_dust"]}
    assert moved["box_too_wet"].log_odds > 1  # a sign that sound rinds never show tells more


def test_what_speaks_against_is_measured_where_nothing_packaged_does(knowledge: Knowledge) -> None:
    catalog = Catalog(knowledge)
    bare = next(c.id for c in catalog.causes.values() if not c.against)
    parts = RED_DUST.replace("link:", "against:").replace("seen: often", "strength: strong")
    ruler = Ruler(Catalog(looked_over(knowledge, RED_DUST).layered.knowledge), catalog)
    (reach,) = ruler.reach(entry_of(parts.replace("cause: dirty_or_stale_mats, sign", f"cause: {bare}, sign")).rule)
    assert reach.log_odds < 0 < reach.cited


def test_too_common_causes_are_doubted(knowledge: Knowledge) -> None:
    texts = [
        head(f"cause_{k}") + f"cause: {{id: cause_{k}, kind: fault, name: X{k}, what: So., rinds: [washed],"
        f" base_rate: common, signs: [{{sign: slimy_wet, seen: often}}], today: [{{act: wait, do: Wait {k}.}}]}}\n"
        + EXAMPLES
        for k in range(40)
    ]
    assert "faults per cheese" in said(looked_over(knowledge, *texts))


def test_reach_of_a_sign_is_that_of_the_network(knowledge: Knowledge) -> None:
    report = looked_over(knowledge, RED_DUST)
    (reach,) = report.reach["red_dust"]
    catalog = Catalog(report.layered.knowledge)
    there, absent = reliability(catalog.noise["look"], "there", False)
    leak, seen = catalog.value("frequency", "rarely"), catalog.value("frequency", "often")
    base = catalog.value("base_rate", catalog.causes["dirty_or_stale_mats"].base_rate)
    network = Network((base,), (), (Finding(leak, ((0, seen),), there, absent),))
    assert reach.moved == pytest.approx(float(beliefs(network, [Lane()]).posterior[0, 0]), abs=1e-9)
    assert reach.base == base
    assert reach.log_odds > 0 < reach.cited


def test_reach_of_a_circumstance_is_the_move_of_the_builder(knowledge: Knowledge, catalog: Catalog) -> None:
    text = head() + "likelier: {cause: too_cold, when: air_very_wet, strength: strong}\n"
    report = looked_over(knowledge, text)
    (reach,) = report.reach["red_dust"]
    common = catalog.value("how_common", catalog.circumstances["air_very_wet"].how_common)
    strong = catalog.value("strength", "strong")
    assert reach.log_odds == pytest.approx(math.log(strong / (1 + common * (strong - 1))))
    (unmoved,) = Ruler(catalog, catalog).reach(entry_of(RED_DUST).rule)
    assert unmoved.log_odds == 0  # its sign is not known there


ATOMS_DRAWN = ("ask", "number", "rind", "unanswered", "dont_know", "may_be", "paste")


@st.composite
def conditions(draw: st.DrawFn, catalog: Catalog, depth: int = 2) -> Condition:
    """Small conditions on few questions, so that many of them cannot be met."""
    kind = draw(st.sampled_from((*ATOMS_DRAWN, "all", "any", "none") if depth else ATOMS_DRAWN))
    if kind in ("all", "any", "none"):
        parts = draw(st.lists(conditions(catalog, depth - 1), min_size=1, max_size=3))
        return Condition(**{kind: tuple(parts)})
    if kind == "number":
        limit = float(draw(st.integers(5, 7)))
        return (
            Condition(ask="surface_ph", above=limit)
            if draw(st.booleans())
            else Condition(ask="surface_ph", below=limit)
        )
    if kind == "rind":
        return Condition(rind=(draw(st.sampled_from(("small", "large", "small_soft"))),))
    if kind == "may_be":
        return Condition(may_be=(draw(st.sampled_from(("small", "large", "small_soft"))),))
    if kind == "paste":
        return Condition(paste=(draw(st.sampled_from(("soft", "semi soft"))),))
    if kind in ("unanswered", "dont_know"):
        return Condition(**{kind: draw(st.sampled_from(("milk_heat", "surface_ph", "style")))})
    return Condition(ask="milk_heat", one_of=(draw(st.sampled_from(("raw", "heated", "pasteurised"))),))


@settings(max_examples=200)
@given(st.data())
def test_can_be_agrees_with_trying_every_answer(catalog: Catalog, data: st.DataObject) -> None:
    condition = data.draw(conditions(catalog))
    anything = any(
        truth(condition, view_of(catalog, Answers.of(_given(style, heat, ph)))) is True
        for style in (None, UNKNOWN, "small_soft", "tilsit", "monastery", "small_lactic", "hard_bare")
        for heat in (None, UNKNOWN, "raw", "heated", "pasteurised")
        for ph in (None, UNKNOWN, 4.0, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5)
    )
    assert can_be(catalog, condition) is anything
    found = answers_for(catalog, condition)
    assert (found is not None) is anything


def _given(style: str | None, heat: str | None, ph: str | float | None) -> dict[str, str | float]:
    said = {"style": style, "milk_heat": heat, "surface_ph": ph}
    return {name: value for name, value in said.items() if value is not None}


def test_every_packaged_sign_and_circumstance_can_be(catalog: Catalog) -> None:
    never = [c.id for c in catalog.circumstances.values() if not can_be(catalog, c.when)]
    never += [s.id for s in catalog.signs.values() if s.when and not can_be(catalog, s.when)]
    assert never == []


@pytest.fixture(scope="module")
def warm_and_wet(knowledge: Knowledge) -> tuple[Catalog, Chainer]:
    text = head() + (
        "circumstance: {id: x1, means: x, how_common: few makers, when: {any: [{holds: air_very_wet},"
        " {all: [{ask: temp_high_c, above: 14}, {sign: slimy_wet}]}]}}\n"
    )
    catalog = Catalog(looked_over(knowledge, text).layered.knowledge)
    return catalog, Chainer(catalog)


@settings(max_examples=60)
@given(st.data())
def test_a_rule_with_a_circumstance_speaks_just_when_it_holds(
    warm_and_wet: tuple[Catalog, Chainer], data: st.DataObject
) -> None:
    now, chainer = warm_and_wet
    answers = data.draw(answers_of(now, 12))
    answers = answers.adding("temp_high_c", data.draw(value_of(now, "temp_high_c")))
    rule = entry_of(head() + "likelier: {cause: too_cold, when: x1, strength: small}\n").rule
    fits = answers.cheese(now).is_one_of(now.causes["too_cold"].rinds) is not False
    cold = now.causes["too_cold"]
    fits = fits and answers.cheese(now).in_window(cold.from_day, cold.to_day) is not False
    assert speaks(now, rule, answers) is (fits and chainer.run(answers).circumstance("x1") is True)


@settings(max_examples=200)
@given(st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=40))
def test_a_written_text_is_read_back_as_it_was(text: str) -> None:
    read = read_yaml(f"a: {scalar(text)}\nb: [{scalar(text)}]\n", "x")
    assert read.faults == []
    assert read.data == {"a": text, "b": [text]}


@settings(max_examples=60)
@given(
    st.lists(
        st.sampled_from(("red", "dust:", "#", "-", "'", "é", "yes", "{a}", "below", "the", "wheel,")),
        min_size=2,
        max_size=60,
    )
)
def test_a_long_text_is_read_back_word_for_word(words: list[str]) -> None:
    text = " ".join(["because", *words])
    read = read_yaml(rule_text({"because": text}), "x")
    assert read.faults == []
    assert isinstance(read.data, dict)
    assert " ".join(str(read.data["because"]).split()) == text


def test_putting_to_rest_and_waking_keeps_every_line(house: Path) -> None:
    rested = put_to_rest(RED_DUST, "2026-11-28", 'The "cedar" is gone: burnt.')
    assert awake(rested) == RED_DUST
    entry, faults = read_rule(rested, "red_dust.yaml")
    assert faults == []
    assert entry is not None
    assert entry.rule.resting is not None
    assert entry.rule.resting.because == 'The "cedar" is gone: burnt.'
    assert put_to_rest(rested, "2026-11-29", "again").count("resting:") == 1
    block = RED_DUST + "resting:\n  since: 2026-11-28\n  because: x1 y\n"
    assert awake(block) == RED_DUST
    (house / "red_dust.yaml").write_text(rested, encoding="utf-8")
    assert read_shelf(house).faults == ()
