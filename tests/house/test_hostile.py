"""Files that mean harm: no traceback, no code, nothing written outside, no caution weakened."""

from __future__ import annotations

import os
import random
import re
import sys
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.house.checking import check
from rindwright.engine.house.folder import FILE_CAP, MOST_RULES, rule_files
from rindwright.engine.house.keeping import open_house
from rindwright.engine.house.layering import layer
from rindwright.engine.house.reading import Shelf, read_rule, read_shelf
from rindwright.engine.model import Knowledge

from tests.house_rules import KINDS, rule_of, text_of

from .conftest import RED_DUST, head

BOMB = head() + "a: &a [x, x, x]\nb: &b [*a, *a, *a]\nc: [*b, *b]\n"
DEEP = head() + "circumstance: {id: x1, means: x, how_common: few makers, when: " + "{all: [" * 60 + "]}" * 60 + "}\n"
WIDE = head() + (
    "circumstance: {id: x1, means: x, how_common: few makers, when: {all: ["
    + ", ".join("{any: [{ask: slimy_wet}, {ask: cracks}, {ask: sticks_mat}]}" for _ in range(12))
    + "]}}\n"
)
HARMFUL = {
    "alias bomb": (BOMB, "Anchors"),
    "code": (head() + "off: !!python/object/apply:os.system [echo]\n", "Tags"),
    "deep": (DEEP, "Nested"),
    "wide": (WIDE, "alternatives"),
    "two documents": (RED_DUST + "---\nrule: other\n", "second document"),
    "escape in a text": (RED_DUST.replace("red dust below,", '"red \\e[2J dust",'), "cannot be seen"),
    "turned-round text": (RED_DUST.replace("red dust below,", '"red \\u202e dust",'), "cannot be seen"),
    "half a character": (RED_DUST.replace("red dust below,", '"red \\ud800 dust",'), ""),
    "key with an escape": (head() + '"\\e[2J": x\n', "cannot be seen"),
    "long text": (RED_DUST.replace("red dust below,", "x" * 2000 + ","), "letters"),
    "long list": (RED_DUST.replace("[red dust]", "[" + "a, " * 60 + "a]"), "items"),
    "many parts": (head() + "link:\n" + "  - {cause: too_cold, sign: cracks, seen: often}\n" * 20, "entries"),
    "a path as name": (RED_DUST.replace("rule: red_dust", "rule: ../red_dust"), "small letters"),
    "a promise": (RED_DUST.replace("red dust below,", "it is safe to eat,"), "promise"),
    "a promise in the reason": (RED_DUST.replace("Since the cedar", "It is harmless. Since the cedar"), "promise"),
    "a tasting step": (RED_DUST.replace("do: Brush the", "do: Taste it and brush the"), "sends nobody"),
    "a tasting question": (RED_DUST.replace("ask: Is there", "ask: Taste it. Is there"), "tasting: true"),
    "own sources": (RED_DUST.replace("seen: often", "seen: often, sources: [reg_2073_2005]"), "its own source"),
    "too fine a limit": (
        head()
        + "circumstance: {id: x1, means: x, how_common: few makers, when: {ask: surface_ph, above: 5.00000001}}\n",
        "six figures",
    ),
    "no number": (
        head() + "circumstance: {id: x1, means: x, how_common: few makers, when: {ask: surface_ph, above: .nan}}\n",
        "must be a number",
    ),
    "a key of its own": (head() + "cautions: {id: stop_larvae, level: note}\n", "not a key"),
    "not a map": ("- 1\n- 2\n", "Expected a house rule"),
    "not a day": (RED_DUST.replace("2026-11-27", "2026-02-30"), "not a day"),
    "a day long ago": (RED_DUST.replace("2026-11-27", "1026-11-27"), "not a day"),
    "other digits": (RED_DUST.replace("2026-11-27", "٢٠٢٦-11-27"), "not a day"),
    "a week's day": (RED_DUST.replace("2026-11-27", "2026-W48-5"), "not a day"),
    "nobody": (RED_DUST.replace("owner: Marta", 'owner: " "'), "empty"),
    "nothing to do": (head(), "does nothing yet"),
}


@pytest.mark.parametrize("kind", HARMFUL)
def test_it_is_refused_with_a_sentence(kind: str) -> None:
    text, said = HARMFUL[kind]
    entry, faults = read_rule(text, "red_dust.yaml")
    assert entry is None
    assert any(said in f.sentence for f in faults), [str(f) for f in faults]
    for f in faults:
        assert 1 <= f.line <= text.count("\n") + 1
        assert "\x1b" not in str(f)
        assert "\u202e" not in str(f)
        str(f).encode("utf-8")


def mangled(rng: random.Random, text: str) -> str:
    """A rule spoilt as people and programs spoil files."""
    lines = text.split("\n")
    for _ in range(rng.randint(1, 4)):
        k = rng.randrange(len(lines))
        way = rng.randrange(8)
        if way == 0:
            del lines[k]
            lines = lines or [""]
        elif way == 1:
            lines.insert(k, lines[k])
        elif way == 2:
            lines[k] = " " * rng.randint(0, 6) + lines[k].lstrip()
        elif way == 3:
            lines[k] = re.sub(
                r": .*", ": " + rng.choice(("", "[]", "{}", "7", "null", "~", "yes", "'", '"', "&a *a")), lines[k]
            )
        elif way == 4:
            at = rng.randrange(len(lines[k]) + 1)
            lines[k] = (
                lines[k][:at]
                + rng.choice(("\t", "\u0000", "\u2028", "é", ":", "#", "- ", "{", "]", "\\e"))
                + lines[k][at:]
            )
        elif way == 5:
            lines[k] = lines[k].replace(":", "", 1)
        elif way == 6:
            other = rng.randrange(len(lines))
            lines[k], lines[other] = lines[other], lines[k]
        else:
            lines[k] = re.sub(
                r"\w+", lambda m: rng.choice((m.group(), "larvae", "family", "9" * 30, "1e400")), lines[k]
            )
    return "\n".join(lines)


