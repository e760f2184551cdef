"""A diagnosis laid out in the order of need.

Cautions first; then what it is and whether it is normal; today; why; the next make; when to
look again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from ..engine.catalog import Catalog
from ..engine.house.voices import of_cause, on_cause
from ..engine.model import Caution
from .house_words import cause_named, tag, whose
from .learnt_words import of_cause as learnt_of
from .learnt_words import of_reason as learnt_behind
from .pen import Pen
from .sentences import (
    capital,
    dating_line,
    details,
    ground,
    percent,
    question_line,
    ranked_line,
    reason_line,
)

if TYPE_CHECKING:
    from ..engine.archive.learnt import Beside
    from ..engine.diagnosis import Diagnosis, RankedCause
    from ..engine.planning import PlannedStep

LEVEL_WORDS = {"stop": "STOP", "hold": "HOLD", "note": "Note"}
NO_FINDING_OF_SAFETY = (
    "This is not a finding of safety: many hazards cannot be seen, smelt or tasted. Follow your local "
    "food law, your food authority and the conditions of your licence."
)
LISTED = 4
NONE_SPOKEN_FOR = "Nothing you said speaks for one of them; these are merely possible"
TOLD_FROM = 0.15
"""From this probability on it is told what speaks for a cause."""


def show(
    pen: Pen,
    catalog: Catalog,
    d: Diagnosis,
    formulas: bool = False,
    noun: str = "the rind",
    own: Beside | None = None,
    alone: str = "rindwright weigh FILE --beside",
) -> None:
    """Print a whole diagnosis of a rind, whose living part is called ``noun``.

    ``formulas`` adds how amounts were worked out; ``own`` is what was learnt from the maker's confirmed looks;
    ``alone`` is the command that shows what the packaged knowledge alone says.
    """
    show_grave(pen, d.cautions)
    _what(pen, catalog, d, own)
    _today(pen, catalog, d, noun)
    _figures(pen, d)
    _why(pen, catalog, d, own)
    _next_make(pen, catalog, d)
    _look_again(pen, catalog, d)
    _notes(pen, d)
    if formulas:
        _formulas(pen, d)
    _house(pen, catalog, alone)
    pen.heading("What was asked, and what this is not")
    _asked(pen, catalog, d)
    pen.line(NO_FINDING_OF_SAFETY)


def taught(pen: Pen, looks: int) -> None:
    """Say that the maker's own outcomes had a part in the figures."""
    if looks:
        pen.line(f"Weighed with what your {looks} confirmed looks taught, beside the cited knowledge: rindwright learn")


def show_grave(pen: Pen, cautions: Iterable[Caution]) -> None:
    """Stops, holds and urgent notes, whole: what is the matter, what to do, what it touched, which test.

    Beside a stop a hold is one line, so that nothing milder stands between a tired maker and what to do.
    """
    grave = [c for c in cautions if c.level != "note" or c.urgent]
    beside = [c for c in grave if c.level == "hold"] if any(c.level == "stop" for c in grave) else []
    for c in grave:
        if c in beside:
            continue
        pen.heading(f"{'Take care' if c.urgent else LEVEL_WORDS[c.level]}: {c.title}")
        pen.line(c.text)
        for act in c.do:
            pen.item("- ", act)
        for label, text in details(c):
            pen.line(f"{label}: {text}")
        pen.line("Source: " + ", ".join(c.sources), "dim")
    if beside:
        pen.heading("HOLD, beside the stop")
        for c in beside:
            pen.item("- ", f"{c.title}. {c.while_waiting}")
        pen.line(f"All about each, with test and sample: rindwright card NAME, such as {beside[0].id}.", "dim")


