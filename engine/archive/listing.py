"""Lists of looks: by rind, cause, wheel, make, words, and what is due."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from .store import Archive


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
    """Looks, newest first. ``cause`` finds looks that named it first and looks that turned out to be it.

    ``text`` is looked for in names, the maker's own words, deeds and notes, and in what is noted of the make.
    """
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
        where, texts = _with_text(archive, text)
        wheres.append(where)
        values += texts
    rows = archive.db.execute(
        f"{_LIST} WHERE {' AND '.join(wheres)} ORDER BY looked_on DESC, look.id DESC LIMIT ?", (*values, most)
    )
    return [_look_row(row) for row in rows]


def _with_text(archive: Archive, text: str) -> tuple[str, list[str]]:
    """A condition on looks that hold a text, whatever its case, and the values it takes."""
    in_words = json.dumps(text, ensure_ascii=False)[1:-1]  # the words of a look are kept as a list in JSON
    if text.isascii():
        test, sought = "{} LIKE ? ESCAPE '\\'", [_like(text)] * 7 + [_like(in_words)]
    else:  # SQLite folds the case of ASCII alone
        archive.db.create_function("folded", 1, _folded, deterministic=True)
        test, sought = "instr(folded({}), ?)", [text.casefold()] * 7 + [in_words.casefold()]
    where = [test.format(column) for column in ("look.name", "make.name", "make.milk", "make.salt")]
    where += [f"{key} FROM {table} WHERE {test.format(column)})" for key, table, column in _TEXTS]
    return f"({' OR '.join(where)})", sought


_TEXTS = (
    ("make.id IN (SELECT make_id", "note", "text"),
    ("look.id IN (SELECT look_id", "note", "text"),
    ("look.id IN (SELECT look_id", "deed", "what"),
    ("look.id IN (SELECT look_id", "said", "words"),
)


def _like(text: str) -> str:
    return "%" + "".join("\\" + c if c in "\\%_" else c for c in text) + "%"


def _folded(text: str | None) -> str | None:
    return None if text is None else text.casefold()


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


def _look_row(row: Sequence[Any]) -> LookRow:
    outcome = tuple(json.loads(row[10])) if row[10] is not None else None
    id, name, looked_on, wheel, style, age, verdict, first, p, due_on = row[:10]
    return LookRow(id, name, looked_on, wheel, style, age, verdict, first, p, due_on, outcome, bool(row[11]))
