"""Each thing a house rule can do, each reason it is refused, and who falls with it."""

from __future__ import annotations

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.errors import nearest
from rindwright.engine.house.checking import check
from rindwright.engine.house.drafting import off_examples
from rindwright.engine.house.layering import house_version, layer
from rindwright.engine.house.reading import Shelf, read_rule
from rindwright.engine.model import Knowledge
from rindwright.engine.protection import grave_words, protected

from tests.house_rules import entry_of

from .conftest import RED_DUST, head, laid, sentences


def test_a_sign_and_its_link_are_added_with_the_rule_as_their_source(knowledge: Knowledge) -> None:
    layered = laid(knowledge, entry_of(RED_DUST))
    catalog = Catalog(layered.knowledge)
    link = next(x for x in catalog.causes["dirty_or_stale_mats"].signs if x.sign == "red_dust")
    assert (link.seen, link.sources) == ("often", ("house_red_dust",))
    assert catalog.grade(link.sources) == "house"
    assert catalog.marks(link.sources)[0].owner == "Marta"
    assert catalog.marks(link.sources)[0].date == "2026-11-27"
    assert layered.knowledge.version == knowledge.version
    assert layered.knowledge.beneath is knowledge


def test_a_circumstance_a_derivation_and_a_shift(knowledge: Knowledge) -> None:
    rule = head() + (
        "circumstance: {id: cave_warm, means: the cave is warm, how_common: some makers,\n"
        "  when: {all: [{ask: temp_high_c, above: 16}, {rind: [small_soft]}]}}\n"
        "derive: {circumstance: air_very_wet, when: {ask: sticks_mat}}\n"
        "likelier: {cause: box_too_wet, when: cave_warm, strength: moderate}\n"
    )
    layered = laid(knowledge, entry_of(rule))
    assert not layered.faults
    d = Diagnoser(layered.knowledge)
    warm = Answers.of({"style": "small_soft", "temp_high_c": 18.0})
    assert d.chainer.run(warm).circumstance("cave_warm") is True
    assert d.chainer.run(warm.adding("style", "alpine")).circumstance("cave_warm") is False
    assert d.chainer.run(Answers.of({"sticks_mat": "clear"})).circumstance("air_very_wet") is True
    before, after = (Diagnoser(k).diagnose(warm) for k in (knowledge, layered.knowledge))
    assert _p(after, "box_too_wet") > _p(before, "box_too_wet")


def test_a_cause_with_its_steps_can_come_first(knowledge: Knowledge) -> None:
    rule = head("cedar_rash") + (
        "question: {id: cedar_rash, ask: Are there red bumps?, kind: yes_no, about: look, effort: glance}\n"
        "sign: {id: cedar_rash, name: red bumps, on_sound_rinds: almost never}\n"
        "cause: {id: cedar_rash_cause, kind: fault, name: Cedar oil, what: The oil burns the rind., rinds: [washed],\n"
        "  base_rate: common, signs: [{sign: cedar_rash, seen: nearly always}],\n"
        "  today: [{act: boards, do: Move it to a beech board.}]}\n"
    )
    layered = laid(knowledge, entry_of(rule))
    assert not layered.faults
    d = Diagnoser(layered.knowledge).diagnose(Answers.of({"style": "small_soft", "cedar_rash": "yes"}))
    assert d.causes[0].id == "cedar_rash_cause"
    assert d.plan.today[0].do == "Move it to a beech board."
    assert d.plan.today[0].hygiene  # of the packaged act


@pytest.mark.parametrize(
    ("change", "where", "word"),
    [
        ("{cause: box_too_wet, sign: slimy_wet, to: rarely}", "signs", "rarely"),
        ("{cause: box_too_wet, when: air_very_wet, to: small}", "likelier", "small"),
        ("{cause: box_too_wet, sign: cracks, to: strong}", "against", "strong"),
        ("{cause: box_too_wet, leads_to: stale_air, to: small}", "leads_to", "small"),
    ],
)
def test_a_packaged_word_is_changed(knowledge: Knowledge, change: str, where: str, word: str) -> None:
    layered = laid(knowledge, entry_of(head() + f"change: {change}\n"))
    assert not layered.faults
    cause = Catalog(layered.knowledge).causes["box_too_wet"]
    changed = [x for x in getattr(cause, where) if "house_red_dust" in x.sources]
    assert len(changed) == 1
    assert word in (getattr(changed[0], "seen", ""), getattr(changed[0], "strength", ""))
    assert changed[0].sources[0] == "house_red_dust"  # the house answers for it now
    assert len(changed[0].sources) > 1  # and the packaged ground stays behind it


