"""What words that fit no phrase may mean: signs that share their sense, offered and never assumed.

"Smells of ammonia" may be ammonia that stays or ammonia that goes; "sticky" may be a good smear or a bad
one. What the maker said and ``noticing`` did not claim is compared, clause by clause, with every phrase
the knowledge has. Rare words count for more than common ones (inverse document frequency, as in text
retrieval; K. Sparck Jones 1972, from memory), and words of one sense count as one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from .catalog import Catalog
from .clauses import NOT, tokens
from .conditions import View
from .gates import FIRST, makes_sense, offered
from .noticing import Reading, phrases_of, unclaimed

ALIKE = 0.45
"""Likeness of a clause and a phrase from which the phrase is offered, 0 to 1."""
NEAR = 0.75
"""What is offered beside the likeliest reading of a clause is at least this share as alike."""
MOST = 3
"""Most readings offered for one clause."""
TELLING = 0.04
"""A word that stands in more than this share of all phrases tells nothing when it stands alone."""
_FILL = frozenset(
    [
        *(
            "on",
            "in",
            "at",
            "by",
            "to",
            "from",
            "for",
            "with",
            "after",
            "before",
            "under",
            "over",
            "near",
            "off",
            "out",
        ),
        *("my", "our", "this", "that", "there", "where", "when", "while", "or", "as", "like", "one", "other", "all"),
        *("every", "too", "so", "more", "most", "still", "just", "only", "left", "has", "have", "had", "was", "were"),
        *(
            "off",
            "out",
            "cheese",
            "cheeses",
            "wheel",
            "wheels",
            "batch",
            "bit",
            "little",
            "slightly",
            "slight",
            "be",
            "do",
            "does",
            "been",
            "got",
            "get",
            "gets",
        ),
    ]
)
"""Words that carry no sense of their own."""
_MISSING = NOT | {"missing", "lacking", "lack", "absent", "wont", "won't", "cannot", "can't", "didn't", "hasn't"}
_NO = "no"


@dataclass(frozen=True, slots=True)
class _Phrase:
    reading: Reading
    sense: frozenset[str]


class Hints:
    """The phrases of one knowledge base, by sense. Built once; never changed."""

    def __init__(self, catalog: Catalog) -> None:
        self._catalog = catalog
        self._same = {_stem(word): group[0] for group in catalog.knowledge.words.one_sense for word in group}
        self._phrases: list[_Phrase] = []
        for phrase, question, option, name in phrases_of(catalog):
            if not question.screen and question.id not in FIRST:
                value = _value(question.kind, option)
                reading = Reading(question.id, value, name, "")
                for said in (phrase, name):
                    self._phrases.append(_Phrase(reading, self._sense(tokens(said))))
        spread = Counter(part for one in self._phrases for part in one.sense)
        self._weight = {part: math.log(1 + len(self._phrases) / count) for part, count in spread.items()}
        self._telling = {part for part, count in spread.items() if count <= TELLING * len(self._phrases)}

    def unsure(self, text: str, view: View, known: Iterable[Reading] = ()) -> list[Reading]:
        """Readings that what is left of a text may stand for, likeliest first within each clause.

        Only of questions that make sense for the cheese; none that is among ``known``.
        """
        seen = {r.question for r in known}
        found: list[Reading] = []
        for clause in unclaimed(self._catalog, text):
            sense = self._sense(clause) & (self._weight.keys() | {_NO})
            best: dict[str, tuple[float, Reading]] = {}
            for one in self._phrases:
                likeness = self._likeness(sense, one.sense)
                id = one.reading.question
                if likeness >= ALIKE and id not in seen and likeness > best.get(id, (0.0,))[0]:
                    best[id] = (likeness, one.reading)
            fitting = [pair for pair in best.values() if self._fits(pair[1], view)]
            fitting.sort(key=lambda pair: (-pair[0], pair[1].question))
            for likeness, reading in fitting[:MOST]:
                if likeness < NEAR * fitting[0][0]:
                    break
                seen.add(reading.question)
                found.append(Reading(reading.question, reading.value, reading.says, " ".join(clause)))
        return found

    def _likeness(self, clause: frozenset[str], phrase: frozenset[str]) -> float:
        """Shared weight over the mean weight of both (Dice); nothing when one denies and the other does not."""
        if (_NO in clause) != (_NO in phrase):
            return 0.0
        shared = clause & phrase
        if shared.isdisjoint(self._telling) and len(shared - {_NO}) < 2:
            return 0.0
        return 2 * self._heft(shared) / (self._heft(clause) + self._heft(phrase))

    def _heft(self, sense: frozenset[str]) -> float:
        return math.fsum(self._weight[part] for part in sorted(sense) if part != _NO)

    def _sense(self, words: Iterable[str]) -> frozenset[str]:
        stems = (_NO if word in _MISSING else _stem(word) for word in words if word not in _FILL)
        return frozenset(self._same.get(stem, stem) for stem in stems)

    def _fits(self, reading: Reading, view: View) -> bool:
        question = self._catalog.questions[reading.question]
        if view.answers.get(question.id) is not None or not makes_sense(question, view):
            return False
        options = {o.id for o in offered(question, view.cheese)}
        chosen = reading.value if isinstance(reading.value, tuple) else (reading.value,)
        return not question.options or options.issuperset(chosen)


def _value(kind: str, option: str) -> str | tuple[str, ...]:
    if option:
        return (option,) if kind == "some_of" else option
    return "clear" if kind == "scale" else "yes"


def _stem(word: str) -> str:
    """A word without its ending, so that fuzz and fuzzy, fur and furry, crack and cracked are one."""
    for ending in ("iness", "ness", "ing", "ish", "ies", "ily", "ed", "es", "er", "ly", "y", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word.removesuffix(ending)
            break
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiou" else word
