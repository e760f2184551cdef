"""What no house rule may switch off, weaken or shadow.

``protected`` names every record that the safety results rest on, followed through signs and
circumstances to the questions and rinds below them. ``weakened`` compares the packaged knowledge
with a layered one and says what the layer may not do. Whoever layers knowledge calls it and
refuses the layer when it answers anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields

from .catalog import Catalog
from .cautions import rests_on
from .conditions import leaves
from .gates import screened
from .model import Condition, Knowledge, Question, Sign

_MAY_GROW: dict[str, frozenset[str]] = {
    "questions": frozenset({"options", "words"}),
    "signs": frozenset({"words", "on_sound_rinds", "spared_by"}),
    "families": frozenset({"styles"}),
    "acts": frozenset({"hygiene"}),
}
"""Fields that a layer may add to at their end; everything that was there stays, unchanged."""
_FREE: dict[str, frozenset[str]] = {"signs": frozenset({"salient"}), "questions": frozenset({"why"})}
"""Fields that no safety result rests on."""


@dataclass(frozen=True, slots=True)
class Protected:
    """Ids that safety rests on, by kind of record."""

    cautions: frozenset[str]
    questions: frozenset[str]
    signs: frozenset[str]
    circumstances: frozenset[str]
    acts: frozenset[str]
    families: frozenset[str]
    """All of them: hardness and family decide which cautions stand."""

    def __contains__(self, id: object) -> bool:
        return any(id in getattr(self, f.name) for f in fields(self))


def protected(knowledge: Knowledge) -> Protected:
    """Everything in a knowledge base that stops, holds, notes and the screen rest on."""
    catalog = Catalog(knowledge)
    signs: set[str] = set()
    circumstances: set[str] = set()
    questions: set[str] = set(screened(catalog)) | {"family", "style", "age_days", "made_days_ago"}

    def follow(condition: Condition) -> None:
        questions.update(rests_on(catalog, condition))
        for leaf in leaves(condition):
            if leaf.sign and leaf.sign not in signs:
                signs.add(leaf.sign)
                follow(catalog.signs[leaf.sign].when or Condition(ask=leaf.sign))
            elif leaf.holds and leaf.holds not in circumstances:
                circumstances.add(leaf.holds)
                follow(catalog.circumstances[leaf.holds].when)

    for caution in catalog.cautions.values():
        follow(caution.when)
    grown = len(questions) + 1
    while grown != len(questions):  # what a question is asked on is followed too, until nothing is new
        grown = len(questions)
        for id in sorted(questions):
            asked_if = catalog.questions[id].ask_if if id in catalog.questions else None
            if asked_if is not None:
                follow(asked_if)
    questions.update(q.id for q in catalog.questions.values() if q.tasting)
    return Protected(
        frozenset(catalog.cautions),
        frozenset(q for q in questions if q in catalog.questions),
        frozenset(signs),
        frozenset(circumstances),
        frozenset(catalog.acts),
        frozenset(catalog.families),
    )


def weakened(packaged: Knowledge, layered: Knowledge) -> tuple[str, ...]:
    """What a layered knowledge base does that it may not, one sentence each; empty when it is in order.

    A layer may add records, and lengthen lists of words, options, styles and hygiene lines. It may not
    drop, replace, reorder or change a protected record.
    """
    return tuple(_weakened(packaged, layered))


def _weakened(packaged: Knowledge, layered: Knowledge) -> Iterator[str]:
    kept = protected(packaged)
    for kind in (f.name for f in fields(kept)):
        before = {entry.id: entry for entry in getattr(packaged, kind)}
        after = {entry.id: entry for entry in getattr(layered, kind)}
        names = [id for id in before if id in getattr(kept, kind)]
        for id in names:
            if id not in after:
                yield f'"{id}" cannot be switched off: safety rests on it.'
                continue
            for f in fields(before[id]):
                old, new = getattr(before[id], f.name), getattr(after[id], f.name)
                if old == new or f.name in _FREE.get(kind, ()):
                    continue
                if f.name in _MAY_GROW.get(kind, ()) and new[: len(old)] == old:
                    continue
                yield f'"{id}" cannot be changed in "{f.name}": safety rests on it.'
        ours = set(names)
        if [id for id in after if id in ours] != [id for id in names if id in after]:
            yield f"The {kind} that safety rests on cannot be put in another order."
    taken = {style.id for family in packaged.families for style in family.styles}
    for family in layered.families:
        for style in family.styles:
            home = next((f.id for f in packaged.families if style in f.styles), None)
            if style.id in taken and home != family.id:
                yield f'The style "{style.id}" is taken: safety rests on its hardness.'
    yield from _shadowed(packaged, layered, kept)


Owner = tuple[str, str]
"""A question or sign, and the option of it, that a phrase brings up."""


def _shadowed(packaged: Knowledge, layered: Knowledge, kept: Protected) -> Iterator[str]:
    """Words of a maker that meant something grave before, and are claimed by something else now."""
    before = dict.fromkeys(claimed(packaged.signs, packaged.questions))
    grave = grave_words(packaged, kept)
    for word, owner in dict.fromkeys(claimed(layered.signs, layered.questions)):
        if (word, owner) not in before and grave.get(word, owner) != owner:
            yield taken(word, owner, grave[word])


def taken(word: str, owner: Owner, grave: Owner) -> str:
    """What is said of words that belong to something grave."""
    return f'The words "{word}" cannot be given to "{owner[0]}": they belong to "{grave[0]}".'


def grave_words(packaged: Knowledge, kept: Protected) -> dict[str, Owner]:
    """Phrases that bring up something that safety rests on."""
    every = claimed(packaged.signs, packaged.questions)
    return {word: owner for word, owner in every if owner[0] in kept.questions or owner[0] in kept.signs}


def claimed(signs: Iterable[Sign], questions: Iterable[Question]) -> Iterator[tuple[str, Owner]]:
    """Every phrase a maker may use, with what it brings up."""
    for sign in signs:
        for word in sign.words:
            yield word.casefold(), (sign.id, "")
    for question in questions:
        for word in question.words:
            yield word.casefold(), (question.id, "")
        for option in question.options:
            for word in option.words:
                yield word.casefold(), (question.id, option.id)
