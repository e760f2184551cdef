"""What the format allows is not yet good knowledge: the rules a reviewer would apply.

Each rule is a small function over ``Loaded`` that notes its faults at the place they stand.
Adding a rule means adding a function to ``RULES``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import get_args

from .. import model
from ..catalog import Catalog
from ..chaining import unfold
from ..conditions import atom_kinds, leaves
from ..errors import listed, nearest
from ..gates import FIRST
from ..model import Cause, Condition, Question
from .loader import Loaded
from .nodes import Path_

FORBIDDEN = re.compile(
    r"\b(safe to eat|fine to eat|ok to eat|edible|harmless|no risk|guaranteed?|sterile|certified|probably just"
    r"|(?:is|are|perfectly|quite) safe)\b",
    re.IGNORECASE,
)
"""Words that would promise something about a cheese; ``safety`` stays a word of its own."""

FAULTS_PER_CHEESE = (0.5, 1.5)
"""Where the base rates of a style's causes may add up to, as faults per cheese asked about."""


def review(loaded: Loaded) -> None:
    """Run every rule; faults are added to ``loaded``."""
    for rule in RULES:
        rule(loaded)


def _conditions(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], Condition]]:
    """Every condition: kind of record, its id, path inside it, the condition."""
    k = loaded.knowledge
    for kind, key in (("circumstances", "when"), ("signs", "when"), ("cautions", "when"),
                      ("questions", "ask_if"), ("normal", "only_if")):  # fmt: skip
        for entry in getattr(k, kind):
            condition = getattr(entry, key)
            if condition is not None:
                yield kind, entry.id, (key,), condition
    for cause in k.causes:
        for part in ("today", "next_make"):
            for n, step in enumerate(getattr(cause, part)):
                for key in ("only_if", "unless"):
                    condition = getattr(step, key)
                    if condition is not None:
                        yield "causes", cause.id, (part, n, key), condition


def _all_conditions(condition: Condition, path: Path_) -> Iterator[tuple[Path_, Condition]]:
    yield path, condition
    for key in ("all", "any", "none"):
        for n, part in enumerate(getattr(condition, key)):
            yield from _all_conditions(part, (*path, key, n))


def conditions_make_sense(loaded: Loaded) -> None:
    """One key each, known ids, answers that the question takes, and not too many alternatives."""
    catalog = Catalog(loaded.knowledge)
    pools: dict[str, Collection[str]] = {
        "ask": catalog.questions, "unanswered": catalog.questions, "dont_know": catalog.questions,
        "holds": catalog.circumstances, "sign": catalog.signs,
    }  # fmt: skip
    for kind, id, whole_path, whole in _conditions(loaded):
        for path, c in _all_conditions(whole, whole_path):
            keys = atom_kinds(c)
            if len(keys) != 1:
                loaded.fault(
                    kind,
                    id,
                    path,
                    f'A condition of "{id}" needs exactly one of ask, unanswered, dont_know, holds, '
                    f"sign, rind, may_be, paste, all, any, none; it has {len(keys)}.",
                )
                continue
            for key, pool in pools.items():
                name = getattr(c, key)
                if name and name not in pool:
                    loaded.fault(
                        kind,
                        id,
                        (*path, key),
                        f'"{id}" asks for "{name}", which is not a known '
                        f"{ {'holds': 'circumstance', 'sign': 'sign'}.get(key, 'question') }{nearest(name, pool)}.",
                    )
            for key in ("rind", "may_be"):
                for n, name in enumerate(getattr(c, key)):
                    if name not in catalog.rinds:
                        loaded.fault(
                            kind, id, (*path, key, n), f'"{name}" is not a known rind{nearest(name, catalog.rinds)}.'
                        )
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
    given = {key: getattr(c, key) for key in ("below", "at_most", "above", "at_least")}
    limits = {key: x for key, x in given.items() if x is not None}
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


