"""The look that a questionnaire fills: in the archive after every answer, or with the trouble that hinders it."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from ...engine.answers import UNKNOWN, Answers, Value
from ...engine.catalog import Catalog
from ...engine.errors import Faults, FileProblem
from .. import clock

if TYPE_CHECKING:
    # The archive is opened with the first answer, so that the first question does not wait for it.
    from ...engine.archive.learnt import Standing
    from ...engine.archive.looks import Given
    from ...engine.archive.makes import Wheel
    from ...engine.archive.store import Archive
    from ...engine.diagnosis import Diagnosis


@dataclass(slots=True)
class Look:
    """One questionnaire: answers in the order they were given, and what was skipped."""

    name: str
    catalog: Catalog
    path: Path | None = None
    """Where it is kept; None: nowhere."""
    archive: Archive | None = None
    id: int | None = None
    """Its number in the archive; it gets one with the first answer."""
    named: bool = True
    """Whether the maker chose the name; otherwise it may still change with the first answer."""
    wheel: Wheel | None = None
    looked_on: str = ""
    given: list[tuple[str, Value]] = field(default_factory=list)
    carried: dict[str, str] = field(default_factory=dict)
    """Answers taken over from earlier, with the date they were given."""
    skipped: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    """What the maker said in their own words."""
    measured: list[str] = field(default_factory=list)
    """Logger files that answered, with their period and number of readings."""
    listed_all: bool = False
    noticed: bool = False
    """Whether the maker has been asked what they notice."""
    trouble: str = ""
    """Why it could not be saved, when it could not."""
    revision: int | None = None
    """The revision that the answers here build on."""
    reminder: str = ""
    """What was to be seen by now, from the last look at this wheel."""
    known: Standing | None = None
    """What was learnt, once looked up."""

    @property
    def answers(self) -> Answers:
        """The answers as a set."""
        return Answers.of(dict(self.given), self.listed_all)

    @property
    def from_before(self) -> str:
        """How many answers were taken over from earlier looks, in words; empty for none."""
        if not self.carried or self.wheel is None:
            return ""
        since = min(self.carried.values())
        return f"{self.wheel.title}: {len(self.carried)} answers carried over, the oldest from {since}."

    def know(self, facts: Sequence[str]) -> None:
        """Take answers given beforehand, as ``question=answer``. Raises ``FileProblem`` with all that are none."""
        if not facts:
            return
        from ...engine.archive import makes

        faults, known = Faults(), list[makes.Fact]()
        for text in facts:
            with faults.noted():
                known.append(makes.fact_of(self.catalog, text, self.looked_on))
        faults.end()
        for fact in known:
            self.put(fact.question, fact.value)

    def put(self, question: str, value: Value) -> None:
        """Take or change an answer, and save."""
        before = dict(self.given).get(question)
        if before is not None:
            self.given = [(key, value if key == question else old) for key, old in self.given]
        else:
            self.given.append((question, value))
        if value != before:  # the same word again keeps the date it was first said
            self.carried.pop(question, None)
        if question in self.skipped:
            self.skipped.remove(question)
        self.save()

    def say(self, answers: Answers) -> None:
        """Take answers that are said today, also where they are the same words again."""
        for question, _ in answers:
            self.carried.pop(question, None)
        self.take(answers)

    def take(self, answers: Answers) -> None:
        """Take all of some answers, for a later ``save``; those carried over give way where they differ."""
        known = dict(self.given)
        for question, value in answers:
            if known.get(question) != value:
                self.carried.pop(question, None)
            known[question] = value
        self.given, self.listed_all = list(known.items()), answers.listed_all

    def forget(self, question: str) -> None:
        """Drop an answer, so that its question comes again, and save."""
        self.given = [pair for pair in self.given if pair[0] != question]
        self.save()

    def skip(self, question: str) -> None:
        """Pass over a question, and save."""
        self.skipped.append(question)
        self.save()

    def pass_over(self, questions: Sequence[str]) -> None:
        """Take questions of the screen that were never put as "don't know", and save.

        They stand among the skipped as well, by which ``reopen`` knows that they were never put.
        """
        for question in questions:
            self.given.append((question, UNKNOWN))
            if question not in self.skipped:
                self.skipped.append(question)
        if questions:
            self.save()

    def back(self) -> str | None:
        """Take back the last answer of today; its question, or None when there is none."""
        own = [key for key, _ in self.given if key not in self.carried]
        if not own:
            return None
        self.given = [pair for pair in self.given if pair[0] != own[-1]]
        self.save()
        return own[-1]

    def save(self) -> None:
        """Keep the answers as they stand; trouble is kept, never raised."""
        self._try(self._save)

    def _save(self, archive: Archive, id: int) -> None:
        from ...engine.archive import looks

        while True:
            try:
                self.revision = looks.save(archive, id, self._as_given(), clock.now(), self.revision)
                return
            except looks.Moved:  # someone answers the same look elsewhere: what both said stands
                self.revision = looks.revision(archive, id)
                self._join(looks.read_given(archive, id, self.catalog))

    def _join(self, other: Given) -> None:
        """Take up what was said elsewhere; where both answered, the answer given here stands."""
        own = {key for key, _ in self.given}
        for question, value, since in other.answers:
            if question not in own:
                self.given.append((question, value))
                self.carried |= {question: since} if since else {}
        answered = {key for key, value in self.given if value != UNKNOWN}
        self.skipped = [q for q in dict.fromkeys((*self.skipped, *other.skipped)) if q not in answered]
        self.words = list(dict.fromkeys((*self.words, *other.words)))
        self.measured = list(dict.fromkeys((*self.measured, *other.measured)))
        self.listed_all = self.listed_all or other.listed_all
        self.noticed = self.noticed or other.noticed

    def finish(self, catalog: Catalog, d: Diagnosis) -> None:
        """Keep the diagnosis, and when to look again."""
        from ...engine.archive import looks
        from ...engine.archive.weighed import weighed_of
        from ...engine.days import later

        cheese = self.answers.cheese(catalog)
        local = self.learnt(catalog).local.stamp
        body = weighed_of(d, cheese.family, cheese.style.id if cheese.style else None, cheese.age_days, local, catalog)
        again = d.plan.look_again_days
        due = None if again is None else later(self.looked_on, again)

        def work(archive: Archive, id: int) -> None:
            looks.finish(archive, id, body, due, clock.now())
            now = looks.revision(archive, id)
            if self.revision is not None and now == self.revision + 1:  # else the next save takes up what others said
                self.revision = now

        self._try(work)

    def learnt(self, catalog: Catalog) -> Standing:
        """Corrections in force, and from how many confirmed looks."""
        if self.known is None:
            from ...engine.archive.learnt import NOTHING, standing
            from ...engine.archive.problems import ArchiveProblem, spoken

            self.known = NOTHING
            if self.archive is not None:
                with contextlib.suppress(ArchiveProblem), spoken(self.archive.path):
                    self.known = standing(self.archive, catalog) or NOTHING
        return self.known

    def _as_given(self) -> Given:
        from ...engine.archive.looks import Given

        return Given(
            tuple((key, value, self.carried.get(key)) for key, value in self.given),
            tuple(self.skipped),
            tuple(self.words),
            tuple(self.measured),
            self.listed_all,
            self.noticed,
        )

    def _try(self, work: Callable[[Archive, int], None]) -> None:
        if self.path is None:
            return
        from ...engine.archive import looks
        from ...engine.archive.store import open_archive

        try:
            if self.archive is None:
                self.archive = open_archive(self.path)
            if self.id is None:
                wheel = self.wheel.id if self.wheel else None
                name = self.name if self.named else None
                self.id, self.name = looks.begin(self.archive, name, self.looked_on, clock.now(), wheel)
                self.revision = looks.revision(self.archive, self.id)
            work(self.archive, self.id)
            self.trouble = ""
        except FileProblem as problem:
            self.trouble = str(problem)


def new(path: Path, name: str | None, catalog: Catalog, wheel: str | None = None, on: str | None = None) -> Look:
    """A fresh look. Raises ``FileProblem`` when its name, wheel or day cannot be; a broken archive is only its trouble.

    Without a name and a wheel there is nothing to look up: the archive waits for the first answer.
    """
    looked_on = clock.today()
    if on is not None:
        from ...engine.days import past_day

        looked_on = past_day(on, looked_on)
    if name is not None:
        _check_name(name)
    look = Look(name or looked_on, catalog, path, named=name is not None, looked_on=looked_on)
    if name is None and wheel is None:
        return look
    from ...engine.archive.store import ArchiveProblem, open_archive

    try:
        look.archive = open_archive(path)
    except ArchiveProblem as problem:
        if wheel is not None:
            raise
        look.trouble = str(problem)
        return look
    db = look.archive.db
    if name is not None and db.execute("SELECT 1 FROM look WHERE name = ?", (name,)).fetchone():
        look.archive.close()
        raise FileProblem(f'There is a look "{name}" already. Go on with it: rindwright ask --resume "{name}"')
    if wheel is not None:
        _look_up(look, look.archive, wheel)
    return look


def _look_up(look: Look, archive: Archive, wheel: str) -> None:
    """What is known of a wheel: answers that carry over, and what was to be seen by now."""
    from ...engine.archive import listing, makes

    look.wheel = makes.find_wheel(archive, wheel)
    begun = makes.begun_on(archive, look.wheel.make_id)
    if look.looked_on < begun:
        raise FileProblem(f"{look.looked_on} lies before the make ({begun}); say another day with --on.")
    for fact in makes.carried(archive, look.catalog, look.wheel, look.looked_on):
        look.given.append((fact.question, fact.value))
        look.carried[fact.question] = fact.on_date
    waiting = [found for found in listing.due(archive, "9999-12-31") if found[0].wheel == look.wheel.title]
    for row, expect, otherwise in waiting[-1:]:
        look.reminder = f"Since look {row.name} of {row.looked_on} you should see: {expect} {otherwise}".strip()


def reopen(path: Path, name: str, catalog: Catalog) -> Look:
    """A look that was left. An empty name means the one saved last.

    Raises ``FileProblem`` when there is none, or when the archive cannot be read.
    """
    from ...engine.archive.problems import spoken
    from ...engine.archive.store import open_archive

    if not path.exists():
        raise FileProblem("There is no look to go on with. Start one: rindwright ask")
    archive = open_archive(path)
    with spoken(path):
        return _reopened(archive, name, catalog)


def _reopened(archive: Archive, name: str, catalog: Catalog) -> Look:
    from ...engine.archive import looks, makes

    look_id = looks.find(archive, name)
    record = looks.record_of(archive, look_id)
    given = looks.read_given(archive, look_id, catalog)
    passed_over = {question for question, value, _ in given.answers if value == UNKNOWN and question in given.skipped}
    return Look(
        record["name"],
        catalog,
        archive.path,
        archive,
        look_id,
        wheel=makes.wheel_of(archive, look_id),
        looked_on=record["looked_on"],
        given=[(question, value) for question, value, _ in given.answers if question not in passed_over],
        carried={question: since for question, _, since in given.answers if since is not None},
        skipped=[question for question in given.skipped if question not in passed_over],  # to be put now
        words=list(given.words),
        measured=list(given.measured),
        listed_all=given.listed_all,
        noticed=given.noticed,
        revision=looks.revision(archive, look_id),
    )


def _check_name(name: str) -> None:
    if not re.fullmatch(r"[\w][\w. -]{0,60}", name) or ".." in name:
        raise FileProblem(f'"{name}" cannot name a look; use letters, digits, spaces and dashes.')