def _what(pen: Pen, catalog: Catalog, d: Diagnosis, own: Beside | None) -> None:
    pen.heading("What it is")
    if d.verdict == "normal":
        pen.line(
            f"Normal for this age, as far as you have told. No fault of the rind: {percent(d.normal.probability)}.",
            "bold",
        )
        for row in d.normal.rows:
            known = catalog.normal[row]
            pen.item("- ", f"{capital(known.name)}. {known.why} It becomes a fault when: {known.fault_when}")
        if d.screen_untold:
            pen.line("That is about the rind only: the questions for safety were not all answered. See the end.")
    elif d.verdict in ("stop", "hold"):
        if d.lead is not None:
            said = f"{capital(d.lead.word)}: {d.lead.title} ({percent(d.lead.probability)})."
            pen.line(said + tag(on_cause(catalog, d.lead.id)), "bold")
        pen.line("What went wrong with the rind does not change what is said above.")
    elif d.verdict == "undecided":
        pen.line("Undecided: no cause stands out yet.", "bold")
        pen.line(
            f"No fault of the rind: {percent(d.normal.probability)}. Something this tool does not know: "
            f"{percent(d.unknown_cause)}."
        )
    elif d.lead is not None:
        pen.line(
            f"{capital(d.lead.word)}: {d.lead.title} ({percent(d.lead.probability)})."
            + tag(on_cause(catalog, d.lead.id)),
            "bold",
        )
        pen.line(
            f"No fault of the rind: {percent(d.normal.probability)}. Something this tool does not know: "
            f"{percent(d.unknown_cause)}."
        )
    if d.verdict not in ("normal", "stop", "hold"):
        for row in d.normal.rows:
            pen.item("- ", f"Normal at this age: {catalog.normal[row].name}.")
    if d.verdict != "normal":
        _ranking(pen, catalog, "What may have grown or formed:", [c for c in d.causes if c.kind == "takeover"], own)
    if d.odd_answers:
        pen.line("So many signs at once do not look like one cheese. Check the answers.")
    if d.approximate:
        pen.line("These figures are approximate: the answers point in too many directions at once.")


def _today(pen: Pen, catalog: Catalog, d: Diagnosis, noun: str) -> None:
    pen.heading("Today")
    if d.verdict == "stop":
        pen.line("No rescue and no tasting for this cheese. Do what the stop above says.")
        pen.line("Keep the record of it: the next make can learn from it.")
        return
    if d.verdict == "hold":
        pen.line("Until the hold above is lifted, do nothing that wets, rubs or cuts it.")
    if not d.plan.today:
        pen.line("Carry on as planned." if d.verdict == "normal" else "Wait, and look more closely.")
    _steps(pen, catalog, d.plan.today)
    for out in d.plan.left_out:
        pen.item(
            "- ",
            f"Left out, because it pulls against the step for {cause_named(catalog, out.against, True)} "
            f"({out.what}): {out.do}{tag(catalog.marks(out.sources))}",
            style="dim",
        )
    if d.plan.left_out:
        pen.line("Do the steps above first. If they do not help, the other way round may be right.")
    if d.verdict == "undecided" and d.next_question is not None:
        pen.line(f"It would help most to know: {question_line(catalog, d.next_question.id, noun)}")


def _steps(pen: Pen, catalog: Catalog, steps: Sequence[PlannedStep]) -> None:
    shown: set[str] = set()
    for k, step in enumerate(steps, 1):
        pen.item(f"{k}. ", step.do)
        if step.amount:
            pen.item("", capital(step.amount) + ".", indent=3)
        names = " and ".join(catalog.causes[c].name.lower() for c in step.causes)
        pen.item("", f"For: {names}. {ground(catalog, step.sources)}", indent=3, style="dim")
        if step.act not in shown and step.hygiene:
            pen.item("", "Take care: " + " ".join(step.hygiene), indent=3)
        shown.add(step.act)


def _figures(pen: Pen, d: Diagnosis) -> None:
    if d.figures:
        pen.heading("Worked out from your figures")
    for figure in d.figures:
        pen.item("- ", figure.says)


def _why(pen: Pen, catalog: Catalog, d: Diagnosis, own: Beside | None) -> None:
    leaders = [c for c in d.causes if c.probability >= TOLD_FROM][:3]
    if d.verdict == "normal" or not d.causes:
        return
    pen.heading("Why")
    faults = [c for c in d.causes if c.kind == "fault"]
    _ranking(pen, catalog, "What in the process may have done it:", faults, own)
    for c in leaders:
        pen.line()
        pen.line(f"{c.title}: what speaks for it", "bold")
        pen.line(catalog.causes[c.id].what)
        for mark in of_cause(catalog, c.id):
            pen.line(f"{capital(whose(mark))}.", "dim")
        for r in c.reasons_for[:3]:
            pen.item("+ ", reason_line(catalog, r, d.chained, learnt_behind(own, c.id, r.by)))
        for r in c.reasons_against[:2]:
            pen.item("- against: ", reason_line(catalog, r, d.chained, learnt_behind(own, c.id, r.by)))
        for t in d.dated:
            if t.cause == c.id:
                pen.item("", dating_line(t))
        if c.weak:
            pen.item("", "The sources leave this wide open.", style="dim")
    if d.fragile and leaders:
        pen.line("Fragile: slightly different weights would put another cause first.")


