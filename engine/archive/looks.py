"""Looks: answers as they are given, the diagnosis they led to, and what came of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ..answers import Answers, Unusable, Value, understand
from ..catalog import Catalog
from ..errors import FileProblem, nearest
from .daybook import Record, as_json, digest_of
from .problems import ArchiveProblem, damaged, spoken
from .records import look_record, new_uid, put_weighed
from .store import Archive
from .texts import MOST_MEASURED, MOST_WORDS, NAME, TEXT, WORDS, fit, plain

KnownBy = Literal["laboratory", "lens", "remedy worked", "own view"]
KNOWN_BY: tuple[KnownBy, ...] = ("laboratory", "lens", "remedy worked", "own view")
"""How an outcome is known, surest first."""
TASTES = ("good", "fair", "poor", "not tasted")


@dataclass(frozen=True, slots=True)
class Given:
    """The answers of a look as they are kept, in the order they were given."""

    answers: tuple[tuple[str, Value, str | None], ...]
    """Question, value, and the date it was carried over from, if it was."""
    skipped: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    measured: tuple[str, ...] = ()
    """Logger files that answered, with their period and number of readings."""
    listed_all: bool = False
    noticed: bool = False

    def as_answers(self) -> Answers:
        """The answers as a set."""
        return Answers.of(((q, v) for q, v, _ in self.answers), self.listed_all)


def begin(archive: Archive, name: str | None, looked_on: str, at: str, wheel_id: int | None = None) -> tuple[int, str]:
    """A new look: its id and name. Without a name it is called after its day, with a number.

    Raises ``FileProblem`` when the name is taken, ``ArchiveProblem`` when it cannot be saved.
    """
    name = fit(name, NAME, "The name of a look") if name else None
    with archive.change() as db:
        name = name or free_name(archive, looked_on)
        if db.execute("SELECT 1 FROM look WHERE name = ?", (name,)).fetchone():
            raise FileProblem(f'There is a look "{name}" already. Go on with it: rindwright ask --resume "{name}"')
        look_id = db.execute(
            "INSERT INTO look (uid, revision, digest, name, wheel_id, looked_on, opened_at, changed_at, finished) "
            "VALUES (?, 0, '', ?, ?, ?, ?, ?, 0)",
            (new_uid("look", name, at), name, wheel_id, looked_on, at, at),
        ).lastrowid
        assert look_id is not None
        db.execute("INSERT INTO said VALUES (?, '[]', '[]', '[]', '[]', 0, 0)", (look_id,))
        archive.touch("look", look_id)
    return look_id, name


def free_name(archive: Archive, looked_on: str) -> str:
    """The first name of the form DAY-NUMBER that no look has."""
    taken = {
        row[0] for row in archive.db.execute("SELECT name FROM look WHERE name GLOB ?", (f"{looked_on}-[0-9]*",))
    }  # fmt: skip
    number = 1
    while f"{looked_on}-{number}" in taken:
        number += 1
    return f"{looked_on}-{number}"


class Moved(ArchiveProblem):
    """A look that another program has changed since it was read."""


def revision(archive: Archive, look_id: int) -> int:
    """How often a look has been changed."""
    return int(archive.db.execute("SELECT revision FROM look WHERE id = ?", (look_id,)).fetchone()[0])


def save(archive: Archive, look_id: int, given: Given, at: str, seen: int | None = None) -> int:
    """Keep the answers of a look as they stand; its revision from now on.

    ``seen`` is the revision the answers build on; raises ``Moved`` when the look is another one by now.
    """
    with archive.change() as db:
        before = revision(archive, look_id)
        if seen not in (None, before):
            raise Moved("Another program has changed this look.")
        db.execute(
            "UPDATE said SET answers = ?, skipped = ?, words = ?, measured = ?, listed_all = ?, noticed = ? "
            "WHERE look_id = ?",
            (
                as_json_list([[q, list(v) if isinstance(v, tuple) else v, since] for q, v, since in given.answers]),
                as_json_list(given.skipped),
                as_json_list([plain(text[:TEXT]) for text in given.words[-MOST_WORDS:]]),
                as_json_list([plain(text[:TEXT]) for text in given.measured[-MOST_MEASURED:]]),
                given.listed_all,
                given.noticed,
                look_id,
            ),
        )
        answers = given.as_answers()
        age = answers.get("age_days")
        db.execute(
            "UPDATE look SET changed_at = ?, family = ?, style = ?, age_days = ? WHERE id = ?",
            (
                at,
                _text(answers.get("family")),
                _text(answers.get("style")),
                age if isinstance(age, float) else None,
                look_id,
            ),
        )
        archive.touch("look", look_id)
    return before + 1


def finish(archive: Archive, look_id: int, weighed: Record, due_on: str | None, at: str) -> None:
    """Keep the diagnosis of a look; ``due_on`` is the date of the next one, when there is to be one."""
    first = weighed["causes"][0] if weighed["causes"] else None
    again = weighed["look_again"]
    with archive.change() as db:
        put_weighed(db, look_id, weighed)
        db.execute(
            "UPDATE look SET changed_at = ?, finished = 1, verdict = ?, first_cause = ?, first_probability = ?, "
            "knowledge = ? WHERE id = ?",
            (
                at,
                weighed["verdict"],
                first["id"] if first else None,
                first["probability"] if first else None,
                weighed["knowledge"],
                look_id,
            ),
        )
        db.execute("DELETE FROM follow_up WHERE look_id = ? AND done_on IS NULL", (look_id,))
        if due_on is not None and again is not None:
            db.execute(
                "INSERT OR IGNORE INTO follow_up VALUES (?, ?, ?, ?, NULL, NULL)",
                (look_id, due_on, again["expect"], again["otherwise"]),
            )
        archive.touch("look", look_id)
        _supersede(archive, look_id)
    archive.back_up_if_due()


def _supersede(archive: Archive, look_id: int) -> None:
    """A wheel that was looked at again is no longer waiting to be."""
    db = archive.db
    wheel_id, looked_on, name = db.execute(
        "SELECT wheel_id, looked_on, name FROM look WHERE id = ?", (look_id,)
    ).fetchone()
    waiting = db.execute(
        "SELECT look.id FROM look JOIN follow_up ON look_id = look.id WHERE wheel_id = ? AND looked_on <= ? "
        "AND look.id <> ? AND done_on IS NULL",
        (wheel_id, looked_on, look_id),
    ).fetchall()
    for (earlier,) in waiting:
        db.execute(
            "UPDATE follow_up SET done_on = ?, result = ? WHERE look_id = ?", (looked_on, f"see look {name}", earlier)
        )
        archive.touch("look", earlier)


def read_given(archive: Archive, look_id: int, catalog: Catalog) -> Given:
    """The answers of a look. What no longer fits today's questions is left out, to be asked again."""
    row = archive.db.execute(
        "SELECT answers, skipped, words, measured, listed_all, noticed FROM said WHERE look_id = ?", (look_id,)
    ).fetchone()
    return Given(
        tuple(fitting(catalog, json.loads(row[0]))),
        tuple(json.loads(row[1])),
        tuple(json.loads(row[2])),
        tuple(json.loads(row[3])),
        bool(row[4]),
        bool(row[5]),
    )


