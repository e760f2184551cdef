"""House rules in words: whose, since when, and what they do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..engine.catalog import RIND, Catalog, asked
from ..engine.errors import listed
from ..engine.house.altering import words_of
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


def does(mark: HouseMark) -> str:
    """What a rule does, in one line."""
    parts = []
    if mark.adds:
        parts.append("adds " + ", ".join(mark.adds))
    if mark.changes:
        parts.append("changes " + ", ".join(mark.changes))
    if mark.switches_off:
        parts.append("switches off " + ", ".join(mark.switches_off))
    return "; ".join(parts) or "does nothing"


def in_plain_words(catalog: Catalog, rule: Any, packaged: Catalog) -> list[str]:
    """Each thing a rule says, as a sentence. ``packaged`` knows what it switches off, and the words it changes."""
    said: list[str] = []

    def cause(id: str) -> str:
        found = catalog.causes.get(id) or packaged.causes.get(id)
        return found.name.lower() if found else id

    def sign(id: str) -> str:
        found = catalog.signs.get(id) or packaged.signs.get(id)
        return found.name if found else id

    def so(id: str) -> str:
        found = catalog.circumstances.get(id) or packaged.circumstances.get(id)
        return found.means if found else id

    def row(id: str) -> str:
        found = catalog.normal.get(id) or packaged.normal.get(id)
        return found.name if found else id

    def on(rinds: Sequence[str]) -> str:
        names = [next((x[r].name for x in (catalog.families, catalog.styles) if r in x), r) for r in rinds]
        return f" On {listed(names)} only." if names else ""

    said += [f"Asks: {q.ask.replace(RIND, 'the rind')}{on(q.rinds)}" for q in rule.question]
    said += [f"Knows a sign: {s.name}. On a sound rind it shows {s.on_sound_rinds[0].seen}." for s in rule.sign]
    said += [f"Knows a circumstance: {c.means}. It holds for {c.how_common}." for c in rule.circumstance]
    said += [f"Widens a circumstance: {so(d.circumstance)}." for d in rule.derive]
    said += [f"Knows a cause: {c.name}, {c.base_rate}. {' '.join(c.what.split())}" for c in rule.cause]
    said += [f"With {cause(x.cause)}, {sign(x.sign)} shows {x.seen}.{on(x.rinds)}" for x in rule.link]
    said += [f"It makes {cause(x.cause)} likelier ({x.strength}) when {so(x.when)}." for x in rule.likelier]
    said += [
        f"It speaks against {cause(x.cause)} ({x.strength}): {sign(x.sign) if x.sign else so(x.when)}."
        for x in rule.against
    ]
    said += [
        f"To do about {cause(x.cause)}, {'today' if x.at == 'today' else 'at the next make'}: {x.do}"
        for x in rule.remedy
    ]
    for c in rule.change:
        about = cause(c.cause) if c.cause else so(c.circumstance) if c.circumstance else sign(c.sign)
        tie = sign(c.sign) if c.cause and c.sign else so(c.when) if c.when else cause(c.leads_to) if c.leads_to else ""
        before = listed(list(dict.fromkeys(words_of(packaged, c))))
        was = f" (packaged: {before})" if before else ""
        said.append(f"Changes a packaged word: {about}{', ' + tie if tie else ''}: now {c.to}{was}.")
    for o in rule.off:
        if o.cause:
            about = cause(o.cause)
        else:
            about = so(o.circumstance) if o.circumstance else sign(o.sign) if o.sign else row(o.normal)
        tie = sign(o.sign) if o.cause and o.sign else so(o.when) if o.when else ""
        said.append(f"Switches off something packaged: {about}{', its tie to ' + tie if tie else ''}.")
    if rule.replaces:
        said.append(f"Takes the place of the packaged {listed(rule.replaces)}.")
    return said
