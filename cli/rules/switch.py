"""``rindwright rules off``, ``on`` and ``take-back``: what counts, with a reason each time."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ...engine.catalog import Catalog
from ...engine.errors import FileProblem, KnowledgeError, RindwrightError, listed, nearest
from ...engine.house.drafting import off_examples
from ...engine.house.layering import layer
from ...engine.house.promising import promised
from ...engine.house.reading import named, read_rule, read_shelf
from ...engine.house.writing import Plain, awake, put_to_rest, rule_text
from ...engine.model import Cause, Knowledge
from .. import clock
from ..context import console, house_folder, packaged_knowledge, screen_width
from ..pen import Pen
from ..status import Status
from . import files

LEAST_REASON = 3
"""Fewest letters of a reason, as in the guided questions."""


def off(name: str, sign: str, when: str, because: str | None, owner: str, house: Path | None, no_color: bool) -> Status:
    """Put a house rule to rest, or write the rule that switches off something packaged."""
    folder, pen = house_folder(house), Pen(console(no_color), screen_width())
    shelf = read_shelf(folder)
    entry = named(shelf.entries).get(name)
    if entry is not None and not sign and not when:
        if entry.rule.resting is not None:
            raise RindwrightError(f'"{name}" rests already, since {entry.rule.resting.since}.')
        reason = _reason(pen, because)
        files.write(folder, name, put_to_rest(files.text_of(folder, name), clock.today(), reason), fresh=False)
        files.note(folder, clock.today(), "off", name, reason)
        pen.line(f'The house rule "{name}" rests. Wake it: rindwright rules on {name}')
        return Status.DONE
    packaged = packaged_knowledge()
    if entry is not None and all(name != c.id for c in packaged.causes):
        raise RindwrightError(
            f'"{name}" is a rule of your house; --sign and --when are for a tie of a packaged cause. '
            f"To rest the rule: rindwright rules off {name}"
        )
    return _off_packaged(packaged, name, sign, when, because, owner, folder, pen)


def _off_packaged(
    packaged: Knowledge, name: str, sign: str, when: str, because: str | None, owner: str, folder: Path, pen: Pen
) -> Status:
    catalog = Catalog(packaged)
    kinds = [
        kind
        for kind, pool in (
            ("cause", catalog.causes), ("sign", catalog.signs),
            ("circumstance", catalog.circumstances), ("normal", catalog.normal),
        )
        if name in pool
    ]  # fmt: skip
    if not kinds:
        if name in catalog.cautions:
            raise RindwrightError(f'"{name}" is a safety caution: no house rule can weaken it or switch it off.')
        known = [*catalog.causes, *catalog.signs, *catalog.circumstances, *catalog.normal]
        known += named(read_shelf(folder).entries)
        raise RindwrightError(
            f'There is no rule, cause, sign, circumstance or normal row "{name}"{nearest(name, known)}.'
        )
    _tie_is_there(catalog, name, kinds[0], sign, when)
    tie = {"sign": sign, "when": when}
    made = "_".join(["off", name, *(v for v in tie.values() if v)])[:60]
    target = {kinds[0]: name, **{k: v for k, v in tie.items() if v}}
    reason = _reason(pen, because)
    told = off_examples(catalog, target)
    keys: dict[str, Plain] = {"rule": made, "owner": owner, "date": clock.today(), "because": reason, "off": target}
    text = rule_text(keys | ({"examples": told} if told else {}))
    entry, wrong = read_rule(text, f"{made}.yaml")
    if entry is None:
        raise KnowledgeError(wrong)
    others = [e for e in read_shelf(folder).entries if e.name != made]
    layered = layer(packaged, [*others, entry])
    if made not in layered.in_force:
        raise KnowledgeError(f for f in layered.faults if f.file == f"{made}.yaml")
    files.write(folder, made, text, fresh=True)
    files.note(folder, clock.today(), "off", name, reason)
    what = f'tie of "{name}" to "{sign or when}"' if sign or when else f'packaged "{name}"'
    undo = f"take-back {made}" if sign or when else f"on {name}"
    pen.line(f"The {what} is switched off in this house. Undo it: rindwright rules {undo}")
    fallen = {e.name for e in others} & set(layer(packaged, others).in_force) - set(layered.in_force)
    if fallen:
        pen.line(f"These rules rest on it and do not count now: {', '.join(sorted(fallen))}.")
    return Status.DONE


def _tie_is_there(catalog: Catalog, name: str, kind: str, sign: str, when: str) -> None:
    """Whether a cause has the tie that is named. Raises ``RindwrightError`` that says what to type instead."""
    if not sign and not when:
        return
    if sign and when:
        raise RindwrightError("One tie at a time: give --sign or --when, not both.")
    asked, option = sign or when, "--sign" if sign else "--when"
    if kind != "cause":
        tied = next((c.id for c in catalog.causes.values() if name in _ties(c, kind == "sign")), "")
        way = f"; such as: rindwright rules off {tied} --{'sign' if kind == 'sign' else 'when'} {name}" if tied else ""
        raise RindwrightError(f'"{name}" is no cause but a {_KINDS[kind]}; {option} is for a tie of a cause{way}.')
    what, pool = ("sign", catalog.signs) if sign else ("circumstance", catalog.circumstances)
    there = _ties(catalog.causes[name], bool(sign))
    known = f"; of these it has ties to {_some(there)}" if there else ""
    if asked not in pool:
        hint = nearest(asked, there) or nearest(asked, pool) or known
        raise RindwrightError(f'"{asked}" is not a packaged {what}{hint}.')
    if asked not in there:
        raise RindwrightError(f'"{name}" has no tie to the {what} "{asked}"{known}.')


_KINDS = {"sign": "sign", "circumstance": "circumstance", "normal": "normal row"}
_SHOWN = 8
"""Most ties that are named in one sentence."""


def _ties(cause: Cause, signs: bool) -> list[str]:
    """The signs, or the circumstances, that a cause is tied to."""
    if signs:
        return list(dict.fromkeys([*(x.sign for x in cause.signs), *(a.sign for a in cause.against if a.sign)]))
    return list(dict.fromkeys([*(x.when for x in cause.likelier), *(a.when for a in cause.against if a.when)]))


def _some(words: list[str]) -> str:
    """Words as a sentence lists them, the first few of many."""
    more = len(words) - _SHOWN
    return f"{', '.join(words[:_SHOWN])} and {more} more" if more > 0 else listed(words, "and")


def on(name: str, because: str | None, house: Path | None, no_color: bool) -> Status:
    """Wake a resting rule, or take back the rule that switches off something packaged."""
    folder, pen = house_folder(house), Pen(console(no_color), screen_width())
    entries = named(read_shelf(folder).entries)
    entry = entries.get(name)
    if entry is not None:
        if entry.rule.resting is None:
            raise RindwrightError(f'"{name}" is on already.')
        reason = _reason(pen, because)
        files.write(folder, name, awake(files.text_of(folder, name)), fresh=False)
        files.note(folder, clock.today(), "on", name, reason)
        pen.line(f'The house rule "{name}" is on again.')
        return Status.DONE
    doing = [
        n for n, e in entries.items()
        if any(name in (o.cause, o.sign, o.circumstance, o.normal) for o in e.rule.off) and e.rule.resting is None
    ]  # fmt: skip
    if not doing:
        raise RindwrightError(f'Nothing here switches "{name}" off{nearest(name, entries)}. Try: rindwright rules list')
    reason = _reason(pen, because)
    for rule in doing:
        if len(entries[rule].rule.off) > 1 or rule.removeprefix("off_") == rule:
            raise RindwrightError(
                f'The house rule "{rule}" switches it off; rest that rule: rindwright rules off {rule}'
            )
        files.take_back(folder, rule)
        files.note(folder, clock.today(), "on", name, reason)
    pen.line(f'The packaged "{name}" is on again, with every tie of it.')
    return Status.DONE


def take_back(name: str, because: str | None, house: Path | None, no_color: bool) -> Status:
    """Take a rule out of the house. A file that cannot be read may be taken back too."""
    folder, pen = house_folder(house), Pen(console(no_color), screen_width())
    name = name.removesuffix(".yaml")
    files.text_of(folder, name)
    reason = _reason(pen, because)
    place = files.take_back(folder, name)
    files.note(folder, clock.today(), "take back", name, reason)
    pen.line(f"Taken back. Its file is kept: {place}")
    return Status.DONE


def _reason(pen: Pen, because: str | None) -> str:
    """The reason given, or asked for."""
    if because is None:
        if sys.stdin is None or sys.stdin.closed:
            raise FileProblem('Say why: --because "..."')
        pen.line("Why?", "bold")
        pen.ask("> ")
        because = sys.stdin.readline()
        if not sys.stdin.isatty():
            pen.line(" ".join(because.split()))
    said = " ".join("".join(c if c.isprintable() else " " for c in because).split())
    example = '--because "the lids drip over good wheels too"'
    if not said:
        raise click.UsageError(f"A reason is needed, in a few words, such as {example}.")
    if len(said) < LEAST_REASON:
        raise click.UsageError(f'The reason "{said}" is too short: at least {LEAST_REASON} letters, such as {example}.')
    refused = promised(said)
    if refused:
        raise click.UsageError(f"The reason cannot stand: {refused}")
    return said[:400]
