"""The pages of causes: one for each, and a list of all with how well they are founded."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass

from ..catalog import GRADES, Catalog
from ..model import Cause, Step
from .claims import claims, founded_pct, grade_cells
from .markdown import bullets, capital, grade_name, ground, page, reference, rind_names, table, window

KIND_WORDS = {"fault": "fault of the process", "takeover": "something that has grown or formed"}


def causes_on(catalog: Catalog, family: str) -> list[str]:
    """Ids of the causes that can occur on a family, or on a group or style of it."""
    names = catalog.cheese(family, None, None).possible
    return [c.id for c in catalog.causes.values() if not c.rinds or not names.isdisjoint(c.rinds)]


def causes_page(catalog: Catalog) -> str:
    """Every cause with its rinds, and its claims by grade."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for claim in claims(catalog):
        counts[claim.id][catalog.grade(claim.sources)] += 1
    parts = [
        "# Causes",
        "[Catalogue](README.md). The last column is the share of a page's claims that rest on print. Most pages "
        "have few, for print says why a thing happens far more often than how often.",
    ]
    for kind, words in KIND_WORDS.items():
        found = sorted((c for c in catalog.causes.values() if c.kind == kind), key=lambda c: c.name)
        rows = [
            [f"[{c.name}](causes/{c.id}.md)", rind_names(c.rinds), c.base_rate, *grade_cells(counts[c.id])]
            for c in found
        ]
        parts += [
            f"## {capital(words)}",
            table(["cause", "on", "how common", *map(grade_name, GRADES), "on print"], rows),
        ]
    weakest = sorted(catalog.causes.values(), key=lambda c: (founded_pct(counts[c.id]), c.name))
    parts += [
        "## Where print would help most",
        "The ten causes with the smallest share of claims on print.",
        bullets(f"[{c.name}](causes/{c.id}.md): {founded_pct(counts[c.id])} %" for c in weakest[:10]),
    ]
    retired = [c for c in catalog.knowledge.causes if c.replaced_by]
    if retired:
        parts += [
            "## Given up",
            bullets(f"{c.name} ({c.id}): see {_link(catalog, c.replaced_by, 'causes/')}" for c in retired),
        ]
    return page(*parts)


def _link(catalog: Catalog, id: str, folder: str = "") -> str:
    cause = catalog.causes.get(id)
    return f"[{cause.name}]({folder}{id}.md)" if cause else id


def cause_page(catalog: Catalog, id: str) -> str:
    """All that is known of one cause."""
    c = catalog.causes[id]
    fed = [o for o in catalog.causes.values() if any(f.cause == id for f in o.leads_to)]
    return page(
        f"# {c.name}",
        f"[Causes](../causes.md). Id `{c.id}`. {capital(KIND_WORDS[c.kind])}, on {rind_names(c.rinds)}, "
        f"{window(c.from_day, c.to_day)}. {capital(c.base_rate)} ({ground(catalog, c.base_rate_sources)}).",
        f"{' '.join(c.what.split())} ({ground(catalog, c.sources)})",
        "## Signs, and how often they show with it" if c.signs else "",
        table(
            ["sign", "shows", "where and when", "stands on"],
            (
                [
                    catalog.signs[s.sign].name + (f" ({s.note})" if s.note else ""),
                    s.seen,
                    _where(s.rinds, s.from_day, s.to_day),
                    ground(catalog, s.sources),
                ]
                for s in c.signs
            ),
        ),
        "## Likelier when" if c.likelier else "",
        table(
            ["circumstance", "how strongly", "stands on"],
            (
                [
                    catalog.circumstances[s.when].means + (f" ({s.note})" if s.note else ""),
                    s.strength,
                    ground(catalog, s.sources),
                ]
                for s in c.likelier
            ),
        ),
        "## Speaks against it" if c.against else "",
        table(
            ["what", "how strongly", "stands on"],
            (
                [
                    (catalog.signs[a.sign].name if a.sign else catalog.circumstances[a.when].means)
                    + (f" ({a.note})" if a.note else ""),
                    a.strength,
                    ground(catalog, a.sources),
                ]
                for a in c.against
            ),
        ),
        "## Told apart from",
        bullets(f"{_link(catalog, m.cause)}: {m.tell} ({ground(catalog, m.sources)})" for m in c.mistaken_for),
        "## What leads where" if c.leads_to or fed else "",
        bullets(
            [
                *(
                    f"Leads to {_link(catalog, f.cause)}: {f.strength} ({ground(catalog, f.sources)})"
                    for f in c.leads_to
                ),
                *(f"Comes from {_link(catalog, o.id)}" for o in fed),
            ]
        ),
        "## Today",
        _steps(catalog, c.today),
        "## At the next make",
        _steps(catalog, c.next_make),
        f"Look again after {c.look_again.after_days} days. {c.look_again.expect} {c.look_again.otherwise}".strip()
        if c.look_again
        else "",
        "## What it may be" if c.organisms else "",
        bullets(f'{o.name}: by eye only "{o.group}"' for o in (catalog.organisms[x] for x in c.organisms)),
        "## What is not known" if c.limits else "",
        " ".join(c.limits.split()),
        "## Sources of this page",
        _sources(catalog, c),
    )


def _where(rinds: Sequence[str], from_day: int, to_day: int | None) -> str:
    parts = [rind_names(rinds)] if rinds else []
    if from_day or to_day is not None:
        parts.append(window(from_day, to_day))
    return ", ".join(parts) or "anywhere"


def _steps(catalog: Catalog, steps: Sequence[Step]) -> str:
    lines = []
    for n, s in enumerate(steps, 1):
        only = f" On {rind_names(s.rinds)} only." if s.rinds else ""
        asks = " The tool asks first whether it fits this cheese." if s.only_if or s.unless else ""
        lines.append(f"{n}. {' '.join(s.do.split())}{only}{asks} ({ground(catalog, s.sources)})")
    return "\n".join(lines)


def _sources(catalog: Catalog, cause: Cause) -> str:
    ids = sorted({s for found in _named_in(cause) for s in found})
    sources = [catalog.sources[id] for id in ids if id in catalog.sources]
    return table(
        ["source", "reference", "how far it was checked"],
        ([s.id, reference(s), s.checked] for s in sources),
    )


def _named_in(thing: object) -> Iterator[tuple[str, ...]]:
    if isinstance(thing, tuple):
        for part in thing:
            yield from _named_in(part)
    elif is_dataclass(thing):
        for f in fields(thing):
            value = getattr(thing, f.name)
            yield from ((value,) if f.name.endswith("sources") else _named_in(value))
