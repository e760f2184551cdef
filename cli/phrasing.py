"""Questions in the words of the rind in hand."""

from __future__ import annotations

from ..engine.answers import Answers, Value, as_text
from ..engine.catalog import Catalog, Cheese, asked
from ..engine.gates import offered
from ..engine.model import Question


def noun_of(catalog: Catalog, answers: Answers) -> str:
    """What the living rind is called: "the smear"."""
    return catalog.noun(answers.cheese(catalog))


def choices(question: Question, cheese: Cheese | None = None) -> list[tuple[str, str]]:
    """The answers a question offers, as (id, text), in the order they are numbered; for one cheese, or all."""
    if question.kind == "scale":
        return [("no", "no"), ("slight", "a little"), ("clear", "clearly")]
    if question.kind == "yes_no":
        return [("yes", "yes"), ("no", "no")]
    return [(o.id, o.text) for o in (offered(question, cheese) if cheese else question.options)]


def in_words(question: Question, value: Value) -> str:
    """An answer as it is read back."""
    if isinstance(value, float):
        # Four figures are enough to read back; a weight keeps all before the point.
        return f"{value:.4g} {question.unit}".strip() if abs(value) < 1000 else f"{value:.0f} {question.unit}"
    texts = dict(choices(question))
    if isinstance(value, tuple):
        return "; ".join(texts.get(v, v) for v in value)
    return "don't know" if value == "unknown" else texts.get(value, as_text(value))


__all__ = ["asked", "choices", "in_words", "noun_of"]
