"""Out and in again is the same archive; nothing from elsewhere is trusted."""

from __future__ import annotations

import copy
import csv
import importlib.util
import io
import json
import random
from pathlib import Path
from typing import Any

import pytest
from rindwright.engine.archive import exchange, looks
from rindwright.engine.archive.mending import check
from rindwright.engine.archive.store import Archive, open_archive
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.errors import AnswersError

from .faults import write_look
from .stock import TEXTS, stock


def exported(archive: Archive, with_words: bool = True) -> bytes:
    return "".join(line + "\n" for line in exchange.lines(archive, with_words)).encode()


def taken(archive: Archive, body: bytes) -> exchange.Taken:
    list(exchange.read_lines(io.BytesIO(body), "file"))
    return exchange.take(archive, exchange.read_lines(io.BytesIO(body), "file"))


@pytest.fixture(scope="module")
def stocked(tmp_path_factory: pytest.TempPathFactory, diagnoser: Diagnoser) -> bytes:
    with open_archive(tmp_path_factory.mktemp("stock") / "archive.db") as archive:
        stock(archive, diagnoser, 24, 1)
        assert not check(archive).faults
        return exported(archive)


def test_round_trip_is_identity(stocked: bytes, archive: Archive, tmp_path: Path) -> None:
    found = taken(archive, stocked)
    assert (found.makes, found.looks, found.known) == (6, 24, 0)
    assert exported(archive) == stocked
    assert not check(archive).faults
    again = taken(archive, stocked)
    assert (again.makes, again.looks) == (0, 0)
    assert exported(archive) == stocked


def test_what_was_taken_in_survives_a_lost_file(stocked: bytes, archive: Archive) -> None:
    from rindwright.engine.archive.mending import mend

    taken(archive, stocked)
    archive.close()
    archive.path.write_bytes(b"\0" * 10)
    mend(archive.path, "now")
    with open_archive(archive.path) as again:
        assert sorted(exported(again).splitlines()) == sorted(stocked.splitlines())


def test_two_archives_merge_and_the_newer_word_stands(archive: Archive, tmp_path: Path) -> None:
    write_look(archive, "first", 1)
    with open_archive(tmp_path / "other.db") as other:
        taken(other, exported(archive))
        looks.add_note(other, 1, "2026-10-09", "from the other machine", "2026-10-09T09:00:00")
        write_look(other, "second", 2)
        found = taken(archive, exported(other))
    assert (found.looks, found.known) == (2, 0)
    assert looks.record_of(archive, looks.find(archive, "first"))["notes"][0]["text"] == "from the other machine"


def test_a_name_that_is_taken_gets_a_number(archive: Archive, tmp_path: Path) -> None:
    write_look(archive, "first", 1)
    with open_archive(tmp_path / "other.db") as other:
        looks.begin(other, "first", "2026-10-02", "2026-10-02T09:00:00")
        taken(archive, exported(other))
    assert {row.name for row in looks.listed(archive)} == {"first", "first (2)"}
    assert not check(archive).faults


def test_lessons_of_others_are_passed_over(stocked: bytes, archive: Archive) -> None:
    write_look(archive, "own", 1)
    assert taken(archive, stocked).lessons_passed_over == 1
    assert not archive.db.execute("SELECT count(*) FROM learnt").fetchone()[0]


def test_words_can_be_left_out(stocked: bytes, archive: Archive, tmp_path: Path) -> None:
    taken(archive, stocked)
    bare = exported(archive, with_words=False)
    for text in TEXTS:
        if len(text.strip()) > 6:
            assert json.dumps(text, ensure_ascii=False)[1:-1].encode() not in bare
    for raw in bare.splitlines()[1:]:
        record = json.loads(raw)
        assert not record.get("notes")
        assert not record.get("words")
    with open_archive(tmp_path / "other.db") as other:
        assert taken(other, bare).looks == 24


def mutations(record: dict[str, Any], rng: random.Random) -> Any:
    """A record with one thing about it wrong."""
    changed: Any = copy.deepcopy(record)
    place: Any = changed
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            break
        key = rng.choice(keys)
        if isinstance(place[key], (dict, list)) and place[key] and rng.random() < 0.7:
            place = place[key]
            continue
        kind = rng.randrange(5)
        if kind == 0 and isinstance(place, dict):
            del place[key]
        elif kind == 1 and isinstance(place, dict):
            place["surprise"] = 1
        else:
            place[key] = rng.choice([None, 7, -1e300, "\x1b[2J", "x" * 30_000, [], {}, [[[]]], True, "2026-99-99"])
        break
    return changed


