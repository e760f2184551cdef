"""``rindwright rules new``: a rule from a few questions, for someone who has never seen such a file.

State is only the list of replies so far. ``back`` takes the last one away and plays the others
again, so that nothing has to be undone.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import click
from rapidfuzz import fuzz

from ..engine.catalog import Catalog
from ..engine.house.checking import Report, check
from ..engine.house.drafting import Draft, fits_cause, numbers, rule_of, said_already
from ..engine.house.reading import TASTE, Shelf, named, read_rule, read_shelf
from ..engine.house.writing import rule_text
from ..engine.noticing import readings
from ..engine.reading.review import FORBIDDEN
from . import rules_files as files
from .context import console, house_folder, packaged_knowledge, screen_width, today
from .pen import Pen
from .phrasing import asked
from .rules import reaches
from .rules_words import in_plain_words
from .status import Status

T = TypeVar("T")

HELP = "A number or words answer. Or type: ? (help), back (change the last answer), leave (drop it)."
SEEN = ("nearly always", "usually", "often", "sometimes")
STRENGTHS = ("strong", "moderate", "small")
SURE = 0.85
"""Likeness from which one match alone is taken without asking, 0 to 1."""
LIKE = 0.35
"""Likeness from which a match is offered."""
CLOSE = 87.0
"""Likeness from which two words are one with a slip of the pen, 0 to 100."""
_SMALL = frozenset(
    "a an and are as at by for from have i in is it its my of on or our so that the this to we with".split()
)
OFFERED = 5
LONGEST = 300
"""Most letters of one reply."""


class _Back(Exception):
    """The maker wants to change the last answer."""


class _Leave(Exception):
    """The maker drops the rule."""


class EndOfInput(Exception):
    """No more lines will come."""


def run(house: Path | None, no_color: bool) -> Status:
    """Ask from the terminal or a pipe, then write the rule."""
    if sys.stdin is None or sys.stdin.closed:
        click.echo(
            "Standard input is closed: there is no one to ask. A rule is a file; see knowledge/HOUSE.md.", err=True
        )
        return Status.USAGE
    folder = house_folder(house)
    pen = Pen(console(no_color), screen_width())
    guide = Guide(folder, pen, _read_line, echo=not sys.stdin.isatty())
    return guide.run()


def _read_line() -> str:
    line = sys.stdin.readline()
    if not line:
        raise EndOfInput
    return line.rstrip("\n")


class Guide:
    """One conversation that ends in one rule."""

    def __init__(self, folder: Path, pen: Pen, read: Callable[[], str], echo: bool = False) -> None:
        self._folder = folder
        self._pen = pen
        self._read = read
        self._echo = echo
        self._kept: list[str] = []
        self._at = 0
        self._packaged = packaged_knowledge()
        self._shelf = read_shelf(folder)
        report = check(self._packaged, self._shelf, frozenset())
        self._catalog = Catalog(report.layered.knowledge)
        self._taken = frozenset(named(self._shelf.entries)) | frozenset(
            f.file.removesuffix(".yaml") for f in self._shelf.faults
        )

    def run(self) -> Status:
        """Ask, check, write."""
        pen = self._pen
        pen.line("A rule of your house, in a few questions. Nothing counts before the last one is answered.")
        pen.line(HELP, "dim")
        try:
            draft = self._talk()
        except EndOfInput:
            click.echo("The questions were not all answered: no rule is written.", err=True)
            return Status.USAGE
        except _Leave:
            pen.line("Dropped. Nothing is written.")
            return Status.DONE
        return self._write(draft)

    def _talk(self) -> Draft:
        while True:
            self._at = 0
            try:
                return self._script()
            except _Back:
                if not self._kept:
                    self._pen.line("There is nothing to go back to.")
                else:
                    self._kept.pop()

    def _script(self) -> Draft:
        d = Draft(date=today(), taken=self._taken)
        d.rinds = self._rinds()
        self._what(d)
        self._cause(d)
        self._strength(d)
        if not d.against:
            d.do = self._ask("What do you do about it today? One sentence; an empty line adds nothing.", _deed, "Only what is not on the cards yet. It is shown with your name.")  # fmt: skip
            if d.do:
                d.act = self._act(d.do)
        d.because = self._ask("Why do you believe it?", _reason, "What you saw, how often, since when. It is shown with the rule.")  # fmt: skip
        self._sum_up(d)
        d.owner = self._ask("Your name? With it the rule is written.", _name, "So that others know whose word it is.")
        return d

    # --- the questions ------------------------------------------------------------------------
    def _rinds(self) -> tuple[str, ...]:
        families = list(self._catalog.families.values())
        offered = [("", "all of them")]
        if len(families) == 1:
            offered += [(s.id, s.name) for s in families[0].styles]
        else:
            offered += [(f.id, f.name) for f in families]
        chosen = self._pick("Which rind is it about?", offered, "Several numbers at once are fine: 2 3. Or a rind by its id, such as small_soft.", several=True, known=self._catalog.rinds)  # fmt: skip
        return () if "" in chosen else tuple(chosen)

    def _what(self, d: Draft) -> None:
        text = self._ask(
            "What do you see, smell or feel? Or what do you do or measure? In your own words.",
            _words,
            "Such as: red dust below the wheel. Or: shelves of cedar. Or: cellar above 16 degrees.",
        )
        signs = [("sign", s.id, f"you notice: {s.name}") for s in self._catalog.signs.values()]
        facts = [("circumstance", c.id, f"it is so: {c.means}") for c in self._catalog.circumstances.values()]
        heard = {r.question for r in readings(self._catalog, text)}
        scored = sorted(
            ((self._likeness(text, kind, id) + (0.4 if id in heard else 0), kind, id, says) for kind, id, says in (*signs, *facts)),
            key=lambda x: (-x[0], x[1], x[2]),
        )  # fmt: skip
        offered = [(f"{kind} {id}", says) for score, kind, id, says in scored[:OFFERED] if score >= LIKE]
        offered += [
            ("new_sign", "none of these: something new that I see, smell or feel"),
            ("new_fact", "none of these: something that I do or have"),
            ("figure", "none of these: a figure that I measure"),
        ]
        picked = self._pick("Which of these is it?", offered, "The first ones are known already; yours joins them.")[0]
        kind, _, id = picked.partition(" ")
        if kind == "figure":
            d.figure = self._figure(text)
        elif kind == "new_sign":
            d.new_sign = text
        elif kind == "new_fact":
            d.new_fact = text
        elif kind == "sign":
            d.sign = id
        else:
            d.circumstance = id

    def _figure(self, text: str) -> tuple[str, str, float]:
        asks = numbers(self._catalog)
        ranked = sorted(asks, key=lambda q: (-fuzz.token_set_ratio(text.casefold(), f"{q.ask} {q.id.replace('_', ' ')} {q.unit}".casefold()), q.id))  # fmt: skip
        offered = [(q.id, f"{asked(q, 'the rind')} ({q.unit})") for q in ranked[:OFFERED]]
        id = self._pick("Which figure is it?", offered, "Or a figure by its id: rindwright questions", known={q.id for q in asks})[0]  # fmt: skip
        question = self._catalog.questions[id]

        def limit(reply: str) -> tuple[tuple[str, str, float] | None, str]:
            found = re.fullmatch(r"(above|over|below|under) (-?\d+(?:[.,]\d+)?)\s*\S*", reply.casefold())
            if found is None:
                return None, "Type above or below and a figure, such as: above 16"
            number = float(f"{float(found.group(2).replace(',', '.')):g}")
            low = question.minimum if question.minimum is not None else number
            high = question.maximum if question.maximum is not None else number
            if not low <= number <= high:
                return None, f"It runs from {low:g} to {high:g} {question.unit}."
            return (id, "above" if found.group(1) in ("above", "over") else "below", number), ""

        return self._ask(f"Above or below which figure, in {question.unit}?", limit, "Such as: above 16")

    def _cause(self, d: Draft) -> None:
        text = self._ask("What does it point to, or speak against? Name the cause in your own words.", _words, "Such as: box too wet. All causes: rindwright rules list --all")  # fmt: skip
        fitting = [c for c in self._catalog.causes.values() if fits_cause(c, d.rinds, self._catalog)]
        scored = sorted(((_like(text, c.name), c.id, c.name) for c in fitting), key=lambda x: (-x[0], x[1]))
        close = [(id, name) for score, id, name in scored[:OFFERED] if score >= LIKE]
        if len(scored) > 1 and scored[0][0] >= SURE and scored[1][0] < scored[0][0] - 0.1:
            d.cause = scored[0][1]
            self._say(f"Taken as: {scored[0][2]}. If that is wrong, type back.")
            return
        picked = self._pick("Which of these do you mean?", [*close, ("", "none of these: a cause of its own")], "A cause of its own is shown beside the known ones.")[0]  # fmt: skip
        if picked:
            d.cause = picked
        else:
            d.new_cause = text
            d.how_it_comes = self._ask("How does it come about? One or two sentences.", _reason, "It is read aloud when the cause comes up.")  # fmt: skip

    def _strength(self, d: Draft) -> None:
        sign = bool(d.sign or d.new_sign)
        ways = [(w, f"it shows {w} when that is the cause") for w in SEEN] if sign else [
            (f"for {w}", f"it makes that cause likelier: {w}") for w in STRENGTHS
        ]  # fmt: skip
        ways += [(f"against {w}", f"it speaks against that cause: {w}") for w in STRENGTHS]
        picked = self._pick("How strongly?", ways, "Strong is about eight times the odds, moderate three, small one and a half. When in doubt take the weaker word.")[0]  # fmt: skip
        d.against = picked.startswith("against ")
        d.word = picked.removeprefix("against ").removeprefix("for ")
        before = said_already(self._catalog, d)
        if before:
            self._say(f'The packaged word here is "{before}". Your rule puts "{d.word}" in its place.')

    def _act(self, do: str) -> str:
        acts = list(self._catalog.acts.values())
        words = set(re.findall(r"[a-z]+", do.casefold()))
        sure = [a for a in acts if a.id in words or a.id.rstrip("s") in words]
        if len(sure) == 1:
            self._say(f"Its hygiene is that of: {sure[0].name}.")
            return sure[0].id
        ranked = sorted(acts, key=lambda a: (a not in sure, -_like(do, a.name), a.id))
        offered = [(a.id, a.name) for a in ranked[: OFFERED + 1]]
        return self._pick("What kind of handling is that?", offered, "It brings its hygiene with it. Any act by its id also does: " + ", ".join(sorted(a.id for a in acts)) + ".", known={a.id for a in acts})[0]  # fmt: skip

    def _sum_up(self, d: Draft) -> None:
        report, name, _ = self._made(replace(d, owner="you"))
        entry = named(report[0].entries).get(name)
        if entry is None or self._at < len(self._kept):
            return
        pen, catalog = self._pen, Catalog(report[1].layered.knowledge)
        pen.line()
        pen.line("This is your rule:")
        for sentence in in_plain_words(catalog, entry.rule):
            pen.item("- ", sentence)
        reaches(pen, catalog, report[1].reach.get(name, ()))

    # --- the end ------------------------------------------------------------------------------
    def _made(self, d: Draft) -> tuple[tuple[Shelf, Report], str, str]:
        """The house with the rule in it, checked; the rule's name; its text."""
        made = rule_of(self._catalog, d)
        name, text = str(made["rule"]), rule_text(made)
        entry, wrong = read_rule(text, f"{name}.yaml")
        shelf = Shelf((*self._shelf.entries, *([entry] if entry else [])), (*self._shelf.faults, *wrong))
        return (shelf, check(self._packaged, shelf, frozenset({name}))), name, text

    def _write(self, d: Draft) -> Status:
        (_, report), name, text = self._made(d)
        mine = [r for r in report.remarks if r.fault.file == f"{name}.yaml"]
        faults = [r.fault for r in mine if r.kind == "fault"]
        if faults:
            for fault in faults:
                click.echo(str(fault), err=True)
            click.echo("No rule is written.", err=True)
            return Status.INVALID
        place = files.write(self._folder, name, text, fresh=True)
        files.note(self._folder, d.date, "new", name, d.because)
        pen = self._pen
        pen.line()
        pen.line(f"Written: {place.name}. It counts from now on.", "bold")
        for remark in mine:
            pen.item("look again: ", remark.fault.sentence)
        pen.line(f"See what it changes: rindwright rules try {name}")
        pen.line(f"Take it back: rindwright rules take-back {name}")
        return Status.DONE

    # --- lines --------------------------------------------------------------------------------
    def _say(self, text: str) -> None:
        if self._at >= len(self._kept):
            self._pen.line(text)

    def _ask(self, question: str, accept: Callable[[str], tuple[T | None, str]], help: str) -> T:
        """Put a question until the reply is accepted; a reply given before is taken again."""
        if self._at < len(self._kept):
            value, _ = accept(self._kept[self._at])
            self._at += 1
            assert value is not None
            return value
        self._pen.line()
        self._pen.line(question, "bold")
        return self._until(accept, help)

    def _pick(self, question: str, offered: Sequence[tuple[str, str]], help: str, several: bool = False, known: Sequence[str] | set[str] | frozenset[str] = ()) -> list[str]:  # fmt: skip
        """Put a numbered choice."""

        def accept(reply: str) -> tuple[list[str] | None, str]:
            parts = [p for p in re.split(r"[,;\s]+", reply) if p] if several else [reply]
            if not parts and several:
                return [offered[0][0]], ""
            found: list[str] = []
            for part in parts:
                if part.isdecimal() and 1 <= int(part) <= len(offered):
                    found.append(offered[int(part) - 1][0])
                elif part in known:
                    found.append(part)
                else:
                    begins = [id for id, text in offered if part and text.casefold().startswith(part.casefold())]
                    if len(begins) != 1:
                        return None, f"Type a number from 1 to {len(offered)}."
                    found.append(begins[0])
            return list(dict.fromkeys(found)), ""

        if self._at >= len(self._kept):
            self._pen.line()
            self._pen.line(question, "bold")
            for k, (_, text) in enumerate(offered, 1):
                self._pen.item(f"  {k}. ", text)
            return self._until(accept, help)
        value, _ = accept(self._kept[self._at])
        self._at += 1
        assert value is not None
        return value

    def _until(self, accept: Callable[[str], tuple[T | None, str]], help: str) -> T:
        while True:
            self._pen.ask("> ")
            typed = " ".join("".join(c if c.isprintable() else " " for c in self._read()).split())
            if self._echo:
                self._pen.line(typed)
            word = typed.casefold()
            if word in ("leave", "quit", "exit"):
                raise _Leave
            if word == "back":
                raise _Back
            if word in ("?", "help", "how"):
                self._pen.line(help)
                continue
            if len(typed) > LONGEST:
                self._pen.line(f"That is long; up to {LONGEST} letters, please.")
                continue
            value, complaint = accept(typed)
            if value is not None:
                self._kept.append(typed)
                self._at += 1
                return value
            self._pen.line(complaint)

    def _likeness(self, text: str, kind: str, id: str) -> float:
        if kind == "circumstance":
            return _like(text, self._catalog.circumstances[id].means)
        sign = self._catalog.signs[id]
        return max(_like(text, phrase) for phrase in (sign.name, *sign.words))