def _next_make(pen: Pen, catalog: Catalog, d: Diagnosis) -> None:
    if d.plan.next_make or d.verdict == "stop":
        pen.heading("At the next make")
    _steps_plain(pen, catalog, d.plan.next_make)
    if d.verdict == "stop" and not d.plan.next_make:
        pen.line("No cause of the rind's trouble stands out, so no step has a ground yet. More answers may bring one.")


def _steps_plain(pen: Pen, catalog: Catalog, steps: Sequence[PlannedStep]) -> None:
    for k, step in enumerate(steps, 1):
        amount = f" {capital(step.amount)}." if step.amount else ""
        pen.item(f"{k}. ", f"{step.do}{amount} ({ground(catalog, step.sources)})")


def _formulas(pen: Pen, d: Diagnosis) -> None:
    steps = [step for step in (*d.plan.today, *d.plan.next_make) if step.amount_formula]
    if steps:
        pen.heading("How the amounts were worked out")
    for amount, formula in dict.fromkeys((step.amount, step.amount_formula) for step in steps):
        pen.item("- ", f"{capital(amount)}. {formula}")


def _look_again(pen: Pen, catalog: Catalog, d: Diagnosis) -> None:
    if d.plan.look_again_days is None:
        return
    days = d.plan.look_again_days
    pen.heading(f"Look again in {days} day{'' if days == 1 else 's'}")
    pen.line(d.plan.expect + tag(of_cause(catalog, d.causes[0].id)))
    if d.plan.otherwise:
        pen.line(d.plan.otherwise)


def _notes(pen: Pen, d: Diagnosis) -> None:
    notes = [c for c in d.cautions if c.level == "note" and not c.urgent]
    if notes:
        pen.heading("Notes that go with every result")
    for c in notes:
        pen.item("- ", f"{c.title}: {c.text}")
        if c.differs:
            pen.item("", f"Advice differs: {c.differs}", indent=2)
    if notes:
        pen.line(f"What to do about each: rindwright card NAME, such as {notes[0].id}.", "dim")


def _house(pen: Pen, catalog: Catalog, alone: str) -> None:
    """Which house rules had a part in it: nobody but the house has checked them."""
    marks = catalog.knowledge.house
    if not marks:
        return
    pen.heading("House rules")
    count = "1 house rule is" if len(marks) == 1 else f"{len(marks)} house rules are"
    pen.line(f"{count} in force beside the packaged knowledge: what this house says, checked by nobody else.")
    for m in marks[:LISTED]:
        pen.item("- ", f"{m.rule}, {m.owner}, {m.date}")
    if len(marks) > LISTED:
        pen.line("All of them: rindwright rules list")
    off = [f"{what} ({m.rule})" for m in marks for what in m.switches_off]
    if off:
        pen.item("", "Switched off here: " + ", ".join(off) + ".")
    pen.line(f"What the packaged knowledge alone says: {alone}")


def _asked(pen: Pen, catalog: Catalog, d: Diagnosis) -> None:
    """What of the safety screen was answered and what was not, always both."""
    told, untold = (", ".join(catalog.questions[q].topic for q in ids) for ids in (d.screen_told, d.screen_untold))
    if not told:
        pen.line("None of the safety questions was answered: nothing here speaks of whether to keep it.")
    elif d.verdict not in ("stop", "hold") and not any(c.urgent for c in d.cautions):
        pen.line("No red flag stands among the answers given.")
    pen.line(f"Asked for safety, and answered: {told or 'nothing'}.")
    pen.line(f"Not asked, or not known: {untold or 'nothing of these questions'}.")


def _ranking(pen: Pen, catalog: Catalog, title: str, causes: Sequence[RankedCause], own: Beside | None) -> None:
    """Causes that something speaks for, and in one line those that are merely common: a rare sign is not theirs."""
    spoken_for = [c for c in causes if c.reasons_for][:LISTED]
    common = [c for c in causes[:LISTED] if not c.reasons_for]
    if spoken_for or common:
        pen.line(title)
    for c in spoken_for:
        pen.item("- ", ranked_line(c) + tag(on_cause(catalog, c.id)))
        said = learnt_of(own, c.id)
        if said:
            pen.item("", said, indent=2, style="dim")
    if common:
        names = ", ".join(f"{cause_named(catalog, c.id, True)} {percent(c.probability)}" for c in common)
        start = "Also possible, though nothing you said speaks for it" if spoken_for else NONE_SPOKEN_FOR
        pen.line(f"{start}: {names}.")
