"""How well the knowledge is founded: every claim, what it is about, and the grade of its first source."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass

from ..catalog import GRADES, Catalog

GRADE_MEANS = {
    "published": "a paper, review, standard, law or authority says so",
    "handbook": "a handbook says so",
    "trade": "an adviser's, maker's or encyclopaedia page says so",
    "practice": "common practice of the trade, no source",
    "memory": "judgement of the authors, or from memory: nobody has measured it, or it was not looked up",
    "house": "a rule of this house",
}
FOUNDED = ("published", "handbook")
"""Grades that rest on print."""

_ABOUT = {
    "base_rate": "how common a cause is",
    "likelier": "what makes a cause likelier",
    "signs": "how often a sign shows with a cause",
    "against": "what speaks against a cause",
    "leads_to": "what a cause leads to",
    "mistaken_for": "how to tell look-alikes apart",
    "today": "what to do today",
    "next_make": "what to do at the next make",
}
_OF_CAUSES = "how a cause comes about"
_OTHERS = {
    "signs": "how often a sign shows on a sound rind",
    "circumstances": "limits of the process",
    "families": "the normal course",
    "normal": "what is normal at which age",
    "acts": "how to handle cheese",
    "cautions": "cautions",
    "organisms": "what lives or forms on rinds",
}


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim: what kind of claim, of which record, on which sources."""

    about: str
    id: str
    sources: tuple[str, ...]


def claims(catalog: Catalog) -> Iterator[Claim]:
    """Every claim of the knowledge, apart from retired causes and the table of words."""
    for cause in catalog.causes.values():
        for path, sources in _sources_in(cause):
            about = _ABOUT.get(path[0].removesuffix("_sources"), _OF_CAUSES)
            yield Claim(about, cause.id, sources)
    for kind, about in _OTHERS.items():
        for entry in getattr(catalog.knowledge, kind):
            for _, sources in _sources_in(entry):
                yield Claim(about, entry.id, sources)


def _sources_in(thing: object, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    if isinstance(thing, tuple):
        for part in thing:
            yield from _sources_in(part, path)
    elif is_dataclass(thing):
        for f in fields(thing):
            value = getattr(thing, f.name)
            if f.name.endswith("sources"):
                yield (*path, f.name), value
            else:
                yield from _sources_in(value, (*path, f.name))


def by_grade(catalog: Catalog, found: Sequence[Claim]) -> Counter[str]:
    """How many claims have each grade."""
    return Counter(catalog.grade(claim.sources) for claim in found)


def founded_pct(counts: Counter[str]) -> int:
    """Share of claims that rest on print, in whole percent."""
    total = sum(counts.values())
    return round(100 * sum(counts[g] for g in FOUNDED) / total) if total else 0


def grade_cells(counts: Counter[str]) -> list[object]:
    """The cells of a table row: each grade, then the share that rests on print."""
    return [*(counts[g] for g in GRADES), f"{founded_pct(counts)} %"]
