"""What a maker notices, in their own words, read as answers to be confirmed.

Every sign and option carries the words makers use for it. The text is searched for them
tolerantly (a slip of the pen, a plural), longest phrase first, and each find comes back as a
*reading*: nothing is taken as an answer before the maker has said yes to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz

from .answers import Answers, Value
from .catalog import Catalog, asked
from .clauses import Denied, Gap, Word, denied, leading, parted, tokens, words_in
from .model import Knowledge, Question, Sign
from .protection import protected

CLOSE = 87.0
"""Likeness from which a phrase counts as found, 0 to 100."""
_OPPOSITE = ("un", "non", "in", "im", "ir", "dis", "de")
"""Beginnings that turn a word round: with one of them two words are never the same, however alike they look."""
_LITTLE = {"slightly", "slight", "little", "bit", "faint", "faintly", "hint"}


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing understood from the text: the answer it would give, and the words it stands on."""

    question: str
    value: Value
    says: str
    """The sign or option in the tool's words."""
    heard: str
    """The maker's words."""


def readings(catalog: Catalog, text: str) -> list[Reading]:
    """Everything understood in a text, in the order it was said. One reading per question or option."""
    return _claimed(catalog, words_in(text))[0]


def unclaimed(catalog: Catalog, text: str) -> list[list[str]]:
    """The words of a text that no reading stands on, in the clauses they were said in.

    What is left of a list that was denied keeps its denial: "stickiness" of "no slime, cracks or stickiness".
    """
    words = words_in(text)
    left = [not used for used in _claimed(catalog, words)[1]]
    phrases = frozenset(phrase for phrase, *_ in phrases_of(catalog))
    clauses = []
    for clause in parted(words, left):
        how, at = denied(words, clause[0], 1, phrases)
        denial = [words[at].text] if how >= Denied.LIKELY and at not in clause else []
        clauses.append([*denial, *(words[k].text for k in clause)])
    return clauses


def _claimed(catalog: Catalog, words: Sequence[Word]) -> tuple[list[Reading], list[bool]]:
    """Readings, and which words they stand on."""
    taken, used = [False] * len(words), [False] * len(words)
    found: list[_Find] = []
    if isinstance(catalog.knowledge.beneath, Knowledge):
        # Words that a caution rests on are heard before any word of a house rule can claim them.
        alone = Catalog(catalog.knowledge.beneath)
        grave = protected(alone.knowledge).questions
        for find in _search(alone, words, list(taken)):
            if find.reading is not None and find.reading.question in grave:
                taken[find.start : find.end] = [True] * (find.end - find.start)
                found.append(find)
    found.extend(_search(catalog, words, taken))
    found.sort(key=lambda find: find.start)
    kept: dict[tuple[str, Value], Reading] = {}
    for find in found:
        if find.reading is not None:
            kept.setdefault((find.reading.question, find.reading.value), find.reading)
        if not find.left_open:
            used[find.start : find.end] = [True] * (find.end - find.start)
    return list(kept.values()), used


@dataclass(frozen=True, slots=True)
class _Find:
    """A phrase in a text."""

    start: int
    end: int
    reading: Reading | None
    left_open: bool = False
    """Whether it cannot be told if it is said or denied."""