def test_the_base_rate_how_common_and_a_sound_rate_are_changed(knowledge: Knowledge) -> None:
    rule = head() + (
        "change:\n  - {cause: box_too_wet, to: rare}\n  - {circumstance: air_very_wet, to: most makers}\n"
        "  - {sign: sticks_mat, to: often}\n"
    )
    layered = laid(knowledge, entry_of(rule))
    assert not layered.faults
    catalog = Catalog(layered.knowledge)
    assert catalog.causes["box_too_wet"].base_rate == "rare"
    assert catalog.circumstances["air_very_wet"].how_common == "most makers"
    assert catalog.signs["sticks_mat"].on_sound_rinds[0].seen == "often"


def test_replacing_says_so(knowledge: Knowledge) -> None:
    text = head() + (
        "sign: {id: sticks_mat, name: sticks, on_sound_rinds: often, when: {ask: sticks_mat, one_of: [clear]}}\n"
    )
    refused = laid(knowledge, entry_of(text))
    assert "taken by the packaged knowledge" in sentences(refused)[0]
    assert refused.knowledge is knowledge
    layered = laid(knowledge, entry_of(text + "replaces: sticks_mat\n"))
    assert not layered.faults
    assert Catalog(layered.knowledge).signs["sticks_mat"].name == "sticks"


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("changes: {cause: box_too_wet, to: rare}", '"changes" is not a key here (did you mean "change"?).'),
        ("causes: {id: x1}", '"causes" is not a key here (did you mean "cause"?).'),
        (
            "link: {cause: too_cold, sign: cracks, seen: often, sigh: x}",
            '"sigh" is not a key here (did you mean "sign"?).',
        ),
        ("remedy: {cause: too_cold, at: today, act: cool, do: Cool it., ask: x}", '"ask" is not a key here'),
        ("change: {cause: box_too_wet, to: rare, salient: x}", '"salient" is not a key here.'),
    ],
)
def test_a_key_that_is_offered_can_stand_there(part: str, said: str) -> None:
    """Never the key that was typed, and never one of another record."""
    entry, faults = read_rule(f"{head()}{part}\n", "red_dust.yaml")
    assert entry is None
    assert any(said in f.sentence for f in faults), faults
    for f in faults:
        typed = f.sentence.split('"')[1]
        assert f'did you mean "{typed}"' not in f.sentence


def test_the_word_that_was_typed_is_never_offered() -> None:
    assert nearest("milk_heat", ["milk_heat"]) == ""
    assert nearest("milk_heat", ["milk_heat", "milk_heats"]) == ' (did you mean "milk_heats"?)'
    assert nearest("Milk_heat", ["milk_heat"]) == ' (did you mean "milk_heat"?)'


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ("link: {cause: box_to_wet, sign: slimy_wet, seen: often}", 'did you mean "box_too_wet"'),
        ("link: {cause: box_too_wet, sign: slimy_wet, seen: often}", "tied to"),
        ("link: {cause: too_cold, sign: slimmy_wet, seen: often}", 'did you mean "slimy_wet"'),
        ("likelier: {cause: box_too_wet, when: air_very_wett, strength: small}", 'did you mean "air_very_wet"'),
        ("change: {cause: box_too_wet, sign: slimy_wet, to: offen}", 'did you mean "often"'),
        ("change: {cause: box_too_wet, sign: neck_pale, to: often}", "no tie"),
        ("off: {cause: box_too_wet, sign: larvae}", "no tie"),
        ("off: {sign: sticks_mat, circumstance: air_very_wet}", "Say what is switched off"),
        ("remedy: {cause: box_too_wet, at: today, act: pray, do: Hope.}", "not a known act"),
        ("derive: {circumstance: nowhere, when: {ask: slimy_wet}}", "packaged circumstance"),
        ("circumstance: {id: x1, means: so, how_common: few makers, when: {ask: temp_high_c}}", "needs a limit"),
        ("circumstance: {id: x1, means: so, how_common: few makers, when: {ask: temp_high_c, above: 900}}", "outside"),
        (
            "circumstance: {id: x1, means: so, how_common: few makers, when: {ask: milk_heat, one_of: [warm]}}",
            "no answer",
        ),
        ("sign: {id: unasked, name: so, on_sound_rinds: rarely}", "Nobody asks"),
        ("sign: {id: x1, name: so, on_sound_rinds: rarely, when: {rind: [washed]}}", "at least one question"),
    ],
)
def test_what_does_not_fit_is_said_with_the_nearest_word(knowledge: Knowledge, parts: str, said: str) -> None:
    layered = laid(knowledge, entry_of(head() + parts + "\n"))
    assert any(said in s for s in sentences(layered)), sentences(layered)
    assert layered.faults[0].line == 5  # where it stands
    assert layered.knowledge is knowledge


