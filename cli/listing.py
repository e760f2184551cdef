"""``rindwright questions`` and ``rindwright knowledge check``."""

from __future__ import annotations

from pathlib import Path

import click

from ..engine.answers import expected
from ..engine.catalog import Catalog
from ..engine.house.voices import of_question
from ..engine.reading import load_checked
from . import as_json as shapes
from .context import console, knowledge_folder, knowledge_in_force, screen_width
from .house_words import tag
from .pen import Pen
from .phrasing import asked
from .status import Status


def questions(as_json: bool, house: Path | None = None) -> Status:
    """Every question, for people or for machines."""
    catalog = Catalog(knowledge_in_force(house))
    if as_json:
        click.echo(shapes.text(shapes.questions(catalog)))
        return Status.DONE
    pen = Pen(console(), screen_width())
    for q in catalog.questions.values():
        pen.line(f"{q.id}: {asked(q)}{tag(of_question(catalog, q.id))}", "bold")
        pen.item("", f"Answer: {expected(q)}.", indent=2)
    return Status.DONE


def check(folder: Path | None) -> Status:
    """Read and review a folder of knowledge. Raises ``KnowledgeError`` with every fault."""
    place = folder or knowledge_folder()
    knowledge = load_checked(place)
    counts = ", ".join(
        f"{len(getattr(knowledge, kind))} {kind}"
        for kind in ("causes", "signs", "circumstances", "questions", "normal", "cautions", "organisms", "sources")
    )
    click.echo(f"No fault found: {counts}. Version {knowledge.version[:16]}.")
    return Status.DONE
