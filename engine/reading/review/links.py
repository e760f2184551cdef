"""Everything that is named exists: conditions, references, sources."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import get_args

from ...catalog import Catalog
from ...chaining import unfold
from ...conditions import ATOMS, JOINS, LIMITS, atom_kinds, inside, names_in
from ...errors import nearest
from ...model import Condition, Hardness, Question
from ..loader import Loaded
from .walk import claims, conditions, rind_names


def conditions_make_sense(loaded: Loaded) -> None:
    """One key each, known ids, answers that the question takes, and not too many alternatives."""
    catalog = Catalog(loaded.knowledge)
    pools: dict[str, Collection[str]] = {what: loaded.ids(_KINDS[what]) for what in _IDS}
    pools |= {"rind": catalog.rinds, "paste": get_args(Hardness)}
    for kind, id, whole_path, whole in conditions(loaded):
        for path, c in inside(whole, whole_path):
            keys = atom_kinds(c)
            if len(keys) != 1:
                each = ", ".join((*ATOMS, *JOINS))
                loaded.fault(kind, id, path, f'A condition of "{id}" needs exactly one of {each}; it has {len(keys)}.')
                continue
            for what, name, at in names_in(c):
                pool = pools[what]
                if name in pool or not loaded.whole(_KINDS.get(what, "families")):
                    continue
                asks = f'"{id}" asks for "{name}", which' if what in _IDS else f'"{name}"'
                loaded.fault(kind, id, (*path, *at), f"{asks} is not a known {what}{nearest(name, pool)}.")
            question = catalog.questions.get(c.ask)
            if question is not None:
                for key, sentence in _misfit(question, c):
                    loaded.fault(kind, id, (*path, key), sentence)
        try:
            unfold(whole, True)
            unfold(whole, False)
        except ValueError as error:
            loaded.fault(kind, id, whole_path, f'The condition of "{id}" {error}.')


def _misfit(question: Question, c: Condition) -> Iterator[tuple[str, str]]:
    limits = {key: x for key in LIMITS if (x := getattr(c, key)) is not None}
    if question.kind == "number":
        if c.one_of:
            yield "one_of", f'"{question.id}" is a number; use below, at_most, above or at_least.'
        if not limits:
            yield "ask", f'A condition on "{question.id}" needs a limit.'
        for key, x in limits.items():
            if (question.minimum is not None and x < question.minimum) or (
                question.maximum is not None and x > question.maximum
            ):
                yield key, f'The limit {x:g} lies outside what "{question.id}" takes.'
        return
    if limits:
        yield next(iter(limits)), f'"{question.id}" is answered in words; use one_of.'
    known = {"yes_no": ("yes", "no"), "scale": ("no", "slight", "clear")}.get(
        question.kind, tuple(o.id for o in question.options)
    )
    if not c.one_of and question.kind in ("one_of", "some_of"):
        yield "ask", f'A condition on "{question.id}" needs one_of.'
    for word in c.one_of:
        if word not in known:
            yield "one_of", f'"{question.id}" has no answer "{word}"{nearest(word, known)}.'


_KINDS = {
    "sign": "signs", "circumstance": "circumstances", "cause": "causes", "question": "questions", "act": "acts",
    "caution": "cautions", "organism": "organisms",
}  # fmt: skip
"""What a reference is called, and the list it points into."""
_IDS = ("question", "circumstance", "sign")
"""What a condition names by its id."""


def references_exist(loaded: Loaded) -> None:
    """Every id that is named is there."""
    c = Catalog(loaded.knowledge)
    pools = {what: loaded.ids(kind) for what, kind in _KINDS.items()}

    def check(kind: str, id: str, path: tuple[str | int, ...], what: str, name: str) -> None:
        if name not in pools[what] and loaded.whole(_KINDS[what]):
            loaded.fault(kind, id, path, f'"{name}" is not a known {what}{nearest(name, pools[what])}.')

    for cause in loaded.knowledge.causes:
        at = ("causes", cause.id)
        for n, link in enumerate(cause.signs):
            check(*at, ("signs", n, "sign"), "sign", link.sign)
        for n, shift in enumerate(cause.likelier):
            check(*at, ("likelier", n, "when"), "circumstance", shift.when)
        for n, against in enumerate(cause.against):
            if bool(against.sign) == bool(against.when):
                loaded.fault(*at, ("against", n), "Give a sign or a circumstance, one of the two.")
            elif against.sign:
                check(*at, ("against", n, "sign"), "sign", against.sign)
            else:
                check(*at, ("against", n, "when"), "circumstance", against.when)
        for n, feed in enumerate(cause.leads_to):
            check(*at, ("leads_to", n, "cause"), "cause", feed.cause)
        for n, look in enumerate(cause.mistaken_for):
            check(*at, ("mistaken_for", n, "cause"), "cause", look.cause)
            if look.question:
                check(*at, ("mistaken_for", n, "question"), "question", look.question)
        for part in ("today", "next_make"):
            for n, step in enumerate(getattr(cause, part)):
                check(*at, (part, n, "act"), "act", step.act)
        for n, name in enumerate(cause.cautions):
            check(*at, ("cautions", n), "caution", name)
            if name in c.cautions and c.cautions[name].level != "note":
                loaded.fault(*at, ("cautions", n), f'A cause may add a note; "{name}" is a {c.cautions[name].level}, '
                             "which stands on answers alone.")  # fmt: skip
        for n, name in enumerate(cause.organisms):
            check(*at, ("organisms", n), "organism", name)
        if cause.replaced_by:
            check(*at, ("replaced_by",), "cause", cause.replaced_by)
    for row in loaded.knowledge.normal:
        for n, name in enumerate(row.signs):
            check("normal", row.id, ("signs", n), "sign", name)
    for organism in loaded.knowledge.organisms:
        for n, name in enumerate(organism.mistaken_for):
            check("organisms", organism.id, ("mistaken_for", n), "organism", name)
    for sign in loaded.knowledge.signs:
        for n, name in enumerate(sign.spared_by):
            check("signs", sign.id, ("spared_by", n), "cause", name)
    for kind, id, path, name in rind_names(loaded):
        if name not in c.rinds and loaded.whole("families"):
            loaded.fault(kind, id, path, f'"{name}" is not a known rind{nearest(name, c.rinds)}.')


def sources_exist_and_serve(loaded: Loaded) -> None:
    """Every claim has a source that is listed, and every source listed is used."""
    known = loaded.ids("sources")
    used: set[str] = set()
    for kind, id, path, names in claims(loaded):
        used.update(names)
        if not names:
            loaded.fault(kind, id, path, f'A claim of "{id}" has no source.')
        for n, name in enumerate(names):
            if name not in known and loaded.whole("sources"):
                loaded.fault(kind, id, (*path, n), f'"{name}" is not a listed source{nearest(name, known)}.')
    for source in loaded.knowledge.sources if loaded.complete else ():
        if source.id not in used:
            loaded.fault("sources", source.id, (), f'The source "{source.id}" is not used by any claim.')
