"""Random inputs shared by the tests: answers that fit the knowledge, and small belief networks."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import lru_cache

from hypothesis import strategies as st
from rindwright.engine.answers import UNKNOWN, Answers, Value
from rindwright.engine.belief import Finding, Network
from rindwright.engine.catalog import Catalog
from rindwright.engine.conditions import leaves
from rindwright.engine.model import Condition, Question


def styles_of(catalog: Catalog, family: str) -> list[str]:
    """The styles of a family, sorted, for a choice at random."""
    return sorted(style.id for style in catalog.families[family].styles)


@lru_cache(maxsize=8)
def _limits(catalog: Catalog) -> dict[str, tuple[float, ...]]:
    """Every limit that a rule sets on a number: values on and beside it tell rules apart."""
    found: dict[str, set[float]] = {}

    def note(condition: Condition | None) -> None:
        for leaf in leaves(condition) if condition else ():
            for limit in (leaf.below, leaf.at_most, leaf.above, leaf.at_least):
                if leaf.ask and limit is not None:
                    found.setdefault(leaf.ask, set()).update((limit, limit - 0.5, limit + 0.5))

    for conditions in (catalog.circumstances, catalog.signs, catalog.cautions):
        for thing in conditions.values():
            note(thing.when)
    return {name: tuple(sorted(values)) for name, values in found.items()}


@lru_cache(maxsize=1024)
def value_of(catalog: Catalog, name: str) -> st.SearchStrategy[Value]:
    """Any known answer that a question takes."""
    question = catalog.questions[name]
    if question.kind == "yes_no":
        return st.sampled_from(("yes", "no"))
    if question.kind == "scale":
        return st.sampled_from(("no", "slight", "clear"))
    options = [o.id for o in question.options]
    if question.kind == "one_of":
        return st.sampled_from(options)
    if question.kind == "some_of":
        return st.lists(st.sampled_from(options), min_size=1, max_size=3).map(lambda chosen: tuple(sorted(set(chosen))))
    low = question.minimum if question.minimum is not None else 0.0
    high = question.maximum if question.maximum is not None else low + 1000.0
    limits = [x for x in _limits(catalog).get(name, ()) if low <= x <= high]
    anything = st.floats(low, high, allow_nan=False).map(lambda x: round(x, 2)).filter(lambda x: low <= x <= high)
    return st.one_of(st.sampled_from(limits), anything) if limits else anything


@lru_cache(maxsize=64)
def put_to(catalog: Catalog, style: str) -> list[str]:
    """Questions that are put to a style."""
    kind = catalog.styles[style]
    names = {kind.id, kind.group, catalog.home[style]}
    return [q.id for q in catalog.questions.values() if not q.rinds or names & set(q.rinds)]


@st.composite
def answers_of(
    draw: st.DrawFn,
    catalog: Catalog,
    max_size: int = 25,
    unknowns: bool = True,
    listing: bool = True,
    leave: frozenset[str] = frozenset(),
    family: str | None = None,
) -> Answers:
    """A valid set of answers: the cheese mostly known, then questions, some "don't know".

    The cheese is of any family, or of the one asked for. Most answers are to questions that are put to such a cheese;
    some are to any, as an answers file may hold them. ``leave`` names questions that stay unasked.
    """
    given: dict[str, Value] = {}
    fitting = list(catalog.questions)
    if family is not None or draw(st.integers(0, 9)):
        kind = catalog.families[family or draw(st.sampled_from(sorted(catalog.families)))]
        style = draw(st.sampled_from(kind.styles))
        given["family"] = kind.id
        given["style"] = style.id
        counted_from = draw(st.sampled_from(("age_days", "age_days", "age_days", "made_days_ago", "")))
        if counted_from:
            given[counted_from] = float(draw(st.integers(0, int(1.4 * style.ready_day))))
        if draw(st.integers(0, 3)):
            fitting = put_to(catalog, style.id)
    names = draw(st.lists(st.sampled_from(fitting), unique=True, max_size=max_size))
    for name in names:
        if name not in given:
            skip = unknowns and not draw(st.integers(0, 7))
            given[name] = UNKNOWN if skip else draw(value_of(catalog, name))
    kept = {name: value for name, value in given.items() if name not in leave}
    return Answers.of(kept, listing and draw(st.booleans()))


@st.composite
def ways_of_writing(draw: st.DrawFn, question: Question, value: str) -> str:
    """A word as people type it: other letter case, stray spaces, another Unicode form."""
    words = value.split(" ")
    blank = st.sampled_from((" ", "  ", "\t", "\u00a0"))
    text = draw(blank).join(words)
    text = draw(st.sampled_from((str.upper, str.lower, str.title, str.swapcase)))(text)
    if draw(st.booleans()):  # full-width letters and digits, as some keyboards give them
        text = "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in text)
    return draw(st.sampled_from(("", " ", "\n "))) + text + draw(st.sampled_from(("", " ", "\u3000")))


def number_of(rng: random.Random, low: float, high: float) -> float:
    """A number between two bounds, as likely near the small end as near the large."""
    return float(low * (high / low) ** rng.random())


def finding_of(rng: random.Random, nodes: Sequence[int], answer: str) -> Finding:
    """A finding on some nodes: answer is yes, no, graded yes, graded no or blank."""
    links = tuple((node, rng.uniform(0.02, 0.98)) for node in nodes)
    there, absent = {
        "yes": (1.0, 0.0),
        "no": (0.0, 1.0),
        "graded yes": (rng.uniform(0.4, 0.95), rng.uniform(0.01, 0.35)),
        "graded no": (rng.uniform(0.02, 0.35), rng.uniform(0.4, 0.98)),
        "blank": (0.5, 0.5),
    }[answer]
    return Finding(number_of(rng, 0.002, 0.6), links, there, absent)


def network_of(rng: random.Random, size: int, answers: Sequence[str], feeds: int, most_links: int = 4) -> Network:
    """A random network; feeding runs from a lower to a higher place in a random order."""
    rank = list(range(size))
    rng.shuffle(rank)
    base = tuple(number_of(rng, 0.002, 0.5) for _ in range(size))
    fed: dict[tuple[int, int], float] = {}
    for _ in range(feeds if size > 1 else 0):
        a, b = sorted(rng.sample(range(size), 2))
        fed[(rank[a], rank[b])] = rng.uniform(0.02, 0.95)
    findings = tuple(
        finding_of(rng, rng.sample(range(size), rng.randint(0 if k % 5 == 4 else 1, min(size, most_links))), answer)
        for k, answer in enumerate(answers)
    )
    return Network(base, tuple((a, b, q) for (a, b), q in fed.items()), findings)


ANSWERS = ("yes", "no", "graded yes", "graded no", "blank")


@st.composite
def networks(draw: st.DrawFn, max_nodes: int = 10, max_findings: int = 8) -> Network:
    """Small random networks, with every kind of answer and with feeding."""
    size = draw(st.integers(1, max_nodes))
    answers = draw(st.lists(st.sampled_from(ANSWERS), max_size=max_findings))
    feeds = draw(st.integers(0, size))
    return network_of(random.Random(draw(st.integers(0, 2**32 - 1))), size, answers, feeds)