@pytest.mark.parametrize(
    "parts",
    [
        "off: {sign: larvae}",
        "off: {sign: slimy_wet}",
        "change: {sign: larvae, to: usually}",
        "off: {circumstance: past_ready}",
        "derive: {circumstance: past_ready, when: {ask: slimy_wet}}",
        "change: {circumstance: past_ready, to: few makers}",
        "sign: {id: larvae, name: x, on_sound_rinds: often, when: {ask: sticks_mat}}\nreplaces: larvae",
        "circumstance: {id: past_ready, means: x, how_common: few makers, when: {ask: sticks_mat}}\nreplaces: past_ready",  # noqa: E501
        "question: {id: contact, ask: x?, kind: yes_no, about: look, effort: glance}\nreplaces: contact",
    ],
)
def test_nothing_that_carries_a_caution_is_touched(knowledge: Knowledge, parts: str) -> None:
    layered = laid(knowledge, entry_of(head() + parts + "\n"))
    assert any("carries a safety caution" in s for s in sentences(layered)), sentences(layered)
    assert layered.knowledge is knowledge


@pytest.mark.parametrize("where", ["sign", "question", "option"])
def test_a_grave_word_is_not_given_away_and_the_other_rules_count(knowledge: Knowledge, where: str) -> None:
    word = "maggots"
    assert word in grave_words(knowledge, protected(knowledge))
    options = f"kind: one_of, options: [{{id: a1, text: a, words: [{word}]}}, {{id: b1, text: b}}]"
    kind = {"sign": "kind: yes_no", "question": f"kind: yes_no, words: [{word}]", "option": options}[where]
    rule = head("crawls") + (
        f"question: {{id: crawls, ask: Does it crawl?, {kind}, about: look, effort: glance}}\n"
        f"sign: {{id: crawls, name: it crawls, on_sound_rinds: rarely, words: [{word if where == 'sign' else 'crawls'}]"
        f"{', when: {ask: crawls, one_of: [a1]}' if where == 'option' else ''}}}\n"
        "link: {cause: too_warm, sign: crawls, seen: often}\n"
    )
    layered = laid(knowledge, entry_of(rule), entry_of(RED_DUST))
    assert layered.in_force == ("red_dust",)
    assert [(f.file, f.sentence) for f in layered.faults] == [
        ("crawls.yaml", f'The words "{word}" cannot be given to "crawls": they belong to "larvae".')
    ]


@pytest.mark.parametrize("key", ["screen: true", "block: people", "topic: everything"])
def test_a_house_adds_nothing_to_the_safety_screen(knowledge: Knowledge, key: str) -> None:
    """Or it could count itself among what was asked for safety, and answered."""
    layered = laid(knowledge, entry_of(RED_DUST.replace("kind: yes_no", f"kind: yes_no, {key}")))
    assert layered.knowledge is knowledge
    assert [s for s in sentences(layered) if "safety screen is packaged" in s]


