"""Whether what a rule says fits what is known: ids that exist, answers that a question takes, words of a scale."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import get_args

from ..catalog import Catalog
from ..conditions import LIMITS, inside, leaves, names_in
from ..errors import listed, nearest
from ..model import Cause, Circumstance, Condition, Hardness, Knowledge, Question, Sign
from ..reading.nodes import Path_
from .altering import Wrong, unknown, wrong_change, wrong_off
from .shapes import HouseRule
from .sound import conditions_of

PASTES: tuple[str, ...] = get_args(Hardness)
LAST_DAY = 3000
"""No window of days ends later: the oldest cheeses are a few years old."""


@dataclass(frozen=True, slots=True)
class Known:
    """The packaged knowledge and everything that rules add to it, by id."""

    catalog: Catalog
    questions: Mapping[str, Question]
    signs: Mapping[str, Sign]
    circumstances: Mapping[str, Circumstance]
    causes: Mapping[str, Cause]

    @staticmethod
    def of(packaged: Knowledge, rules: Iterable[HouseRule]) -> Known:
        """What is known when these rules are read beside the packaged knowledge."""
        c = Catalog(packaged)
        rules = list(rules)
        return Known(
            c,
            {**{q.id: q for r in rules for q in r.question}, **c.questions},
            {**c.signs, **{s.id: s for r in rules for s in r.sign}},
            {**c.circumstances, **{x.id: x for r in rules for x in r.circumstance}},
            {**c.causes, **{x.id: x for r in rules for x in r.cause}},
        )


def wrong_in(rule: HouseRule, known: Known) -> Iterator[Wrong]:
    """Everything in a rule that does not fit."""
    for path, whole in conditions_of(rule):
        for at, c in inside(whole, path):
            yield from _atom(c, at, known)
    for n, question in enumerate(rule.question):
        yield from _question(question, ("question", n), known)
    for n, sign in enumerate(rule.sign):
        yield from _sign(sign, ("sign", n), known)
    for n, cause in enumerate(rule.cause):
        yield from _cause(cause, ("cause", n), known)
    for part in ("link", "likelier", "against", "remedy"):
        for n, x in enumerate(getattr(rule, part)):
            yield from unknown(x.cause, known.causes, "cause", (part, n, "cause"))
            yield from _rinds(x, (part, n), known)
    for n, link in enumerate(rule.link):
        yield from unknown(link.sign, known.signs, "sign", ("link", n, "sign"))
        yield from _window(link, ("link", n))
    for n, shift in enumerate(rule.likelier):
        yield from unknown(shift.when, known.circumstances, "circumstance", ("likelier", n, "when"))
    for n, against in enumerate(rule.against):
        yield from _against(against.sign, against.when, ("against", n), known)
    for n, step in enumerate(rule.remedy):
        yield from _step(step, ("remedy", n), known)
    for n, d in enumerate(rule.derive):
        pool = known.catalog.circumstances
        yield from unknown(d.circumstance, pool, "packaged circumstance", ("derive", n, "circumstance"))
    for n, change in enumerate(rule.change):
        yield from wrong_change(change, ("change", n), known.catalog)
    for n, off in enumerate(rule.off):
        yield from wrong_off(off, ("off", n), rule, known.catalog)


def _rinds(record: object, path: Path_, known: Known) -> Iterator[Wrong]:
    for n, name in enumerate(getattr(record, "rinds", ())):
        yield from unknown(name, known.catalog.rinds, "rind", (*path, "rinds", n))


def _window(record: object, path: Path_) -> Iterator[Wrong]:
    first, last = getattr(record, "from_day", 0), getattr(record, "to_day", None)
    if first < 0 or first > LAST_DAY or (last is not None and last > LAST_DAY):
        yield path, f"Days run from 0 to {LAST_DAY}."
    elif last is not None and last < first:
        yield path, "This window of days ends before it begins."


def _against(sign: str, when: str, path: Path_, known: Known) -> Iterator[Wrong]:
    if bool(sign) == bool(when):
        yield path, "Give a sign or a circumstance (when), one of the two."
    elif sign:
        yield from unknown(sign, known.signs, "sign", (*path, "sign"))
    else:
        yield from unknown(when, known.circumstances, "circumstance", (*path, "when"))


def _atom(c: Condition, path: Path_, known: Known) -> Iterator[Wrong]:
    pools: dict[str, Collection[str]] = {
        "question": known.questions, "circumstance": known.circumstances, "sign": known.signs,
        "rind": known.catalog.rinds, "paste": PASTES,
    }  # fmt: skip
    for what, name, at in names_in(c):
        yield from unknown(name, pools[what], what, (*path, *at))
    question = known.questions.get(c.ask)
    if question is not None:
        yield from _answer(question, c, path)


def answers_of(question: Question) -> tuple[str, ...]:
    """The words a question takes; none for a number."""
    plain: dict[str, tuple[str, ...]] = {"yes_no": ("yes", "no"), "scale": ("no", "slight", "clear"), "number": ()}
    return plain.get(question.kind, tuple(o.id for o in question.options))


def _answer(question: Question, c: Condition, path: Path_) -> Iterator[Wrong]:
    limits = {key: x for key in LIMITS if (x := getattr(c, key)) is not None}
    if question.kind == "number":
        if c.one_of:
            yield (*path, "one_of"), f'"{question.id}" is a number; use below, at_most, above or at_least.'
        elif not limits:
            yield (*path, "ask"), f'A condition on "{question.id}" needs a limit: below, at_most, above or at_least.'
        low = -math.inf if question.minimum is None else question.minimum
        high = math.inf if question.maximum is None else question.maximum
        for key, x in limits.items():
            if not low <= x <= high:
                yield (*path, key), f'The limit {x:g} lies outside what "{question.id}" takes, {low:g} to {high:g}.'
        return
    words = answers_of(question)
    if limits:
        yield (*path, next(iter(limits))), f'"{question.id}" is answered in words; use one_of.'
    elif not c.one_of and question.kind in ("one_of", "some_of"):
        yield (*path, "ask"), f'A condition on "{question.id}" needs one_of, with answers such as {listed(words[:4])}.'
    for n, word in enumerate(c.one_of):
        if word not in words:
            yield (*path, "one_of", n), f'"{question.id}" has no answer "{word}"{nearest(word, words)}.'


def _question(q: Question, path: Path_, known: Known) -> Iterator[Wrong]:
    for key in ("screen", "block", "topic"):
        if getattr(q, key):
            yield (*path, key), f'The safety screen is packaged, and a house adds nothing to it: leave "{key}" out.'
    yield from _rinds(q, path, known)
    yield from _window(q, path)
    if q.kind in ("one_of", "some_of"):
        ids = [o.id for o in q.options]
        if len(ids) < 2:
            yield (*path, "options"), f'"{q.id}" needs at least two options.'
        for n, id in enumerate(ids):
            if id in ids[:n] or id == "unknown":
                yield (
                    (*path, "options", n),
                    f'The option "{id}" cannot stand here (twice, or a word of the tool\'s own).',
                )
    elif q.options:
        yield (*path, "options"), f'"{q.id}" is answered by {q.kind}; leave the options out.'
    if q.kind == "number":
        if not q.unit:
            yield path, f'"{q.id}" is a number and needs a unit.'
        if q.minimum is not None and q.maximum is not None and q.minimum >= q.maximum:
            yield path, f'The smallest answer of "{q.id}" is not below the largest.'


def _sign(s: Sign, path: Path_, known: Known) -> Iterator[Wrong]:
    yield from _rinds(s, path, known)
    yield from _window(s, path)
    if not s.on_sound_rinds:
        yield path, f'"{s.id}" needs on_sound_rinds: how often does it show when nothing is wrong?'
    for n, rate in enumerate(s.on_sound_rinds):
        yield from _rinds(rate, (*path, "on_sound_rinds", n), known)
        yield from _window(rate, (*path, "on_sound_rinds", n))
    for n, name in enumerate(s.spared_by):
        yield from unknown(name, known.causes, "cause", (*path, "spared_by", n))
    if s.when is None:
        question = known.questions.get(s.id)
        if question is None:
            yield (
                path,
                f'Nobody asks for "{s.id}": add a question of the same id, or  when  with a question that shows it.',
            )
        elif question.kind not in ("yes_no", "scale"):
            yield (
                path,
                f'The question "{s.id}" is answered by {question.kind}; say in  when  which answer shows the sign.',
            )
    elif not any(leaf.ask for leaf in leaves(s.when)):
        yield (*path, "when"), f'"{s.id}" must rest on the answer to at least one question (ask).'


def _cause(c: Cause, path: Path_, known: Known) -> Iterator[Wrong]:
    if not c.rinds:
        yield path, f'"{c.id}" needs rinds: on which can it be?'
    yield from _rinds(c, path, known)
    yield from _window(c, path)
    for n, link in enumerate(c.signs):
        at: Path_ = (*path, "signs", n)
        yield from unknown(link.sign, known.signs, "sign", (*at, "sign"))
        yield from _rinds(link, at, known)
        yield from _window(link, at)
        if any(link.sign == earlier.sign for earlier in c.signs[:n]):
            yield at, f'"{link.sign}" stands here twice.'
    for n, shift in enumerate(c.likelier):
        yield from unknown(shift.when, known.circumstances, "circumstance", (*path, "likelier", n, "when"))
    for n, against in enumerate(c.against):
        yield from _against(against.sign, against.when, (*path, "against", n), known)
    for n, feed in enumerate(c.leads_to):
        yield from unknown(feed.cause, known.causes, "cause", (*path, "leads_to", n, "cause"))
        if any(feed.cause == earlier.cause for earlier in c.leads_to[:n]):
            yield (*path, "leads_to", n), f'"{feed.cause}" stands here twice.'
    for n, look in enumerate(c.mistaken_for):
        yield from unknown(look.cause, known.causes, "cause", (*path, "mistaken_for", n, "cause"))
        if look.question:
            yield from unknown(look.question, known.questions, "question", (*path, "mistaken_for", n, "question"))
    for part in ("today", "next_make"):
        for n, step in enumerate(getattr(c, part)):
            yield from _step(step, (*path, part, n), known)
    if c.look_again is not None and not 1 <= c.look_again.after_days <= LAST_DAY:
        yield (*path, "look_again"), "Look again after one day or more."
    for n, name in enumerate(c.cautions):
        caution = known.catalog.cautions.get(name)
        if caution is None:
            yield from unknown(name, known.catalog.cautions, "caution", (*path, "cautions", n))
        elif caution.level != "note":
            yield (
                (*path, "cautions", n),
                f'A cause may add a note; "{name}" is a {caution.level} and stands on answers.',
            )
    for n, name in enumerate(c.organisms):
        yield from unknown(name, known.catalog.organisms, "organism", (*path, "organisms", n))
    if c.replaced_by:
        yield (*path, "replaced_by"), "A house rule retires nothing; switch it off instead."


def _step(step: object, path: Path_, known: Known) -> Iterator[Wrong]:
    yield from unknown(getattr(step, "act", ""), known.catalog.acts, "act", (*path, "act"))
    yield from _rinds(step, path, known)
    amount = getattr(step, "amount", None)
    if amount is not None and not 0 <= amount.low <= amount.high <= 1e5:
        yield (*path, "amount"), "An amount runs from low to high, 0 to 100000."