def _like(a: str, b: str) -> float:
    """How many words two phrases share, 0 to 1 (Dice), small words and slips of the pen aside."""
    mine, theirs = _content(a), _content(b)
    if not mine or not theirs:
        return 0.0
    shared = sum(any(x == y or (len(x) > 4 < len(y) and fuzz.ratio(x, y) >= CLOSE) for y in theirs) for x in mine)
    return 2 * shared / (len(mine) + len(theirs))


def _content(text: str) -> set[str]:
    return {w.rstrip("s") for w in re.findall(r"[^\W_]+", text.casefold())} - _SMALL


def _words(reply: str) -> tuple[str | None, str]:
    if len(reply) < 3 or not re.search(r"[^\W\d_]{2}", reply):
        return None, "In words, please."
    if len(reply) > 80:
        return None, "Shorter, please: up to 80 letters."
    return _promise(reply)


def _reason(reply: str) -> tuple[str | None, str]:
    return _promise(reply) if len(reply) >= 3 else (None, "A few words, please.")


def _deed(reply: str) -> tuple[str | None, str]:
    if TASTE.search(reply):
        return None, "A house rule sends nobody to taste or eat a cheese. Say it without."
    return _promise(reply)


def _name(reply: str) -> tuple[str | None, str]:
    return (reply, "") if 2 <= len(reply) <= 60 else (None, "A name of 2 to 60 letters, please.")


def _promise(reply: str) -> tuple[str | None, str]:
    found = FORBIDDEN.search(reply)
    if found:
        return None, f'Say it without "{found.group(0)}": nothing here may promise that about a cheese.'
    return reply, ""


__all__ = ["EndOfInput", "Guide", "run"]
