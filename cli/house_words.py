"""House rules in words: whose, since when, and what they do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..engine.catalog import Catalog, asked
from ..engine.house.voices import added, as_records, of_question, on_cause
from ..engine.model import HouseMark, Question


def whose(mark: HouseMark) -> str:
    """A rule, its owner and its date, as they stand behind a statement."""
    return f"house rule {mark.rule}, {mark.owner}, {mark.date}"


def tag(marks: Iterable[HouseMark]) -> str:
    """`` [house rule red_dust, Marta, 2026-11-27]``, or nothing."""
    said = "; ".join(whose(m) for m in marks)
    return f" [{said}]" if said else ""


def cause_named(catalog: Catalog, id: str, inside: bool = False) -> str:
    """A cause by name, with the house rule behind it; by its id when it is not known. ``inside`` a sentence."""
    cause = catalog.causes.get(id)
    if cause is None:
        return id
    return (cause.name.lower() if inside else cause.name) + tag(on_cause(catalog, id))


def sign_named(catalog: Catalog, id: str) -> str:
    """A sign by name, with the house rule that brought it."""
    return catalog.signs[id].name + tag(added(catalog, "sign", id)) if id in catalog.signs else id


def fact_named(catalog: Catalog, id: str) -> str:
    """What a circumstance means, with the house rule that brought it."""
    return catalog.circumstances[id].means + tag(added(catalog, "circumstance", id))


def question_put(catalog: Catalog, question: Question, noun: str = "the rind") -> str:
    """A question as it is put, with the house rule that brought it."""
    return asked(question, noun) + tag(of_question(catalog, question.id))


def kept_tag(entry: Mapping[str, Any]) -> str:
    """The same, from a diagnosis as the archive keeps it."""
    return tag(HouseMark(m["rule"], m["owner"], m["date"], "") for m in entry.get("house", ()))


def grounds(catalog: Catalog, grade: str, sources: Sequence[str]) -> str:
    """A grade in words; the rule, its owner and its date where it is a house rule's."""
    marks = catalog.marks(sources)
    return "; ".join(whose(m) for m in marks) if marks else grade


def gone(mark: HouseMark, id: str) -> bool:
    """Whether a rule switches off a whole packaged record of this id."""
    return any(what.split()[1:] == [id] for what in mark.switches_off)


def whole_shape(catalog: Catalog, version: str) -> dict[str, Any]:
    """The house as a diagnosis carries it: its hash and every rule in force."""
    return {
        "version": version,
        "rules": [
            {
                **as_records([m])[0], "because": m.because, "adds": list(m.adds), "changes": list(m.changes),
                "switches_off": list(m.switches_off),
            }
            for m in catalog.knowledge.house
        ],
    }  # fmt: skip
