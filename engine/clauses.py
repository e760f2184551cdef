"""The words of a text with what parts them, and how far a denial reaches among them.

One reading of a text for everybody: what is understood, what is left over, and the phrases both are compared
with. A denial stays within its clause. Within it, it reaches the word or two behind it and every member of a
list: "no slime or cracks", "neither dry, dusty nor cracked". Where a list and a new statement look the same,
as in "not dry, blue spots or slime", nothing is taken for granted.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import IntEnum

NOT = {
    "no", "nobody", "none", "not", "non", "un", "without", "isnt", "isn't", "wasnt", "wasn't", "doesnt", "doesn't",
    "arent", "aren't", "werent", "weren't", "aint", "ain't", "hasnt", "hasn't", "havent", "haven't", "dont", "don't",
    "didnt", "didn't", "cant", "can't", "cannot", "never", "nothing", "neither", "nor", "zero",
}  # fmt: skip
"""Words that deny."""
_BEHIND = {"none", "no", "nil", "zero", "nowhere"}
"""Words that deny what stands before them, where nothing follows: "cracks: none"."""
_NOT_ONLY = {"just", "only", "merely", "simply"}
"""Behind "not" they say that there is more: nothing is denied."""
_LIGHT = {
    "any",
    "see",
    "seen",
    "find",
    "found",
    "notice",
    "noticed",
    "feel",
    "have",
    "has",
    "got",
    "much",
    "sign",
    "signs",
}
"""Words that a denial reaches over: "I don't see any"."""
_LISTING = {"no", "without", "neither", "zero"}
"""Denials that a list of things follows; after the others a comma more often begins something new."""
_OR = {"or", "nor"}
_TURNS = {"but", "while", "although", "though", "whereas"}
_STOP = {"a", "an", "the", "is", "are", "it", "its", "it's", "of", "very", "quite", "really", "some"}
_NEW = {"it", "its", "it's", "the", "is", "are", "there", "i", "we", "they", "this", "that", "my", "our"}
"""Words that begin a statement: behind a comma or "and" they end a list."""
_PIECE = re.compile(r"[a-z0-9°']+|\.(?!\d)|[,;:!?()\n–—]|(?<=\s)-(?=\s)")
_NEAR = 2
"""Words that may stand between a denial and what it denies, and one more."""
_LONGEST = 5
"""Words of the longest member of a list."""


class Gap(IntEnum):
    """What stands before a word, the more parting the higher."""

    NONE = 0
    AND = 1
    WITH = 2
    COMMA = 3
    TURN = 4
    END = 5
    """The end of a sentence or line: no phrase goes on behind it."""


_MARKS = {
    **dict.fromkeys(".;!?\n", Gap.END), **dict.fromkeys(":()–—-", Gap.TURN), ",": Gap.COMMA, "and": Gap.AND,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Word:
    """One word that counts, and what parts it from the one before."""

    text: str
    gap: Gap


class Denied(IntEnum):
    """Whether words are denied."""

    NO = 0
    OPEN = 1
    """They may be, and may as well be a statement of their own."""
    LIKELY = 2
    """As a member of a list."""
    YES = 3


def words_in(text: str) -> list[Word]:
    """The words of a text, without those that say nothing by themselves."""
    found: list[Word] = []
    gap = Gap.NONE
    for piece in _pieces(text):
        if piece in _NEW and gap in (Gap.AND, Gap.COMMA):
            gap = Gap.TURN
        mark = _MARKS.get(piece)
        if mark is not None:
            gap = max(gap, mark)
        elif piece not in _STOP:
            found.append(Word(piece, gap if found else Gap.NONE))
            gap = Gap.TURN if piece in _TURNS else Gap.WITH if piece == "with" else Gap.NONE
    return found


def tokens(text: str) -> list[str]:
    """The words alone."""
    return [piece for piece in _pieces(text) if piece not in _STOP and piece not in _MARKS]


def _pieces(text: str) -> list[str]:
    found: list[str] = _PIECE.findall(unicodedata.normalize("NFKC", text).replace("’", "'").casefold())
    return found


def parted(words: Sequence[Word], left: Sequence[bool]) -> list[list[int]]:
    """The places of words that are left, by the clause they stand in; words that join clauses are not among them."""
    clauses: list[list[int]] = [[]]
    for at, word in enumerate(words):
        if word.gap > Gap.NONE:
            clauses.append([])
        if left[at] and word.text not in _TURNS and word.text != "with":
            clauses[-1].append(at)
    return [clause for clause in clauses if clause]


def leading(words: Sequence[Word], start: int, most: int) -> list[str]:
    """Up to ``most`` words before a place, of its own clause."""
    first = start
    while first > 0 and start - first < most and words[first].gap == Gap.NONE:
        first -= 1
    return [word.text for word in words[first:start]]


def denied(words: Sequence[Word], start: int, size: int, phrases: Collection[str]) -> tuple[Denied, int]:
    """Whether the words of a phrase are denied, and where the denial stands. ``phrases``: all that are known."""
    at = start + size
    if at < len(words) and words[at].text in _BEHIND and words[at].gap < Gap.END and _last(words, at):
        return Denied.YES, at
    at, near = start, 0
    if at > 1 and words[at].gap == Gap.WITH and words[at - 1].gap == Gap.NONE and words[at - 2].text in NOT:
        return Denied.YES, at - 2  # "not with blue dots"
    while at > 0 and near < _NEAR and words[at].gap == Gap.NONE:
        at -= 1
        near += words[at].text not in _LIGHT
        if words[at].text in NOT:
            more = words[at].text == "not" and words[at + 1].text in _NOT_ONLY
            return (Denied.NO, start) if more else (Denied.YES, at)
        if words[at].text in _OR:
            return _listed(words, at, words[at].text, phrases)
    for back in range(at - 1, max(-1, start - _LONGEST), -1):
        if words[back + 1].gap != Gap.NONE:
            break
        if words[back].text == "nor":
            return Denied.LIKELY, back  # "nor does it have any cracks"
    if at > 0 and words[at].gap == Gap.COMMA:
        return _listed(words, at, _closing(words, start + size), phrases)
    if at > 0 and words[at].gap == Gap.AND:
        return _listed(words, at, "and", phrases)
    return Denied.NO, start


def _last(words: Sequence[Word], at: int) -> bool:
    """Whether a word ends its clause."""
    return at + 1 == len(words) or words[at + 1].gap > Gap.NONE


def _closing(words: Sequence[Word], at: int) -> str:
    """The word that joins the last member of a list which goes on at a place; nothing where there is no list."""
    run = 0
    for word in words[at:]:
        run = 1 if word.gap == Gap.COMMA else run + 1
        if word.gap == Gap.AND:
            return "and"
        if word.gap not in (Gap.NONE, Gap.COMMA) or run > _LONGEST:
            return ""
        if word.text in _OR:
            return word.text
    return ""


def _listed(words: Sequence[Word], at: int, closing: str, phrases: Collection[str]) -> tuple[Denied, int]:
    """Whether a denial opens the list whose next member begins at a place."""
    if not closing:
        return Denied.NO, at
    marks: set[Gap] = set()
    run, end = 0, at
    while at > 0 and words[at].gap <= Gap.COMMA and words[at].gap != Gap.WITH and run < _LONGEST:
        if words[at].gap > Gap.NONE:
            marks.add(words[at].gap)
            run, end = 0, at
        at -= 1
        run += 1
        if words[at].text in NOT:
            break
    else:
        return Denied.NO, at
    if at + 1 == end and words[end].gap == Gap.COMMA:
        return Denied.NO, at  # "No, blue spots": an answer of its own
    listing = words[at].text in _LISTING
    if not marks:
        return Denied.YES if listing else Denied.LIKELY, at
    if closing == "and":
        return Denied.OPEN if listing else Denied.NO, at
    # "No bloom" may be a sign by itself, and what follows it another: "no bloom, dry or cracked".
    own = " ".join(word.text for word in words[at:end]) in phrases
    sure = Gap.AND not in marks and (closing == "nor" or (listing and not own))
    return Denied.LIKELY if sure else Denied.OPEN, at
