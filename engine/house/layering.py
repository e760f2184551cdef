"""House rules laid over the packaged knowledge: one pure function, ``layer``.

A rule counts as a whole or not at all. It is set aside, with its faults, when it takes an id that
is taken without saying so, touches what a caution rests on, names something unknown, says the
opposite of another rule, or goes round in a circle; and so is any rule that rests on one set
aside. What is left is applied in one fixed order, so the order of files can never matter.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from ..catalog import HOUSE
from ..errors import Fault
from ..model import (
    Against,
    Cause,
    Circumstance,
    Condition,
    HouseMark,
    Knowledge,
    Link,
    Normal,
    Question,
    Shift,
    Sign,
    Source,
    Step,
)
from ..protection import weakened
from .reading import Entry, named
from .refusing import Standing, stand
from .shapes import Change, Examples, HouseRule, Off

R = TypeVar("R")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Layered:
    """Knowledge with the house rules in force, and the faults of those that are not."""

    knowledge: Knowledge
    faults: tuple[Fault, ...]
    in_force: tuple[str, ...]
    """Names of the rules that count, sorted."""


def layer(packaged: Knowledge, entries: Iterable[Entry]) -> Layered:
    """The packaged knowledge with house rules over it. Without any in force, it is the very same object."""
    awake = [e for e in named(entries).values() if e.rule.resting is None]
    if not awake:
        return Layered(packaged, (), ())
    standing, faults = stand(packaged, awake)
    if not standing.entries:
        return Layered(packaged, faults, ())
    knowledge = _apply(packaged, standing)
    broken = weakened(packaged, knowledge)
    if broken:  # the last lock: no rule gets here that the checks before have seen
        names = ", ".join(standing.entries)
        return Layered(packaged, (*faults, *(Fault(names, 0, 0, sentence) for sentence in broken)), ())
    return Layered(knowledge, faults, tuple(standing.entries))


def house_version(rules: Iterable[HouseRule]) -> str:
    """A hash of what rules say, whatever their comments, spacing and order. Empty without any."""
    said = [repr(replace(rule, examples=Examples())) for rule in sorted(rules, key=lambda r: r.rule)]
    return hashlib.sha256("\n".join(said).encode()).hexdigest() if said else ""


def mark_of(rule: HouseRule) -> HouseMark:
    """What a rule does, in short."""
    adds = [
        f"{kind} {entry.id}" for kind in ("question", "sign", "circumstance", "cause") for entry in getattr(rule, kind)
    ]
    adds += [f"link {x.cause} {x.sign}" for x in rule.link]
    adds += [f"likelier {x.cause} {x.when}" for x in rule.likelier]
    adds += [f"against {x.cause} {x.sign or x.when}" for x in rule.against]
    adds += [f"derive {x.circumstance}" for x in rule.derive]
    adds += [f"remedy {x.cause}" for x in rule.remedy]
    changes = [f"{_target(c)} to {c.to}" for c in rule.change]
    changes += [f"replaces {name}" for name in rule.replaces]
    return HouseMark(
        rule.rule, rule.owner.strip(), rule.date, " ".join(rule.because.split()), tuple(adds), tuple(changes),
        tuple(_target(o) for o in rule.off),
    )  # fmt: skip


def _target(thing: Change | Off) -> str:
    keys = [(key, getattr(thing, key, "")) for key in ("cause", "sign", "when", "leads_to", "circumstance", "normal")]
    return " ".join(f"{key} {value}" for key, value in keys if value)


def source_of(rule: HouseRule) -> Source:
    """The source that a house rule is for its own claims."""
    return Source(
        HOUSE + rule.rule,
        f"House rule {rule.rule} of {rule.owner.strip()}",
        "house",
        "seen",
        year=rule.date,
        note=" ".join(rule.because.split()),
    )


class _Table(Generic[R]):
    """Records of one kind by id, packaged ones first, in their order."""

    def __init__(self, records: Sequence[R]) -> None:
        self.by_id: dict[str, R] = {r.id: r for r in records}  # type: ignore[attr-defined]

    def put(self, record: R) -> None:
        """Add a record, or let it take the place of the one with its id."""
        self.by_id[record.id] = record  # type: ignore[attr-defined]

    def all(self) -> tuple[R, ...]:
        """Every record."""
        return tuple(self.by_id.values())


def _apply(packaged: Knowledge, standing: Standing) -> Knowledge:
    rules = [e.rule for e in standing.entries.values()]
    questions, signs = _Table[Question](packaged.questions), _Table[Sign](packaged.signs)
    circumstances, causes = _Table[Circumstance](packaged.circumstances), _Table[Cause](packaged.causes)
    for rule in rules:
        for question in rule.question:
            questions.put(question)
        for sign in rule.sign:
            signs.put(sign)
        for circumstance in rule.circumstance:
            circumstances.put(circumstance)
        for cause in rule.cause:
            causes.put(cause)
    for rule in rules:
        source = HOUSE + rule.rule
        for change in rule.change:
            _change(change, source, signs, circumstances, causes)
        for more in rule.derive:
            old = circumstances.by_id[more.circumstance]
            when = Condition(any=(*(old.when.any or (old.when,)), more.when))
            circumstances.put(replace(old, when=when, sources=_with(old.sources, source)))
        for tie in rule.link:
            cause = causes.by_id[tie.cause]
            link = Link(tie.sign, tie.seen, (source,), tie.rinds, tie.from_day, tie.to_day, tie.note)
            causes.put(replace(cause, signs=_joined(cause.signs, link)))
        for move in rule.likelier:
            cause = causes.by_id[move.cause]
            shift = Shift(move.when, move.strength, (source,), move.note)
            causes.put(replace(cause, likelier=_joined(cause.likelier, shift)))
        for doubt in rule.against:
            cause = causes.by_id[doubt.cause]
            against = Against(doubt.strength, (source,), doubt.sign, doubt.when, doubt.note)
            causes.put(replace(cause, against=_joined(cause.against, against)))
        for act in rule.remedy:
            cause = causes.by_id[act.cause]
            step = Step(act.act, act.do, (source,), act.amount, act.moves, act.rinds, act.only_if, act.unless)
            if act.at == "today":
                causes.put(replace(cause, today=_joined(cause.today, step)))
            else:
                causes.put(replace(cause, next_make=_joined(cause.next_make, step)))
    normal = _Table[Normal](packaged.normal)
    _switch_off([off for rule in rules for off in rule.off], signs, circumstances, causes, normal)
    return replace(
        packaged,
        questions=questions.all(),
        signs=signs.all(),
        circumstances=circumstances.all(),
        causes=tuple(sorted(causes.all(), key=lambda c: c.id)),
        normal=normal.all(),
        sources=(*packaged.sources, *(source_of(rule) for rule in rules)),
        house=tuple(mark_of(rule) for rule in rules),
        house_version=house_version(rules),
        beneath=packaged,
    )


def _with(sources: tuple[str, ...], source: str) -> tuple[str, ...]:
    return sources if source in sources else (*sources, source)


def _joined(old: tuple[T, ...], new: T) -> tuple[T, ...]:
    """One more entry; where two rules say the same, it stands once with both as its source."""
    for k, entry in enumerate(old):
        if _bare(entry) == _bare(new):
            both = dict.fromkeys((*entry.sources, *new.sources))  # type: ignore[attr-defined]
            return (*old[:k], replace(entry, sources=tuple(both)), *old[k + 1 :])  # type: ignore[type-var]
    return (*old, new)


def _bare(entry: Any) -> Any:
    return replace(entry, sources=(), **({"note": ""} if hasattr(entry, "note") else {}))


def _change(
    change: Change,
    source: str,
    signs: _Table[Sign],
    circumstances: _Table[Circumstance],
    causes: _Table[Cause],
) -> None:
    def said(entry: Any, key: str) -> Any:
        return replace(entry, **{key: change.to}, sources=(source, *(s for s in entry.sources if s != source)))

    if change.circumstance:
        circumstances.put(said(circumstances.by_id[change.circumstance], "how_common"))
    elif not change.cause:
        sign = signs.by_id[change.sign]
        rates = tuple(said(r, "seen") if set(r.rinds) == set(change.rinds) else r for r in sign.on_sound_rinds)
        signs.put(replace(sign, on_sound_rinds=rates))
    else:
        cause = causes.by_id[change.cause]
        if change.sign or change.when:
            links = tuple(said(x, "seen") if _ties(change, x) else x for x in cause.signs)
            shifts = tuple(said(x, "strength") if change.when and x.when == change.when else x for x in cause.likelier)
            doubts = tuple(
                said(x, "strength")
                if (change.when and x.when == change.when)
                or (x.sign == change.sign != "" and not _linked(cause, change))
                else x
                for x in cause.against
            )
            cause = replace(cause, signs=links, likelier=shifts, against=doubts)
        elif change.leads_to:
            feeds = tuple(said(x, "strength") if x.cause == change.leads_to else x for x in cause.leads_to)
            cause = replace(cause, leads_to=feeds)
        else:
            grounds = tuple(dict.fromkeys((source, *cause.base_rate_sources)))
            cause = replace(cause, base_rate=change.to, base_rate_sources=grounds)  # type: ignore[arg-type]
        causes.put(cause)


def _ties(change: Change, link: Link) -> bool:
    return link.sign == change.sign != "" and (not change.rinds or set(change.rinds) == set(link.rinds))


def _linked(cause: Cause, change: Change) -> bool:
    return any(_ties(change, link) for link in cause.signs)


def _switch_off(
    offs: list[Off],
    signs: _Table[Sign],
    circumstances: _Table[Circumstance],
    causes: _Table[Cause],
    normal: _Table[Normal],
) -> None:
    """Take things out, and every mention of them with it."""
    gone_signs = {o.sign for o in offs if o.sign and not o.cause}
    gone_circumstances = {o.circumstance for o in offs if o.circumstance}
    gone_causes = {o.cause for o in offs if o.cause and not o.sign and not o.when}
    cut_signs = {(o.cause, o.sign) for o in offs if o.cause and o.sign}
    cut_whens = {(o.cause, o.when) for o in offs if o.cause and o.when}
    for id in {o.normal for o in offs if o.normal}:
        del normal.by_id[id]
    for id in gone_causes:
        del causes.by_id[id]
    for id in gone_signs:
        del signs.by_id[id]
    for id in gone_circumstances:
        del circumstances.by_id[id]

    def no_sign(cause: str, sign: str) -> bool:
        return sign in gone_signs or (cause, sign) in cut_signs

    def no_when(cause: str, when: str) -> bool:
        return when in gone_circumstances or (cause, when) in cut_whens

    for cause in causes.all():
        causes.put(
            replace(
                cause,
                signs=tuple(x for x in cause.signs if not no_sign(cause.id, x.sign)),
                likelier=tuple(x for x in cause.likelier if not no_when(cause.id, x.when)),
                against=tuple(x for x in cause.against if not (no_sign(cause.id, x.sign) or no_when(cause.id, x.when))),
                leads_to=tuple(x for x in cause.leads_to if x.cause not in gone_causes),
                mistaken_for=tuple(x for x in cause.mistaken_for if x.cause not in gone_causes),
            )
        )
    for sign in signs.all():
        if not gone_causes.isdisjoint(sign.spared_by):
            signs.put(replace(sign, spared_by=tuple(c for c in sign.spared_by if c not in gone_causes)))
    for row in normal.all():
        if not gone_signs.isdisjoint(row.signs):
            kept = tuple(s for s in row.signs if s not in gone_signs)
            if kept:
                normal.put(replace(row, signs=kept))
            else:
                del normal.by_id[row.id]


__all__ = ["Layered", "house_version", "layer", "mark_of", "source_of"]
