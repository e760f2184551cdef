"""``rindwright past``: list, show, due."""

from __future__ import annotations

import json
from pathlib import Path

import click

from ...engine.archive import listing, looks, makes
from ...engine.archive.daybook import Record
from ...engine.archive.listing import LookRow
from ...engine.archive.store import Archive, open_archive
from ...engine.catalog import Catalog
from ...engine.days import between, day
from ...engine.errors import FileProblem, nearest
from ...engine.house.voices import as_records, on_cause
from .. import clock
from ..context import archive_path, console, knowledge_in_force, packaged_knowledge, screen_width
from ..house_words import cause_named, kept_tag, question_put
from ..pen import Pen
from ..phrasing import in_words, noun_of
from ..sentences import counted, percent
from ..status import Status

KNOWN_WORDS = {
    "laboratory": "a laboratory said so",
    "lens": "seen through a lens",
    "remedy worked": "the remedy for it worked",
    "own view": "your own view",
}


def opened(named: str | None, writable: bool = False) -> Archive:
    """The archive of a command that looks back; it must be there."""
    return open_archive(archive_path(named), writable=writable, create=False)


def run(
    named: str | None,
    house: Path | None,
    family: str | None,
    cause: str | None,
    wheel: str | None,
    make: str | None,
    open_only: bool,
    text: str | None,
    most: int,
    as_json: bool,
    no_color: bool,
) -> Status:
    """List past looks."""
    catalog = Catalog(knowledge_in_force(house))
    if family is not None and family not in catalog.families:
        raise FileProblem(f'"{family}" is not a family{nearest(family, catalog.families)}.')
    with opened(named) as archive:
        rows = listing.listed(
            archive,
            family=family,
            cause=cause,
            wheel_id=makes.find_wheel(archive, wheel).id if wheel else None,
            make_id=makes.find_make(archive, make) if make else None,
            open_only=open_only,
            text=text,
            most=most,
        )
        if not rows and cause is not None and cause not in catalog.causes:  # one given up may still be listed
            raise FileProblem(f'"{cause}" is not a cause{nearest(cause, catalog.causes)}.')
        total = listing.count(archive)
        late = len(listing.due(archive, clock.today()))
    if as_json:
        click.echo(json.dumps([_as_json(catalog, row) for row in rows], ensure_ascii=False, indent=2))
        return Status.DONE
    pen = Pen(console(no_color), screen_width())
    if not rows:
        pen.line("No look fits." if total else "No looks yet. Begin with: rindwright ask")
    for row in rows:
        write_row(pen, catalog, row)
    if late:
        pen.line()
        pen.line(f"{counted(late, 'look')} to be followed up: rindwright past due")
    if len(rows) == most < total:
        pen.line()
        pen.line(f"The latest {most} of {total} looks. More: --most {min(total, most * 10)}", "dim")
    return Status.DONE


def write_row(pen: Pen, catalog: Catalog, row: LookRow) -> None:
    """One look in a list."""
    pen.line(row.name + (f"  {row.wheel}" if row.wheel else ""), "bold")
    pen.item("", f"{row.looked_on}, {cheese_words(catalog, row.style, row.age_days)}. {verdict_words(catalog, row)}", 2)
    if row.due_on is not None:
        pen.item("", f"To be looked at again on {row.due_on}.", 2)
    if row.outcome is not None:
        pen.item("", f"Turned out: {cause_words(catalog, row.outcome)}.", 2)


def verdict_words(catalog: Catalog, row: LookRow) -> str:
    """What a look came to, in a few words."""
    if not row.finished:
        return f'Left open; go on with: rindwright ask --resume "{row.name}"'
    first = ""
    if row.first_cause is not None and row.first_probability is not None:
        first = f"{cause_named(catalog, row.first_cause)} ({percent(row.first_probability)})"
    return {
        "stop": f"STOP. {first}",
        "hold": f"HOLD. {first}",
        "normal": "Normal for its age.",
        "undecided": f"Undecided; {first} first." if first else "Undecided.",
    }.get(row.verdict or "", f"{first}.")