def test_there_is_no_key_for_a_caution(knowledge: Knowledge) -> None:

    for key in ("caution", "cautions", "acts", "words", "normal"):
        entry, faults = read_rule(head() + f"{key}: {{id: x1}}\n", "red_dust.yaml")
        assert entry is None
        assert any(f'"{key}" is not a key here' in f.sentence for f in faults)


def test_what_a_caution_rests_on_is_protected_however_far_down(knowledge: Knowledge, catalog: Catalog) -> None:
    safe = protected(knowledge)
    assert set(catalog.cautions) == safe.cautions
    assert {"someone_ill", "contact", "milk_heat", "eaters", "family", "age_days", "larvae"} <= safe.questions
    assert "past_ready" in safe.circumstances  # read by a caution
    assert "slimy_wet" in safe.signs
    assert len(safe.signs) < len(catalog.signs)


def test_rules_that_contradict_each_other_both_stand_aside(knowledge: Knowledge) -> None:
    one = entry_of(head("one_rule") + "change: {cause: box_too_wet, sign: slimy_wet, to: often}\n")
    two = entry_of(head("two_rule") + "change: {cause: box_too_wet, sign: slimy_wet, to: rarely}\n")
    layered = laid(knowledge, one, two)
    assert layered.in_force == ()
    assert len(layered.faults) == 2
    assert 'This says "often" where house rule two_rule says "rarely"' in sentences(layered)[0]


def test_the_same_word_twice_counts_once(knowledge: Knowledge) -> None:
    one = entry_of(head("one_rule") + "link: {cause: too_cold, sign: slimy_wet, seen: often, note: a}\n")
    two = entry_of(head("two_rule") + "link: {cause: too_cold, sign: slimy_wet, seen: often, note: b}\n")
    layered = laid(knowledge, one, two)
    ties = [x for x in Catalog(layered.knowledge).causes["too_cold"].signs if x.sign == "slimy_wet"]
    assert len(ties) == 1
    assert ties[0].sources == ("house_one_rule", "house_two_rule")


def test_who_rests_on_a_rule_that_falls_falls_with_it_and_the_rest_works(knowledge: Knowledge) -> None:
    bad = entry_of(RED_DUST.replace("sign: red_dust, seen", "sign: red_dust, seen").replace("act: boards", "act: sing"))
    rests = entry_of(head("resting_on_it") + "link: {cause: too_cold, sign: red_dust, seen: often}\n")
    fine = entry_of(head("fine_rule") + "link: {cause: too_cold, sign: slimy_wet, seen: often}\n")
    layered = laid(knowledge, bad, rests, fine)
    assert layered.in_force == ("fine_rule",)
    assert any("comes from house rule red_dust, which does not count" in s for s in sentences(layered))


def test_a_circle_is_refused_and_named(knowledge: Knowledge) -> None:
    def so(name: str, on: str) -> str:
        return head(name) + (
            f"circumstance: {{id: {name}, means: so, how_common: few makers, when: {{holds: {on}}}}}\n"
            f"likelier: {{cause: too_cold, when: {name}, strength: small}}\n"
        )

    ring = [entry_of(so(a, b)) for a, b in (("aa", "bb"), ("bb", "cc"), ("cc", "aa"))]
    above = entry_of(so("dd", "aa"))
    layered = laid(knowledge, *ring, above)
    assert layered.in_force == ()
    assert [s for s in sentences(layered) if "A circle" in s] == [
        'A circle: "aa" rests on "bb", which rests on "cc", which rests on "aa".',
        'A circle: "bb" rests on "cc", which rests on "aa", which rests on "bb".',
        'A circle: "cc" rests on "aa", which rests on "bb", which rests on "cc".',
    ]
    assert any("which does not count" in s for s in sentences(layered))


def test_a_long_row_of_circumstances_is_refused_without_exhausting_the_stack(knowledge: Knowledge) -> None:
    rows = []
    for k in range(400):
        on = f"holds: row_{k - 1}" if k else "ask: slimy_wet"
        text = head(f"row_{k}") + f"circumstance: {{id: row_{k}, means: so, how_common: few makers, when: {{{on}}}}}\n"
        rows.append(entry_of(text))
    layered = laid(knowledge, *rows)
    assert 0 < len(layered.in_force) <= 21
    assert "row of more than" in " ".join(sentences(layered))
    Diagnoser(layered.knowledge).diagnose(Answers.of({"slimy_wet": "clear"}))