def references_exist(loaded: Loaded) -> None:
    """Every id that is named is there."""
    c = Catalog(loaded.knowledge)

    def check(kind: str, id: str, path: tuple[str | int, ...], what: str, name: str, pool: Iterable[str]) -> None:
        pool = set(pool)
        if name not in pool:
            loaded.fault(kind, id, path, f'"{name}" is not a known {what}{nearest(name, pool)}.')

    for cause in loaded.knowledge.causes:
        at = ("causes", cause.id)
        for n, link in enumerate(cause.signs):
            check(*at, ("signs", n, "sign"), "sign", link.sign, c.signs)
        for n, shift in enumerate(cause.likelier):
            check(*at, ("likelier", n, "when"), "circumstance", shift.when, c.circumstances)
        for n, against in enumerate(cause.against):
            if bool(against.sign) == bool(against.when):
                loaded.fault(*at, ("against", n), "Give a sign or a circumstance, one of the two.")
            elif against.sign:
                check(*at, ("against", n, "sign"), "sign", against.sign, c.signs)
            else:
                check(*at, ("against", n, "when"), "circumstance", against.when, c.circumstances)
        for n, feed in enumerate(cause.leads_to):
            check(*at, ("leads_to", n, "cause"), "cause", feed.cause, c.causes)
        for n, look in enumerate(cause.mistaken_for):
            check(*at, ("mistaken_for", n, "cause"), "cause", look.cause, c.causes)
            if look.question:
                check(*at, ("mistaken_for", n, "question"), "question", look.question, c.questions)
        for part in ("today", "next_make"):
            for n, step in enumerate(getattr(cause, part)):
                check(*at, (part, n, "act"), "act", step.act, c.acts)
        for n, name in enumerate(cause.cautions):
            check(*at, ("cautions", n), "caution", name, c.cautions)
            if name in c.cautions and c.cautions[name].level != "note":
                loaded.fault(*at, ("cautions", n), f'A cause may add a note; "{name}" is a {c.cautions[name].level}, '
                             "which stands on answers alone.")  # fmt: skip
        for n, name in enumerate(cause.organisms):
            check(*at, ("organisms", n), "organism", name, c.organisms)
        if cause.replaced_by:
            check(*at, ("replaced_by",), "cause", cause.replaced_by, c.causes)
    for row in loaded.knowledge.normal:
        for n, name in enumerate(row.signs):
            check("normal", row.id, ("signs", n), "sign", name, c.signs)
    for organism in loaded.knowledge.organisms:
        for n, name in enumerate(organism.mistaken_for):
            check("organisms", organism.id, ("mistaken_for", n), "organism", name, c.organisms)
    for sign in loaded.knowledge.signs:
        for n, name in enumerate(sign.spared_by):
            check("signs", sign.id, ("spared_by", n), "cause", name, c.causes)
    for kind, id, path, name in _rind_names(loaded):
        check(kind, id, path, "rind", name, c.rinds)


def _rind_names(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], str]]:
    k = loaded.knowledge
    for kind in ("questions", "signs", "normal", "causes"):
        for entry in getattr(k, kind):
            for n, name in enumerate(entry.rinds):
                yield kind, entry.id, ("rinds", n), name
    for question in k.questions:
        for n, option in enumerate(question.options):
            for m, name in enumerate(option.rinds):
                yield "questions", question.id, ("options", n, "rinds", m), name
    for sign in k.signs:
        for n, rate in enumerate(sign.on_sound_rinds):
            for m, name in enumerate(rate.rinds):
                yield "signs", sign.id, ("on_sound_rinds", n, "rinds", m), name
    for cause in k.causes:
        for part in ("signs", "today", "next_make"):
            for n, entry in enumerate(getattr(cause, part)):
                for m, name in enumerate(entry.rinds):
                    yield "causes", cause.id, (part, n, "rinds", m), name


def sources_exist_and_serve(loaded: Loaded) -> None:
    """Every claim has a source that is listed, and every source listed is used."""
    known = {s.id for s in loaded.knowledge.sources}
    used: set[str] = set()
    for kind, id, path, names in _claims(loaded):
        used.update(names)
        if not names:
            loaded.fault(kind, id, path, f'A claim of "{id}" has no source.')
        for n, name in enumerate(names):
            if name not in known:
                loaded.fault(kind, id, (*path, n), f'"{name}" is not a listed source{nearest(name, known)}.')
    for source in loaded.knowledge.sources:
        if source.id not in used:
            loaded.fault("sources", source.id, (), f'The source "{source.id}" is not used by any claim.')


