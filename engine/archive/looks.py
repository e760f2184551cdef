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
from .problems import ArchiveProblem, damaged
from .records import look_record, new_uid, put_weighed
from .store import Archive

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
    listed_all: bool = False
    noticed: bool = False

    def as_answers(self) -> Answers:
        """The answers as a set."""
        return Answers.of(((q, v) for q, v, _ in self.answers), self.listed_all)


@dataclass(frozen=True, slots=True)
class LookRow:
    """One line of a list of looks."""

    id: int
    name: str
    looked_on: str
    wheel: str
    """``make/wheel``, or nothing."""
    style: str | None
    age_days: float | None
    verdict: str | None
    first_cause: str | None
    first_probability: float | None
    due_on: str | None
    outcome: tuple[str, ...] | None
    """Causes of the latest outcome; an empty tuple says nothing was wrong; None: no outcome yet."""
    finished: bool


_LIST = """
    SELECT look.id, look.name, looked_on, coalesce(make.name || '/' || wheel.name, ''), look.style, age_days,
        verdict, first_cause, first_probability,
        (SELECT due_on FROM follow_up WHERE look_id = look.id AND done_on IS NULL),
        (SELECT causes FROM outcome WHERE look_id = look.id ORDER BY id DESC LIMIT 1), finished
    FROM look LEFT JOIN wheel ON wheel.id = wheel_id LEFT JOIN make ON make.id = make_id
"""


def begin(archive: Archive, name: str | None, looked_on: str, at: str, wheel_id: int | None = None) -> tuple[int, str]:
    """A new look: its id and name. Without a name it is called after its day, with a number.

    Raises ``FileProblem`` when the name is taken, ``ArchiveProblem`` when it cannot be saved.
    """
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
        db.execute("INSERT INTO said VALUES (?, '[]', '[]', '[]', 0, 0)", (look_id,))
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


def save(archive: Archive, look_id: int, given: Given, at: str, seen: int | None = None) -> None:
    """Keep the answers of a look as they stand.

    ``seen`` is the revision the answers build on; raises ``Moved`` when the look is another one by now.
    """
    with archive.change() as db:
        if seen is not None and revision(archive, look_id) != seen:
            raise Moved("Another program has changed this look.")
        db.execute(
            "UPDATE said SET answers = ?, skipped = ?, words = ?, listed_all = ?, noticed = ? WHERE look_id = ?",
            (
                as_json_list([[q, list(v) if isinstance(v, tuple) else v, since] for q, v, since in given.answers]),
                as_json_list(given.skipped),
                as_json_list(given.words),
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
        "SELECT answers, skipped, words, listed_all, noticed FROM said WHERE look_id = ?", (look_id,)
    ).fetchone()
    return Given(
        tuple(fitting(catalog, json.loads(row[0]))),
        tuple(json.loads(row[1])),
        tuple(json.loads(row[2])),
        bool(row[3]),
        bool(row[4]),
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
    record = look_record(archive.db, look_id)
    kept = archive.db.execute("SELECT digest FROM look WHERE id = ?", (look_id,)).fetchone()[0]
    if kept != digest_of(record):
        raise damaged(archive.path, f'look "{record["name"]}" is not what was saved')
    return record


def listed(
    archive: Archive,
    *,
    family: str | None = None,
    cause: str | None = None,
    wheel_id: int | None = None,
    make_id: int | None = None,
    open_only: bool = False,
    text: str | None = None,
    most: int = 20,
) -> list[LookRow]:
    """Looks, newest first. ``cause`` finds looks that named it first and looks that turned out to be it."""
    wheres, values = ["1"], list[Any]()
    if family is not None:
        wheres.append("look.family = ?")
        values.append(family)
    if cause is not None:
        wheres.append(
            "(first_cause = ? OR look.id IN (SELECT look_id FROM outcome, json_each(causes) WHERE json_each.value = ?))"
        )
        values += [cause, cause]
    if wheel_id is not None:
        wheres.append("look.wheel_id = ?")
        values.append(wheel_id)
    if make_id is not None:
        wheres.append("wheel.make_id = ?")
        values.append(make_id)
    if open_only:
        wheres.append("look.id IN (SELECT look_id FROM follow_up WHERE done_on IS NULL)")
    if text is not None:
        like = "%" + text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
        wheres.append(
            "(look.name LIKE ? ESCAPE '\\' OR make.name LIKE ? ESCAPE '\\'"
            " OR look.id IN (SELECT look_id FROM note WHERE text LIKE ? ESCAPE '\\')"
            " OR look.id IN (SELECT look_id FROM deed WHERE what LIKE ? ESCAPE '\\')"
            " OR look.id IN (SELECT look_id FROM said WHERE words LIKE ? ESCAPE '\\'))"
        )
        values += [like] * 5
    rows = archive.db.execute(
        f"{_LIST} WHERE {' AND '.join(wheres)} ORDER BY looked_on DESC, look.id DESC LIMIT ?", (*values, most)
    )
    return [_look_row(row) for row in rows]


def due(archive: Archive, until: str) -> list[tuple[LookRow, str, str]]:
    """Follow-ups due up to a date, the longest due first: the look, what should be seen, and what if not."""
    rows = archive.db.execute(
        f"{_LIST} JOIN follow_up ON follow_up.look_id = look.id WHERE done_on IS NULL AND due_on <= ? "
        "ORDER BY due_on, look.id",
        (until,),
    ).fetchall()
    said = archive.db.execute("SELECT look_id, expect, otherwise FROM follow_up WHERE done_on IS NULL")
    texts = {row[0]: (row[1], row[2]) for row in said}
    return [(_look_row(row), *texts[row[0]]) for row in rows]


def count(archive: Archive) -> int:
    """How many looks there are."""
    return int(archive.db.execute("SELECT count(*) FROM look").fetchone()[0])


def add_deed(archive: Archive, look_id: int, on_date: str, what: str, act: str, at: str) -> None:
    """Keep what was done after a look; ``act`` is an act of the knowledge, or nothing."""
    with archive.change() as db:
        db.execute("INSERT INTO deed (look_id, on_date, what, act) VALUES (?, ?, ?, ?)", (look_id, on_date, what, act))
        db.execute("UPDATE look SET changed_at = ? WHERE id = ?", (at, look_id))
        archive.touch("look", look_id)


def add_note(archive: Archive, look_id: int, on_date: str, text: str, at: str) -> None:
    """Keep a free note on a look."""
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


def _look_row(row: Sequence[Any]) -> LookRow:
    outcome = tuple(json.loads(row[10])) if row[10] is not None else None
    id, name, looked_on, wheel, style, age, verdict, first, p, due_on = row[:10]
    return LookRow(id, name, looked_on, wheel, style, age, verdict, first, p, due_on, outcome, bool(row[11]))
