"""What no house rule may touch: whatever a caution rests on.

A caution is a condition on answers. Its questions, their options, the signs and circumstances it
reads (and those that these read in turn), and the questions that are always asked first for
safety's sake stay as they are packaged, so that the same answers raise the same cautions with a
house and without.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..catalog import Catalog
from ..conditions import leaves
from ..gates import FIRST, SAFETY
from ..model import Condition


@dataclass(frozen=True, slots=True)
class Protected:
    """Ids that carry a caution, by kind."""

    questions: frozenset[str]
    signs: frozenset[str]
    circumstances: frozenset[str]
    cautions: frozenset[str]


def protected(catalog: Catalog) -> Protected:
    """Everything a stop, a hold or a note rests on, however far down."""
    questions, signs, circumstances = set[str](), set[str](), set[str]()
    waiting = [c.when for c in catalog.cautions.values()]
    waiting.extend(Condition(ask=name) for name in (*FIRST, *SAFETY))
    while waiting:
        for leaf in leaves(waiting.pop()):
            if leaf.ask or leaf.unanswered:
                name = leaf.ask or leaf.unanswered
                question = catalog.questions.get(name)
                if name not in questions and question is not None and question.ask_if is not None:
                    waiting.append(question.ask_if)
                questions.add(name)
            elif leaf.sign and leaf.sign not in signs:
                signs.add(leaf.sign)
                sign = catalog.signs.get(leaf.sign)
                if sign is not None:
                    waiting.append(sign.when or Condition(ask=sign.id))
            elif leaf.holds and leaf.holds not in circumstances:
                circumstances.add(leaf.holds)
                circumstance = catalog.circumstances.get(leaf.holds)
                if circumstance is not None:
                    waiting.append(circumstance.when)
    return Protected(frozenset(questions), frozenset(signs), frozenset(circumstances), frozenset(catalog.cautions))
