"""Made house rules, all invented: sound ones of every kind for properties and scale, and helpers to lay them over."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from hypothesis import strategies as st
from rindwright.engine.catalog import Catalog
from rindwright.engine.house.promising import promised
from rindwright.engine.house.reading import Entry, read_rule
from rindwright.engine.house.writing import rule_text
from rindwright.engine.protection import Protected, grave_words, protected

KINDS = ("sign", "link", "fact", "likelier", "against", "cause", "remedy", "change", "derive", "off")
SEEN = ("rarely", "sometimes", "often", "usually")
STRENGTHS = ("small", "moderate", "strong")
HEAD = {"owner": "Marta, invented", "date": "2026-11-27", "because": "This rule is invented for a test."}


@lru_cache(maxsize=4)
def guarded(catalog: Catalog) -> Protected:
    """What safety rests on, worked out once for a catalog."""
    return protected(catalog.knowledge)


def rule_of(rng: random.Random, catalog: Catalog, name: str, kind: str) -> dict[str, Any]:
    """The keys of one sound rule of a kind. Its own ids begin with its name."""
    safe = guarded(catalog)
    causes = list(catalog.causes.values())
    cause = rng.choice(causes)
    free = [c for c in catalog.circumstances.values() if c.id not in safe.circumstances]
    fresh = [c.id for c in free if c.id not in {s.when for s in cause.likelier} | {a.when for a in cause.against}]
    speaks: dict[str, Any] = {}
    parts: dict[str, Any]
    if kind in ("sign", "cause", "against"):
        about = rng.choice(("look", "feel", "smell"))
        question = {"id": name, "ask": f"Is there {name}?", "kind": "yes_no", "about": about, "effort": "glance"}
        sign = {"id": name, "name": f"dots of {name}", "on_sound_rinds": rng.choice(("rarely", "almost never"))}
        parts = {"question": question, "sign": {**sign, "words": [f"dots of {name}"]}}
        speaks = {name: "yes"}
        if kind == "sign":
            parts["link"] = {"cause": cause.id, "sign": name, "seen": rng.choice(SEEN)}
        elif kind == "against":
            parts["against"] = {"cause": cause.id, "sign": name, "strength": rng.choice(STRENGTHS)}
        else:
            parts["cause"] = {
                "id": f"{name}_cause", "kind": "takeover", "name": f"Growth {name}", "what": "It grows. Invented.",
                "rinds": ["washed"], "base_rate": "rare", "signs": [{"sign": name, "seen": rng.choice(SEEN)}],
                "today": [{"act": "wait", "do": f"Wait for {name}."}],
            }  # fmt: skip
    elif kind == "link":
        signs = [s for s in catalog.signs if s not in {x.sign for x in cause.signs} and not catalog.signs[s].healthy]
        parts = {"link": {"cause": cause.id, "sign": rng.choice(signs), "seen": rng.choice(SEEN)}}
    elif kind == "likelier":
        parts = {"likelier": {"cause": cause.id, "when": rng.choice(fresh), "strength": rng.choice(STRENGTHS)}}
    elif kind == "fact":
        number = rng.choice([q for q in catalog.questions.values() if q.kind == "number" and q.id != "age_days"])
        low, high = number.minimum or 0.0, number.maximum if number.maximum is not None else 1000.0
        limit = f"{low + rng.random() * (high - low):.4g}"
        when = {"all": [{"ask": number.id, "above": limit}, {"rind": [rng.choice(sorted(catalog.styles))]}]}
        parts = {
            "circumstance": {"id": name, "means": f"{name} is so", "when": when, "how_common": "some makers"},
            "likelier": {"cause": cause.id, "when": name, "strength": rng.choice(STRENGTHS)},
        }
    elif kind == "remedy":
        act = rng.choice(sorted(a for a in catalog.acts if a != "serve"))  # which no house rule may have
        parts = {
            "remedy": {"cause": cause.id, "at": rng.choice(("today", "next_make")), "act": act, "do": f"Do {name}."}
        }
    elif kind == "change":
        linked = rng.choice([c for c in causes if c.signs])
        parts = {"change": {"cause": linked.id, "sign": rng.choice(linked.signs).sign, "to": rng.choice(SEEN)}}
    elif kind == "derive":
        word = rng.choice([q for q in catalog.questions.values() if q.kind == "yes_no"])
        parts = {"derive": {"circumstance": rng.choice(free).id, "when": {"ask": word.id, "one_of": ["yes"]}}}
    else:
        parts = {"off": rng.choice(({"cause": cause.id}, {"cause": cause.id, "sign": rng.choice(cause.signs).sign}))}
    examples = {"examples": {"speaks": [speaks], "silent": [{name: "no"}]}} if speaks else {}
    return {"rule": name, **HEAD, **parts, **examples}


def text_of(rule: Mapping[str, Any]) -> str:
    """The file of a rule."""
    return rule_text(rule)


def entry_of(rule: Mapping[str, Any] | str) -> Entry:
    """A rule, read as from its file; any fault fails the test."""
    text = rule if isinstance(rule, str) else text_of(rule)
    named = re.search(r"^rule: (\w+)", text, re.MULTILINE)
    entry, faults = read_rule(text, f"{named.group(1) if named else 'nameless'}.yaml")
    assert entry is not None, [str(f) for f in faults]
    return entry


def rules_of(catalog: Catalog, count: int, seed: int, kinds: Iterable[str] = KINDS) -> list[dict[str, Any]]:
    """Many sound rules of all kinds."""
    rng, each = random.Random(seed), list(kinds)
    return [rule_of(rng, catalog, f"made_{k}", each[k % len(each)]) for k in range(count)]


@st.composite
def houses(draw: st.DrawFn, catalog: Catalog, most: int = 8, kinds: tuple[str, ...] = KINDS) -> list[Entry]:
    """A few rules, sound one by one; some may contradict each other."""
    chosen = draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=most))
    rng = random.Random(draw(st.integers(0, 2**32 - 1)))
    return [entry_of(rule_of(rng, catalog, f"made_{k}", kind)) for k, kind in enumerate(chosen)]


def meddler_of(rng: random.Random, catalog: Catalog, name: str) -> dict[str, Any]:
    """A rule, sound by itself, that would take away, weaken, shadow or talk down what a caution rests on."""
    safe = guarded(catalog)
    sign, circumstance, question = (rng.choice(sorted(ids)) for ids in (safe.signs, safe.circumstances, safe.questions))
    cause = rng.choice([c for c in catalog.causes.values() if c.cautions])
    word = rng.choice([w for w in sorted(grave_words(catalog.knowledge, safe)) if not promised(w)])
    asked = {"id": name, "ask": f"Is there {name}?", "kind": "yes_no", "about": "look", "effort": "glance"}
    mine = {"id": name, "name": f"dots of {name}", "on_sound_rinds": "often"}
    yes = {"ask": name, "one_of": ["yes"]}
    own = {
        "id": cause.id, "kind": cause.kind, "name": cause.name, "what": "Nothing to see. Invented.",
        "rinds": list(cause.rinds), "base_rate": "rare", "signs": [{"sign": cause.signs[0].sign, "seen": "rarely"}],
    }  # fmt: skip
    ways: list[dict[str, Any]] = [
        {"off": {"sign": sign}},
        {"off": {"circumstance": circumstance}},
        {"off": {"cause": cause.id}},
        {"change": {"sign": sign, "to": "nearly always"}},
        {"change": {"circumstance": circumstance, "to": "most makers"}},
        {"change": {"cause": cause.id, "to": "rare"}},
        {"question": asked, "derive": {"circumstance": circumstance, "when": {"none": [yes]}}},
        {"question": asked, "sign": {**mine, "id": sign, "when": yes}, "replaces": sign},
        {"question": asked, "sign": {**mine, "id": sign, "when": yes}},
        {"question": {**asked, "id": question}, "sign": {**mine, "when": {"ask": question, "one_of": ["yes"]}}},
        {"question": {**asked, "screen": "true", "topic": "everything"}, "sign": mine},
        {"question": asked, "sign": {**mine, "words": [word]}},
        {"question": {**asked, "words": [word]}, "sign": mine},
        {"question": asked, "sign": mine, "against": {"cause": cause.id, "sign": name, "strength": "strong"}},
        {"cause": own, "replaces": cause.id},
        {"question": asked, "sign": mine, "replaces": rng.choice(sorted(safe.cautions))},
    ]
    return {"rule": name, **HEAD, **rng.choice(ways)}


@st.composite
def meddlers(draw: st.DrawFn, catalog: Catalog, most: int = 6) -> list[Entry]:
    """A few rules that mean no good."""
    rng = random.Random(draw(st.integers(0, 2**32 - 1)))
    return [entry_of(meddler_of(rng, catalog, f"meddler_{k}")) for k in range(draw(st.integers(1, most)))]
