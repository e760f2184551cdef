"""Makes and wheels: what a batch was meant to be, what went into it, and what need not be asked again.

Facts carry over to the next look with their date: first what was said of the wheel itself, then what was
entered for its make, then what was said of its sister wheels. Signs, smells, readings of the day and every
question that a stop or a hold turns on are asked anew each time.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ..answers import Unusable, Value, expected, is_known, understand
from ..catalog import Catalog
from ..cautions import rests_on
from ..conditions import leaves
from ..days import between
from ..errors import FileProblem, nearest
from ..gates import screened
from ..model import Condition
from .daybook import Record, as_json
from .looks import fitting
from .records import make_record, new_uid
from .store import Archive
from .texts import TEXT, WORDS, fit

OF_THE_DAY = frozenset(
    {
        "first_seen_day", "hours_since_wash", "warm_hours", "wash_liquid_age", "mat_age_days", "neighbours", "spread",
        "stable_visit", "eaters", "contact",
    }
)  # fmt: skip
"""Questions about the process whose answer is another one every week."""
LASTING_SAFETY = frozenset({"milk_heat"})
"""Of the questions a caution turns on, the one that cannot change any more."""


@dataclass(frozen=True, slots=True)
class Fact:
    """Something known of a make or a wheel, and since when."""

    question: str
    value: Value
    on_date: str


@dataclass(frozen=True, slots=True)
class Wheel:
    """A cheese of a make."""

    id: int
    make_id: int
    make: str
    name: str

    @property
    def title(self) -> str:
        """``make/wheel``."""
        return f"{self.make}/{self.name}"


def shown_by_the_rind(catalog: Catalog) -> frozenset[str]:
    """Questions that a sign is read from: asked anew at every look, and no fact of a make."""
    return frozenset(
        leaf.ask for sign in catalog.signs.values() for leaf in leaves(sign.when or Condition(ask=sign.id)) if leaf.ask
    )


def lasting(catalog: Catalog) -> frozenset[str]:
    """Questions whose answer holds for more than a day, and which no caution turns on."""
    of_signs = shown_by_the_rind(catalog)
    grave = {name for c in catalog.cautions.values() if c.level != "note" for name in rests_on(catalog, c.when)}
    grave |= set(screened(catalog))
    return frozenset(
        q.id
        for q in catalog.questions.values()
        if q.id in LASTING_SAFETY
        or q.id in ("family", "style")
        or (
            (q.about in ("memory", "who") or q.effort == "look up")
            and q.id not in of_signs | grave | OF_THE_DAY | {"age_days"}
        )
    )


def open_make(archive: Archive, name: str, at: str, wheels: Sequence[str] = ("1",)) -> int:
    """A new make with its wheels; its id. Raises ``FileProblem`` when the name is taken."""
    if archive.db.execute("SELECT 1 FROM make WHERE name = ?", (name,)).fetchone():
        raise FileProblem(f'There is a make "{name}" already. Show it: rindwright make "{name}"')
    with archive.change() as db:
        make_id = db.execute(
            "INSERT INTO make (uid, revision, digest, name, opened_at, milk, cultures, salt) "
            "VALUES (?, 0, '', ?, ?, '', '[]', '')",
            (new_uid("make", name, at), name, at),
        ).lastrowid
        assert make_id is not None
        _add_wheels(archive, make_id, wheels, at)
        archive.touch("make", make_id)
    return make_id


def change_make(
    archive: Archive,
    make_id: int,
    at: str,
    *,
    columns: dict[str, str] | None = None,
    cultures: Sequence[tuple[str, str]] = (),
    wheels: Sequence[str] = (),
    facts: Sequence[Fact] = (),
    planned: Sequence[Fact] = (),
    note: tuple[str, str] | None = None,
) -> None:
    """Add to a make. ``columns``: family, style, made_on, salting_ended_on, milk, salt; ``note``: date and text."""
    columns = {column: fit(value, WORDS, f"The {column}") for column, value in (columns or {}).items()}
    cultures = [(fit(species, WORDS, "A culture"), fit(amount, WORDS, "An amount")) for species, amount in cultures]
    note = (note[0], fit(note[1], TEXT, "The note")) if note else None
    with archive.change() as db:
        for column, value in columns.items():
            assert column in ("family", "style", "made_on", "salting_ended_on", "milk", "salt")
            db.execute(f"UPDATE make SET {column} = ? WHERE id = ?", (value, make_id))
        if cultures:
            now = json.loads(db.execute("SELECT cultures FROM make WHERE id = ?", (make_id,)).fetchone()[0])
            kept = {c["species"]: c["amount"] for c in now} | dict(cultures)
            body = [{"species": species, "amount": amount} for species, amount in kept.items()]
            db.execute("UPDATE make SET cultures = ? WHERE id = ?", (as_json(body), make_id))  # type: ignore[arg-type]
        _add_wheels(archive, make_id, wheels, at)
        for is_plan, some in ((0, facts), (1, planned)):
            db.executemany(
                "INSERT INTO fact (make_id, question, value, on_date, planned) VALUES (?, ?, ?, ?, ?) "
                "ON CONFLICT DO UPDATE SET value = excluded.value",
                [(make_id, f.question, _as_kept(f.value), f.on_date, is_plan) for f in some],
            )
        if note is not None:
            db.execute("INSERT INTO note (make_id, on_date, text) VALUES (?, ?, ?)", (make_id, *note))
        archive.touch("make", make_id)


def _add_wheels(archive: Archive, make_id: int, wheels: Sequence[str], at: str) -> None:
    make = archive.db.execute("SELECT uid FROM make WHERE id = ?", (make_id,)).fetchone()[0]
    archive.db.executemany(
        "INSERT OR IGNORE INTO wheel (uid, make_id, name) VALUES (?, ?, ?)",
        [(new_uid("wheel", f"{make}/{name}", at), make_id, name) for name in wheels],
    )


def find_make(archive: Archive, name: str) -> int:
    """The id of a make. Raises ``FileProblem`` when there is none of that name."""
    row = archive.db.execute("SELECT id FROM make WHERE name = ?", (name,)).fetchone()
    if row is None:
        known = [r[0] for r in archive.db.execute("SELECT name FROM make")]
        raise FileProblem(f'There is no make "{name}"{nearest(name, known)}. Begin it: rindwright make "{name}" --new')
    return int(row[0])


def find_wheel(archive: Archive, title: str) -> Wheel:
    """A wheel by ``make/wheel``, or by its make alone where that has only one. Raises ``FileProblem``."""
    make, _, name = title.rpartition("/") if "/" in title else (title, "", "")
    make_id = find_make(archive, make)
    rows = archive.db.execute("SELECT id, name FROM wheel WHERE make_id = ? ORDER BY id", (make_id,)).fetchall()
    stored = archive.db.execute("SELECT name FROM make WHERE id = ?", (make_id,)).fetchone()[0]
    fitting_ = [r for r in rows if r[1].casefold() == name.casefold()] if name else rows
    if len(fitting_) != 1:
        titles = ", ".join(f'"{stored}/{r[1]}"' for r in rows) or "none yet"
        raise FileProblem(
            f'"{title}" names {"no" if not fitting_ else "more than one"} wheel. Wheels of "{stored}": {titles}.'
        )
    return Wheel(fitting_[0][0], make_id, stored, fitting_[0][1])


def begun_on(archive: Archive, make_id: int) -> str:
    """The first day at which there can have been a look: of the make, or of the end of salting when that is all."""
    row = archive.db.execute("SELECT made_on, salting_ended_on FROM make WHERE id = ?", (make_id,)).fetchone()
    return row[0] or row[1] or ""


def wheel_of(archive: Archive, look_id: int) -> Wheel | None:
    """The wheel that was looked at, if it was one of a make."""
    row = archive.db.execute(
        "SELECT wheel.id, make_id, make.name, wheel.name FROM look JOIN wheel ON wheel.id = wheel_id "
        "JOIN make ON make.id = make_id WHERE look.id = ?",
        (look_id,),
    ).fetchone()
    return Wheel(*row) if row else None


def makes(archive: Archive) -> list[tuple[str, str | None, str | None, int, int]]:
    """Every make, newest first: name, style, date made, wheels, looks."""
    return archive.db.execute(
        "SELECT name, style, made_on, (SELECT count(*) FROM wheel WHERE make_id = make.id), "
        "(SELECT count(*) FROM look JOIN wheel ON wheel.id = wheel_id WHERE make_id = make.id) "
        "FROM make ORDER BY coalesce(made_on, substr(opened_at, 1, 10)) DESC, id DESC"
    ).fetchall()


def full(archive: Archive, make_id: int) -> Record:
    """Everything about a make."""
    return make_record(archive.db, make_id)


def carried(archive: Archive, catalog: Catalog, wheel: Wheel, looked_on: str) -> list[Fact]:
    """What need not be asked at the next look at a wheel, each with the date it was said.

    The age comes from the day salting ended, when the make says it.
    """
    wanted = lasting(catalog)
    found: dict[str, Fact] = {}
    make = full(archive, wheel.make_id)
    sisters = archive.db.execute(
        "SELECT answers, looked_on FROM look JOIN said ON look_id = look.id JOIN wheel ON wheel.id = wheel_id "
        "WHERE make_id = ? AND wheel_id <> ? AND looked_on <= ? ORDER BY looked_on, look.id",
        (wheel.make_id, wheel.id, looked_on),
    ).fetchall()
    own = archive.db.execute(
        "SELECT answers, looked_on FROM look JOIN said ON look_id = look.id WHERE wheel_id = ? AND looked_on <= ? "
        "ORDER BY looked_on, look.id",
        (wheel.id, looked_on),
    ).fetchall()
    for answers, on_date in sisters:
        _take(found, catalog, wanted, json.loads(answers), on_date)
    if make["made_on"] or make["salting_ended_on"]:
        _take(found, catalog, wanted, _own_words(make), make["made_on"] or make["salting_ended_on"])
    else:
        _take(found, catalog, wanted, _own_words(make), make["opened_at"][:10])
    for fact in make["facts"]:
        if not fact["planned"] and fact["on_date"] <= looked_on:
            _take(found, catalog, wanted, [(fact["question"], fact["value"], None)], fact["on_date"])
    for answers, on_date in own:
        _take(found, catalog, wanted, json.loads(answers), on_date)
    if make["salting_ended_on"] and "age_days" in catalog.questions:
        age = between(make["salting_ended_on"], looked_on)
        if age >= 0:
            found["age_days"] = Fact("age_days", float(age), looked_on)
    order = {name: k for k, name in enumerate(catalog.questions)}
    return sorted(found.values(), key=lambda f: order[f.question])


def _own_words(make: Record) -> list[tuple[str, Any, None]]:
    return [(key, make[key], None) for key in ("family", "style") if make[key]]


def _take(
    found: dict[str, Fact], catalog: Catalog, wanted: frozenset[str], kept: Sequence[Sequence[Any]], on_date: str
) -> None:
    for question, value, since in fitting(catalog, kept):
        if question in wanted and is_known(value):
            found[question] = Fact(question, value, since or on_date)


def fact_of(catalog: Catalog, text: str, on_date: str) -> Fact:
    """A fact as typed: ``question=answer``. Raises ``FileProblem`` with what was expected."""
    question, sign, raw = text.partition("=")
    question = question.strip()
    if not sign and question in catalog.questions:
        wanted = expected(catalog.questions[question])
        raise FileProblem(f'"{question}" lacks its answer: write question=answer, here {question}= and then {wanted}.')
    if not sign or question not in catalog.questions:
        known = nearest(question, catalog.questions)
        raise FileProblem(
            f'"{text}" is not a fact; write question=answer, such as milk_heat=raw{known}. '
            "See the questions: rindwright questions"
        )
    try:
        return Fact(question, understand(catalog.questions[question], raw), on_date)
    except Unusable as problem:
        raise FileProblem(f'"{question}" {problem}.') from None


def _as_kept(value: Value) -> str:
    return as_json(list(value) if isinstance(value, tuple) else value)  # type: ignore[arg-type]
