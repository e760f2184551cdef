"""Whether what a rule changes or switches off is there, and the new word on its scale."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import get_args

from rapidfuzz import fuzz, process

from .. import model
from ..catalog import Catalog
from ..conditions import leaves
from ..errors import listed, nearest
from ..model import Cause, Condition
from ..reading.nodes import Path_
from .shapes import Change, HouseRule, Off

Wrong = tuple[Path_, str]
ALIKE = 65.0
"""Likeness from which a known name is offered for an unknown one, 0 to 100; quick among thousands of names."""


def unknown(name: str, pool: Collection[str], what: str, path: Path_) -> Iterator[Wrong]:
    """A fault when a name is not among the known ones."""
    if name not in pool:
        close = process.extractOne(name, sorted(pool), scorer=fuzz.ratio, score_cutoff=ALIKE)
        hint = f' (did you mean "{close[0]}"?)' if close else ""
        yield path, f'"{name}" is not a known {what}{hint}.'


SCALES: dict[str, tuple[str, ...]] = {
    "frequency": get_args(model.Frequency),
    "strength": get_args(model.Strength),
    "base_rate": get_args(model.BaseRate),
    "how_common": get_args(model.HowCommon),
}


def wrong_change(change: Change, path: Path_, c: Catalog) -> Iterator[Wrong]:
    """The thing must be packaged, and the new word on its scale."""
    scale = ""
    if change.circumstance:
        yield from unknown(change.circumstance, c.circumstances, "packaged circumstance", (*path, "circumstance"))
        scale = "how_common"
    elif change.cause:
        cause = c.causes.get(change.cause)
        if cause is None:
            yield from unknown(change.cause, c.causes, "packaged cause", (*path, "cause"))
            return
        scale = _tie_scale(change, cause)
        if not scale:
            what = change.sign or change.when or change.leads_to
            yield (
                path,
                f'"{change.cause}" has no tie to "{what}" to change; use  link ,  likelier  or  against  to add one.',
            )
    elif change.sign:
        sign = c.signs.get(change.sign)
        scale = "frequency"
        if sign is None:
            yield from unknown(change.sign, c.signs, "packaged sign", (*path, "sign"))
        elif not any(set(r.rinds) == set(change.rinds) for r in sign.on_sound_rinds):
            yield path, f'"{change.sign}" has no rate for just these rinds.'
    else:
        yield path, "Say what is changed: a cause, a sign or a circumstance."
    if scale and change.to not in SCALES[scale]:
        choices = SCALES[scale]
        hint = nearest(change.to, choices)
        yield (*path, "to"), f'"{change.to}" is not on this scale{hint}; expected {listed(choices)}.'


def words_of(c: Catalog, change: Change) -> list[str]:
    """The packaged words that a change puts its own in place of."""
    rinds = set(change.rinds)
    if change.circumstance:
        found = c.circumstances.get(change.circumstance)
        return [found.how_common] if found else []
    if not change.cause:
        sign = c.signs.get(change.sign)
        return [r.seen for r in sign.on_sound_rinds if set(r.rinds) == rinds] if sign else []
    cause = c.causes.get(change.cause)
    if cause is None:
        return []
    if change.leads_to:
        return [x.strength for x in cause.leads_to if x.cause == change.leads_to]
    if change.sign:
        links: list[str] = [
            x.seen for x in cause.signs if x.sign == change.sign and (not rinds or rinds == set(x.rinds))
        ]
        return links or [x.strength for x in cause.against if x.sign == change.sign]
    if change.when:
        ties = [(x.when, x.strength) for x in cause.likelier] + [(x.when, x.strength) for x in cause.against]
        return [strength for when, strength in ties if when == change.when]
    return [cause.base_rate]


def _tie_scale(change: Change, cause: Cause) -> str:
    """The scale of the word that a change is about; empty when there is no such word."""
    if change.sign:
        rinds = set(change.rinds)
        if any(x.sign == change.sign and (not rinds or rinds == set(x.rinds)) for x in cause.signs):
            return "frequency"
        return "strength" if any(x.sign == change.sign for x in cause.against) else ""
    if change.when:
        ties = [x.when for x in cause.likelier] + [x.when for x in cause.against]
        return "strength" if change.when in ties else ""
    if change.leads_to:
        return "strength" if any(x.cause == change.leads_to for x in cause.leads_to) else ""
    return "base_rate"


def wrong_off(off: Off, path: Path_, rule: HouseRule, c: Catalog) -> Iterator[Wrong]:
    """One packaged thing, and nothing else packaged whose conditions rest on it."""
    if off.cause:
        cause = c.causes.get(off.cause)
        if cause is None:
            yield from unknown(off.cause, c.causes, "packaged cause", (*path, "cause"))
        elif off.sign and off.sign not in {*(x.sign for x in cause.signs), *(a.sign for a in cause.against)}:
            yield (*path, "sign"), f'"{off.cause}" has no tie to the sign "{off.sign}".'
        elif off.when and off.when not in {*(x.when for x in cause.likelier), *(a.when for a in cause.against)}:
            yield (*path, "when"), f'"{off.cause}" has no tie to the circumstance "{off.when}".'
    given = [key for key in ("sign", "circumstance", "normal") if getattr(off, key)]
    if off.cause and (off.circumstance or off.normal or (off.sign and off.when)):
        yield path, "One thing at a time: a cause, one tie of it, a sign, a circumstance, or a normal row."
    elif not off.cause and (len(given) != 1 or off.when):
        yield path, "Say what is switched off: a cause, one tie of it, a sign, a circumstance, or a normal row."
    elif not off.cause:
        pools: dict[str, Mapping[str, object]] = {"sign": c.signs, "circumstance": c.circumstances, "normal": c.normal}
        pool = pools[given[0]]
        id = getattr(off, given[0])
        yield from unknown(id, pool, f"packaged {given[0]}{' row' if given[0] == 'normal' else ''}", (*path, given[0]))
        if given[0] != "normal" and id in pool:
            for who in _resting_on(given[0], id, c, rule):
                yield path, f'"{who}" rests on "{id}"; switch it off in this same rule, or leave this on.'
                break


def _resting_on(kind: str, id: str, c: Catalog, rule: HouseRule) -> Iterator[str]:
    """Packaged records whose conditions read it, unless the same rule takes them out too.

    What a caution reads is refused elsewhere, and more plainly.
    """
    out = {o.sign for o in rule.off if not o.cause} | {o.circumstance for o in rule.off} | {o.cause for o in rule.off}
    out |= {o.normal for o in rule.off}
    conditions: list[tuple[str, Condition]] = [(s.id, s.when) for s in c.signs.values() if s.when]
    conditions += [(x.id, x.when) for x in c.circumstances.values()]
    conditions += [(q.id, q.ask_if) for q in c.questions.values() if q.ask_if]
    conditions += [(r.id, r.only_if) for r in c.normal.values() if r.only_if]
    for cause in c.causes.values():
        for step in (*cause.today, *cause.next_make):
            conditions += [(cause.id, x) for x in (step.only_if, step.unless) if x]
    for who, condition in conditions:
        if who not in out and any((leaf.sign if kind == "sign" else leaf.holds) == id for leaf in leaves(condition)):
            yield who
