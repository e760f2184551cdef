"""Archives in and out as records: JSON Lines, and what is checked before a record is taken.

The first line of a JSON Lines file names the format and its version; every further line is one record. Writing
an archive and taking it into an empty one gives the same archive, and the same bytes when it is written again.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import IO, Any

from ..errors import AnswersError, Fault
from .daybook import Record, as_json, digest_of
from .records import RECORD_OF
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
    lessons: int
    lessons_passed_over: int


def records(archive: Archive, with_words: bool = True) -> Iterator[Record]:
    """Every record, makes first. Without words: no notes, no free text, no names of one's own."""
    for kind, record_of in RECORD_OF.items():
        for (id,) in archive.db.execute(f"SELECT id FROM {kind} ORDER BY id").fetchall():
            record = record_of(archive.db, id)
            yield record if with_words else _wordless(record)


def lines(archive: Archive, with_words: bool = True) -> Iterator[str]:
    """An archive as JSON Lines. The first line says how many there are, so that a file cut short is noticed."""
    count = sum(archive.db.execute(f"SELECT count(*) FROM {kind}").fetchone()[0] for kind in RECORD_OF)
    yield as_json({"schema": SCHEMA, "records": count})
    for record in records(archive, with_words):
        yield as_json(record)


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
        plain |= {"milk": "", "salt": "", "cultures": []}
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
    head: Any = None
    with contextlib.suppress(ValueError, RecursionError):
        head = json.loads(file.readline(LINE_CAP))
    if not isinstance(head, dict) or head.get("schema") != SCHEMA or head.keys() - {"schema", "records"}:
        raise AnswersError([Fault(name, 1, 1, f'Expected {{"schema":"{SCHEMA}"}} on the first line.')])
    count = 0
    for record in without_faults(checked(raw, name, number) for number, raw in enumerate(_raw_lines(file), 2)):
        count += 1
        yield record
    if head.get("records") not in (None, count):
        sentence = f"The first line promises {head['records']} records, and there are {count}: the file is cut short."
        raise AnswersError([Fault(name, count + 1, 1, sentence)])


def without_faults(found: Iterable[Record | list[Fault]]) -> Iterator[Record]:
    """Records up to the first fault; at the end ``AnswersError`` with every fault."""
    faults: list[Fault] = []
    for one in found:
        if isinstance(one, list):
            faults += one
        elif not faults:
            yield one
        if len(faults) >= MOST_FAULTS:
            break
    if faults:
        raise AnswersError(faults)


def _raw_lines(file: IO[bytes]) -> Iterator[bytes]:
    while raw := file.readline(LINE_CAP + 1):
        yield raw
        if len(raw) > LINE_CAP:
            return


def checked(raw: bytes, name: str, number: int) -> Record | list[Fault]:
    """One record as it stands in a file, or what is wrong with it."""
    if len(raw) > LINE_CAP:
        return [Fault(name, number, 1, f"This line is longer than {LINE_CAP >> 20} MB; expected one record a line.")]
    try:
        data = json.loads(raw.decode("utf-8"), object_pairs_hook=_once, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        why = str(error).split(":")[0] if not isinstance(error, UnicodeDecodeError) else "it is not text in UTF-8"
        return [Fault(name, number, 1, f"This is not JSON: {why or 'nested too deeply'}.")]
    return _valid(data, lambda sentence: Fault(name, number, 1, sentence))


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


def _refuse(constant: str) -> Any:
    raise ValueError(f"{constant} is not a number that can be used")


def _valid(data: Any, fault: Callable[[str], Fault]) -> Record | list[Fault]:
    from pydantic import ValidationError

    from .shapes import LINE, said

    try:
        LINE.validate_python(data)
    except ValidationError as error:
        faults = []
        for one in error.errors(include_url=False)[:5]:
            place = ".".join(str(part) for part in one["loc"] if part not in ("look", "make", "learnt"))
            faults.append(fault(f"{place + ': ' if place else ''}{said(dict(one))}."))
        return faults
    digest = digest_of(data)
    if data.get("digest") not in (None, digest):
        return [fault("The record is not what its digest says; leave the digest out if you changed it on purpose.")]
    return {**data, "digest": digest}


def survey(records: Iterable[Record], wheels: Iterable[str] = ()) -> int:
    """How many records there are, all of them looked at before the first is taken.

    ``wheels`` are those of the archive they are meant for. Raises ``AnswersError`` with every look that names a wheel
    which is neither there nor among the records.
    """
    known, count = set(wheels), 0
    nowhere: list[Fault] = []
    for record in records:
        count += 1
        if record["kind"] == "make":
            known.update(w["uid"] for w in record["wheels"])
        elif record["kind"] == "look" and record["wheel"] is not None and record["wheel"] not in known:
            nowhere.append(Fault("", 0, 0, f'Look "{record["name"]}" names a wheel that is nowhere.'))
    if nowhere:
        raise AnswersError(nowhere[:MOST_FAULTS])
    return count


def wheels_of(archive: Archive) -> set[str]:
    """The wheels of an archive."""
    return {row[0] for row in archive.db.execute("SELECT uid FROM wheel")}


def take(archive: Archive, records: Iterable[Record]) -> Taken:
    """Take records that were surveyed into an archive, makes before looks; what is there already is passed over.

    Lessons learnt elsewhere are taken only into an archive without looks: they are its maker's own.
    """
    empty = not archive.db.execute("SELECT 1 FROM look LIMIT 1").fetchone()
    counts = {"make": 0, "look": 0, "learnt": 0}
    known = passed_over = 0
    for batch in _batches(records):
        with archive.change():
            for one in batch:
                if one["kind"] == "learnt" and not empty:
                    passed_over += 1
                    continue
                fresh = archive.adopt(one)
                known += not fresh
                counts[one["kind"]] += fresh
    return Taken(counts["make"], counts["look"], known, counts["learnt"], passed_over)


def _batches(records: Iterable[Record]) -> Iterator[list[Record]]:
    rest = iter(records)
    while batch := list(islice(rest, BATCH)):
        yield batch
