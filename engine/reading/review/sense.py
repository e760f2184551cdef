"""Everything that is there serves: signs are asked and used, nothing goes round, causes can be reached."""

from __future__ import annotations

from collections.abc import Iterable

from ...catalog import Catalog
from ...conditions import leaves, question_in
from ...figures import FIGURES
from ...gates import FIRST
from ...model import Cause, Condition, Knowledge
from ...rings import each_ring
from ..loader import Loaded
from .walk import conditions


def signs_are_asked_and_used(loaded: Loaded) -> None:
    """Every sign can be answered and matters to something; every question is asked for a reason."""
    catalog = Catalog(loaded.knowledge)
    linked = {link.sign for c in loaded.knowledge.causes for link in c.signs}
    linked |= {a.sign for c in loaded.knowledge.causes for a in c.against}
    linked |= {name for row in loaded.knowledge.normal for name in row.signs}
    looked_at: set[str] = {*FIRST, "first_seen_day", "for_sale", "hours_since_wash", *FIGURES}
    for kind, _, _, whole in conditions(loaded):
        for c in leaves(whole):
            looked_at.add(question_in(c))
            if kind != "signs" and c.sign:
                linked.add(c.sign)
    for sign in loaded.knowledge.signs:
        if sign.when is None:
            question = catalog.questions.get(sign.id)
            looked_at.add(sign.id)
            if question is None:
                if not loaded.whole("questions") or sign.id in loaded.ids("questions"):
                    continue
                loaded.fault("signs", sign.id, (), f'No question asks for the sign "{sign.id}".')
            elif question.kind not in ("scale", "yes_no"):
                loaded.fault("signs", sign.id, (), f'The sign "{sign.id}" needs a `when`: its question has options.')
        if sign.id not in linked and not sign.healthy and loaded.complete:
            loaded.fault("signs", sign.id, (), f'The sign "{sign.id}" points to nothing.')
    for question in loaded.knowledge.questions:
        if question.id not in looked_at and loaded.complete:
            loaded.fault("questions", question.id, (), f'Nothing looks at the question "{question.id}".')
        if question.kind in ("one_of", "some_of") and len(question.options) < 2 and question.id != "family":
            loaded.fault("questions", question.id, (), f'"{question.id}" needs at least two options.')


def choices_differ(loaded: Loaded) -> None:
    """No option stands twice in a question, and no words bring up two options of one question or two signs."""
    for question in loaded.knowledge.questions:
        ids: set[str] = set()
        said: dict[str, str] = {}
        for n, option in enumerate(question.options):
            if option.id in ids:
                loaded.fault("questions", question.id, ("options", n), f'"{question.id}" has "{option.id}" twice.')
            ids.add(option.id)
            for word in option.words:
                other = said.setdefault(word.casefold(), option.id)
                if other != option.id:
                    loaded.fault("questions", question.id, ("options", n, "words"),
                                 f'"{word}" stands for "{other}" and for "{option.id}"; keep one.')  # fmt: skip


def circumstances_serve(loaded: Loaded) -> None:
    """Every circumstance is used by a cause, a caution, a step or another circumstance."""
    if not loaded.complete:
        return
    used = {s.when for c in loaded.knowledge.causes for s in c.likelier}
    used |= {a.when for c in loaded.knowledge.causes for a in c.against}
    for _, _, _, whole in conditions(loaded):
        used.update(c.holds for c in leaves(whole))
    for circumstance in loaded.knowledge.circumstances:
        if circumstance.id not in used:
            loaded.fault("circumstances", circumstance.id, (), f'Nothing uses the circumstance "{circumstance.id}".')


