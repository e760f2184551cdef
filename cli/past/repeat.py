"""``rindwright past repeat``: from a lucky wheel to a protocol."""

from __future__ import annotations

from pathlib import Path

from ...engine.archive import makes
from ...engine.archive.repeat import Deviation, repeat, turned_out_well
from ...engine.catalog import Catalog
from ...engine.errors import FileProblem
from ..context import console, knowledge_in_force, screen_width
from ..house_words import question_put
from ..pen import Pen
from ..phrasing import in_words
from ..sentences import counted
from ..status import Status
from .looks import opened

LEAST = 0.02
"""Below this, in logs of "how many times likelier", nothing is known either way."""


def run(named: str | None, house: Path | None, title: str, no_color: bool) -> Status:
    """Show what differed at a wheel that turned out well."""
    from ...engine.diagnosis import Diagnoser

    diagnoser = Diagnoser(knowledge_in_force(house))
    with opened(named) as archive:
        wheel = makes.find_wheel(archive, title)
        well = turned_out_well(archive, wheel.id)
        if not well:
            told = "did not turn out well" if well is False else "has no outcome yet"
            raise FileProblem(
                f'Wheel "{wheel.title}" {told}. If it did turn out well, say so first: '
                "rindwright past outcome LOOK nothing --known-by own --taste good"
            )
        found = repeat(archive, diagnoser, wheel)
    pen = Pen(console(no_color), screen_width())
    write(pen, diagnoser.catalog, wheel.title, found)
    return Status.DONE


def write(pen: Pen, catalog: Catalog, title: str, found: list[Deviation]) -> None:
    """The protocol."""
    pen.line(f"To repeat {title}", "bold")
    if not found:
        pen.line("Nothing is known to have been different from the plan, or from your other wheels of this style.")
        return
    helped = [d for d in found if d.weight >= LEAST]
    unknown = [d for d in found if abs(d.weight) < LEAST]
    hindered = [d for d in found if d.weight <= -LEAST]
    if helped:
        pen.heading("Do again, most likely to have mattered first")
    for k, d in enumerate(helped, 1):
        pen.item(f"{k}. ", _line(catalog, d))
        pen.item("", _why(d), 3, "dim")
    if unknown:
        pen.heading("Also different; little or nothing is known of what it does. Keep it the same for now")
    for d in unknown:
        pen.item("- ", _line(catalog, d))
    if hindered:
        pen.heading("Different too, but more likely a hindrance")
    for d in hindered:
        pen.item("- ", _line(catalog, d))
        pen.item("", _why(d), 2, "dim")
    pen.line()
    pen.line(
        "One wheel proves nothing: change one thing at a time, make it again, and say what came of it. "
        "Cautions and food law stand above any protocol."
    )


def _line(catalog: Catalog, d: Deviation) -> str:
    question = catalog.questions[d.question]
    ground = "planned" if d.planned else "usual with you"
    return (
        f"{question_put(catalog, question)} {in_words(question, d.was)} ({ground}: {in_words(question, d.instead_of)})"
    )


def _why(d: Deviation) -> str:
    parts = []
    if abs(d.by_knowledge) >= LEAST:
        way = "fewer" if d.by_knowledge > 0 else "more"
        size = "much" if abs(d.by_knowledge) > 0.4 else "somewhat" if abs(d.by_knowledge) > 0.1 else "slightly"
        parts.append(f"by the knowledge {size} {way} faults")
    if d.outcomes and abs(d.by_outcomes) >= LEAST:
        side = "for" if d.by_outcomes > 0 else "against"
        speak = "speaks" if d.outcomes == 1 else "speak"
        parts.append(f"your own {counted(d.outcomes, 'outcome')} {speak} {side} it")
    return ("; ".join(parts) + ".").capitalize() if parts else ""