def _claims(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], tuple[str, ...]]]:
    for kind in ("families", "circumstances", "normal", "acts", "cautions", "organisms", "causes", "signs"):
        for entry in getattr(loaded.knowledge, kind):
            yield from _inside(kind, entry.id, entry, ())
    for n, scale in enumerate(loaded.knowledge.words.scales):
        yield "words", "words", ("scales", n, "sources"), scale.sources
    if loaded.knowledge.words.scales:
        yield "words", "words", ("answer_noise_sources",), loaded.knowledge.words.answer_noise_sources


def _inside(
    kind: str, id: str, thing: object, path: tuple[str | int, ...]
) -> Iterator[tuple[str, str, tuple[str | int, ...], tuple[str, ...]]]:
    for f in fields(thing):  # type: ignore[arg-type]
        value = getattr(thing, f.name)
        if f.name.endswith("sources"):
            yield kind, id, (*path, f.name), value
        elif isinstance(value, tuple):
            for n, part in enumerate(value):
                if is_dataclass(part):
                    yield from _inside(kind, id, part, (*path, f.name, n))
        elif is_dataclass(value):
            yield from _inside(kind, id, value, (*path, f.name))


def signs_are_asked_and_used(loaded: Loaded) -> None:
    """Every sign can be answered and matters to something; every question is asked for a reason."""
    catalog = Catalog(loaded.knowledge)
    linked = {link.sign for c in loaded.knowledge.causes for link in c.signs}
    linked |= {a.sign for c in loaded.knowledge.causes for a in c.against}
    linked |= {name for row in loaded.knowledge.normal for name in row.signs}
    looked_at: set[str] = {*FIRST, "first_seen_day", "weight_g", "for_sale", "hours_since_wash"}
    for kind, _, _, whole in _conditions(loaded):
        for c in leaves(whole):
            looked_at.update(x for x in (c.ask, c.unanswered, c.dont_know) if x)
            if kind != "signs" and c.sign:
                linked.add(c.sign)
    for sign in loaded.knowledge.signs:
        if sign.when is None:
            question = catalog.questions.get(sign.id)
            looked_at.add(sign.id)
            if question is None:
                loaded.fault("signs", sign.id, (), f'No question asks for the sign "{sign.id}".')
            elif question.kind not in ("scale", "yes_no"):
                loaded.fault("signs", sign.id, (), f'The sign "{sign.id}" needs a `when`: its question has options.')
        if sign.id not in linked and not sign.healthy:
            loaded.fault("signs", sign.id, (), f'The sign "{sign.id}" points to nothing.')
    for question in loaded.knowledge.questions:
        if question.id not in looked_at:
            loaded.fault("questions", question.id, (), f'Nothing looks at the question "{question.id}".')
        if question.kind in ("one_of", "some_of") and len(question.options) < 2 and question.id != "family":
            loaded.fault("questions", question.id, (), f'"{question.id}" needs at least two options.')


def circumstances_serve(loaded: Loaded) -> None:
    """Every circumstance is used by a cause, a caution, a step or another circumstance."""
    used = {s.when for c in loaded.knowledge.causes for s in c.likelier}
    used |= {a.when for c in loaded.knowledge.causes for a in c.against}
    for _, _, _, whole in _conditions(loaded):
        used.update(c.holds for c in leaves(whole))
    for circumstance in loaded.knowledge.circumstances:
        if circumstance.id not in used:
            loaded.fault("circumstances", circumstance.id, (), f'Nothing uses the circumstance "{circumstance.id}".')


def nothing_goes_round(loaded: Loaded) -> None:
    """No circumstance rests on itself, no cause leads back to itself."""
    rests = {c.id: {leaf.holds for leaf in leaves(c.when) if leaf.holds} for c in loaded.knowledge.circumstances}
    leads = {c.id: {f.cause for f in c.leads_to} for c in loaded.knowledge.causes}
    for kind, graph, verb in (("circumstances", rests, "rests on itself"), ("causes", leads, "leads back to itself")):
        for ring in _rings(graph):
            files = sorted({loaded.places[(kind, x)][0].file for x in ring if (kind, x) in loaded.places})
            loaded.fault(
                kind, ring[0], (), f'"{ring[0]}" {verb}: {" -> ".join([*ring, ring[0]])} ({", ".join(files)}).'
            )


