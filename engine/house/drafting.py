"""From a few plain statements to a rule: what the guided questions hand over, as the record of a file.

Pure: a draft and the knowledge go in, the keys of a rule come out. Examples are worked out from
the rule itself, and kept only when they do what they should.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from ..catalog import HOUSE, Catalog
from ..model import Cause, Circumstance, Condition, Knowledge, Question
from ..protection import claimed
from .firing import answers_for, can_be
from .shapes import HouseRule, Off
from .speaking import speaks
from .speaking import told as taken_up
from .writing import Plain


@dataclass(slots=True)
class Draft:
    """What a maker has told of one rule."""

    rinds: tuple[str, ...] = ()
    sign: str = ""
    """A sign that is known; or ``new_sign``, its words."""
    new_sign: str = ""
    circumstance: str = ""
    """A circumstance that is known; or ``new_fact``, its words; or a figure."""
    new_fact: str = ""
    figure: tuple[str, str, float] | None = None
    """Question, ``above`` or ``below``, and the limit."""
    cause: str = ""
    new_cause: str = ""
    against: bool = False
    word: str = ""
    """The word of the link, or the strength."""
    do: str = ""
    act: str = ""
    because: str = ""
    owner: str = ""
    date: str = ""
    taken: frozenset[str] = field(default_factory=frozenset)
    """Names that rules have already."""


def slug(text: str, taken: Collection[str]) -> str:
    """An id from words: small letters, digits and underscores, and not taken."""
    bare = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode()
    name = "_".join(re.findall(r"[a-z0-9]+", bare)[:6])[:40].strip("_")
    if not re.match(r"[a-z]", name) or len(name) < 2:
        name = f"house_{name}".rstrip("_")
    made, number = name, 1
    while made in taken:
        number += 1
        made = f"{name}_{number}"
    return made


def rule_of(catalog: Catalog, d: Draft) -> dict[str, Plain]:
    """The keys of the rule that a draft stands for, in the order of a file."""
    known = {*catalog.signs, *catalog.questions, *catalog.circumstances, *catalog.causes}
    parts: dict[str, Plain] = {}
    sign, circumstance, cause = d.sign, d.circumstance, d.cause
    only: dict[str, Plain] = {"rinds": list(d.rinds)} if d.rinds else {}
    if d.new_sign:
        sign = slug(d.new_sign, known)
        known.add(sign)
        parts["question"] = {
            "id": sign, "ask": f"Do you notice this: {d.new_sign}?", "kind": "yes_no", **_way_to_notice(d.new_sign),
            **only,
        }  # fmt: skip
        spoken_for = {word for word, _ in claimed(catalog.signs.values(), catalog.questions.values())}
        words: dict[str, Plain] = {} if d.new_sign.casefold() in spoken_for else {"words": [d.new_sign]}
        parts["sign"] = {"id": sign, "name": d.new_sign, "on_sound_rinds": "rarely", **words, **only}
    condition = _fact(d, parts, known)
    if sign and d.against and d.rinds:
        condition = {"sign": sign}
    if condition is not None or (circumstance and d.rinds and not _tied(catalog, d)):
        whole: Plain = condition if condition is not None else {"holds": circumstance}
        means = d.new_fact or _figure_words(catalog, d) or d.new_sign or _known_words(catalog, sign, circumstance)
        if d.rinds:
            whole = {"all": [whole, {"rind": list(d.rinds)}]}
            means = f"{means}, on {' or '.join(r.replace('_', ' ') for r in d.rinds)}"
        circumstance = slug(means, known if not d.new_fact else catalog.circumstances)
        parts["circumstance"] = {"id": circumstance, "means": means, "when": whole, "how_common": "some makers"}
        sign = "" if d.against and d.rinds else sign
    if d.new_cause:
        cause = slug(d.new_cause, known)
        parts["cause"] = {
            "id": cause, "kind": "fault", "name": d.new_cause, "what": d.because,
            "rinds": list(d.rinds) or sorted(catalog.families), "base_rate": "occasional",
        }  # fmt: skip
    tie: dict[str, Plain] = {"cause": cause, **({"sign": sign} if sign else {"when": circumstance})}
    if _tied(catalog, d):
        parts["change"] = {**tie, "to": d.word}
    elif d.against:
        parts["against"] = {**tie, "strength": d.word}
    elif sign:
        parts["link"] = {**tie, "seen": d.word, **(only if not d.new_cause else {})}
    else:
        parts["likelier"] = {**tie, "strength": d.word}
    if d.do:
        parts["remedy"] = {"cause": cause, "at": "today", "act": d.act, "do": d.do, **(only if not d.new_cause else {})}
    name = slug(
        f"{d.new_sign or d.new_fact or sign or circumstance} {d.new_cause or cause}",
        {*d.taken, *(s.removeprefix(HOUSE) for s in catalog.sources)},
    )
    rule: dict[str, Plain] = {"rule": name, "owner": d.owner, "date": d.date, "because": d.because, **parts}
    told = _examples(catalog, d, parts, sign, circumstance)
    return {**rule, "examples": told} if told else rule


_NOTICED = (
    ("smell", re.compile(r"smell|odou?r|stink|reek|scent|whiff", re.IGNORECASE)),
    ("feel", re.compile(r"feel|stick|soft|hard|greas|slim|rough|gritty|spring", re.IGNORECASE)),
)


def _way_to_notice(words: str) -> dict[str, Plain]:
    """How a sign is noticed, by the words for it: nose, fingers, or else the eye."""
    about = next((about for about, pattern in _NOTICED if pattern.search(words)), "look")
    if about == "look":
        return {"about": about, "effort": "glance", "how": "Look in daylight, on both faces."}
    return {"about": about, "effort": "touch"}


def _fact(d: Draft, parts: dict[str, Plain], known: set[str]) -> dict[str, Plain] | None:
    if d.figure is not None:
        question, way, limit = d.figure
        return {"ask": question, way: f"{limit:g}"}
    if not d.new_fact:
        return None
    id = slug(d.new_fact, known)
    known.add(id)
    parts["question"] = {
        "id": id, "ask": f"Is this so: {d.new_fact}?", "kind": "yes_no", "about": "memory", "effort": "glance",
    }  # fmt: skip
    return {"ask": id, "one_of": ["yes"]}


def _figure_words(catalog: Catalog, d: Draft) -> str:
    if d.figure is None:
        return ""
    question, way, limit = d.figure
    return f"{question.replace('_', ' ')} {way} {limit:g} {catalog.questions[question].unit}".strip()


def _known_words(catalog: Catalog, sign: str, circumstance: str) -> str:
    return catalog.circumstances[circumstance].means if circumstance else catalog.signs[sign].name


def house_says(catalog: Catalog, d: Draft) -> list[tuple[str, str]]:
    """House rules, each with its word, that tie the same sign or circumstance to the same cause already.

    Nothing is laid over what a rule of the house says: two words for one tie set both rules aside.
    """
    cause = catalog.causes.get(d.cause)
    if cause is None or (d.rinds and d.circumstance):  # a rind and a circumstance make a fact of their own
        return []
    ties: list[tuple[str, str, tuple[str, ...], tuple[str, ...]]] = []
    ties += [(x.sign, x.seen, x.rinds, x.sources) for x in cause.signs]
    ties += [(x.when, x.strength, (), x.sources) for x in cause.likelier]
    ties += [(x.sign or x.when, x.strength, (), x.sources) for x in cause.against]
    return [
        (source.removeprefix(HOUSE), word)
        for id, word, rinds, sources in ties
        if id and id == (d.sign or d.circumstance) and (not rinds or not d.rinds or not set(rinds).isdisjoint(d.rinds))
        for source in sources
        if source.startswith(HOUSE)
    ]


def _packaged(catalog: Catalog) -> Mapping[str, Cause]:
    """The packaged causes beneath those of the house."""
    beneath = catalog.knowledge.beneath
    return {c.id: c for c in beneath.causes} if isinstance(beneath, Knowledge) else catalog.causes


def _tied(catalog: Catalog, d: Draft) -> bool:
    """Whether the packaged knowledge has a word for just this already."""
    cause = _packaged(catalog).get(d.cause)
    if cause is None:
        return False
    if d.sign:
        return any(a.sign == d.sign for a in cause.against) if d.against else any(x.sign == d.sign for x in cause.signs)
    ties = cause.against if d.against else cause.likelier
    return bool(d.circumstance) and any(x.when == d.circumstance for x in ties)


def said_already(catalog: Catalog, d: Draft) -> str:
    """The packaged word for the same tie, or nothing."""
    cause = _packaged(catalog).get(d.cause)
    if cause is None or not _tied(catalog, d):
        return ""
    if d.sign and not d.against:
        return next(x.seen for x in cause.signs if x.sign == d.sign)
    against = [(a.sign or a.when, a.strength) for a in cause.against]
    ties = against if d.against else [(s.when, s.strength) for s in cause.likelier]
    return next(word for id, word in ties if id == (d.sign or d.circumstance))


def _examples(
    catalog: Catalog, d: Draft, parts: Mapping[str, Plain], sign: str, circumstance: str
) -> dict[str, Plain] | None:
    """One case where the rule speaks and one where it is silent: the fact so, and not so."""
    new = {d_id for d_id in (_id_of(parts, "question"),) if d_id}
    if sign:
        known = catalog.signs.get(sign)
        condition = (known.when if known is not None else None) or Condition(ask=sign)
    elif circumstance in catalog.circumstances:
        condition = catalog.circumstances[circumstance].when
    elif d.figure is not None:
        question, way, limit = d.figure
        condition = Condition(ask=question, above=limit) if way == "above" else Condition(ask=question, below=limit)
    elif d.sign:
        known = catalog.signs[d.sign]
        condition = known.when or Condition(ask=d.sign)
    elif d.circumstance:
        condition = Condition(holds=d.circumstance)
    else:
        condition = Condition(ask=next(iter(new), ""), one_of=("yes",))
    cheese = _cheese(catalog, d, sign)
    pair: dict[str, Plain] = {}
    for part, so in (("speaks", True), ("silent", False)):
        if new:
            told: Mapping[str, str | list[str]] | None = {next(iter(new)): "yes" if so else "no"}
        else:
            told = answers_for(catalog, condition, so)
        if told is not None:
            pair[part] = [_on(catalog, cheese, told)]
    return pair or None


def off_examples(catalog: Catalog, target: Mapping[str, str]) -> dict[str, Plain]:
    """Answers where something packaged that is switched off would have spoken, and answers where it would not."""
    cause = catalog.causes.get(target.get("cause", ""))
    row = catalog.normal.get(target.get("normal", ""))
    signs = [target["sign"]] if "sign" in target else [x.sign for x in cause.signs] if cause else []
    signs = list(row.signs) if row is not None else [] if "when" in target else signs
    when = [target[key] for key in ("when", "circumstance") if key in target]
    conditions = [(s, catalog.signs[s].when or Condition(ask=s)) for s in signs if s in catalog.signs]
    conditions += [("", catalog.circumstances[c].when) for c in when]
    rule = HouseRule("off", "", "", "", off=(Off(**target),))
    for sign, condition in conditions:
        cheese = _cheese(catalog, Draft(cause=target.get("cause", ""), rinds=row.rinds if row else ()), sign)
        pair: dict[str, Plain] = {}
        for part, so in (("speaks", True), ("silent", False)):
            found = answers_for(catalog, condition, so)
            told = _on(catalog, cheese, found) if found is not None else {}
            if told and speaks(catalog, rule, taken_up(catalog, told)[0]) is so:
                pair[part] = [told]
        if len(pair) == 2:
            return pair
    return {}


def _on(catalog: Catalog, cheese: Mapping[str, str], told: Mapping[str, str | list[str]]) -> dict[str, str | list[str]]:
    """Answers about a cheese; where they name another style, about one of its family."""
    both: dict[str, str | list[str]] = {**cheese, **told}
    if "style" in told:
        both["family"] = catalog.home[str(told["style"])]
    return both


def _id_of(parts: Mapping[str, Plain], key: str) -> str:
    part = parts.get(key)
    return str(part["id"]) if isinstance(part, Mapping) else ""


def _cheese(catalog: Catalog, d: Draft, sign: str) -> dict[str, str]:
    """A cheese on which the rule's cause and sign can be there."""
    limits: list[object] = [x for x in (catalog.causes.get(d.cause), catalog.signs.get(sign)) if x is not None]
    rinds = [set(names) for names in (d.rinds, *(getattr(x, "rinds", ()) for x in limits)) if names]
    first = max((getattr(x, "from_day", 0) for x in limits), default=0)
    last = min((t for x in limits if (t := getattr(x, "to_day", None)) is not None), default=None)
    age = max(first, 20) if last is None else max(first, min(last, 20))
    for family in catalog.families.values():
        for style in family.styles:
            if all({family.id, style.group, style.id} & names for names in rinds):
                return {"family": family.id, "style": style.id, "age_days": str(age)}
    return {}


def can_be_on(limits: Collection[str], rinds: Collection[str], catalog: Catalog) -> bool:
    """Whether a sign or cause that is limited to some rinds can be there on any of ``rinds``; none means all."""
    return (
        not rinds
        or not limits
        or any(
            not names.isdisjoint(rinds) and not names.isdisjoint(limits)
            for f in catalog.families.values()
            for s in f.styles
            for names in ({f.id, s.group, s.id},)
        )
    )


def can_hold_on(circumstance: Circumstance, rinds: Collection[str], catalog: Catalog) -> bool:
    """Whether a circumstance can hold on any of ``rinds``; none means all."""
    return not rinds or can_be(catalog, Condition(all=(circumstance.when, Condition(rind=tuple(rinds)))))


def numbers(catalog: Catalog) -> list[Question]:
    """Questions that take a figure."""
    return [q for q in catalog.questions.values() if q.kind == "number"]