def _as_json(catalog: Catalog, row: LookRow) -> Record:
    return {
        "look": row.name, "looked_on": row.looked_on, "wheel": row.wheel or None, "style": row.style,
        "age_days": row.age_days, "finished": row.finished, "verdict": row.verdict, "first_cause": row.first_cause,
        "first_probability": row.first_probability, "house": as_records(on_cause(catalog, row.first_cause or "")),
        "due_on": row.due_on,
        "outcome": None if row.outcome is None else list(row.outcome),
    }  # fmt: skip


def show(named: str | None, house: Path | None, name: str, beside: bool, as_json: bool, no_color: bool) -> Status:
    """Show one look as it stood; ``beside`` it, what the packaged knowledge of today says alone."""
    catalog = Catalog(knowledge_in_force(house))
    with opened(named) as archive:
        look_id = looks.find(archive, name)
        record = looks.record_of(archive, look_id)
        alone = looks.read_given(archive, look_id, Catalog(packaged_knowledge())) if beside else None
        wheel = makes.wheel_of(archive, look_id)
    if alone is not None and record["weighed"] is None:
        raise FileProblem(f'Look "{record["name"]}" is not finished: there is nothing to show beside it.')
    if as_json:
        click.echo(json.dumps(record | (_beside_shape(alone) if alone else {}), ensure_ascii=False, indent=2))
        return Status.DONE
    pen = Pen(console(no_color), screen_width())
    write_look(pen, catalog, record, wheel)
    if alone is not None:
        _beside(pen, catalog, record["weighed"], alone)
    return Status.DONE


def _beside(pen: Pen, catalog: Catalog, weighed: Record, given: looks.Given) -> None:
    from ...engine.diagnosis import Diagnoser
    from ...engine.short import in_short, said_then
    from ..rules.trial import show_beside

    packaged = packaged_knowledge()
    alone = in_short(Diagnoser(packaged), given.as_answers(), frozenset(given.skipped))
    show_beside(pen, catalog, said_then(weighed), alone, weighed.get("house") or "")
    if weighed["knowledge"] != packaged.version:
        pen.line(
            f"The packaged knowledge is another one since then (version {weighed['knowledge'][:16]}): some of this may "
            "come from that. Weigh it again: rindwright past replay"
        )


def _beside_shape(given: looks.Given) -> Record:
    from ...engine.diagnosis import Diagnoser
    from .. import as_json as shapes

    alone = Diagnoser(packaged_knowledge())
    answers = given.as_answers()
    d = alone.diagnose(answers, frozenset(given.skipped))
    return {"beside": shapes.diagnosis(alone.catalog, d, noun_of(alone.catalog, answers))}


def write_look(pen: Pen, catalog: Catalog, record: Record, wheel: makes.Wheel | None) -> None:
    """A whole look: diagnosis as it stood, answers, deeds, outcome, notes."""
    pen.line(f"Look {record['name']}" + (f" at {wheel.title}" if wheel else ""), "bold")
    pen.line(f"{record['looked_on']}, {cheese_words(catalog, record['style'], record['age_days'])}.")
    weighed = record["weighed"]
    if weighed is None:
        pen.line(f'Not finished. Go on with: rindwright ask --resume "{record["name"]}"')
    else:
        _said_then(pen, weighed)
    pen.heading("Answers")
    given = looks.fitting(catalog, record["answers"])
    noun = noun_of(catalog, looks.Given(tuple(given)).as_answers())
    for question, value, since in given:
        q = catalog.questions[question]
        pen.item(
            "- ", f"{question_put(catalog, q, noun)} {in_words(q, value)}" + (f" (said on {since})" if since else "")
        )
    if len(given) < len(record["answers"]):
        pen.line(f"{_outdated(len(record['answers']) - len(given))} no longer asked that way.")
    for words in record["words"]:
        pen.item("- ", f'In your words: "{words}"')
    for log in record["measured"]:
        pen.item("- ", f"From a logger: {log}")
    _afterwards(pen, catalog, record)


