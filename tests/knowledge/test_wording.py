"""Every sentence that can be printed, and every line a contributor reads."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
import rindwright.cli.report as report
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.review import FORBIDDEN

KINDS = ("families", "questions", "signs", "circumstances", "causes", "normal", "acts", "cautions", "organisms")
NEVER = re.compile(
    r"\b(safe|safely|safe to eat|(?:fine|ok|okay|good) to eat|harmless|edible|no risk|guarantee\w*|sterile"
    r"|certif\w+|probably just)\b",
    re.IGNORECASE,
)
"""What no text may say of a cheese. ``safety`` is another word."""
SENTENCES = {
    "ask", "course", "do", "expect", "fault_when", "harm", "how", "hygiene", "limits", "otherwise", "see", "tell",
    "test", "text", "what", "why",
}  # fmt: skip
"""Keys that hold whole sentences (an option's ``text`` and an amount's ``what`` do not)."""
LABELS = {"name", "title", "means", "noun", "note"}
"""Keys that hold a name, a heading or half a sentence."""
MAKERS_WORDS = {"words", "one_sense"}
"""What makers type, in any spelling."""


def strings(thing: object, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every string in a record with the keys that lead to it."""
    if isinstance(thing, str):
        if thing:
            yield path, thing
    elif isinstance(thing, tuple):
        for part in thing:
            yield from strings(part, path)
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from strings(getattr(thing, f.name), (*path, f.name))


@pytest.fixture(scope="module")
def texts(knowledge: Knowledge) -> list[tuple[str, tuple[str, ...], str]]:
    """Id, path of keys, text: of all that can be printed."""
    found = [
        (entry.id, (kind, *path), text)
        for kind in KINDS
        for entry in getattr(knowledge, kind)
        for path, text in strings(entry)
    ]
    found += [("words", ("words", *path), text) for path, text in strings(knowledge.words)]
    found += [(source.id, ("sources", *path), text) for source in knowledge.sources for path, text in strings(source)]
    return found


Texts = list[tuple[str, tuple[str, ...], str]]


def is_sentence(path: tuple[str, ...]) -> bool:
    inside_condition = {"when", "ask_if", "only_if", "unless"} & set(path[:-1])
    label = path[-2:] in (("options", "text"), ("amount", "what"))
    return path[-1] in SENTENCES and not inside_condition and not label


def test_nothing_promises_a_sound_cheese(texts: Texts) -> None:
    for id, path, text in texts:
        assert not FORBIDDEN.search(text), (id, path, text)
        assert not NEVER.search(text), (id, path, text)


def test_the_words_that_promise_are_known_to_this_test() -> None:
    for bad in ("It is safe.", "Safe to eat", "quite harmless", "OK to eat", "There is no risk.", "Guaranteed",
                "a sterile cloth", "certified", "probably just yeast", "still edible"):  # fmt: skip
        assert NEVER.search(bad), bad
    assert not NEVER.search("food-safety authority, and no finding of safety")


def test_the_screens_promise_nothing_either() -> None:
    for path in Path(report.__file__).parent.rglob("*.py"):
        assert not FORBIDDEN.search(path.read_text(encoding="utf-8")), path.name


def test_only_the_rinds_own_word_is_filled_in(texts: Texts) -> None:
    filled = 0
    for id, path, text in texts:
        marks = set(re.findall(r"[{}<>$][^{}<>$]*[{}<>$]?", text))
        if path == ("questions", "ask"):
            assert marks <= {"{rind}"}, (id, text)
            filled += "{rind}" in text
        else:
            assert not marks, (id, path, text)
    assert filled


def test_long_texts_are_whole_sentences(texts: Texts) -> None:
    met = set()
    for id, path, text in texts:
        if is_sentence(path) or path == ("sources", "note"):
            met.add(path[-1])
            assert re.search(r"[.?!]$", text.strip()), (id, path, text)
            assert re.match(r"[\"A-Z0-9]|pH ", text.strip()), (id, path, text)
    assert met == SENTENCES | {"note"}


def test_questions_ask(texts: Texts) -> None:
    for id, path, text in texts:
        if path == ("questions", "ask"):
            assert "?" in text, (id, text)


def test_names_and_headings_carry_no_full_stop(texts: Texts) -> None:
    for id, path, text in texts:
        if path[-1] in LABELS and path != ("sources", "note"):
            assert not text.strip().endswith((".", ",", ";", ":")), (id, path, text)


def test_no_stray_marks(texts: Texts) -> None:
    for id, path, text in texts:
        plain = text.strip()
        assert "  " not in plain, (id, path, text)
        assert "\n" not in plain, (id, path, text)
        if path[-1] not in MAKERS_WORDS:
            assert not re.search(r" [,.;:?]|\.\.|,,| - |—|…|!|\t", plain), (id, path, text)
            assert plain.count("(") == plain.count(")"), (id, path, text)
            assert not re.search(r"\d ?oC\b|\d°C|\d%|º", plain), (id, path, text)