def _rings(graph: dict[str, set[str]]) -> list[list[str]]:
    """Each cycle once, starting at its first id."""
    state: dict[str, int] = {}
    rings: list[list[str]] = []
    for root in sorted(graph):
        if state.get(root):
            continue
        path: list[str] = []
        stack: list[tuple[str, Iterator[str]]] = [(root, iter(sorted(graph[root])))]
        state[root] = 1
        path.append(root)
        while stack:
            node, rest = stack[-1]
            for following in rest:
                if following not in graph:
                    continue
                if state.get(following) == 1:
                    ring = path[path.index(following) :]
                    start = ring.index(min(ring))
                    rings.append(ring[start:] + ring[:start])
                elif not state.get(following):
                    state[following] = 1
                    path.append(following)
                    stack.append((following, iter(sorted(graph[following]))))
                    break
            else:
                state[node] = 2
                path.pop()
                stack.pop()
    return rings


def causes_can_be_reached(loaded: Loaded) -> None:
    """Every cause has a sign, a plan and a day to look again; windows are the right way round."""
    for cause in loaded.knowledge.causes:
        if cause.replaced_by:
            continue
        if not cause.signs:
            loaded.fault("causes", cause.id, (), f'No sign points to "{cause.id}": no answer can ever reach it.')
        if not cause.today or not cause.next_make or cause.look_again is None:
            loaded.fault("causes", cause.id, (), f'"{cause.id}" needs today, next_make and look_again.')
        if not cause.mistaken_for:
            loaded.fault("causes", cause.id, (), f'"{cause.id}" names no look-alike in mistaken_for.')
        windows = [(cause.from_day, cause.to_day), *((link.from_day, link.to_day) for link in cause.signs)]
        for from_day, to_day in windows:
            if to_day is not None and to_day < from_day:
                loaded.fault("causes", cause.id, (), f'A window of "{cause.id}" ends before it begins.')
        seen: set[tuple[str, tuple[str, ...], int]] = set()
        for n, link in enumerate(cause.signs):
            key = (link.sign, link.rinds, link.from_day)
            if key in seen:
                loaded.fault("causes", cause.id, ("signs", n), f'"{cause.id}" lists the sign "{link.sign}" twice.')
            seen.add(key)


def words_are_complete(loaded: Loaded) -> None:
    """Every word of the format has its number."""
    if ("words", "words") not in loaded.places:
        return  # the file itself is missing or faulty, which is said already
    scales = {s.id: {w.word for w in s.words} for s in loaded.knowledge.words.scales}
    for scale, literal in (
        ("frequency", model.Frequency), ("strength", model.Strength), ("feeding", model.Strength),
        ("base_rate", model.BaseRate), ("how_common", model.HowCommon), ("effort", model.Effort),
    ):  # fmt: skip
        missing = [str(w) for w in get_args(literal) if w not in scales.get(scale, set())]
        if missing:
            at = ("scales", list(scales).index(scale)) if scale in scales else ("scales",)
            loaded.fault(
                "words", "words", at, f'words.yaml has no number for {listed(missing)} on the scale "{scale}".'
            )
    if "probability" not in scales:
        loaded.fault("words", "words", (), 'words.yaml lacks the scale "probability".')
    for about in get_args(model.About):
        if not any(n.about == about for n in loaded.knowledge.words.answer_noise):
            loaded.fault("words", "words", (), f'words.yaml has no answer noise for "{about}".')


def base_rates_add_up(loaded: Loaded) -> None:
    """All causes of a style together come to a sensible number of faults per cheese."""
    catalog = Catalog(loaded.knowledge)
    if not loaded.knowledge.causes or loaded.faults:
        return
    low, high = FAULTS_PER_CHEESE
    for style in catalog.styles.values():
        family = next(f for f in catalog.families.values() if style in f.styles)
        names = {family.id, style.group, style.id}
        total = sum(
            catalog.value("base_rate", c.base_rate) for c in catalog.causes.values() if not names.isdisjoint(c.rinds)
        )
        if not low <= total <= high:
            loaded.fault(
                "families",
                family.id,
                (),
                f'Base rates for "{style.id}" add up to {total:.2f} faults per cheese; expected {low:g} to {high:g}.',
            )


