"""Which house rules may count, and why the others may not.

``stand`` looks at every rule against the packaged knowledge, then at the rules against each other.
Whoever rests on a rule that is set aside is set aside too. Nothing here depends on the order of
files: two rules that contradict each other are both set aside.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice

from ..catalog import Catalog
from ..errors import Fault
from ..model import Knowledge
from ..protection import Owner, Protected, claimed, grave_words, protected, taken
from ..reading.nodes import Path_
from .circles import circles, heaps
from .fitting import Known, wrong_in
from .reading import Entry
from .saying import Key, needs, statements

MOST_FAULTS = 12
"""Most faults said of one rule; who mends these sees the rest at the next check."""
RESERVED = frozenset({"listed_all", "answers", "title", "invented", "source", "strength", "story", "expect", "note"})
"""Keys of an answers file that no question may be called."""


@dataclass(slots=True)
class Standing:
    """Rules that may count, by name, in the order of their names."""

    entries: dict[str, Entry]


@dataclass(slots=True)
class _Desk:
    packaged: Knowledge
    catalog: Catalog
    guarded: Protected
    grave: Mapping[str, Owner]
    """Phrases that belong to what a caution rests on."""
    entries: dict[str, Entry]
    faults: list[Fault] = field(default_factory=list)
    aside: dict[str, None] = field(default_factory=dict)
    """Names of rules set aside whose dependents have not been looked at yet."""

    def refuse(self, entry: Entry, path: Path_, sentence: str) -> None:
        self.faults.append(entry.fault(path, sentence))
        self.aside.setdefault(entry.name)

    def standing(self) -> Iterable[Entry]:
        return [e for name, e in self.entries.items() if name not in self.aside]


def stand(packaged: Knowledge, awake: Iterable[Entry]) -> tuple[Standing, tuple[Fault, ...]]:
    """The rules that may count, and every fault of the others."""
    catalog = Catalog(packaged)
    guarded = protected(packaged)
    desk = _Desk(packaged, catalog, guarded, grave_words(packaged, guarded), {e.name: e for e in awake})
    for check in (_each, _clashes, _gone, _round):
        check(desk)
        _spread(desk)
    return Standing(desk.entries), tuple(sorted(set(desk.faults)))


def _each(desk: _Desk) -> None:
    known = Known.of(desk.packaged, [e.rule for e in desk.entries.values()])
    for entry in desk.entries.values():
        _guard(desk, entry)
        if entry.name in desk.aside:
            continue  # nothing else matters then
        for path, sentence in islice(wrong_in(entry.rule, known), MOST_FAULTS):
            desk.refuse(entry, path, sentence)
        _ids(desk, entry)
        _ties(desk, entry, known)


def _ids(desk: _Desk, entry: Entry) -> None:
    """An id already taken is a fault unless the rule says that it replaces it."""
    c, rule = desk.catalog, entry.rule
    taken: dict[str, Collection[str]] = {
        "question": {*c.questions, *c.signs, *RESERVED},
        "sign": {*c.signs, *(q for q in c.questions if q not in c.signs)},
        "circumstance": c.circumstances,
        "cause": {x.id for x in desk.packaged.causes},
    }
    used: set[str] = set()
    for kind, pool in taken.items():
        for n, record in enumerate(getattr(rule, kind)):
            if record.id not in pool:
                continue
            if record.id in rule.replaces and kind != "question" and record.id in _pool(c, kind):
                used.add(record.id)
                continue
            how = "give yours another" if kind == "question" else f"give yours another, or say  replaces: {record.id}"
            desk.refuse(entry, (kind, n, "id"), f'The id "{record.id}" is taken by the packaged knowledge; {how}.')
        ids = [record.id for record in getattr(rule, kind)]
        for n, id in enumerate(ids):
            if id in ids[:n]:
                desk.refuse(entry, (kind, n, "id"), f'"{id}" stands here twice.')
    for n, name in enumerate(rule.replaces):
        if name not in used and not any(name == r.id for k in taken for r in getattr(rule, k)):
            desk.refuse(entry, ("replaces", n), f'The rule replaces "{name}" but brings no record of that id.')
        elif name not in used and not any(name in pool for pool in taken.values()):
            desk.refuse(entry, ("replaces", n), f'"{name}" is not packaged: there is nothing to replace.')
    if f"house_{rule.rule}" in c.sources:
        desk.refuse(entry, ("rule",), f'The name "{rule.rule}" is taken by a packaged source; give it another.')


def _pool(c: Catalog, kind: str) -> Collection[str]:
    pools: dict[str, Collection[str]] = {"sign": c.signs, "circumstance": c.circumstances, "cause": c.causes}
    return pools[kind]


def _guard(desk: _Desk, entry: Entry) -> None:
    """Nothing that a caution rests on may be replaced, changed, widened or switched off."""
    rule, safe = entry.rule, desk.guarded
    touched: list[tuple[Path_, str, Collection[str]]] = []
    for kind, ids in (("question", safe.questions), ("sign", safe.signs), ("circumstance", safe.circumstances)):
        touched += [((kind, n, "id"), record.id, ids) for n, record in enumerate(getattr(rule, kind))]
    touched += [(("derive", n, "circumstance"), x.circumstance, safe.circumstances) for n, x in enumerate(rule.derive)]
    for part in ("change", "off"):
        for n, x in enumerate(getattr(rule, part)):
            touched.append(((part, n, "circumstance"), x.circumstance, safe.circumstances))
            if not x.cause:
                touched.append(((part, n, "sign"), x.sign, safe.signs))
    touched += [
        (("replaces", n), name, safe.signs | safe.circumstances | safe.questions | safe.cautions)
        for n, name in enumerate(rule.replaces)
    ]
    for path, id, pool in touched:
        if id and id in pool:
            desk.refuse(entry, path, f'"{id}" carries a safety caution; a house rule leaves it as it is.')
    for kind, records in (("sign", claimed(rule.sign, ())), ("question", claimed((), rule.question))):
        places = {record.id: n for n, record in enumerate(getattr(rule, kind))}
        for word, owner in records:
            if desk.grave.get(word, owner) != owner:
                desk.refuse(entry, (kind, places[owner[0]], "words"), taken(word, owner, desk.grave[word]))


def _ties(desk: _Desk, entry: Entry, known: Known) -> None:
    """A tie that is there already is changed, not added; what is changed must be there."""
    rule = entry.rule
    for n, tie in enumerate(rule.link):
        cause = known.causes.get(tie.cause)
        if cause is not None and any(
            x.sign == tie.sign and (not x.rinds or not tie.rinds or not set(x.rinds).isdisjoint(tie.rinds))
            for x in cause.signs
        ):
            how = _alter(desk, tie.cause, entry)
            desk.refuse(entry, ("link", n), f'"{tie.sign}" is tied to "{tie.cause}" already; {how}.')
    for part in ("likelier", "against"):
        for n, x in enumerate(getattr(rule, part)):
            cause = known.causes.get(x.cause)
            if cause is None:
                continue
            there = [(s.when, "") for s in cause.likelier] + [(a.when, a.sign) for a in cause.against]
            if (x.when, getattr(x, "sign", "")) in there:
                what = x.when or x.sign
                how = _alter(desk, x.cause, entry)
                desk.refuse(entry, (part, n), f'"{what}" moves "{x.cause}" already; {how}.')


def _alter(desk: _Desk, cause: str, entry: Entry) -> str:
    """How a word about a cause is altered: a packaged one by a change, one of the house in its own rule."""
    mine = [e for e in desk.entries.values() if any(c.id == cause for c in e.rule.cause)]
    return f"alter the word in {_whom(mine[0].name, entry)}" if mine else "use  change  to alter the word"


def _clashes(desk: _Desk) -> None:
    """Two rules that say different things of the same: neither counts."""
    said: dict[Key, list[tuple[Entry, Path_, Key]]] = {}
    for entry in desk.standing():
        for key, value, path in statements(entry.rule):
            said.setdefault(key, []).append((entry, path, value))
    for key, those in sorted(said.items()):
        values = {value for _, _, value in those}
        if len(values) < 2:
            continue
        for entry, path, value in those:
            other, _, theirs = next(x for x in those if x[2] != value)
            whom = _whom(other.name, entry)
            if key[0] == "id":
                desk.refuse(
                    entry, path, f'"{key[2]}" is brought by {whom} too; neither counts until one has another id.'
                )
            else:
                mine, yours = " ".join(value), " ".join(theirs)
                desk.refuse(
                    entry, path, f'This says "{mine}" where {whom} says "{yours}"; neither counts until they agree.'
                )


def _whom(name: str, entry: Entry) -> str:
    return "this same rule" if name == entry.name else f"house rule {name}"


def _gone(desk: _Desk) -> None:
    """Rules that speak of what another rule switches off or replaces."""
    off: dict[tuple[str, str], str] = {}
    replaced: dict[tuple[str, str], str] = {}
    for entry in desk.standing():
        for x in entry.rule.off:
            for kind, id in (
                ("cause", x.cause if not (x.sign or x.when) else ""), ("sign", "" if x.cause else x.sign),
                ("circumstance", x.circumstance), ("normal", x.normal),
            ):  # fmt: skip
                if id:
                    off.setdefault((kind, id), entry.name)
        for kind in ("sign", "circumstance", "cause"):
            for record in getattr(entry.rule, kind):
                if record.id in entry.rule.replaces:
                    replaced[(kind, record.id)] = entry.name
    for entry in list(desk.standing()):
        for kind, id, path in needs(entry.rule):
            by = off.get((kind, id))
            if by is not None and path[0] != "off":
                desk.refuse(entry, path, f'"{id}" is switched off by {_whom(by, entry)}.')
            by = replaced.get((kind, id))
            if by is not None and path[0] in ("change", "off") and id:
                desk.refuse(entry, path, f'"{id}" is replaced by {_whom(by, entry)}.')
        for kind in ("sign", "circumstance", "cause"):
            for n, record in enumerate(getattr(entry.rule, kind)):
                if (kind, record.id) in off:
                    by = _whom(off[(kind, record.id)], entry)
                    desk.refuse(entry, (kind, n, "id"), f'"{record.id}" is switched off by {by}.')


def _spread(desk: _Desk) -> None:
    """Set aside, too, every rule that rests on one set aside."""
    if not desk.aside:
        return
    resting: dict[tuple[str, str], list[tuple[Entry, Path_]]] = {}
    for entry in desk.entries.values():
        for kind, id, path in needs(entry.rule):
            resting.setdefault((kind, id), []).append((entry, path))
    givers: dict[tuple[str, str], set[str]] = {}
    for entry in desk.entries.values():
        for kind in ("question", "sign", "circumstance", "cause"):
            for record in getattr(entry.rule, kind):
                givers.setdefault((kind, record.id), set()).add(entry.name)
    waiting = list(desk.aside)
    while waiting:
        gone = desk.entries[waiting.pop()].rule
        for kind in ("question", "sign", "circumstance", "cause"):
            for record in getattr(gone, kind):
                if record.id in gone.replaces or not givers[(kind, record.id)] <= desk.aside.keys():
                    continue  # the packaged one is there again, or another rule brings it
                for entry, path in resting.get((kind, record.id), ()):
                    if entry.name in desk.aside:
                        continue  # one reason is enough
                    waiting.append(entry.name)
                    why = f'"{record.id}" comes from house rule {gone.rule}, which does not count.'
                    desk.refuse(entry, path, why)
    for name in desk.aside:
        del desk.entries[name]
    desk.aside.clear()


def _round(desk: _Desk) -> None:
    """Rules that rest on themselves, on too long a row of others, or that widen one circumstance without end."""
    standing = list(desk.standing())
    for entry, path, sentence in (*circles(desk.catalog, standing), *heaps(desk.catalog, standing)):
        desk.refuse(entry, path, sentence)


__all__ = ["Standing", "stand"]
