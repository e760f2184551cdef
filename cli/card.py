"""``rindwright card``: all that is known of one thing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from ..engine.catalog import Catalog, asked
from ..engine.conditions import describe, leaves
from ..engine.errors import RindwrightError, nearest
from ..engine.house.voices import of_cause, of_question
from ..engine.model import Cause, Step
from .context import console, knowledge_in_force, screen_width
from .house_words import cause_named, gone, question_put, tag, whose
from .pen import Pen
from .sentences import GRADE_WORDS, details
from .status import Status


def run(id: str, no_color: bool, house: Path | None = None) -> Status:
    """Show a card. Raises ``RindwrightError`` with the nearest word when there is none."""
    show(Pen(console(no_color), screen_width()), Catalog(knowledge_in_force(house)), id)
    return Status.DONE


def show(pen: Pen, catalog: Catalog, id: str) -> None:
    """The card of one thing in one knowledge base. Raises ``RindwrightError`` when there is none."""
    pools: tuple[tuple[dict[str, object], Callable[[Pen, Catalog, str], None]], ...] = (
        (dict(catalog.causes), _cause),
        (dict(catalog.signs), _sign),
        (dict(catalog.acts), _act),
        (dict(catalog.circumstances), _circumstance),
        (dict(catalog.cautions), _caution),
        (dict(catalog.normal), _normal),
        (dict(catalog.organisms), _organism),
        (dict(catalog.questions), _question),
        (dict(catalog.sources), _source),
    )
    wanted = id.strip().casefold().replace(" ", "_").replace("-", "_")
    shown = [write for pool, write in pools if wanted in pool]
    if not shown:
        off = [m for m in catalog.knowledge.house if gone(m, wanted)]
        if off:
            raise RindwrightError(f'"{wanted}" is switched off here ({whose(off[0])}): rindwright rules show {wanted}')
        asking = [q for q in catalog.questions.values() if any(wanted == option.id for option in q.options)]
        if len(asking) == 1:
            raise RindwrightError(
                f'There is no card "{id}". It is an answer to the question "{asked(asking[0])}": '
                f"rindwright card {asking[0].id}"
            )
        names = [name for pool, _ in pools for name in pool]
        raise RindwrightError(f'There is no card "{id}"{nearest(wanted, names)}.')
    for write in shown:
        write(pen, catalog, wanted)


def _claim(catalog: Catalog, sources: Sequence[str]) -> str:
    marks = catalog.marks(sources)
    if marks:
        cited = [s for s in sources if s not in catalog.house]
        return "; ".join(whose(m) for m in marks) + (f"; before that: {', '.join(cited)}" if cited else "")
    return f"{GRADE_WORDS[catalog.grade(sources)]}: {', '.join(sources)}"


def _window(from_day: int, to_day: int | None) -> str:
    if to_day is None:
        return f"from day {from_day}" if from_day else "at any age"
    return f"day {from_day} to {to_day}"


def _cause(pen: Pen, catalog: Catalog, id: str) -> None:
    c = catalog.causes[id]
    kind = "a fault of the process" if c.kind == "fault" else "something that has grown or formed"
    pen.heading(f"{c.name} ({c.id})")
    common = c.base_rate + tag(catalog.marks(c.base_rate_sources))
    pen.line(f"Cause: {kind}; {', '.join(c.rinds)}; {_window(c.from_day, c.to_day)}; {common}.")
    pen.line(c.what)
    pen.line(_claim(catalog, c.sources), "dim")
    if c.likelier:
        pen.heading("Likelier when")
        for s in c.likelier:
            pen.item("- ", f"{catalog.circumstances[s.when].means}: {s.strength} ({_claim(catalog, s.sources)})")
    if c.shows_after:
        pen.line(f"Shows after {c.shows_after.days} days or more ({_claim(catalog, c.shows_after.sources)}).")
    pen.heading("Signs, and how often they show with it")
    for link in c.signs:
        where = f" on {', '.join(link.rinds)}" if link.rinds else ""
        note = f" {link.note}" if link.note else ""
        pen.item("- ", f"{catalog.signs[link.sign].name}{where}: {link.seen} ({_claim(catalog, link.sources)}){note}")
    if c.against:
        pen.heading("Speaks against it")
        for a in c.against:
            what = catalog.signs[a.sign].name if a.sign else catalog.circumstances[a.when].means
            pen.item("- ", f"{what}: {a.strength} ({_claim(catalog, a.sources)})")
    if c.leads_to:
        pen.heading("Leads to")
        for f in c.leads_to:
            pen.item("- ", f"{cause_named(catalog, f.cause)}: {f.strength} ({_claim(catalog, f.sources)})")
    fed = [o.id for o in catalog.causes.values() if any(f.cause == id for f in o.leads_to)]
    if fed:
        pen.line("Comes from: " + ", ".join(cause_named(catalog, o) for o in fed) + ".")
    pen.heading("Mistaken for")
    for look in c.mistaken_for:
        pen.item("- ", f"{catalog.causes[look.cause].name}: {look.tell}{tag(catalog.marks(look.sources))}")
    _plan(pen, catalog, "Today", c.today)
    _plan(pen, catalog, "At the next make", c.next_make)
    if c.look_again:
        pen.heading("Look again")
        said = f"After {c.look_again.after_days} days: {c.look_again.expect} {c.look_again.otherwise}"
        pen.line(said + tag(of_cause(catalog, id)))
    if c.limits:
        pen.heading("What is not known")
        pen.line(c.limits)


def _plan(pen: Pen, catalog: Catalog, title: str, steps: Sequence[Step]) -> None:
    pen.heading(title)
    for k, step in enumerate(steps, 1):
        pen.item(f"{k}. ", f"{step.do} ({_claim(catalog, step.sources)})")


def _sign(pen: Pen, catalog: Catalog, id: str) -> None:
    s = catalog.signs[id]
    pen.heading(f"{s.name[:1].upper()}{s.name[1:]} ({s.id})")
    pen.line("Sign" + (": speaks for health" if s.healthy else "") + f"; counts {_window(s.from_day, s.to_day)}.")
    question = catalog.questions.get(s.id if s.when is None else next(leaf.ask for leaf in leaves(s.when) if leaf.ask))
    if question is not None:
        pen.line(f"Asked as: {question_put(catalog, question)} {question.how}")
    for rate in s.on_sound_rinds:
        where = f" ({', '.join(rate.rinds)})" if rate.rinds else ""
        pen.item(
            "- ",
            f"on a sound rind{where}, {_window(rate.from_day, rate.to_day)}: {rate.seen} "
            f"({_claim(catalog, rate.sources)})",
        )
    linked = [(c, link) for c in catalog.causes.values() for link in c.signs if link.sign == id]
    if linked:
        pen.heading("Seen with")
        for c, link in linked:
            pen.item("- ", f"{c.name}: {link.seen} ({_claim(catalog, link.sources)})")
    against = [(c, a) for c in catalog.causes.values() for a in c.against if a.sign == id]
    if against:
        said = (c.name + tag(catalog.marks(a.sources)) for c, a in against)
        pen.line("Speaks against: " + ", ".join(said) + ".")
    for row in catalog.normal.values():
        if id in row.signs:
            pen.line(f"Normal: {row.name}, {_window(row.from_day, row.to_day)}. A fault when: {row.fault_when}")


def _act(pen: Pen, catalog: Catalog, id: str) -> None:
    a = catalog.acts[id]
    pen.heading(f"{a.name} ({a.id})")
    pen.line("Remedy: a kind of handling, and what it always needs.")
    for text in a.hygiene:
        pen.item("- ", text)
    pen.line(_claim(catalog, a.sources), "dim")
    steps = [(c, s) for c in catalog.causes.values() for s in (*c.today, *c.next_make) if s.act == id]
    users = dict.fromkeys(c.name + tag(catalog.marks(s.sources)) for c, s in steps)
    pen.line("Used for: " + ", ".join(users) + ".")


def _circumstance(pen: Pen, catalog: Catalog, id: str) -> None:
    c = catalog.circumstances[id]
    pen.heading(f"{c.means[:1].upper()}{c.means[1:]} ({c.id})")
    pen.line(f"Circumstance; holds for {c.how_common}. {_claim(catalog, c.sources)}")
    pen.line("Looks at: " + "; ".join(dict.fromkeys(describe(leaf) for leaf in leaves(c.when))) + ".")
    for o in catalog.causes.values():
        for s in (s for s in o.likelier if s.when == id):
            pen.item("- ", f"makes likelier: {o.name} ({s.strength}){tag(catalog.marks(s.sources))}")


def _caution(pen: Pen, catalog: Catalog, id: str) -> None:
    c = catalog.cautions[id]
    pen.heading(f"{c.level.upper()}: {c.title} ({c.id})")
    pen.line(c.text)
    for text in c.do:
        pen.item("- ", text)
    for label, text in details(c):
        pen.line(f"{label}: {text}")
    pen.line(_claim(catalog, c.sources), "dim")


def _normal(pen: Pen, catalog: Catalog, id: str) -> None:
    row = catalog.normal[id]
    pen.heading(f"Normal: {row.name} ({row.id})")
    pen.line(f"{', '.join(row.rinds)}; {_window(row.from_day, row.to_day)}. {row.why}")
    pen.line(f"A fault when: {row.fault_when}")
    pen.line(_claim(catalog, row.sources), "dim")


def _organism(pen: Pen, catalog: Catalog, id: str) -> None:
    o = catalog.organisms[id]
    pen.heading(f"{o.name} ({o.id})")
    pen.line(f"By eye only a group can be named: {o.group}.")
    for text in (o.see, o.limits, o.test, o.harm):
        if text:
            pen.line(text)
    if o.mistaken_for:
        pen.line("Mistaken for: " + ", ".join(catalog.organisms[m].name for m in o.mistaken_for) + ".")
    pen.line(_claim(catalog, o.sources), "dim")


def _question(pen: Pen, catalog: Catalog, id: str) -> None:
    q = catalog.questions[id]
    if id in catalog.signs:
        return
    pen.heading(f"{asked(q)} ({q.id}){tag(of_question(catalog, id))}")
    for text in (q.how, q.why):
        if text:
            pen.line(text)
    for option in q.options:
        pen.item("- ", f"{option.id}: {option.text}")


def _source(pen: Pen, catalog: Catalog, id: str) -> None:
    s = catalog.sources[id]
    pen.heading(s.id)
    pen.line(f"{s.reference}{f' ({s.year})' if s.year else ''}. {s.link}")
    pen.line(f"Kind: {s.kind}; checked: {s.checked}; grade: {GRADE_WORDS[catalog.grade((id,))]}. {s.note}")
    used: list[str] = [c.name for c in catalog.causes.values() if id in _cited(c)]
    if used:
        pen.line("Cited by: " + ", ".join(used) + ".")


def _cited(cause: Cause) -> set[str]:
    claims = [cause.sources, cause.base_rate_sources]
    claims += [x.sources for x in cause.likelier] + [x.sources for x in cause.signs]
    claims += [x.sources for x in cause.against] + [x.sources for x in cause.leads_to]
    claims += [x.sources for x in cause.mistaken_for]
    claims += [x.sources for x in (*cause.today, *cause.next_make)]
    return {name for claim in claims for name in claim}