def _said_then(pen: Pen, weighed: Record) -> None:
    pen.heading("What was said then")
    for caution in weighed["cautions"]:
        if caution["level"] != "note":
            pen.line(f"{caution['level'].upper()}: {caution['title']}", "bold")
    if weighed["verdict"] == "normal":
        pen.line(f"Normal for its age: nothing wrong {percent(weighed['normal']['probability'])}.")
    elif weighed["verdict"] == "undecided":
        pen.line("Undecided: no cause stood out.")
    for cause in weighed["causes"][:4]:
        between_ = f"between {percent(cause['low'])} and {percent(cause['high'])}"
        said = f"{cause['title']} ({cause['id']}): {cause['word']}, {percent(cause['probability'])} ({between_})"
        pen.item("- ", said + kept_tag(cause))
        if cause is weighed["causes"][0]:
            for reason in cause["for"][:3]:
                pen.item("+ ", reason["says"] + kept_tag(reason), 2)
    if weighed["today"]:
        pen.line("Advised for that day:")
    for k, step in enumerate(weighed["today"], 1):
        pen.item(f"{k}. ", step["do"] + (f" {step['amount']}" if step["amount"] else "") + kept_tag(step), 2)
    if weighed.get("house"):
        pen.line(f"Knowledge {weighed['knowledge'][:12]}, house rules {weighed['house'][:12]}.", "dim")


def _afterwards(pen: Pen, catalog: Catalog, record: Record) -> None:
    follow = record["follow_up"]
    if record["deeds"] or follow:
        pen.heading("Since then")
    for deed in record["deeds"]:
        pen.item("- ", f"{deed['on_date']}, done: {deed['what']}")
    if follow and follow["done_on"]:
        pen.item("- ", f"{follow['done_on']}, looked again: {follow['result']}")
    elif follow:
        said = f"To be looked at again on {follow['due_on']}. {follow['expect']} {follow['otherwise']}"
        pen.item("- ", said + kept_tag((record["weighed"] or {}).get("look_again") or {}))
    if record["outcomes"]:
        pen.heading("What it turned out to be")
    for outcome in record["outcomes"]:
        only = ", all else excluded" if outcome["complete"] else ""
        taste = "" if outcome["taste"] == "not tasted" else f" Taste: {outcome['taste']}."
        said = cause_words(catalog, outcome["causes"])
        pen.item("- ", f"{outcome['on_date']}: {said}{only} ({KNOWN_WORDS[outcome['known_by']]}).{taste}")
    if record["notes"]:
        pen.heading("Notes")
    for note in record["notes"]:
        pen.item("- ", f"{note['on_date']}: {note['text']}")


def due(named: str | None, house: Path | None, until: str, no_color: bool) -> Status:
    """What is to be looked at again."""
    catalog = Catalog(knowledge_in_force(house))
    today = clock.today()
    last = day(until, today)
    with opened(named) as archive:
        found = listing.due(archive, last)
    pen = Pen(console(no_color), screen_width())
    if not found:
        pen.line(f"Nothing is due up to {last}.")
    for row, expect, otherwise in found:
        assert row.due_on is not None
        days = between(row.due_on, today)
        when = "today" if days == 0 else f"{days} day{'s' * (days != 1)} ago" if days > 0 else f"on {row.due_on}"
        pen.line(f"{row.name}  {row.wheel}".rstrip() + f": due {when}", "bold")
        first = f"{cause_named(catalog, row.first_cause)} came first. " if row.first_cause else ""
        pen.item("", f"{first}Should be seen: {expect} {otherwise}", 2)
        pen.item("", f'Then say: rindwright past seen "{row.name}" better, same or worse', 2, "dim")
    return Status.DONE


def cheese_words(catalog: Catalog, style: str | None, age_days: float | None) -> str:
    """What a cheese is, in a few words."""
    known = catalog.styles.get(style or "")
    what = known.name if known else style or "style not said"
    return what + ("" if age_days is None else f", day {age_days:g}")


def _outdated(n: int) -> str:
    return "1 answer is to a question that is" if n == 1 else f"{n} answers are to questions that are"


def cause_words(catalog: Catalog, causes: tuple[str, ...] | list[str]) -> str:
    """Causes as a sentence names them."""
    return " and ".join(cause_named(catalog, c, True) for c in causes) or "nothing was wrong"