def test_switching_off_wins_over_what_rests_on_it(knowledge: Knowledge) -> None:
    off = entry_of(head("off_cause") + "off: {cause: too_cold}\n")
    tie = entry_of(head("tied_rule") + "link: {cause: too_cold, sign: slimy_wet, seen: often}\n")
    layered = laid(knowledge, off, tie)
    assert layered.in_force == ("off_cause",)
    assert '"too_cold" is switched off by house rule off_cause.' in sentences(layered)


def test_what_other_conditions_rest_on_is_not_switched_off_under_them(knowledge: Knowledge, catalog: Catalog) -> None:
    from rindwright.engine.conditions import leaves

    safe = protected(knowledge)
    held = {leaf.holds for c in catalog.circumstances.values() for leaf in leaves(c.when) if leaf.holds}
    id = min(held - safe.circumstances)
    layered = laid(knowledge, entry_of(head() + f"off: {{circumstance: {id}}}\n"))
    assert "rests on" in sentences(layered)[0]


def test_switching_off_comes_with_examples_that_hold(knowledge: Knowledge, catalog: Catalog) -> None:
    safe, tried = protected(knowledge), 0
    targets = [{"cause": c} for c in list(catalog.causes)[::9]] + [{"normal": r} for r in list(catalog.normal)[::9]]
    targets += [{"cause": c.id, "sign": c.signs[0].sign} for c in list(catalog.causes.values())[::9]]
    targets += [{"cause": c.id, "when": c.likelier[0].when} for c in list(catalog.causes.values())[::9] if c.likelier]
    targets += [{"sign": s} for s in list(catalog.signs)[::19] if s not in safe.signs]
    for target in targets:
        told = off_examples(catalog, target)
        rule = {"rule": "off_it", "owner": "Marta", "date": "2026-11-27", "because": "Invented.", "off": target}
        report = check(knowledge, Shelf((entry_of({**rule, **({"examples": told} if told else {})}),), ()))
        assert report.of("example") == (), target
        tried += bool(told and report.layered.in_force)
    assert tried > 0.8 * len(targets)


def test_the_version_is_of_what_is_said_not_of_how_it_is_written() -> None:
    a, b = entry_of(RED_DUST).rule, entry_of("# another comment\n\n" + RED_DUST).rule
    c = entry_of(RED_DUST.replace("seen: often", "seen: usually")).rule
    assert house_version([a]) == house_version([b]) != house_version([c])
    assert house_version([]) == ""


def test_a_resting_rule_counts_for_nothing(knowledge: Knowledge) -> None:
    entry = entry_of(RED_DUST + "resting: {since: 2026-11-28, because: The shelves are gone.}\n")
    assert layer(knowledge, [entry]).knowledge is knowledge


def test_a_house_step_is_left_out_under_a_hold(knowledge: Knowledge) -> None:
    held = Answers.of(
        {"style": "small_soft", "age_days": 20.0, "milk_heat": "raw", "red_dust": "yes", "paste_stinks": "yes"}
    )
    rule = RED_DUST.replace("act: boards", "act: wait").replace(
        "on_sound_rinds: rarely", "on_sound_rinds: almost never"
    )
    layered = laid(knowledge, entry_of(rule.replace("seen: often", "seen: nearly always")))
    d = Diagnoser(layered.knowledge).diagnose(held)
    assert d.verdict in ("stop", "hold")
    assert all(s.sources != ("house_red_dust",) for s in d.plan.today)
    free = Diagnoser(layered.knowledge).diagnose(held.without("paste_stinks"))
    if free.verdict not in ("stop", "hold"):
        assert any(s.sources == ("house_red_dust",) for s in free.plan.today)


def _p(d: object, cause: str) -> float:
    return next((c.probability for c in d.causes if c.id == cause), 0.0)  # type: ignore[attr-defined]