def nothing_goes_round(loaded: Loaded) -> None:
    """No circumstance rests on itself, no cause leads back to itself."""
    rests = {c.id: _rests_on(c.when) for c in loaded.knowledge.circumstances}
    rests |= {_SIGN + s.id: _rests_on(s.when) for s in loaded.knowledge.signs if s.when is not None}
    leads = {c.id: {f.cause for f in c.leads_to} for c in loaded.knowledge.causes}
    for kind, graph, verb in (("circumstances", rests, "rests on itself"), ("causes", leads, "leads back to itself")):
        for ring in each_ring(graph):
            places = [("signs", x.removeprefix(_SIGN)) if x.startswith(_SIGN) else (kind, x) for x in ring]
            files = sorted({loaded.places[p][0].file for p in places if p in loaded.places})
            steps = " -> ".join([*ring, ring[0]])
            loaded.fault(*places[0], (), f'"{places[0][1]}" {verb}: {steps} ({", ".join(files)}).')


_SIGN = "sign "
"""Marks a sign among circumstances, where both may rest on each other."""


def _rests_on(condition: Condition) -> set[str]:
    return {leaf.holds or _SIGN + leaf.sign for leaf in leaves(condition) if leaf.holds or leaf.sign}


def causes_can_be_reached(loaded: Loaded) -> None:
    """Every cause has rinds, a sign, a plan, a day to look again and a look-alike."""
    for cause in loaded.knowledge.causes:
        if cause.replaced_by:
            continue
        if not cause.rinds:
            loaded.fault("causes", cause.id, ("rinds",), f'"{cause.id}" names no rinds: it would fit none.')
        if not cause.signs:
            loaded.fault("causes", cause.id, (), f'No sign points to "{cause.id}": no answer can ever reach it.')
        if not cause.today or not cause.next_make or cause.look_again is None:
            loaded.fault("causes", cause.id, (), f'"{cause.id}" needs today, next_make and look_again.')
        if not cause.mistaken_for:
            loaded.fault("causes", cause.id, (), f'"{cause.id}" names no look-alike in mistaken_for.')
        seen: set[tuple[str, tuple[str, ...], int]] = set()
        for n, link in enumerate(cause.signs):
            key = (link.sign, link.rinds, link.from_day)
            if key in seen:
                loaded.fault("causes", cause.id, ("signs", n), f'"{cause.id}" lists the sign "{link.sign}" twice.')
            seen.add(key)


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


def near_twin_signs(knowledge: Knowledge, overlap: float = 0.85) -> list[tuple[str, str]]:
    """Pairs of signs that point to the same causes, equally often, by the same sense: perhaps one sign twice."""
    questions = {q.id: q for q in knowledge.questions}
    points: dict[str, set[tuple[str, str]]] = {}
    for cause in knowledge.causes:
        for link in cause.signs:
            points.setdefault(link.sign, set()).add((cause.id, link.seen))
    listed_ = []
    for sign in knowledge.signs:
        question = questions.get(sign.id if sign.when is None else sign.when.ask)
        if question is not None and len(points.get(sign.id, ())) >= _LEAST_SHARED:
            listed_.append((sign, question, points[sign.id]))
    return [
        (a.id, b.id)
        for n, (a, asks_a, to_a) in enumerate(listed_)
        for b, asks_b, to_b in listed_[n + 1 :]
        if asks_a.id != asks_b.id
        and asks_a.about == asks_b.about
        and (not a.rinds or not b.rinds or not set(a.rinds).isdisjoint(b.rinds))
        and len(to_a & to_b) / len(to_a | to_b) > overlap
    ]


_LEAST_SHARED = 2
"""A sign of one cause alone says too little of what it is to be held against another."""


def no_twins(loaded: Loaded) -> None:
    """No two causes share nearly all their signs, unless they name each other as look-alikes; no sign stands twice."""
    alike = {(c.id, look.cause) for c in loaded.knowledge.causes for look in c.mistaken_for}
    for a, b in near_twins(loaded.knowledge.causes):
        if (a, b) not in alike and (b, a) not in alike:
            loaded.fault("causes", b, (), f'"{a}" and "{b}" show nearly the same signs: one cause under two names?')
    for a, b in near_twin_signs(loaded.knowledge):
        loaded.fault("signs", b, (), f'"{a}" and "{b}" point to the same causes equally often: one sign twice?')
