"""Archives in and out: JSON Lines for everything, and one table (CSV, Parquet) with a row for each look.

The first line of a JSON Lines file names the format and its version; every further line is one record. Writing
an archive and taking it into an empty one gives the same archive, and the same bytes when it is written again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any

from ..answers import as_text
from ..catalog import Catalog
from ..errors import AnswersError, Fault
from .daybook import Record, as_json, digest_of
from .looks import fitting
from .records import learnt_record, look_record, make_record
from .store import Archive

SCHEMA = "rindwright-archive/1"
LINE_CAP = 1 << 20
"""Longest line, in bytes, that is read."""
MOST_FAULTS = 50
BATCH = 500
"""Records taken in one transaction."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What an import brought."""

    makes: int
    looks: int
    known: int
    """Records that were there already, as new or newer."""
    lessons_passed_over: int


def lines(archive: Archive, with_words: bool = True) -> Iterator[str]:
    """An archive as JSON Lines, makes first. Without words: no notes, no free text, no names of one's own."""
    yield as_json({"schema": SCHEMA})
    for kind, record_of in (("make", make_record), ("look", look_record), ("learnt", learnt_record)):
        for (id,) in archive.db.execute(f"SELECT id FROM {kind} ORDER BY id").fetchall():
            record = record_of(archive.db, id)
            yield as_json(record if with_words else _wordless(record))


def _wordless(record: Record) -> Record:
    if record["kind"] == "learnt":
        return record
    plain = {**record, "name": f"{record['kind']} {record['uid'][:8]}", "notes": []}
    if record["kind"] == "look":
        plain["words"], plain["measured"] = [], []
        plain["deeds"] = [{**d, "what": ""} for d in record["deeds"]]
        if (record["follow_up"] or {}).get("result") not in (None, "better", "same", "worse"):
            plain["follow_up"] = {**record["follow_up"], "result": "looked again"}
        if record["weighed"] is not None:
            plain["weighed"] = _unsigned(record["weighed"])
            if plain["follow_up"] and "house" in (record["weighed"]["look_again"] or {}):
                plain["follow_up"] = {**plain["follow_up"], "expect": "", "otherwise": ""}
    else:
        plain |= {"milk": "", "salt": ""}
        plain["wheels"] = [{**w, "name": str(k)} for k, w in enumerate(record["wheels"], 1)]
    return {**plain, "digest": digest_of(plain)}


def _unsigned(weighed: Record) -> Record:
    """A kept diagnosis without what house rules said: those words, and the names under them, are the maker's own."""

    def plain(entry: Record, key: str, instead: str) -> Record:
        bare = {k: v for k, v in entry.items() if k != "house"}
        return bare | {key: instead} if "house" in entry else bare

    causes = [
        plain(c, "title", c["id"]) | {side: [plain(r, "says", r["by"]) for r in c[side]] for side in ("for", "against")}
        for c in weighed["causes"]
    ]
    steps = {part: [plain(s, "do", "") for s in weighed[part]] for part in ("today", "next_make")}
    again = weighed["look_again"]
    if again is not None and "house" in again:
        again = {"after_days": again["after_days"], "expect": "", "otherwise": ""}
    return {**weighed, "causes": causes, **steps, "look_again": again}


def read_lines(file: IO[bytes], name: str) -> Iterator[Record]:
    """The records of a JSON Lines file, each checked. Raises ``AnswersError`` with every fault and its line."""
    faults: list[Fault] = []
    count = 0
    for number, raw in enumerate(_raw_lines(file), 1):
        record = _checked(raw, name, number, faults)
        if record is not None and not faults:
            yield record
        count = number
        if len(faults) >= MOST_FAULTS:
            break
    if not count:
        faults.append(Fault(name, 1, 1, f'There is nothing here; expected {{"schema":"{SCHEMA}"}} on the first line.'))
    if faults:
        raise AnswersError(faults)


def _raw_lines(file: IO[bytes]) -> Iterator[bytes]:
    while raw := file.readline(LINE_CAP + 1):
        yield raw
        if len(raw) > LINE_CAP:
            return