def fitting(catalog: Catalog, kept: Sequence[Sequence[Any]]) -> list[tuple[str, Value, str | None]]:
    """Kept answers that today's questions take."""
    found = []
    for question, raw, since in kept:
        if question in catalog.questions:
            try:
                found.append((question, understand(catalog.questions[question], raw), since))
            except Unusable:
                continue
    return found


def find(archive: Archive, name: str) -> int:
    """The id of a look by name; an empty name is the one changed last. Raises ``FileProblem`` when there is none."""
    if not name:
        row = archive.db.execute("SELECT id FROM look ORDER BY changed_at DESC, id DESC LIMIT 1").fetchone()
        if row is None:
            raise FileProblem("There is no look yet. Start one: rindwright ask")
        return int(row[0])
    row = archive.db.execute("SELECT id FROM look WHERE name = ?", (name,)).fetchone()
    if row is None:
        near = [r[0] for r in archive.db.execute("SELECT name FROM look ORDER BY id DESC LIMIT 1000")]
        raise FileProblem(f'There is no look "{name}"{nearest(name, near)}. See them all: rindwright past')
    return int(row[0])


def record_of(archive: Archive, look_id: int) -> Record:
    """Everything about a look. Raises ``Damaged`` when it is not what was saved."""
    with spoken(archive.path):
        record = look_record(archive.db, look_id)
        kept = archive.db.execute("SELECT digest FROM look WHERE id = ?", (look_id,)).fetchone()[0]
    if kept != digest_of(record):
        raise damaged(archive.path, f'look "{record["name"]}" is not what was saved')
    return record