def test_plain_british_spelling(texts: Texts) -> None:
    american = re.compile(
        r"\b(colors?|colored|gray\w*|molds?|moldy|odors?|flavors?|liters?|milliliters?|centers?|fibers?|pasteurized"
        r"|sterilized|sanitiz\w+|recogniz\w+|labeled|aging|catalog)\b",
        re.IGNORECASE,
    )
    for id, path, text in texts:
        if path[-1] not in MAKERS_WORDS and path[0] != "sources":
            assert not american.search(text), (id, path, text)


def test_sentences_are_short_enough_to_read_aloud(texts: Texts) -> None:
    """House rule, common practice, no source: nothing over 45 words between two stops, law texts apart."""
    for id, path, text in texts:
        if is_sentence(path) and id != "note_sale_law":
            for sentence in re.split(r"(?<=[.?!:;])\s", text):
                assert len(sentence.split()) <= 45, (id, path, sentence)


PROVISIONAL = re.compile(r"\b(?:SF|[SEFOC])(?!157\b)\d{1,3}\b|\b(?:ST|HO|CA)\d\d\b")
"""Short tags of a draft, such as a letter and a number, where a source's own id belongs."""


def test_no_provisional_tag_is_left_in_any_line(knowledge_folder: Path) -> None:
    """Comments too. The one look-alike is a supplement's pages, S39-S45."""
    for path in sorted([*knowledge_folder.rglob("*.yaml"), *knowledge_folder.glob("*.md")]):
        for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            assert not PROVISIONAL.search(line.replace("S39-S45", "")), (path.name, n, line)


def test_a_provisional_tag_would_be_seen() -> None:
    for bad in ("sources: [judgement, S12]", "see SF1.", "[F01]", "HO08 applies", "as C15 says"):
        assert PROVISIONAL.search(bad), bad
    assert not PROVISIONAL.search("E. coli O157 at 14 °C, FDA CPG 527.300, ISO 11290-1")


def test_grave_texts_begin_with_the_act(knowledge: Knowledge) -> None:
    levels = set()
    for c in knowledge.cautions:
        levels.add(c.level)
        if c.level == "stop":
            assert c.text.startswith(("Do not taste it.", "Do not sell it.")), (c.id, c.text)
        if c.level == "hold":
            assert c.text.startswith("Put it aside, labelled, away from other cheese."), (c.id, c.text)
            whole = " ".join((c.text, *c.do))
            assert re.search(r"[Dd]o not (taste|eat)|[Ss]top tasting|No tasting", whole), c.id
        if c.level in ("stop", "hold"):
            assert c.do, c.id
    assert levels == {"stop", "hold", "note"}


def test_stops_offer_no_rescue(knowledge: Knowledge) -> None:
    """What is stopped is not washed, brushed, trimmed or ripened on."""
    for c in knowledge.cautions:
        if c.level == "stop":
            for line in c.do:
                assert not re.match(r"(Wash|Brush|Trim|Cut|Rub|Salt|Ripen|Scrape|Eat|Serve it)\b", line), (c.id, line)


def test_every_claim_has_sources_that_exist(knowledge: Knowledge) -> None:
    known = {s.id for s in knowledge.sources}
    claims = 0

    def look(id: str, thing: object) -> None:
        nonlocal claims
        if isinstance(thing, tuple):
            for part in thing:
                look(id, part)
        elif is_dataclass(thing):
            for f in fields(thing):
                value = getattr(thing, f.name)
                if f.name.endswith("sources"):
                    claims += 1
                    assert value, (id, f.name)
                    assert len(set(value)) == len(value), (id, value)
                    assert set(value) <= known, (id, value)
                else:
                    look(id, value)

    for kind in KINDS:
        for entry in getattr(knowledge, kind):
            look(entry.id, entry)
    look("words", knowledge.words)
    assert claims > 1000


def test_salt_is_never_sold_as_a_cure_for_listeria(knowledge: Knowledge) -> None:
    """Wherever shared liquid, brine or mats spread things, the page says what salt does not do."""
    for id in ("dirty_wash_liquid", "old_to_young_smearing", "contaminated_salting_brine", "dirty_or_stale_mats",
               "blue_mould_cross"):  # fmt: skip
        cause = next(c for c in knowledge.causes if c.id == id)
        whole = " ".join(" ".join(text.split()) for _, text in strings(cause)).casefold()
        assert "does not remove listeria" in whole, id
        assert "for quality only" in whole, id


def test_tasting_is_marked_as_tasting(knowledge: Knowledge) -> None:
    tasted = [q for q in knowledge.questions if q.about == "taste"]
    assert tasted
    assert all(q.tasting for q in tasted)
    for q in knowledge.questions:
        if re.search(r"\b(taste|tastes|chew)\b", q.ask) and q.about != "memory":
            assert q.tasting, q.id


def test_eating_up_is_never_offered_to_people_at_risk(knowledge: Knowledge) -> None:
    """The act that serves a cheese names all four groups in its first line, and steps that serve ask who eats."""
    serve = next(a for a in knowledge.acts if a.id == "serve")
    for group in ("pregnant", "small child", "65", "weak immunity"):
        assert group in serve.hygiene[0]
    steps = [(c.id, s) for c in knowledge.causes for s in c.today if s.act == "serve"]
    assert steps
    for id, step in steps:
        assert step.only_if is not None, id
