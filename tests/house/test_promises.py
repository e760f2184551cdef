"""What a house rule may not say: in any field, in any inflection; and what it may."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from time import process_time

import pytest
from rindwright.engine.house.promising import SAID, promised, promises
from rindwright.engine.house.reading import read_rule
from rindwright.engine.house.writing import rule_text
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.review.walk import placed_strings

from .conftest import RED_DUST, Program, flat, head

LISTS = Path(__file__).parent / "words"
KINDS = ("families", "questions", "signs", "circumstances", "causes", "normal", "acts", "cautions", "organisms")
TELLING = re.compile(
    r"\b(eat\w*|ate|serv\w+|sell\w*|sold|sale|tast\w+|feed\w*|fed|giv\w+|fit\w*|good|fine|hold\w*|stop\w*|caution"
    r"|skip\w*|ignor\w+|danger\w*|risk\w*|harm\w*|guests?|famil\w+|table|kitchen|shop|people|children|worry|lift\w*)\b",
    re.IGNORECASE,
)
"""Words near those that are refused: a sentence without any of them shows little."""
SLOWEST = 0.3
"""Most seconds of processor for one text, however it is made up."""
TEXT = "A SENTENCE"
STEP = {"act": "boards", "do": TEXT, "amount": {"what": TEXT, "low": "1", "high": "2", "unit": "g", "per": "face"}}
WHOLE = {
    "rule": "whole", "owner": TEXT, "date": "2026-11-27", "because": TEXT,
    "question": {
        "id": "dust", "ask": TEXT, "how": TEXT, "why": TEXT, "topic": TEXT, "unit": TEXT, "kind": "one_of",
        "about": "look", "effort": "glance", "options": [{"id": "aa", "text": TEXT, "words": [TEXT]}], "words": [TEXT],
    },
    "sign": {"id": "dust", "name": TEXT, "on_sound_rinds": "rarely", "words": [TEXT]},
    "circumstance": {"id": "cedar", "means": TEXT, "how_common": "few makers", "when": {"ask": "dust"}},
    "cause": {
        "id": "cedar_dust", "kind": "fault", "name": TEXT, "what": TEXT, "limits": TEXT, "rinds": ["hard"],
        "base_rate": "rare", "signs": [{"sign": "dust", "seen": "often", "note": TEXT}],
        "likelier": [{"when": "cedar", "strength": "small", "note": TEXT}],
        "against": [{"sign": "tacky", "strength": "small", "note": TEXT}],
        "mistaken_for": [{"cause": "too_warm", "tell": TEXT}], "today": [STEP], "next_make": [STEP],
        "look_again": {"after_days": "3", "expect": TEXT, "otherwise": TEXT},
    },
    "link": {"cause": "too_warm", "sign": "dust", "seen": "often", "note": TEXT},
    "likelier": {"cause": "too_warm", "when": "cedar", "strength": "small", "note": TEXT},
    "against": {"cause": "too_warm", "sign": "cracks", "strength": "small", "note": TEXT},
    "remedy": {"cause": "too_warm", "at": "today", **STEP},
    "resting": {"since": "2026-11-27", "because": TEXT},
}  # fmt: skip
"""A rule with every field that holds free words."""
PLACES = str(WHOLE).count(TEXT)


def filled(thing: object, text: str) -> object:
    """The same, with one text in every field."""
    if isinstance(thing, dict):
        return {key: filled(part, text) for key, part in thing.items()}
    if isinstance(thing, list):
        return [filled(part, text) for part in thing]
    return text if thing == TEXT else thing


def lines(name: str) -> list[str]:
    said = (LISTS / name).read_text(encoding="utf-8").split("\n")
    return [line for line in said if line.strip() and not line.startswith("#")]


REFUSED, ALLOWED = lines("refused.txt"), lines("allowed.txt")


def refusals(text: str, name: str) -> list[str]:
    """Faults of a rule that are about words it may not say."""
    faults = [str(f) for f in read_rule(text, f"{name}.yaml")[1]]
    return [f for f in faults if any(f.endswith(why) for why in SAID.values()) or "two alphabets" in f]


def everywhere(text: str) -> list[str]:
    """The same of a rule that has a text in all of its fields."""
    return refusals(rule_text(filled(WHOLE, text)), "whole")  # type: ignore[arg-type]


def test_there_are_many_of_both_kinds() -> None:
    assert len(REFUSED) > 150
    assert len(ALLOWED) >= 60
    assert PLACES >= 25


@pytest.mark.parametrize("text", REFUSED)
def test_it_is_refused_in_every_field(text: str) -> None:
    taste = {kind for _, kind in promises(text)} == {"taste"}  # said of a question in other words, see below
    assert len(everywhere(text)) == PLACES - 2 * taste


@pytest.mark.parametrize("text", [t for t in REFUSED if {kind for _, kind in promises(t)} == {"taste"}])
def test_a_question_that_speaks_of_tasting_is_marked(text: str) -> None:
    for key in ("ask", "how"):
        told = RED_DUST.replace("ask: Is there red dust on the underside?", f'ask: Is it there?, {key}: "{text}"')
        if key == "ask":
            told = told.replace("ask: Is it there?, ", "")
        entry, faults = read_rule(told, "red_dust.yaml")
        assert entry is None
        assert ["tasting: true" in f.sentence for f in faults] == [True]


@pytest.mark.parametrize("text", ALLOWED)
def test_what_forbids_or_means_something_else_may_stand(text: str) -> None:
    assert everywhere(text) == []


@pytest.mark.parametrize("text", ["Do not eat it.", "Never taste a slimy rind.", "Feed the rind with salt."])
def test_such_a_step_counts(text: str) -> None:
    entry, faults = read_rule(RED_DUST.replace("Brush the cedar shelves with hot brine.", text), "red_dust.yaml")
    assert entry is not None, faults
    assert entry.rule.remedy[0].do == text


@pytest.mark.parametrize("text", REFUSED)
def test_capitals_and_blanks_hide_nothing(text: str) -> None:
    for other in (text.upper(), text.replace(" ", "  "), text.replace("'", "’"), f"Wash it. {text} Dry it."):
        assert promised(other), other


def test_a_name_or_an_id_promises_nothing_either() -> None:
    assert refusals(RED_DUST.replace("rule: red_dust", "rule: fit_to_eat"), "fit_to_eat")
    assert refusals(RED_DUST.replace("{id: red_dust, ask", "{id: safe_to_eat, ask"), "red_dust")


def test_what_is_there_already_may_be_named() -> None:
    """A condition may read who eats a cheese and where it goes; no answer of an example is a promise."""
    text = head() + (
        "circumstance: {id: young, means: it leaves the house young, how_common: some makers,"
        " when: {all: [{ask: for_sale, one_of: [sold]}, {ask: eaters, one_of: [others]}]}}\n"
        "examples: {speaks: {style: small_soft, age_days: 20, for_sale: sold, eaters: [others]}}\n"
    )
    entry, faults = read_rule(text, "red_dust.yaml")
    assert entry is not None, faults


@pytest.mark.parametrize("at", ["today", "next_make"])
def test_no_step_serves(at: str) -> None:
    text = RED_DUST.replace("at: today, act: boards,", f"at: {at}, act: serve,")
    entry, faults = read_rule(text, "red_dust.yaml")
    assert entry is None
    assert "is not for house rules" in faults[0].sentence


def test_a_question_of_taste_may_speak_of_taste_and_of_nothing_else() -> None:
    def asked(ask: str) -> list[str]:
        question = f'{{id: soap, ask: "{ask}", kind: yes_no, about: taste, effort: touch, tasting: true}}'
        return [f.sentence for f in read_rule(f"{head()}question: {question}\n", "red_dust.yaml")[1]]

    assert asked("Does a crumb taste of soap? Spit it out. Do not swallow.") == []
    assert asked("Is it fit for the table?")
    assert asked("Can it be eaten?")


def packaged(knowledge: Knowledge) -> Iterator[tuple[str, str]]:
    """Every packaged text of words, with its record, id and key."""
    for kind in KINDS:
        for record in getattr(knowledge, kind):
            for path, text in placed_strings(record, ()):
                keys = [p for p in path if isinstance(p, str)]
                if text and (" " in text or keys[-1] == "words") and not any("sources" in k for k in keys):
                    yield f"{kind} {record.id} {'.'.join(keys)}", text


def test_every_packaged_sentence_was_judged(knowledge: Knowledge) -> None:
    """Those that trip are named, one by one; every other one a house rule could say too."""
    tripping = {place for place, text in packaged(knowledge) if any(promises(text))}
    assert tripping == set(lines("packaged.txt"))


def test_packaged_sentences_near_such_words_may_be_said(knowledge: Knowledge) -> None:
    near = {text for _, text in packaged(knowledge) if TELLING.search(text) and not any(promises(text))}
    assert len(near) > 500
    forbids = re.compile(r"\b(?:do not|never|nobody)\b[^.]*\b(?:taste|eat|sell|serve)", re.IGNORECASE)
    assert sum(bool(forbids.search(text)) for text in near) > 60


@pytest.mark.parametrize("end", ["", "hold", "eaten", "served"])
def test_no_text_takes_long(end: str) -> None:
    for part in ("not ", "do not the ", "eat ", "it ", "the ", "never ", "have a taste ", "the cheese ", "ignore the ",
                 "mould the ", "keep it ", "no need to wait ", "it is still good ", "a", "give it "):  # fmt: skip
        text = (part * 1200)[:1190] + end
        start = process_time()
        list(promises(text))
        assert process_time() - start < SLOWEST, part


def test_nothing_of_it_is_printed(program: Program, house: Path, tmp_path: Path) -> None:
    """As a maker meets it: the check refuses each, and a diagnosis prints none."""
    answers = tmp_path / "look.yaml"
    answers.write_text("style: small_soft\nage_days: 20\nblue_green_spot: clear\n", encoding="utf-8")
    told = ["It can be eaten after washing.", "Fit for the table.", "Serve it to guests.", "Feed it to the family.",
            "Sell it as usual.", "Ignore the hold."]  # fmt: skip
    for n, text in enumerate(told):
        rule = f'remedy: {{cause: dirty_or_stale_mats, at: today, act: boards, do: "{text}"}}\n'
        (house / f"r{n}.yaml").write_text(head(f"r{n}") + rule, encoding="utf-8")
    done = program("rules", "check", "--house", str(house))
    assert done.returncode == 3
    assert "0 rules in force, 6 faults" in flat(done.stdout)
    shown = flat(program("weigh", str(answers), "--house", str(house)).stdout)
    assert shown
    assert not any(text in shown for text in told)


@pytest.mark.parametrize("command", ["off", "on", "take-back"])
def test_no_reason_promises(program: Program, house: Path, command: str) -> None:
    (house / "red_dust.yaml").write_text(RED_DUST, encoding="utf-8")
    if command == "on":
        program("rules", "off", "red_dust", "--because", "a test", "--house", str(house))
    before = (house / "red_dust.yaml").read_text(encoding="utf-8")
    done = program("rules", command, "red_dust", "--because", "It can be eaten.", "--house", str(house))
    assert done.returncode == 2
    assert "fit to eat" in flat(done.stderr)
    assert (house / "red_dust.yaml").read_text(encoding="utf-8") == before
