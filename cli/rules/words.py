"""What a house rule says and does, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...engine.catalog import RIND, Catalog
from ...engine.errors import listed
from ...engine.house.altering import words_of
from ...engine.model import HouseMark


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
