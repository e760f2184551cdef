"""The catalogue: the knowledge as Markdown pages that are read without the programme.

``python -m rindwright.engine.pages`` writes them; a test keeps them fresh. ``markdown`` lays text out, ``claims``
counts how well it is founded, ``causes`` and ``lists`` are the pages of the knowledge, ``investigations`` holds it
against print, ``sparse`` asks what two or three signs are worth, ``front`` sums up.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..diagnosis import Diagnoser
from .causes import cause_page, causes_page
from .front import front_page
from .investigations import Investigation, investigations_page, outcomes
from .lists import families_page, organisms_page, signs_page, sources_page
from .sparse import SparseOutcome, sparse_page


def pages(
    diagnoser: Diagnoser, investigations: Sequence[Investigation], sparse: Sequence[SparseOutcome]
) -> dict[str, str]:
    """Every page: its place inside the catalogue, such as ``causes/box_too_wet.md``, and its text."""
    catalog = diagnoser.catalog
    reached = outcomes(diagnoser, investigations)
    found = {
        "README.md": front_page(catalog, reached, sparse),
        "families.md": families_page(catalog),
        "causes.md": causes_page(catalog),
        "signs.md": signs_page(catalog),
        "organisms.md": organisms_page(catalog),
        "sources.md": sources_page(catalog, investigations),
        "investigations.md": investigations_page(catalog, reached),
        "sparse.md": sparse_page(catalog, sparse),
    }
    found.update((f"causes/{id}.md", cause_page(catalog, id)) for id in catalog.causes)
    return found