def nothing_is_promised(loaded: Loaded) -> None:
    """No string that can be printed calls a cheese safe."""
    for kind in (
        "families",
        "questions",
        "signs",
        "circumstances",
        "causes",
        "normal",
        "acts",
        "cautions",
        "organisms",
    ):
        for entry in getattr(loaded.knowledge, kind):
            for path, text in _placed_strings(entry, ()):
                found = FORBIDDEN.search(text)
                if found:
                    loaded.fault(
                        kind, entry.id, path, f'"{entry.id}" says "{found.group(0)}": nothing here may promise that.'
                    )


def safety_is_complete(loaded: Loaded) -> None:
    """A stop says what it touched, a hold what test; the screen's questions have a topic, a block takes yes or no."""
    needed = {"stop": ("do", "touched"), "hold": ("do", "test", "sample", "while_waiting"), "note": ()}
    for caution in loaded.knowledge.cautions:
        for key in needed[caution.level]:
            if not getattr(caution, key):
                loaded.fault("cautions", caution.id, (), f'The {caution.level} "{caution.id}" needs "{key}".')
        if caution.urgent and caution.level != "note":
            loaded.fault(
                "cautions", caution.id, ("urgent",), f'Only a note can be urgent; "{caution.id}" is shown first anyway.'
            )
    for question in loaded.knowledge.questions:
        if question.screen and not question.topic:
            loaded.fault("questions", question.id, (), f'"{question.id}" belongs to the screen and needs a topic.')
        if question.block and not (question.screen and question.kind == "yes_no"):
            loaded.fault(
                "questions", question.id, ("block",), "Only a yes_no question of the screen can stand in a block."
            )
        if question.words and question.kind != "yes_no":
            loaded.fault("questions", question.id, ("words",), "Only a yes_no question has words; options have their own.")


def strings_in(thing: object) -> Iterator[str]:
    """Every string inside a record."""
    return (text for _, text in _placed_strings(thing, ()))


def _placed_strings(thing: object, path: Path_) -> Iterator[tuple[Path_, str]]:
    if isinstance(thing, str):
        yield path, thing
    elif isinstance(thing, tuple):
        for n, part in enumerate(thing):
            yield from _placed_strings(part, (*path, n))
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from _placed_strings(getattr(thing, f.name), (*path, f.name))


def near_twins(causes: Iterable[Cause], overlap: float = 0.85) -> list[tuple[str, str]]:
    """Pairs of causes of one kind whose signs are nearly the same: perhaps one cause under two names."""
    listed_ = [(c, {link.sign for link in c.signs}) for c in causes]
    return [
        (a.id, b.id)
        for n, (a, signs_a) in enumerate(listed_)
        for b, signs_b in listed_[n + 1 :]
        if a.kind == b.kind
        and not set(a.rinds).isdisjoint(b.rinds)
        and len(signs_a & signs_b) / max(1, len(signs_a | signs_b)) > overlap
    ]


def no_twins(loaded: Loaded) -> None:
    """No two causes share nearly all their signs, unless they name each other as look-alikes."""
    alike = {(c.id, look.cause) for c in loaded.knowledge.causes for look in c.mistaken_for}
    for a, b in near_twins(loaded.knowledge.causes):
        if (a, b) not in alike and (b, a) not in alike:
            loaded.fault("causes", b, (), f'"{a}" and "{b}" show nearly the same signs: one cause under two names?')


RULES: tuple[Callable[[Loaded], None], ...] = (
    conditions_make_sense,
    references_exist,
    sources_exist_and_serve,
    signs_are_asked_and_used,
    circumstances_serve,
    nothing_goes_round,
    causes_can_be_reached,
    words_are_complete,
    nothing_is_promised,
    safety_is_complete,
    no_twins,
    base_rates_add_up,
)