def test_no_mutation_gets_in_unseen(stocked: bytes, archive: Archive) -> None:
    rng = random.Random(5)
    lines = stocked.splitlines()
    refused = 0
    for _ in range(150):
        row = rng.randrange(1, len(lines))
        changed = mutations(json.loads(lines[row]), rng)
        body = b"\n".join([*lines[:row], json.dumps(changed).encode(), *lines[row + 1 :]]) + b"\n"
        if changed == json.loads(lines[row]):
            continue
        if {**changed, "digest": 0} == {**json.loads(lines[row]), "digest": 0} and not changed.get("digest"):
            continue  # a record may come without its digest
        with pytest.raises(AnswersError) as error:
            list(exchange.read_lines(io.BytesIO(body), "file"))
        refused += 1
        for fault in error.value.faults:
            assert 1 <= fault.line <= len(lines)
    assert refused > 100


@pytest.mark.parametrize("seed", range(40))
def test_damaged_bytes_are_refused(stocked: bytes, seed: int) -> None:
    rng = random.Random(seed)
    body = bytearray(stocked)
    for _ in range(rng.randint(1, 3)):
        body[rng.randrange(len(body))] = rng.randrange(256)
    if bytes(body) != stocked:
        with pytest.raises(AnswersError):
            list(exchange.read_lines(io.BytesIO(bytes(body)), "file"))


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "nothing here"),
        (b'{"schema":"other/9"}\n', "on the first line"),
        (b'{"schema":"rindwright-archive/1"}\n{"kind":"look"}\n', "file:2:1: "),
        (b'{"schema":"rindwright-archive/1"}\n' + b"[" * 100_000 + b"\n", "not JSON"),
        (b'{"schema":"rindwright-archive/1"}\n{"a":NaN}\n', "not JSON"),
        (b'{"schema":"rindwright-archive/1"}\n{"a":1,"a":2}\n', "stands twice"),
        (b'{"schema":"rindwright-archive/1"}\n\xff\xfe\n', "UTF-8"),
        (b'{"schema":"rindwright-archive/1"}\n"' + b"x" * (2 << 20) + b'"\n', "longer than"),
    ],
)
def test_one_sentence_each(body: bytes, sentence: str) -> None:
    with pytest.raises(AnswersError) as error:
        list(exchange.read_lines(io.BytesIO(body), "file"))
    assert sentence in "\n".join(str(f) for f in error.value.faults)


def test_a_look_at_a_wheel_that_is_nowhere(stocked: bytes, archive: Archive) -> None:
    lines = [raw for raw in stocked.splitlines() if b'"kind":"make"' not in raw]
    with pytest.raises(AnswersError, match="nowhere"):
        taken(archive, b"\n".join(lines) + b"\n")
    assert looks.count(archive) == 0


def test_csv_rows_and_no_formulas(stocked: bytes, archive: Archive, diagnoser: Diagnoser) -> None:
    taken(archive, stocked)
    out = io.StringIO()
    writer = csv.writer(out)
    for row in exchange.table(archive, diagnoser.catalog):
        writer.writerow(exchange.csv_cells(list(row.values())))
    rows = list(csv.reader(io.StringIO(out.getvalue())))
    assert len(rows) == 24
    assert {len(row) for row in rows} == {len(exchange.TABLE_HEAD) + len(diagnoser.catalog.questions)}
    assert exchange.csv_cells(["=1+1", -1.5, None, "@x", "plain"]) == ["'=1+1", "-1.5", "", "'@x", "plain"]


@pytest.mark.skipif(importlib.util.find_spec("pyarrow") is None, reason="pyarrow is not installed")
def test_parquet_holds_the_same_table(stocked: bytes, archive: Archive, diagnoser: Diagnoser, tmp_path: Path) -> None:
    import pyarrow.parquet as pq

    taken(archive, stocked)
    place = str(tmp_path / "looks.parquet")
    rows = list(exchange.table(archive, diagnoser.catalog))
    assert exchange.write_parquet(iter(rows), diagnoser.catalog, place) == 24
    assert pq.read_table(place).to_pylist() == rows


def test_makes_changed_on_both_sides_keep_the_wheels_of_both(archive: Archive, tmp_path: Path) -> None:
    from rindwright.engine.archive import makes

    at = "2026-09-01T09:00:00"
    make_id = makes.open_make(archive, "spring", at)
    with open_archive(tmp_path / "other.db") as other:
        taken(other, exported(archive))
        makes.change_make(other, 1, "2026-09-02T09:00:00", wheels=("b", "c"))
        wheel = makes.find_wheel(other, "spring/c")
        looks.begin(other, "there", "2026-09-10", at, wheel.id)
        makes.change_make(archive, make_id, "2026-09-03T09:00:00", wheels=("b",))
        makes.change_make(archive, make_id, "2026-09-04T09:00:00", note=("2026-09-04", "mine"))
        taken(archive, exported(other))
        taken(other, exported(archive))
        assert not check(other).faults
    assert not check(archive).faults
    names = [w["name"] for w in makes.full(archive, make_id)["wheels"]]
    assert sorted(names) == ["1", "b", "b (2)", "c"]
    assert [r.wheel for r in looks.listed(archive)] == ["spring/c"]
