"""``rindwright rules new``: a rule from a few questions, for someone who has never seen such a file."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import click

from ...engine.catalog import Catalog
from ...engine.house.checking import Report, check
from ...engine.house.drafting import Draft, can_be_on, can_hold_on, house_says, numbers, rule_of, said_already
from ...engine.house.reading import Entry, Shelf, named, read_rule, read_shelf
from ...engine.house.sound import OFFERING
from ...engine.house.writing import rule_text
from ...engine.noticing import readings
from .. import clock
from ..context import console, house_folder, packaged_knowledge, screen_width
from ..lines import EndOfInput, read_line
from ..pen import Pen
from ..phrasing import asked
from ..status import Status
from . import files
from . import talk as talking
from .likeness import LIMIT, all_in, content, kind_of, like, plainer
from .shelf import reaches
from .talk import HELP, Leave, Talk
from .words import in_plain_words

SEEN = ("nearly always", "usually", "often", "sometimes")
STRENGTHS = ("strong", "moderate", "small")
SURE = 0.85
"""Likeness from which one match alone is taken without asking, 0 to 1."""
LIKE = 0.35
"""Likeness from which a match is offered."""
HEARD = 0.4
"""What it adds to a likeness that the words name a sign outright."""
OFFERED = 5
WRONG = "If that is wrong, type back."


def run(house: Path | None, no_color: bool) -> Status:
    """Ask from the terminal or a pipe, then write the rule."""
    if sys.stdin is None or sys.stdin.closed:
        click.echo("Standard input is closed: there is no one to ask. A rule may also be written by hand.", err=True)
        return Status.USAGE
    pen = Pen(console(no_color), screen_width())
    return Guide(house_folder(house), pen, read_line, echo=not sys.stdin.isatty()).run()


class Guide:
    """One conversation that ends in one rule."""

    def __init__(self, folder: Path, pen: Pen, read: Callable[[], str], echo: bool = False) -> None:
        self._folder = folder
        self._pen = pen
        self._talk = Talk(pen, read, echo)
        self._packaged = packaged_knowledge()
        self._shelf = read_shelf(folder)
        report = check(self._packaged, self._shelf, frozenset())
        self._catalog = Catalog(report.layered.knowledge)
        spoilt = (f.file.removesuffix(".yaml") for f in self._shelf.faults)
        self._taken = frozenset({*named(self._shelf.entries), *spoilt})

    def run(self) -> Status:
        """Ask, check, write."""
        self._pen.line("A rule of your house, in a few questions. Nothing counts before the last one is answered.")
        self._pen.line(HELP, "dim")
        try:
            draft = self._talk.play(self._script)
        except EndOfInput:
            click.echo("The questions were not all answered: no rule is written.", err=True)
            return Status.USAGE
        except Leave:
            self._pen.line("Dropped. Nothing is written.")
            return Status.DONE
        return self._write(draft)

    def _script(self) -> Draft:
        ask, d = self._talk.ask, Draft(date=clock.today(), taken=self._taken)
        d.rinds = self._rinds()
        self._what(d)
        self._cause(d)
        while self._said_by_the_house(d):
            d.cause = d.new_cause = ""
            self._cause(d)
        self._strength(d)
        if not d.against:
            d.do = ask(
                "What do you do about it today? One sentence; an empty line adds nothing.",
                talking.deed,
                "Only what is not on the cards yet. It is shown with your name.",
            )
            if d.do:
                d.act = self._act(d.do)
        d.because = ask(
            "How does it come about, and why do you believe it?" if d.new_cause else "Why do you believe it?",
            talking.reason,
            "What you saw, how often, since when. It is shown with the rule.",
        )
        self._sum_up(d)
        d.owner = ask("Your name? With it the rule is written.", talking.name, "So that others know whose word it is.")
        return d

    def _rinds(self) -> tuple[str, ...]:
        families = list(self._catalog.families.values())
        offered = [("", "all of them")]
        if len(families) == 1:
            offered += [(s.id, s.name) for s in families[0].styles]
        else:
            offered += [(f.id, f.name) for f in families]
        chosen = self._talk.pick(
            "Which rind is it about?",
            offered,
            "Several numbers at once are fine: 2 3. Or a rind by its id, such as small_soft.",
            several=True,
            known=self._catalog.rinds,
        )
        return () if "" in chosen else tuple(chosen)

    def _what(self, d: Draft) -> None:
        text = self._talk.ask(
            "What do you see, smell or feel? Or what do you do or measure? In your own words.",
            talking.words,
            "Such as: red dust below the wheel. Or: shelves of cedar. Or: cellar above 16 degrees.",
        )
        heard = {r.question for r in readings(self._catalog, text)}
        scored: list[tuple[float, str, str]] = []
        for s in self._catalog.signs.values():
            if not can_be_on(s.rinds, d.rinds, self._catalog):
                continue
            score = max(like(text, phrase) for phrase in (s.name, *s.words))
            scored.append((score + (HEARD if s.id in heard else 0), f"sign {s.id}", f"you notice: {s.name}"))
        for c in self._catalog.circumstances.values():
            score = like(text, c.means)
            if score >= LIKE and can_hold_on(c, d.rinds, self._catalog):
                scored.append((score, f"circumstance {c.id}", f"it is so: {c.means}"))
        scored.sort(key=lambda x: (-x[0], x[1]))
        offered = [(id, says) for score, id, says in scored[:OFFERED] if score >= LIKE]
        new = [
            ("new_sign", "something new that I see, smell or feel"),
            ("new_fact", "something new that I do or have"),
            ("figure", "a figure that I measure"),
        ]
        if re.search(r"\d", text):
            new = [new[2], *new[:2]]
        figure = LIMIT.search(text.casefold()) and scored[0][0] < SURE
        if self._talk.insists or (offered and not figure):
            question = "Which of these is it?" if offered else "That is new here. What is it?"
            help = "What is known already comes first; your rule then speaks of that. To say it otherwise, type back."
            kind, _, id = self._talk.pick(question, offered + new, help)[0].partition(" ")
        else:
            kind, id = kind_of(text), ""
            self._talk.say(f"Taken as {dict(new)[kind].replace(' I ', ' you ')}. {WRONG}")
        if kind == "figure":
            d.figure = self._figure(text, d.rinds)
        elif kind == "new_sign":
            d.new_sign = text
        elif kind == "new_fact":
            d.new_fact = text
        elif kind == "sign":
            d.sign = id
        else:
            d.circumstance = id

    def _figure(self, text: str, rinds: tuple[str, ...]) -> tuple[str, str, float]:
        asks = {q.id: q for q in numbers(self._catalog)}
        measured = [q for q in asks.values() if not q.worked_out and can_be_on(q.rinds, rinds, self._catalog)]
        said, text = text, plainer(text)
        ranked = sorted(measured, key=lambda q: (-like(text, plainer(f"{q.ask} {q.id.replace('_', ' ')}")), q.id))
        offered = [(q.id, f"{asked(q, 'the rind')} ({q.unit})") for q in ranked[:OFFERED]]
        help = "Or a figure by its id: rindwright questions"
        id = self._talk.pick("Which figure is it?", offered, help, known=asks)[0]
        question = asks[id]

        def limit(reply: str) -> tuple[tuple[str, str, float] | None, str]:
            found = LIMIT.search(reply.casefold())
            if found is None:
                return None, "Type above or below and a figure, such as: above 16"
            number = float(f"{float(found.group(2).replace(',', '.')):g}")
            low = question.minimum if question.minimum is not None else number
            high = question.maximum if question.maximum is not None else number
            if not low <= number <= high:
                return None, f"It runs from {low:g} to {high:g} {question.unit}."
            return (id, "above" if found.group(1) in ("above", "over") else "below", number), ""

        told, _ = limit(said)
        if told is not None and not self._talk.insists:
            self._talk.say(f"Taken as: {told[1]} {told[2]:g} {question.unit}. {WRONG}")
            return told
        return self._talk.ask(f"Above or below which figure, in {question.unit}?", limit, "Such as: above 16")

    def _cause(self, d: Draft) -> None:
        text = self._talk.ask(
            "What does it point to, or speak against? Name the cause in your own words.",
            talking.words,
            "Such as: box too wet. All causes: rindwright rules list --all",
        )
        fitting = [c for c in self._catalog.causes.values() if can_be_on(c.rinds, d.rinds, self._catalog)]
        scored = sorted(((like(text, c.name), c.id, c.name) for c in fitting), key=lambda x: (-x[0], x[1]))
        sure = [id for score, id, _ in scored if score >= SURE] or [c.id for c in fitting if all_in(text, c.name)]
        if len(sure) == 1 and not self._talk.insists:
            d.cause = sure[0]
            self._talk.say(f"Taken as: {self._catalog.causes[d.cause].name}. {WRONG}")
            return
        offered = [(id, name) for score, id, name in scored[:OFFERED] if score >= LIKE]
        if not offered and not self._talk.insists:
            d.new_cause = text
            self._talk.say(f"No cause that can be on this rind is called that: taken as one of its own. {WRONG}")
            return
        offered = offered or [(id, name) for _, id, name in scored[:OFFERED]]
        offered.append(("", "a cause of its own, not known here"))
        help = "A cause of its own is shown beside the known ones. A known one may be given by its id too."
        picked = self._talk.pick("Which of these do you mean?", offered, help, known={c.id for c in fitting})[0]
        if picked:
            d.cause = picked
        else:
            d.new_cause = text

    def _said_by_the_house(self, d: Draft) -> bool:
        """Whether a rule of the house says the same already and another cause is to be named. Raises ``Leave``."""
        there = house_says(self._catalog, d)
        if not there:
            return False
        rule, word = there[0]
        what = self._catalog.signs[d.sign].name if d.sign else self._catalog.circumstances[d.circumstance].means
        self._talk.say(
            f'Your house rule "{rule}" ties this to that cause already: {what}, {word}. A second rule cannot say it '
            f"anew, for then neither would count. To alter the word, open {self._folder / rule}.yaml and change "
            f'"{word}" there; or take that rule back and tell it afresh: rindwright rules take-back {rule}'
        )
        offered = [("another", "name another cause"), ("leave", "leave the rule of the house as it is, and write none")]
        if self._talk.pick("What would you like?", offered, "Type 1 or 2.")[0] == "leave":
            raise Leave
        return True

    def _strength(self, d: Draft) -> None:
        if d.sign or d.new_sign:
            ways = [(w, f"it shows {w} when that is the cause") for w in SEEN]
        else:
            ways = [(f"for {w}", f"it makes that cause likelier: {w}") for w in STRENGTHS]
        if not d.new_cause:  # a cause that nothing points to can never come up
            ways += [(f"against {w}", f"it speaks against that cause: {w}") for w in STRENGTHS]
        picked = self._talk.pick(
            "How strongly?",
            ways,
            "Strong is about eight times the odds, moderate three, small one and a half. If in doubt, the weaker word.",
        )[0]
        d.against = picked.startswith("against ")
        d.word = picked.removeprefix("against ").removeprefix("for ")
        before = said_already(self._catalog, d)
        if before:
            self._talk.say(f'The packaged word here is "{before}". Your rule puts "{d.word}" in its place.')

    def _act(self, do: str) -> str:
        acts = [a for a in self._catalog.acts.values() if a.id != OFFERING]
        told = content(do)
        score = {a.id: like(do, a.name) + (a.id.rstrip("s") in told) for a in acts}
        ranked = sorted(acts, key=lambda a: (-score[a.id], a.id))
        if score[ranked[0].id] >= 1 and score[ranked[0].id] > score[ranked[1].id] + 0.1:
            self._talk.say(f"Its hygiene is that of: {ranked[0].name}.")
            return ranked[0].id
        offered = [(a.id, a.name) for a in ranked[: OFFERED + 1]]
        ids = sorted(a.id for a in acts)
        help = f"It brings its hygiene with it. Any of these words will do: {', '.join(ids)}."
        return self._talk.pick("What kind of handling is that?", offered, help, known=ids)[0]

    def _sum_up(self, d: Draft) -> None:
        """Read the rule back before the last question."""
        report, entry, _ = self._made(replace(d, owner="you"))
        if entry is None or not self._talk.live:
            return
        catalog = Catalog(report.layered.knowledge)
        self._pen.line()
        self._pen.line("This is your rule:")
        for sentence in in_plain_words(catalog, entry.rule, Catalog(self._packaged)):
            self._pen.item("- ", sentence)
        reaches(self._pen, catalog, report.reach.get(entry.name, ()))

    def _made(self, d: Draft) -> tuple[Report, Entry | None, str]:
        """The house with the rule in it, checked; the rule; its text."""
        made = rule_of(self._catalog, d)
        name, text = str(made["rule"]), rule_text(made)
        entry, wrong = read_rule(text, f"{name}.yaml")
        shelf = Shelf((*self._shelf.entries, *([entry] if entry else [])), (*self._shelf.faults, *wrong))
        return check(self._packaged, shelf, frozenset({name})), entry, text

    def _write(self, d: Draft) -> Status:
        report, entry, text = self._made(d)
        mine = [r for r in report.remarks if entry is None or r.fault.file == entry.read.file]
        faults = [r.fault for r in mine if r.kind == "fault"]
        if faults or entry is None:
            for fault in faults:
                click.echo(str(fault), err=True)
            click.echo("No rule is written.", err=True)
            return Status.INVALID
        place = files.write(self._folder, entry.name, text, fresh=True)
        files.note(self._folder, d.date, "new", entry.name, d.because)
        self._pen.line()
        self._pen.line(f"Written: {place.name}. It counts from now on.", "bold")
        for remark in mine:
            self._pen.item("look again: ", remark.fault.sentence)
        self._pen.line(f"See what it changes: rindwright rules try {entry.name}")
        self._pen.line(f"Take it back: rindwright rules take-back {entry.name}")
        return Status.DONE