def _checked(raw: bytes, name: str, number: int, faults: list[Fault]) -> Record | None:
    def fault(sentence: str) -> None:
        faults.append(Fault(name, number, 1, sentence))

    if len(raw) > LINE_CAP:
        fault(f"This line is longer than {LINE_CAP >> 20} MB; expected one record a line.")
        return None
    try:
        data = json.loads(raw.decode("utf-8"), object_pairs_hook=_once, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        why = str(error).split(":")[0] if not isinstance(error, UnicodeDecodeError) else "it is not text in UTF-8"
        fault(f"This is not JSON: {why or 'nested too deeply'}.")
        return None
    if number == 1:
        if data != {"schema": SCHEMA}:
            fault(f'Expected {{"schema":"{SCHEMA}"}} on the first line.')
        return None
    return _valid(data, fault)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


def _refuse(constant: str) -> Any:
    raise ValueError(f"{constant} is not a number that can be used")


def _valid(data: Any, fault: Callable[[str], None]) -> Record | None:
    from pydantic import ValidationError

    from .shapes import LINE

    try:
        LINE.validate_python(data)
    except ValidationError as error:
        for one in error.errors(include_url=False)[:5]:
            place = ".".join(str(part) for part in one["loc"] if part not in ("look", "make", "learnt"))
            fault(f"{place + ': ' if place else ''}{one['msg'].removeprefix('Value error, ')}.")
        return None
    digest = digest_of(data)
    if data.get("digest") not in (None, digest):
        fault("The record is not what its digest says; leave the digest out if you changed it on purpose.")
        return None
    return {**data, "digest": digest}


def take(archive: Archive, records: Iterable[Record], check_only: bool = False) -> Taken:
    """Take checked records into an archive, makes before looks; what is there already is passed over.

    Lessons learnt elsewhere are taken only into an archive without looks: they are its maker's own. Raises
    ``AnswersError`` when a look names a wheel that is nowhere.
    """
    empty = not archive.db.execute("SELECT 1 FROM look LIMIT 1").fetchone()
    wheels = {row[0] for row in archive.db.execute("SELECT uid FROM wheel")}
    counts = {"make": 0, "look": 0, "learnt": 0}
    known = passed_over = 0
    batch: list[Record] = []

    def put() -> None:
        nonlocal known
        if batch and not check_only:
            with archive.change():
                for one in batch:
                    fresh = archive.adopt(one)
                    known += not fresh
                    counts[one["kind"]] += fresh
        batch.clear()

    for record in records:
        if record["kind"] == "make":
            wheels.update(w["uid"] for w in record["wheels"])
        elif record["kind"] == "look" and record["wheel"] is not None and record["wheel"] not in wheels:
            raise AnswersError([Fault("", 0, 0, f'Look "{record["name"]}" names a wheel that is nowhere.')])
        elif record["kind"] == "learnt" and not empty:
            passed_over += 1
            continue
        batch.append(record)
        if len(batch) >= BATCH:
            put()
    put()
    return Taken(counts["make"], counts["look"], known, passed_over)


TABLE_HEAD = (
    "look", "looked_on", "make", "wheel", "family", "style", "age_days", "verdict", "first_cause",
    "first_probability", "outcome", "known_by", "all_else_excluded", "taste", "due_on", "result",
)  # fmt: skip


def table(archive: Archive, catalog: Catalog, with_words: bool = True) -> Iterator[dict[str, str | float | None]]:
    """One flat row for each look: the head, then an ``answer_QUESTION`` for every question."""
    ids = [row[0] for row in archive.db.execute("SELECT id FROM look ORDER BY id")]
    titles = {
        uid: (make, wheel)
        for uid, make, wheel in archive.db.execute(
            "SELECT wheel.uid, make.name, wheel.name FROM wheel JOIN make ON make.id = make_id"
        )
    }
    for id in ids:
        record = look_record(archive.db, id)
        record = record if with_words else _wordless(record)
        make, wheel = titles.get(record["wheel"], ("", "")) if with_words else ("", record["wheel"] or "")
        outcome = record["outcomes"][-1] if record["outcomes"] else None
        follow = record["follow_up"] or {"due_on": None, "result": None}
        row: dict[str, str | float | None] = {
            "look": record["name"],
            "looked_on": record["looked_on"],
            "make": make,
            "wheel": wheel,
            **{key: record[key] for key in ("family", "style", "age_days", "verdict", "first_cause")},
            "first_probability": record["first_probability"],
            "outcome": (" ".join(outcome["causes"]) or "nothing") if outcome else None,
            "known_by": outcome["known_by"] if outcome else None,
            "all_else_excluded": ("yes" if outcome["complete"] else "no") if outcome else None,
            "taste": outcome["taste"] if outcome else None,
            "due_on": follow["due_on"],
            "result": follow["result"],
        }
        said = {q: v for q, v, _ in fitting(catalog, record["answers"])}
        for question in catalog.questions.values():
            value = said.get(question.id)
            if value is None or isinstance(value, float):
                row[f"answer_{question.id}"] = value
            else:
                row[f"answer_{question.id}"] = None if question.kind == "number" else as_text(value)
        yield row


def csv_cells(row: Sequence[str | float | None]) -> list[str]:
    """Cells of a CSV row. A text that a spreadsheet would run as a formula gets an apostrophe in front."""
    found = []
    for cell in row:
        if cell is None:
            found.append("")
        elif isinstance(cell, float):
            found.append(f"{cell:.10g}")
        else:
            found.append("'" + cell if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell)
    return found


def write_parquet(rows: Iterator[dict[str, str | float | None]], catalog: Catalog, place: str) -> int:
    """The table as Parquet, in batches; rows written. Needs ``pyarrow`` (extra ``institute``)."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    numbers = {"age_days", "first_probability"}
    numbers |= {f"answer_{q.id}" for q in catalog.questions.values() if q.kind == "number"}
    names = [*TABLE_HEAD, *(f"answer_{q}" for q in catalog.questions)]
    schema = pa.schema([(n, pa.float64() if n in numbers else pa.string()) for n in names])
    count = 0
    with pq.ParquetWriter(place, schema, compression="zstd") as writer:
        batch: list[dict[str, str | float | None]] = []
        for row in rows:
            batch.append(row)
            count += 1
            if len(batch) == 5_000:
                writer.write_table(pa.Table.from_pylist(batch, schema=schema))
                batch = []
        writer.write_table(pa.Table.from_pylist(batch, schema=schema))
    return count