def _search(catalog: Catalog, words: Sequence[Word], taken: list[bool]) -> Iterator[_Find]:
    """Where phrases stand in a text. ``taken`` fills up on the way.

    A phrase that answers two questions, a sign and one of the safety screen, is heard for both.
    """
    by: dict[int, str] = {}
    text = [word.text for word in words]
    phrases = list(phrases_of(catalog))
    whole = frozenset(phrase for phrase, *_ in phrases)
    known = frozenset(word for phrase in whole for word in phrase.split())
    for phrase, question, option, name in phrases:
        parts = phrase.split()
        for start in range(len(text) - len(parts) + 1):
            end = start + len(parts)
            if (by.get(start) != phrase and any(taken[start:end])) or not _alike(parts, text[start:end], known):
                continue
            if any(word.gap == Gap.END for word in words[start + 1 : end]):
                continue
            taken[start:end] = [True] * len(parts)
            by[start] = phrase
            how, at = denied(words, start, len(parts), whole)
            if question.screen and how is not Denied.YES:
                how = Denied.NO  # in doubt, danger is heard
            if how is Denied.OPEN:
                yield _Find(start, end, None, left_open=True)
                continue
            little = [w for w in leading(words, start, 3) if w in _LITTLE]
            value = _value(question, option, how is not Denied.NO, bool(little))
            if value == "no" and phrase in question_words(question):
                value = None  # "no mastitis" does not answer a question about more than mastitis
            reading = None
            if value is not None:
                said = name if value != "no" else f"no {name}"
                turned = [words[at].text] if how is not Denied.NO else [w for w in little if w == words[start - 1].text]
                heard = " ".join([*text[start:end], *turned] if at >= end else [*turned, *text[start:end]])
                reading = Reading(question.id, value, said, heard)
            yield _Find(start, end, reading)


def taking(answers: Answers, confirmed: list[Reading]) -> Answers:
    """Answers with confirmed readings added; several options of one question come together."""
    for reading in confirmed:
        value = reading.value
        before = answers.get(reading.question)
        if isinstance(value, tuple) and isinstance(before, tuple):
            value = tuple(sorted({*before, *value}))
        answers = answers.adding(reading.question, value)
    return answers


def phrases_of(catalog: Catalog) -> Iterator[tuple[str, Question, str, str]]:
    """Every phrase: itself, question, option id (or nothing), and the tool's own words; longest phrase first."""
    listed: list[tuple[str, Question, str, str]] = []
    for sign in catalog.signs.values():
        where = _where(catalog, sign)
        if where is not None:
            listed.extend((w, *where, sign.name) for w in sign.words)
    for question in catalog.questions.values():
        listed.extend((w, question, "", f"{asked(question)} Yes.") for w in question.words)
        for option in question.options:
            listed.extend((w, question, option.id, option.text) for w in option.words)
    cleaned = ((" ".join(tokens(w)), q, o, n) for w, q, o, n in listed)
    yield from sorted((p for p in cleaned if p[0]), key=lambda p: (-len(p[0].split()), -len(p[0]), p[0], p[1].id))


def question_words(question: Question) -> frozenset[str]:
    """The phrases that answer a question with yes, as they are searched for."""
    return frozenset(" ".join(tokens(w)) for w in question.words)


def _where(catalog: Catalog, sign: Sign) -> tuple[Question, str] | None:
    if sign.when is None:
        return catalog.questions[sign.id], ""
    question = catalog.questions.get(sign.when.ask)
    if question is None or not sign.when.one_of:
        return None
    return question, sign.when.one_of[-1]


def _alike(words: list[str], window: list[str], known: frozenset[str]) -> bool:
    """Whether words are a phrase, but for slips. A word that is known is no slip: sticky is not sicky."""
    for word, token in zip(words, window, strict=True):
        if word == token or word.rstrip("s") == token.rstrip("s"):
            continue
        if token in known or word[0] != token[0]:  # the pen seldom slips on the first letter
            return False
        if min(len(word), len(token)) < 5 or fuzz.ratio(word, token) < CLOSE:
            return False
        if _opposed(word, token) or _opposed(token, word):
            return False
    return True


def _opposed(word: str, turned: str) -> bool:
    """Whether one word is the other with a beginning that turns it round, as in "pasteurised" and "unpasteurised"."""
    return any(
        turned.startswith(start)
        and not word.startswith(start)
        and fuzz.ratio(word, turned[len(start) :]) >= fuzz.ratio(word, turned)
        for start in _OPPOSITE
    )


def _value(question: Question, option: str, negated: bool, little: bool) -> Value | None:
    if not option:
        if negated:
            return "no"
        if question.kind == "scale":
            return "slight" if little else "clear"
        return "yes"
    if negated:
        return None
    return (option,) if question.kind == "some_of" else option
