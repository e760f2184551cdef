"""What a rule says and what it speaks of, as plain keys: for finding contradictions, repeats and dependents."""

from __future__ import annotations

from ..conditions import leaves, names_in
from ..model import Condition
from ..reading.nodes import Path_
from .shapes import HouseRule

Key = tuple[str, ...]


def statements(rule: HouseRule) -> list[tuple[Key, Key, Path_]]:
    """What a rule says as (about what, says what, where): the same "about" twice must say the same."""
    found: list[tuple[Key, Key, Path_]] = []
    for kind in ("question", "sign", "circumstance", "cause"):
        for n, record in enumerate(getattr(rule, kind)):
            found.append((("id", kind, record.id), (rule.rule,), (kind, n, "id")))
    for n, x in enumerate(rule.link):
        found.append(
            (
                ("link", x.cause, x.sign, *sorted(x.rinds), str(x.from_day)),
                (x.seen, *([f"to day {x.to_day}"] if x.to_day is not None else ())),
                ("link", n),
            )
        )
    for n, s in enumerate(rule.likelier):
        found.append((("moves", s.cause, s.when), ("likelier", s.strength), ("likelier", n)))
    for n, a in enumerate(rule.against):
        key: Key = ("moves", a.cause, a.when) if a.when else ("denies", a.cause, a.sign)
        found.append((key, ("against", a.strength), ("against", n)))
    for n, c in enumerate(rule.change):
        about = ("change", c.cause, c.sign, c.when, c.leads_to, c.circumstance, *sorted(c.rinds))
        found.append((about, (c.to,), ("change", n)))
    return found


def needs(rule: HouseRule) -> list[tuple[str, str, Path_]]:
    """Everything a rule speaks of, as (kind, id, where)."""
    found: list[tuple[str, str, Path_]] = []

    def need(kind: str, id: str, *path: str | int) -> None:
        if id:
            found.append((kind, id, path))

    def condition(whole: Condition | None, *path: str | int) -> None:
        for leaf in leaves(whole) if whole is not None else ():
            for kind, id, _ in names_in(leaf):
                need(kind, id, *path)

    for part in ("link", "likelier", "against", "remedy", "change", "off"):
        for n, x in enumerate(getattr(rule, part)):
            need("cause", x.cause, part, n, "cause")
            need("sign", getattr(x, "sign", ""), part, n, "sign")
            need("circumstance", getattr(x, "when", ""), part, n, "when")
            need("circumstance", getattr(x, "circumstance", ""), part, n, "circumstance")
            need("cause", getattr(x, "leads_to", ""), part, n, "leads_to")
            need("normal", getattr(x, "normal", ""), part, n, "normal")
    for n, r in enumerate(rule.remedy):
        condition(r.only_if, "remedy", n, "only_if")
        condition(r.unless, "remedy", n, "unless")
    for n, d in enumerate(rule.derive):
        need("circumstance", d.circumstance, "derive", n, "circumstance")
        condition(d.when, "derive", n, "when")
    for n, q in enumerate(rule.question):
        condition(q.ask_if, "question", n, "ask_if")
    for n, s in enumerate(rule.sign):
        condition(s.when, "sign", n, "when")
        if s.when is None:
            need("question", s.id, "sign", n, "id")
        for m, name in enumerate(s.spared_by):
            need("cause", name, "sign", n, "spared_by", m)
    for n, ci in enumerate(rule.circumstance):
        condition(ci.when, "circumstance", n, "when")
    for n, ca in enumerate(rule.cause):
        at = ("cause", n)
        for m, link in enumerate(ca.signs):
            need("sign", link.sign, *at, "signs", m, "sign")
        for m, shift in enumerate(ca.likelier):
            need("circumstance", shift.when, *at, "likelier", m, "when")
        for m, against in enumerate(ca.against):
            need("sign", against.sign, *at, "against", m, "sign")
            need("circumstance", against.when, *at, "against", m, "when")
        for m, feed in enumerate(ca.leads_to):
            need("cause", feed.cause, *at, "leads_to", m, "cause")
        for m, look in enumerate(ca.mistaken_for):
            need("cause", look.cause, *at, "mistaken_for", m, "cause")
            need("question", look.question, *at, "mistaken_for", m, "question")
        for name in ("today", "next_make"):
            for m, step in enumerate(getattr(ca, name)):
                condition(step.only_if, *at, name, m, "only_if")
                condition(step.unless, *at, name, m, "unless")
    return found
