"""What the answers come to: the best guess so far, a stop as soon as it stands, the result."""

from __future__ import annotations

import click

from ...engine.archive.learnt import beside
from ...engine.catalog import Catalog
from ...engine.diagnosis import Diagnoser, Diagnosis
from .. import as_json as shapes
from ..house_words import cause_named
from ..pen import Pen
from ..phrasing import noun_of
from ..report import show, taught
from ..sentences import percent
from .look import Look


def guess(pen: Pen, catalog: Catalog, d: Diagnosis) -> None:
    """The best guess so far, in a line or two."""
    if d.screen_untold:
        pen.line("The questions for safety are not all answered: so far this is about the rind only.")
    for c in d.cautions:
        if c.level != "note":
            pen.item("! ", f"{c.level.upper()}: {c.title}. {c.text}")
    if d.verdict == "normal":
        pen.line(
            f"Best guess so far: normal for this age ({percent(d.normal.probability)} that the rind has no fault)."
        )
    else:
        first = ", then ".join(f"{cause_named(catalog, c.id)} ({percent(c.probability)})" for c in d.causes[:3])
        pen.line(f"Best guess so far: {first or 'nothing stands out'}.")


def result(pen: Pen, catalog: Catalog, look: Look, diagnoser: Diagnoser, as_json: bool) -> None:
    """Weigh the look as it stands, keep what it came to, and show it.

    Whoever asks for the result before the safety questions are through has passed them over. That is kept with the
    answers, so that weighing the look again can only come to the same.
    """
    _, _, safety = diagnoser.prepare(look.answers, frozenset(look.skipped))
    never_put = [id for id in safety.untold if look.answers.get(id) is None]
    look.pass_over([id for id in never_put if safety.level != "stop" or id in look.skipped])
    d = diagnoser.diagnose(look.answers, frozenset(look.skipped))
    look.finish(catalog, d)
    found = look.learnt(catalog)
    own = beside(found, catalog, look.answers, d.chained)
    noun = noun_of(catalog, look.answers)
    if as_json:
        click.echo(shapes.text(shapes.diagnosis(catalog, d, noun, found, own)))
    else:
        show(pen, catalog, d, noun=noun, own=own, alone=f'rindwright past show "{look.name}" --beside')
        taught(pen, found.looks)
    if look.trouble:  # said again: it is the last thing on the screen
        pen.line()
        pen.line(f"What this came to could not be saved. {look.trouble}", "bold")
