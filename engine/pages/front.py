"""The first page: what the catalogue holds, and how much of it rests on what."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from ..catalog import GRADES, Catalog
from .causes import causes_on
from .claims import GRADE_MEANS, Claim, by_grade, claims, grade_cells
from .investigations import Outcome, tally
from .markdown import bullets, counted, grade_name, page, table
from .sparse import SparseOutcome, shares


def front_page(catalog: Catalog, reached: Sequence[Outcome], sparse: Sequence[SparseOutcome]) -> str:
    """Counts by grade: over all, by what is claimed, by kind of rind."""
    every = list(claims(catalog))
    about: dict[str, list[Claim]] = defaultdict(list)
    for claim in every:
        about[claim.about].append(claim)
    rows = [[kind, *grade_cells(by_grade(catalog, found))] for kind, found in about.items()]
    rows.append(["**all claims**", *grade_cells(by_grade(catalog, every))])
    heads = ["claims about", *map(grade_name, GRADES), "on print"]
    return page(
        "# Catalogue of the knowledge",
        "Written by `python -m rindwright.engine.pages` from the files beside this folder. Change those, not these "
        "pages. Days count from the end of salting (day 0). Nothing here says that a cheese may be eaten: the stops "
        "and holds of the tool, local food law and licensed practice come first.",
        bullets(
            [
                f"[Families](families.md): {counted(len(catalog.families), 'kind')} of rind, "
                f"{counted(len(catalog.styles), 'style')}",
                f"[Causes](causes.md): {len(catalog.causes)}, each with its own page",
                f"[Signs](signs.md): {len(catalog.signs)}",
                f"[Organisms and look-alikes](organisms.md): {len(catalog.organisms)}",
                f"[Sources](sources.md): {len(catalog.sources)}, each with how far it was checked",
                f"[Published investigations](investigations.md): {len(reached)}, misses included. {tally(reached)}",
                f"[Two or three signs and nothing else](sparse.md): {shares(catalog, sparse)}",
            ]
        ),
        "## What the grades mean",
        "A claim has the grade of its first source. Sources after it are what it leans on.",
        table(["grade", "meaning"], ((grade_name(g), text) for g, text in GRADE_MEANS.items())),
        "## How much rests on what",
        "How often a sign shows with a cause has hardly ever been counted by anyone. Those words are judgement, and "
        "the table says so: a low share in the last column is weak knowledge.",
        table(heads, rows),
        "## By kind of rind",
        "All claims of the causes that can occur on it.",
        table(["kind of rind", "causes", *map(grade_name, GRADES), "on print"], _by_family(catalog, every)),
    )


def _by_family(catalog: Catalog, every: Sequence[Claim]) -> list[list[object]]:
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for claim in every:
        if claim.id in catalog.causes:
            counts[claim.id][catalog.grade(claim.sources)] += 1
    rows: list[list[object]] = []
    for family in catalog.families.values():
        found = causes_on(catalog, family.id)
        total: Counter[str] = sum((counts[id] for id in found), Counter())
        rows.append([f"[{family.name}](families.md)", len(found), *grade_cells(total)])
    return rows