@settings(max_examples=120)
@given(st.integers(0, 2**32 - 1))
@example(0)
def test_a_spoilt_rule_gives_faults_with_a_place_or_a_sound_rule(
    knowledge: Knowledge, catalog: Catalog, seed: int
) -> None:
    rng = random.Random(seed)
    text = mangled(rng, text_of(rule_of(rng, catalog, "red_dust", rng.choice(KINDS))))
    entry, faults = read_rule(text, "red_dust.yaml")
    assert (entry is None) == bool(faults)
    height = len(re.split("\r\n|[\n\r\x85\u2028\u2029]", text))
    assert all(1 <= f.line <= height and f.sentence for f in faults)
    if entry is not None:
        layered = layer(knowledge, [entry])
        assert bool(layered.in_force) != bool(layered.faults) or entry.rule.resting is not None
        report = check(knowledge, Shelf((entry,), ()))
        assert all(1 <= r.fault.line <= height for r in report.remarks)


@settings(max_examples=150)
@given(st.one_of(st.text(max_size=300), st.binary(max_size=300).map(lambda b: b.decode("latin-1"))))
def test_any_text_at_all(text: str) -> None:
    entry, faults = read_rule(text, "red_dust.yaml")
    assert entry is None
    assert faults


@pytest.mark.skipif(sys.platform == "win32", reason="links and pipes")
def test_links_pipes_folders_and_odd_names_are_not_read(house: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.yaml"
    secret.write_text(RED_DUST, encoding="utf-8")
    (house / "linked.yaml").symlink_to(secret)
    (house / "dangling.yaml").symlink_to(tmp_path / "nothing")
    (house / "folder.yaml").mkdir()
    os.mkfifo(house / "pipe.yaml")
    (house / "Big Name.yaml").write_text(RED_DUST, encoding="utf-8")
    (house / "esc\x1b[2J.yaml").write_text(RED_DUST, encoding="utf-8")
    (house / "red_dust.yml").write_text(RED_DUST, encoding="utf-8")
    (house / ".hidden.yaml").write_text("[", encoding="utf-8")
    (house / "notes.txt").write_text("[", encoding="utf-8")
    (house / "large.yaml").write_bytes(b"#" * (FILE_CAP + 1))
    (house / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    shelf = read_shelf(house)
    assert [e.name for e in shelf.entries] == ["red_dust"]
    assert len({f.file for f in shelf.faults}) == 8
    assert all("\x1b" not in str(f) for f in shelf.faults)


def test_more_rules_than_a_house_holds(house: Path) -> None:
    for k in range(MOST_RULES + 3):
        (house / f"r{k}.yaml").touch()
    names, faults = rule_files(house)
    assert len(names) == MOST_RULES
    assert any(f"up to {MOST_RULES}" in f.sentence for f in faults)


def test_a_house_of_harm_leaves_the_knowledge_as_it_is(knowledge: Knowledge, house: Path, tmp_path: Path) -> None:
    for k, (text, _) in enumerate(HARMFUL.values()):
        (house / f"harm_{k}.yaml").write_bytes(text.encode("utf-8", "surrogatepass"))
    opened = open_house(knowledge, house, tmp_path / "cache")
    assert opened.knowledge is knowledge
    assert len({f.file for f in opened.faults}) == len(HARMFUL)
    assert open_house(knowledge, house, tmp_path / "cache").faults == opened.faults  # from the cache


def test_a_note_of_a_cause_stays_when_the_house_talks_the_cause_down(knowledge: Knowledge) -> None:
    """Only a note that the answers alone do not raise shows whether the guard works."""
    alone = Diagnoser(knowledge)
    cases = [
        (
            cause,
            Answers.of(
                {"family": "washed", "style": style, "age_days": 30.0, **{x.sign: "clear" for x in cause.signs[:4]}}
            ),
        )
        for cause in knowledge.causes
        for style in ("small_soft", "tilsit")
        if cause.cautions
    ]
    guarded = 0
    for cause, told in cases:
        fitting = Answers.of((q, _value(alone.catalog, q, v)) for q, v in told if q in alone.catalog.questions)
        d = alone.diagnose(fitting)
        _, _, raised = alone.prepare(fitting)
        brought = {c.id for c in d.cautions} - {c.id for c in raised.cautions}
        if not brought:
            continue
        guarded += 1
        if guarded > 3:
            break
        for part in (f"off: {{cause: {cause.id}}}\n", f"change: {{cause: {cause.id}, to: rare}}\n"):
            entry, faults = read_rule(head() + part, "red_dust.yaml")
            assert entry is not None, faults
            layered = layer(knowledge, [entry])
            assert layered.in_force
            assert brought <= {c.id for c in Diagnoser(layered.knowledge).diagnose(fitting).cautions}
    assert guarded >= 2


def _value(catalog: Catalog, question: str, value: object) -> object:
    q = catalog.questions[question]
    if value == "clear" and q.kind == "yes_no":
        return "yes"
    return value
