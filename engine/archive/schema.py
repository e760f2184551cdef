"""The tables of an archive, and the way from each older version to today's.

``MIGRATIONS[n]`` brings version n to version n + 1. A migration is never edited once it has shipped.
"""

from __future__ import annotations

import sqlite3

APPLICATION_ID = 0x52494E44
"""Marks the file as an archive of this program ("RIND"), in SQLite's own header field."""

MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE state (number INTEGER NOT NULL);
    INSERT INTO state VALUES (0);
    CREATE TABLE make (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        revision INTEGER NOT NULL,
        digest TEXT NOT NULL,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        opened_at TEXT NOT NULL,
        family TEXT, style TEXT, made_on TEXT, salting_ended_on TEXT,
        milk TEXT NOT NULL, cultures TEXT NOT NULL, salt TEXT NOT NULL
    );
    CREATE TABLE wheel (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        make_id INTEGER NOT NULL REFERENCES make ON DELETE RESTRICT,
        name TEXT NOT NULL COLLATE NOCASE,
        UNIQUE (make_id, name)
    );
    CREATE TABLE fact (
        id INTEGER PRIMARY KEY,
        make_id INTEGER NOT NULL REFERENCES make ON DELETE RESTRICT,
        question TEXT NOT NULL, value TEXT NOT NULL, on_date TEXT NOT NULL,
        planned INTEGER NOT NULL CHECK (planned IN (0, 1)),
        UNIQUE (make_id, question, on_date, planned)
    );
    CREATE TABLE look (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        revision INTEGER NOT NULL,
        digest TEXT NOT NULL,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        wheel_id INTEGER REFERENCES wheel ON DELETE RESTRICT,
        looked_on TEXT NOT NULL, opened_at TEXT NOT NULL, changed_at TEXT NOT NULL,
        finished INTEGER NOT NULL CHECK (finished IN (0, 1)),
        family TEXT, style TEXT, age_days REAL,
        verdict TEXT, first_cause TEXT, first_probability REAL, knowledge TEXT
    );
    CREATE INDEX look_by_wheel ON look (wheel_id, looked_on);
    CREATE INDEX look_by_day ON look (looked_on, id);
    CREATE INDEX look_by_cause ON look (first_cause, looked_on, id);
    CREATE INDEX look_by_family ON look (family, looked_on, id);
    CREATE TABLE said (
        look_id INTEGER PRIMARY KEY REFERENCES look ON DELETE CASCADE,
        answers TEXT NOT NULL, skipped TEXT NOT NULL, words TEXT NOT NULL,
        listed_all INTEGER NOT NULL, noticed INTEGER NOT NULL
    );
    CREATE TABLE weighed (
        look_id INTEGER PRIMARY KEY REFERENCES look ON DELETE CASCADE,
        knowledge TEXT NOT NULL, body TEXT NOT NULL
    );
    CREATE TABLE token (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);
    CREATE TABLE mark (look_id INTEGER PRIMARY KEY REFERENCES look ON DELETE CASCADE, tokens BLOB NOT NULL);
    CREATE TABLE follow_up (
        look_id INTEGER PRIMARY KEY REFERENCES look ON DELETE CASCADE,
        due_on TEXT NOT NULL, expect TEXT NOT NULL, otherwise TEXT NOT NULL,
        done_on TEXT, result TEXT
    );
    CREATE INDEX follow_up_due ON follow_up (due_on) WHERE done_on IS NULL;
    CREATE TABLE deed (
        id INTEGER PRIMARY KEY, look_id INTEGER NOT NULL REFERENCES look ON DELETE CASCADE,
        on_date TEXT NOT NULL, what TEXT NOT NULL, act TEXT NOT NULL
    );
    CREATE INDEX deed_of_look ON deed (look_id);
    CREATE TABLE outcome (
        id INTEGER PRIMARY KEY, look_id INTEGER NOT NULL REFERENCES look ON DELETE CASCADE,
        on_date TEXT NOT NULL, causes TEXT NOT NULL, known_by TEXT NOT NULL,
        complete INTEGER NOT NULL CHECK (complete IN (0, 1)), taste TEXT NOT NULL
    );
    CREATE INDEX outcome_of_look ON outcome (look_id);
    CREATE TABLE note (
        id INTEGER PRIMARY KEY,
        look_id INTEGER REFERENCES look ON DELETE CASCADE,
        make_id INTEGER REFERENCES make ON DELETE CASCADE,
        on_date TEXT NOT NULL, text TEXT NOT NULL,
        CHECK ((look_id IS NULL) <> (make_id IS NULL))
    );
    CREATE INDEX note_of_look ON note (look_id);
    CREATE INDEX note_of_make ON note (make_id);
    CREATE TABLE learnt (
        id INTEGER PRIMARY KEY, at TEXT NOT NULL, knowledge TEXT NOT NULL, looks INTEGER NOT NULL,
        body TEXT NOT NULL, withdrawn_at TEXT
    );
    """,
)
VERSION = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The schema version a file has; 0 for an empty one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def application_of(connection: sqlite3.Connection) -> int:
    """The program that a file says it belongs to; 0 when it says nothing."""
    return int(connection.execute("PRAGMA application_id").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring a file to today's version, in one transaction: all of it or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for number in range(version_of(connection), VERSION):
            for statement in _statements(MIGRATIONS[number]):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number + 1}")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _statements(script: str) -> list[str]:
    # ``executescript`` would commit first, and a migration must be one transaction.
    found, rest = [], ""
    for part in script.split(";"):
        rest += part + ";"
        if sqlite3.complete_statement(rest) and rest.strip(" \n;"):
            found.append(rest)
            rest = ""
    return found
