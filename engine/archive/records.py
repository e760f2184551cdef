"""Looks and makes as whole records: what the daybook keeps, a file exchanges and an archive merges.

A record holds everything that was said about one look, or one make with its wheels. Its ``uid`` never
changes, its ``revision`` counts up with every change, and its ``digest`` covers all of it, so that a bit
that fell over on the disk is noticed. Of two records with one ``uid`` the higher revision stands.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from array import array
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any

from .daybook import Record, as_json, digest_of

LOOK_FIELDS = (
    "uid", "revision", "name", "looked_on", "opened_at", "changed_at", "finished",
    "family", "style", "age_days", "verdict", "first_cause", "first_probability", "knowledge",
)  # fmt: skip
MAKE_FIELDS = (
    "uid", "revision", "name", "opened_at", "family", "style", "made_on", "salting_ended_on", "milk", "cultures",
    "salt",
)  # fmt: skip


def new_uid(kind: str, name: str, at: str) -> str:
    """A name that no other record anywhere has: from kind, name and the moment it was opened."""
    return hashlib.sha256(f"{kind}\0{name}\0{at}".encode()).hexdigest()[:24]


def _whole(read: Callable[[sqlite3.Connection, int], Record]) -> Callable[[sqlite3.Connection, int], Record]:
    """A harmed file may lack a row of a record, or hold something else in it: that is an error of the file."""

    @wraps(read)
    def reading(connection: sqlite3.Connection, id: int) -> Record:
        try:
            return read(connection, id)
        except (IndexError, TypeError, ValueError, KeyError) as error:
            raise sqlite3.DatabaseError(f"a record is not whole: {type(error).__name__}") from None

    return reading


@_whole
def look_record(connection: sqlite3.Connection, look_id: int) -> Record:
    """Everything about one look."""
    row = _row(connection, f"SELECT {', '.join(LOOK_FIELDS)}, wheel_id FROM look WHERE id = ?", look_id)
    said = _row(
        connection, "SELECT answers, skipped, words, measured, listed_all, noticed FROM said WHERE look_id = ?", look_id
    )
    weighed = connection.execute("SELECT body FROM weighed WHERE look_id = ?", (look_id,)).fetchone()
    follow = _rows(
        connection, "SELECT due_on, expect, otherwise, done_on, result FROM follow_up WHERE look_id = ?", look_id
    )
    wheel = connection.execute("SELECT uid FROM wheel WHERE id = ?", (row.pop("wheel_id"),)).fetchone()
    outcomes = _rows(
        connection, "SELECT on_date, causes, known_by, complete, taste FROM outcome WHERE look_id = ? ORDER BY id",
        look_id,
    )  # fmt: skip
    for outcome in outcomes:
        outcome["causes"] = json.loads(outcome["causes"])
        outcome["complete"] = bool(outcome["complete"])
    record = {
        "kind": "look",
        **row,
        "finished": bool(row["finished"]),
        "wheel": wheel[0] if wheel else None,
        "answers": json.loads(said["answers"]),
        "skipped": json.loads(said["skipped"]),
        "words": json.loads(said["words"]),
        "measured": json.loads(said["measured"]),
        "listed_all": bool(said["listed_all"]),
        "noticed": bool(said["noticed"]),
        "weighed": json.loads(weighed[0]) if weighed else None,
        "follow_up": follow[0] if follow else None,
        "deeds": _rows(connection, "SELECT on_date, what, act FROM deed WHERE look_id = ? ORDER BY id", look_id),
        "outcomes": outcomes,
        "notes": _rows(connection, "SELECT on_date, text FROM note WHERE look_id = ? ORDER BY id", look_id),
    }
    return {**record, "digest": digest_of(record)}


@_whole
def make_record(connection: sqlite3.Connection, make_id: int) -> Record:
    """Everything about one make and its wheels."""
    row = _row(connection, f"SELECT {', '.join(MAKE_FIELDS)} FROM make WHERE id = ?", make_id)
    row["cultures"] = json.loads(row["cultures"])
    facts = _rows(
        connection, "SELECT question, value, on_date, planned FROM fact WHERE make_id = ? ORDER BY id", make_id
    )
    for fact in facts:
        fact["value"] = json.loads(fact["value"])
        fact["planned"] = bool(fact["planned"])
    record = {
        "kind": "make",
        **row,
        "wheels": _rows(connection, "SELECT uid, name FROM wheel WHERE make_id = ? ORDER BY id", make_id),
        "facts": facts,
        "notes": _rows(connection, "SELECT on_date, text FROM note WHERE make_id = ? ORDER BY id", make_id),
    }
    return {**record, "digest": digest_of(record)}


@_whole
def learnt_record(connection: sqlite3.Connection, learnt_id: int) -> Record:
    """One step of learning."""
    row = _row(connection, "SELECT at, knowledge, looks, body, withdrawn_at FROM learnt WHERE id = ?", learnt_id)
    row["body"] = json.loads(row["body"])
    record = {"kind": "learnt", "uid": new_uid("learnt", row["knowledge"], row["at"]), **row}
    record["revision"] = 2 if row["withdrawn_at"] else 1
    return {**record, "digest": digest_of(record)}


RECORD_OF = {"make": make_record, "look": look_record, "learnt": learnt_record}
"""What reads a record of each kind; makes come first wherever all are read, since looks name their wheels."""


def put_record(connection: sqlite3.Connection, record: Record) -> bool:
    """Put a record in place of an older one with its ``uid``. False when the one there is as new.

    A name that belongs to another record gets a number behind it.
    """
    if record["kind"] == "look":
        return _put_look(connection, record)
    if record["kind"] == "make":
        return _put_make(connection, record)
    return _put_learnt(connection, record)


def _put_look(connection: sqlite3.Connection, record: Record) -> bool:
    known = connection.execute(
        "SELECT id, revision, digest FROM look WHERE uid = ?", (record["uid"],)
    ).fetchone()  # fmt: skip
    if known and known[1] >= record["revision"]:
        return False
    wheel = connection.execute("SELECT id FROM wheel WHERE uid = ?", (record["wheel"],)).fetchone()
    if record["wheel"] is not None and wheel is None:
        raise KeyError(f'look "{record["name"]}" names a wheel that is not there')
    record = _named(connection, "look", record)
    values = [record[field] for field in LOOK_FIELDS]
    if known:
        connection.execute("DELETE FROM look WHERE id = ?", (known[0],))
    connection.execute(
        f"INSERT INTO look (id, wheel_id, digest, {', '.join(LOOK_FIELDS)}) VALUES (?, ?, ?{', ?' * len(values)})",
        (known[0] if known else None, wheel[0] if wheel else None, record["digest"], *values),
    )
    look_id = connection.execute("SELECT id FROM look WHERE uid = ?", (record["uid"],)).fetchone()[0]
    connection.execute(
        "INSERT INTO said VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            look_id, as_json(record["answers"]), as_json(record["skipped"]), as_json(record["words"]),
            as_json(record["measured"]),
            record["listed_all"], record["noticed"],
        ),
    )  # fmt: skip
    if record["weighed"] is not None:
        put_weighed(connection, look_id, record["weighed"])
    if record["follow_up"] is not None:
        f = record["follow_up"]
        connection.execute(
            "INSERT INTO follow_up VALUES (?, ?, ?, ?, ?, ?)",
            (look_id, f["due_on"], f["expect"], f["otherwise"], f["done_on"], f["result"]),
        )
    connection.executemany(
        "INSERT INTO deed (look_id, on_date, what, act) VALUES (?, ?, ?, ?)",
        [(look_id, d["on_date"], d["what"], d["act"]) for d in record["deeds"]],
    )
    connection.executemany(
        "INSERT INTO outcome (look_id, on_date, causes, known_by, complete, taste) VALUES (?, ?, ?, ?, ?, ?)",
        [
            (look_id, o["on_date"], as_json(o["causes"]), o["known_by"], o["complete"], o["taste"])
            for o in record["outcomes"]
        ],
    )
    connection.executemany(
        "INSERT INTO note (look_id, on_date, text) VALUES (?, ?, ?)",
        [(look_id, n["on_date"], n["text"]) for n in record["notes"]],
    )
    return True


def _put_make(connection: sqlite3.Connection, record: Record) -> bool:
    known = connection.execute("SELECT id, revision FROM make WHERE uid = ?", (record["uid"],)).fetchone()
    if known and known[1] >= record["revision"]:
        _put_wheels(connection, known[0], record)  # looks may name a wheel that only the other side knows
        return False
    record = _named(connection, "make", record)
    values = [as_json(record[f]) if f == "cultures" else record[f] for f in MAKE_FIELDS]
    if known:
        make_id = known[0]
        places = ", ".join(f"{field} = ?" for field in MAKE_FIELDS)
        connection.execute(f"UPDATE make SET digest = ?, {places} WHERE id = ?", (record["digest"], *values, make_id))
        connection.execute("DELETE FROM fact WHERE make_id = ?", (make_id,))
        connection.execute("DELETE FROM note WHERE make_id = ?", (make_id,))
    else:
        make_id = connection.execute(
            f"INSERT INTO make (digest, {', '.join(MAKE_FIELDS)}) VALUES (?{', ?' * len(values)})",
            (record["digest"], *values),
        ).lastrowid
    _put_wheels(connection, make_id, record)
    connection.executemany(
        "INSERT INTO fact (make_id, question, value, on_date, planned) VALUES (?, ?, ?, ?, ?)",
        [(make_id, f["question"], as_json(f["value"]), f["on_date"], f["planned"]) for f in record["facts"]],
    )
    connection.executemany(
        "INSERT INTO note (make_id, on_date, text) VALUES (?, ?, ?)",
        [(make_id, n["on_date"], n["text"]) for n in record["notes"]],
    )
    return True


def _put_wheels(connection: sqlite3.Connection, make_id: int, record: Record) -> None:
    for wheel in record["wheels"]:
        if connection.execute("SELECT 1 FROM wheel WHERE uid = ?", (wheel["uid"],)).fetchone():
            continue
        name, number = wheel["name"], 1
        while connection.execute("SELECT 1 FROM wheel WHERE make_id = ? AND name = ?", (make_id, name)).fetchone():
            number += 1
            name = f"{wheel['name']} ({number})"
        connection.execute("INSERT INTO wheel (uid, make_id, name) VALUES (?, ?, ?)", (wheel["uid"], make_id, name))


def _put_learnt(connection: sqlite3.Connection, record: Record) -> bool:
    known = connection.execute(
        "SELECT id, withdrawn_at FROM learnt WHERE at = ? AND knowledge = ?", (record["at"], record["knowledge"])
    ).fetchone()
    if known:
        if known[1] is not None or record["withdrawn_at"] is None:
            return False
        connection.execute("UPDATE learnt SET withdrawn_at = ? WHERE id = ?", (record["withdrawn_at"], known[0]))
        return True
    connection.execute(
        "INSERT INTO learnt (at, knowledge, looks, body, withdrawn_at) VALUES (?, ?, ?, ?, ?)",
        (record["at"], record["knowledge"], record["looks"], as_json(record["body"]), record["withdrawn_at"]),
    )
    return True


def put_weighed(connection: sqlite3.Connection, look_id: int, body: Record) -> None:
    """Keep a diagnosis, and the marks by which a look is found again."""
    connection.execute(
        "INSERT INTO weighed VALUES (?, ?, ?) ON CONFLICT (look_id) DO UPDATE SET knowledge = excluded.knowledge, "
        "body = excluded.body",
        (look_id, body["knowledge"], as_json(body)),
    )
    tokens = sorted(_token(connection, name) for name in marks_of(body))
    connection.execute(
        "INSERT INTO mark VALUES (?, ?) ON CONFLICT (look_id) DO UPDATE SET tokens = excluded.tokens",
        (look_id, array("I", tokens).tobytes()),
    )


def marks_of(body: Record) -> Iterable[str]:
    """What a look is known by: signs there and not there, circumstances that hold, the rind and its age."""
    for sign, state in body["signs"].items():
        yield f"{'sign' if state == 'there' else 'no'} {sign}"
    for circumstance, so in body["holds"].items():
        if so:
            yield f"holds {circumstance}"
    for name in ("family", "style", "week"):
        if body.get(name) is not None:
            yield f"{name} {body[name]}"


def _token(connection: sqlite3.Connection, name: str) -> int:
    connection.execute("INSERT OR IGNORE INTO token (name) VALUES (?)", (name,))
    return int(connection.execute("SELECT id FROM token WHERE name = ?", (name,)).fetchone()[0])


def _named(connection: sqlite3.Connection, table: str, record: Record) -> Record:
    name, number = record["name"], 1
    while connection.execute(
        f"SELECT 1 FROM {table} WHERE name = ? AND uid <> ?", (name, record["uid"])
    ).fetchone():  # fmt: skip
        number += 1
        name = f"{record['name']} ({number})"
    if name == record["name"]:
        return record
    renamed: dict[str, Any] = {**record, "name": name}
    return {**renamed, "digest": digest_of(renamed)}


def _row(connection: sqlite3.Connection, sql: str, id: int) -> Record:
    return _rows(connection, sql, id)[0]


def _rows(connection: sqlite3.Connection, sql: str, id: int) -> list[Record]:
    cursor = connection.execute(sql, (id,))
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]
