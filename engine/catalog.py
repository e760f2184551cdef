"""Knowledge, ready to be looked up: by id, by rind, by word."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol, TypeVar

from .model import (
    Act,
    AnswerNoise,
    Cause,
    Caution,
    Circumstance,
    Family,
    HouseMark,
    Knowledge,
    Normal,
    Organism,
    Question,
    Sign,
    Source,
    Style,
)

HOUSE = "house_"
"""How the source id of a house rule begins: ``house_`` and the name of the rule."""
RIND = "{rind}"
"""Stands in a question for the family's own word."""
GRADES = ("published", "handbook", "trade", "practice", "memory", "house")
_GRADE_OF_KIND = {
    "paper": "published",
    "review": "published",
    "standard": "published",
    "law": "published",
    "authority": "published",
    "handbook": "handbook",
    "extension": "trade",
    "web": "trade",
    "practice": "practice",
    "memory": "memory",
    "house": "house",
}


def grade_of(source: Source) -> str:
    """The grade that a source gives to what it is cited for."""
    if source.checked == "memory" and source.kind != "practice":
        return "memory"
    return _GRADE_OF_KIND[source.kind]


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


_T = TypeVar("_T", bound=_HasId)


def _by_id(things: Iterable[_T]) -> dict[str, _T]:
    return {thing.id: thing for thing in things}


@dataclass(frozen=True, slots=True)
class Cheese:
    """What was meant and how old it is: family and style ids, age in days; None when unknown."""

    family: str | None
    style: Style | None
    age_days: float | None
    certain: frozenset[str]
    """Family, group and style names it surely goes by."""
    possible: frozenset[str]
    """Names it may go by."""
    paste: frozenset[str]
    """How hard its paste may be: soft, semi soft, semi hard, hard."""

    def is_one_of(self, rinds: Sequence[str]) -> bool | None:
        """Whether it is one of these rinds; None when that is not known. No rinds means any."""
        if not rinds or not self.certain.isdisjoint(rinds):
            return True
        return None if not self.possible.isdisjoint(rinds) else False

    def in_window(self, from_day: int, to_day: int | None) -> bool | None:
        """Whether its age lies in a window of days, both ends included."""
        if self.age_days is None:
            return True if from_day == 0 and to_day is None else None
        return self.age_days >= from_day and (to_day is None or self.age_days <= to_day)


def asked(question: Question, noun: str = "the rind") -> str:
    """A question as it is put, with the word for the living rind, such as "the smear", where it stands."""
    text = question.ask.replace(RIND, noun)
    return text[:1].upper() + text[1:]


class Catalog:
    """Look-ups over one knowledge base. Built once; never changed."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.families: dict[str, Family] = _by_id(knowledge.families)
        self.questions: dict[str, Question] = _by_id(knowledge.questions)
        self.signs: dict[str, Sign] = _by_id(knowledge.signs)
        self.circumstances: dict[str, Circumstance] = _by_id(knowledge.circumstances)
        self.causes: dict[str, Cause] = _by_id(c for c in knowledge.causes if not c.replaced_by)
        self.normal: dict[str, Normal] = _by_id(knowledge.normal)
        self.acts: dict[str, Act] = _by_id(knowledge.acts)
        self.cautions: dict[str, Caution] = _by_id(knowledge.cautions)
        self.organisms: dict[str, Organism] = _by_id(knowledge.organisms)
        self.sources: dict[str, Source] = _by_id(knowledge.sources)
        self.house: dict[str, HouseMark] = {HOUSE + m.rule: m for m in knowledge.house}
        """House rules in force, by the id of the source that each one is."""
        self.noise: dict[str, AnswerNoise] = {n.about: n for n in knowledge.words.answer_noise}
        self._scales = {s.id: {w.word: w.value for w in s.words} for s in knowledge.words.scales}

    @cached_property
    def styles(self) -> dict[str, Style]:
        """Every style of every family, by id."""
        return _by_id(s for f in self.families.values() for s in f.styles)

    @cached_property
    def home(self) -> dict[str, str]:
        """The family of every style, by id."""
        return {s.id: f.id for f in self.families.values() for s in f.styles}

    def salting_ends_day(self, cheese: Cheese) -> int:
        """Days from renneting to the end of salting: of its style, or the middle one of those it may be."""
        days = sorted(s.salting_ends_day for s in self.styles.values() if s.id in cheese.possible)
        return days[(len(days) - 1) // 2]

    @cached_property
    def rinds(self) -> frozenset[str]:
        """Every name a rind may be called by: families, groups, styles."""
        names: set[str] = set(self.families) | set(self.styles)
        names.update(s.group for s in self.styles.values())
        return frozenset(names)

    def value(self, scale: str, word: str) -> float:
        """The number behind a word of a scale."""
        return self._scales[scale][word]

    def likely_word(self, probability: float) -> str:
        """The word shown for a probability, 0 to 1 (EFSA 2018 scale)."""
        scale = next(s for s in self.knowledge.words.scales if s.id == "probability")
        for word in scale.words:
            if probability <= (word.high if word.high is not None else 1.0):
                return word.word
        return scale.words[-1].word

    def grade(self, sources: Sequence[str]) -> str:
        """The grade of a claim: that of its first source."""
        source = self.sources.get(sources[0]) if sources else None
        return "memory" if source is None else grade_of(source)

    def marks(self, sources: Iterable[str]) -> tuple[HouseMark, ...]:
        """The house rules among the sources of a claim."""
        return tuple(self.house[s] for s in sources if s in self.house)

    def noun(self, cheese: Cheese) -> str:
        """What its living rind is called: "the smear", "the bloom"; "the rind" while its family is not known."""
        return self.families[cheese.family].noun if cheese.family else "the rind"

    def cheese(self, family: str | None, style: str | None, age_days: float | None) -> Cheese:
        """The cheese in hand, from what is known of it. A style of another family than the one named is left out."""
        home = self.home.get(style or "")
        if style is not None and home is not None and family in (None, home):
            one = self.styles[style]
            names = frozenset({home, one.group, one.id})
            return Cheese(home, one, age_days, names, names, frozenset({one.hardness}))
        families = [self.families[family]] if family in self.families else list(self.families.values())
        possible = frozenset(name for f in families for s in f.styles for name in (f.id, s.group, s.id))
        certain = frozenset({families[0].id}) if len(families) == 1 else frozenset()
        paste = frozenset(s.hardness for f in families for s in f.styles)
        return Cheese(family if len(families) == 1 else None, None, age_days, certain, possible, paste)
