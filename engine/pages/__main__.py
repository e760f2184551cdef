"""``python -m rindwright.engine.pages KNOWLEDGE CASES PAGES`` writes the catalogue.

Three folders: the knowledge, the case files (``published``, ``worked``, ``normal``), and where the pages go.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ..diagnosis import Diagnoser
from ..reading import load_checked
from . import pages
from .investigations import read_all
from .sparse import read_sparse, sparse_outcomes


def write(knowledge: Path, cases: Path, folder: Path) -> None:
    """Write every page. Pages of what is there no more are left for their keeper to take away."""
    diagnoser = Diagnoser(load_checked(knowledge))
    sparse = sparse_outcomes(diagnoser, read_sparse(diagnoser, cases))
    for name, text in pages(diagnoser, read_all(cases / "published"), sparse).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(*(Path(argument) for argument in sys.argv[1:4]))
