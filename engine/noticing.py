"""What a maker notices, in their own words, read as answers to be confirmed.

Every sign and option carries the words makers use for it. The text is searched for them
tolerantly (a slip of the pen, a plural), longest phrase first, and each find comes back as a
*reading*: nothing is taken as an answer before the maker has said yes to it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from rapidfuzz import fuzz

from .answers import Answers, Value
from .catalog import Catalog, asked
from .model import Knowledge, Question, Sign
from .protection import protected

CLOSE = 87.0
"""Likeness from which a phrase counts as found, 0 to 100."""
NOT = {
    "no", "nobody", "none", "not", "non", "un", "without", "isnt", "isn't", "wasnt", "wasn't", "doesnt", "doesn't",
    "never", "nothing",
}  # fmt: skip
"""Words that deny."""
_OPPOSITE = ("un", "non", "in", "im", "ir", "dis", "de")
"""Beginnings that turn a word round: with one of them two words are never the same, however alike they look."""
_CLAUSE = re.compile(r"[,.;:!?()\n]|\b(?:and|but|while|although|with)\b")
_LITTLE = {"slightly", "slight", "little", "bit", "faint", "faintly", "hint"}
_STOP = {"a", "an", "the", "is", "are", "it", "its", "it's", "of", "very", "quite", "really", "some", "and"}


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
    tokens = _tokens(text)
    return _claimed(catalog, tokens)[0]


def unclaimed(catalog: Catalog, text: str) -> list[list[str]]:
    """The words of a text that no reading stands on, in the clauses they were said in."""
    clauses = [_tokens(clause) for clause in _CLAUSE.split(unicodedata.normalize("NFKC", text).casefold())]
    taken = iter(_claimed(catalog, [token for clause in clauses for token in clause])[1])
    left = [[token for token in clause if not next(taken)] for clause in clauses]
    return [clause for clause in left if clause]


def _claimed(catalog: Catalog, tokens: list[str]) -> tuple[list[Reading], list[bool]]:
    """Readings, and which words they stand on."""
    taken = [False] * len(tokens)
    found: list[tuple[int, Reading]] = []
    if isinstance(catalog.knowledge.beneath, Knowledge):
        # Words that a caution rests on are heard before any word of a house rule can claim them.
        alone = Catalog(catalog.knowledge.beneath)
        grave = protected(alone.knowledge).questions
        aside = list(taken)
        for start, size, reading in _search(alone, tokens, aside):
            if reading is not None and reading.question in grave:
                taken[start : start + size] = [True] * size
                found.append((start, reading))
    found.extend((start, r) for start, _, r in _search(catalog, tokens, taken) if r is not None)
    found.sort(key=lambda pair: pair[0])
    kept: dict[tuple[str, Value], Reading] = {}
    for _, reading in found:
        kept.setdefault((reading.question, reading.value), reading)
    return list(kept.values()), taken


def _search(catalog: Catalog, tokens: list[str], taken: list[bool]) -> Iterator[tuple[int, int, Reading | None]]:
    """Where phrases stand in a text: first token, number of tokens, reading. ``taken`` fills up on the way.

    A phrase that answers two questions, a sign and one of the safety screen, is heard for both.
    """
    by: dict[int, str] = {}
    phrases = list(phrases_of(catalog))
    known = frozenset(word for phrase, *_ in phrases for word in phrase.split())
    for phrase, question, option, name in phrases:
        words = phrase.split()
        for start in range(len(tokens) - len(words) + 1):
            window = tokens[start : start + len(words)]
            if (by.get(start) != phrase and any(taken[start : start + len(words)])) or not _alike(words, window, known):
                continue
            taken[start : start + len(words)] = [True] * len(words)
            by[start] = phrase
            value = _value(question, option, tokens[max(0, start - 3) : start])
            reading = None
            if value == "no" and phrase in question_words(question):
                value = None  # "no mastitis" does not answer a question about more than mastitis
            if value is not None:
                before = tokens[max(0, start - 1) : start]
                turned = before if not _LITTLE.isdisjoint(before) or not NOT.isdisjoint(before) else []
                heard = " ".join([*turned, *window])
                said = name if value not in ("no",) else f"no {name}"
                reading = Reading(question.id, value, said, heard)
            yield start, len(words), reading


def taking(answers: Answers, confirmed: list[Reading]) -> Answers:
    """Answers with confirmed readings added; several options of one question come together."""
    for reading in confirmed:
        value = reading.value
        before = answers.get(reading.question)
        if isinstance(value, tuple) and isinstance(before, tuple):
            value = tuple(sorted({*before, *value}))
        answers = answers.adding(reading.question, value)
    return answers


def _tokens(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKC", text).replace("’", "'").casefold()
    return [t for t in re.findall(r"[a-z0-9°']+", plain) if t not in _STOP]


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
    cleaned = ((" ".join(_tokens(w)), q, o, n) for w, q, o, n in listed)
    yield from sorted((p for p in cleaned if p[0]), key=lambda p: (-len(p[0].split()), -len(p[0]), p[0], p[1].id))


def question_words(question: Question) -> frozenset[str]:
    """The phrases that answer a question with yes, as they are searched for."""
    return frozenset(" ".join(_tokens(w)) for w in question.words)


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


def _value(question: Question, option: str, before: list[str]) -> Value | None:
    negated = not NOT.isdisjoint(before[-2:])
    if not option:
        if negated:
            return "no"
        if question.kind == "scale":
            return "slight" if not _LITTLE.isdisjoint(before) else "clear"
        return "yes"
    if negated:
        return None
    return (option,) if question.kind == "some_of" else option