def add_deeds(archive: Archive, look_id: int, on_date: str, deeds: Sequence[tuple[str, str]], at: str) -> None:
    """Keep what was done after a look: words, and an act of the knowledge or nothing."""
    deeds = [(fit(what, WORDS, "What was done"), act) for what, act in deeds]
    with archive.change() as db:
        db.executemany(
            "INSERT INTO deed (look_id, on_date, what, act) VALUES (?, ?, ?, ?)",
            [(look_id, on_date, what, act) for what, act in deeds],
        )
        db.execute("UPDATE look SET changed_at = ? WHERE id = ?", (at, look_id))
        archive.touch("look", look_id)


def add_note(archive: Archive, look_id: int, on_date: str, text: str, at: str) -> None:
    """Keep a free note on a look."""
    text = fit(text, TEXT, "The note")
    with archive.change() as db:
        db.execute("INSERT INTO note (look_id, on_date, text) VALUES (?, ?, ?)", (look_id, on_date, text))
        db.execute("UPDATE look SET changed_at = ? WHERE id = ?", (at, look_id))
        archive.touch("look", look_id)


def add_outcome(
    archive: Archive,
    look_id: int,
    on_date: str,
    causes: Sequence[str],
    known_by: str,
    complete: bool,
    taste: str,
    at: str,
) -> None:
    """Keep what a look turned out to be: the causes that were there, none when nothing was wrong.

    ``complete`` says that every other cause is excluded. A later outcome stands in place of an earlier one.
    """
    with archive.change() as db:
        db.execute(
            "INSERT INTO outcome (look_id, on_date, causes, known_by, complete, taste) VALUES (?, ?, ?, ?, ?, ?)",
            (look_id, on_date, as_json_list(sorted(set(causes))), known_by, complete, taste),
        )
        db.execute("UPDATE look SET changed_at = ? WHERE id = ?", (at, look_id))
        archive.touch("look", look_id)


def close_follow_up(archive: Archive, look_id: int, on_date: str, result: str, at: str) -> bool:
    """Say that a follow-up was done and how it went; False when there was none open.

    One that a later look has closed takes the maker's word too.
    """
    with archive.change() as db:
        done = db.execute(
            "UPDATE follow_up SET done_on = ?, result = ? "
            "WHERE look_id = ? AND (done_on IS NULL OR result LIKE 'see look %')",
            (on_date, result, look_id),
        ).rowcount
        if done:
            db.execute("UPDATE look SET changed_at = ? WHERE id = ?", (at, look_id))
            archive.touch("look", look_id)
    return bool(done)


def as_json_list(items: Sequence[Any]) -> str:
    """A list in the one way it is written."""
    return as_json(list(items))  # type: ignore[arg-type]


def _text(value: Value | None) -> str | None:
    return value if isinstance(value, str) and value != "unknown" else None
