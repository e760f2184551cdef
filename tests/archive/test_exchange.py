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
from rindwright.engine.archive import exchange, listing, looks, makes, shapes, table
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.mending import check
from rindwright.engine.archive.store import Archive, open_archive
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.errors import AnswersError, FileProblem

from .faults import AT, write_look
from .stock import TEXTS, stock


def exported(archive: Archive, with_words: bool = True) -> bytes:
    return "".join(line + "\n" for line in exchange.lines(archive, with_words)).encode()


def taken(archive: Archive, body: bytes) -> exchange.Taken:
    exchange.survey(exchange.read_lines(io.BytesIO(body), "file"), exchange.wheels_of(archive))
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
    assert {row.name for row in listing.listed(archive)} == {"first", "first (2)"}
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
        assert not record.get("cultures")
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


def test_an_export_is_of_one_moment(archive: Archive) -> None:
    write_look(archive, "first", 1)
    with open_archive(archive.path) as reader, reader.at_one_moment():
        written = exchange.lines(reader)
        some = [next(written)]
        write_look(archive, "second", 2)
        some += list(written)
    body = "".join(line + "\n" for line in some).encode()
    assert len(list(exchange.read_lines(io.BytesIO(body), "file"))) == 1


def test_a_file_cut_short_is_noticed(stocked: bytes) -> None:
    lines = stocked.splitlines(keepends=True)
    for kept in range(1, len(lines)):
        with pytest.raises(AnswersError, match="cut short"):
            list(exchange.read_lines(io.BytesIO(b"".join(lines[:kept])), "file"))
    by_hand = [b'{"schema": "rindwright-archive/1"}\n', *lines[1:-1]]
    assert len(list(exchange.read_lines(io.BytesIO(b"".join(by_hand)), "file"))) == len(lines) - 2


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "on the first line"),
        (b"look,looked_on\n" * 90, "on the first line"),
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
    _, *rest = [raw for raw in stocked.splitlines() if b'"kind":"make"' not in raw]
    lines = [json.dumps({"schema": exchange.SCHEMA}).encode(), *rest]
    with pytest.raises(AnswersError, match="nowhere") as error:
        taken(archive, b"\n".join(lines) + b"\n")
    assert len(error.value.faults) > 1  # all of them, before the first is taken
    assert listing.count(archive) == 0


def test_whatever_is_typed_can_be_taken_in_again(archive: Archive, tmp_path: Path) -> None:
    """What a terminal would obey is kept as a mark, and what is too long is refused when it is said."""
    rogue = "\x1b[2J red \x07 \udcff and \u202e turned"
    look_id, _ = looks.begin(archive, rogue, "2026-10-01", AT)
    looks.save(archive, look_id, Given((), words=("x" * 30_000, rogue, *(["w"] * 300)), measured=(rogue,)), AT)
    looks.add_note(archive, look_id, "2026-10-01", rogue, AT)
    looks.add_deeds(archive, look_id, "2026-10-01", [(rogue, "")], AT)
    make_id = makes.open_make(archive, "spring", AT)
    makes.change_make(
        archive, make_id, AT, columns={"milk": rogue}, cultures=[(rogue, rogue)], note=("2026-10-01", rogue)
    )
    for long in (
        lambda: looks.add_note(archive, look_id, "2026-10-01", "x" * 20_001, AT),
        lambda: looks.add_deeds(archive, look_id, "2026-10-01", [("x" * 2_001, "")], AT),
        lambda: looks.begin(archive, "x" * 101, "2026-10-01", AT),
        lambda: makes.change_make(archive, make_id, AT, columns={"milk": "x" * 2_001}),
        lambda: makes.change_make(archive, make_id, AT, note=("2026-10-01", "x" * 20_001)),
    ):
        with pytest.raises(FileProblem, match="letters; at most"):
            long()
    body = exported(archive)
    assert not {0x1B, 0x07} & set(body)
    with open_archive(tmp_path / "other.db") as other:
        taken(other, body)
        assert exported(other) == body


def test_a_verdict_comes_with_its_diagnosis(stocked: bytes) -> None:
    record = next(json.loads(raw) for raw in stocked.splitlines() if b'"finished":true' in raw)
    bare = {**record, "finished": False, "weighed": None, "digest": None}
    for key, value in (("verdict", "causes"), ("first_cause", "box_too_wet"), ("first_probability", 0.5)):
        plain = {**bare, "verdict": None, "first_cause": None, "first_probability": None}
        assert not isinstance(exchange.checked(json.dumps(plain).encode(), "file", 2), list)
        found = exchange.checked(json.dumps({**plain, key: value}).encode(), "file", 2)
        assert isinstance(found, list)
        assert "come with the diagnosis" in str(found[0])


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("uid", "zz", "24 of the characters 0 to 9 and a to f"),
        ("digest", "zz", "32 of the characters"),
        ("opened_at", "yesterday", "a day and a time such as 2026-10-31T08:30"),
        ("family", "Washed Rind", "an id: up to 80 small letters"),
        ("family", "x" * 300, '"' + "x" * 40 + '..." will not do'),
        ("surprise", 1, "this key is not known here"),
    ],
)
def test_what_is_expected_is_said_in_plain_words(stocked: bytes, key: str, value: object, said: str) -> None:
    record = next(json.loads(raw) for raw in stocked.splitlines() if b'"kind":"look"' in raw)
    found = exchange.checked(json.dumps(record | {key: value}).encode(), "file", 2)
    assert isinstance(found, list)
    assert said in str(found[0])
    assert not any(mark in str(f) for f in found for mark in ("^", "[0-9", "{0,", "should match", "Extra inputs"))


def test_every_pattern_has_its_words() -> None:
    """Patterns of the schema, so that none is ever shown as it is."""

    def patterns(part: object) -> set[str]:
        if isinstance(part, list):
            return {p for x in part for p in patterns(x)}
        if not isinstance(part, dict):
            return set()
        own = {part["pattern"]} if isinstance(part.get("pattern"), str) else set()
        return own | {p for x in part.values() for p in patterns(x)}

    found = patterns(shapes.LINE.json_schema(by_alias=True))
    assert len(found) >= 5
    for pattern in found:
        error = {"type": "string_pattern_mismatch", "ctx": {"pattern": pattern}, "input": "x", "msg": pattern}
        assert "another form" not in shapes.said(error)


@pytest.mark.parametrize("sign", ["slimy_wet \u00b2", "slimy_wet \u0663", "slimy_wet", "slimy wet 1", "slimy_wet -1"])
def test_a_lesson_names_a_sign_and_a_place(stocked: bytes, sign: str) -> None:
    record = next(json.loads(raw) for raw in stocked.splitlines() if b'"kind":"learnt"' in raw)
    number = {"kind": "leak", "cause": "", "sign": "slimy_wet 0", "word": "often", "cited": 0.2, "local": 0.3}
    number |= {"seen": 1.0, "of": 2.0}
    sound = record | {"digest": None, "body": record["body"] | {"corrections": [number]}}
    assert not isinstance(exchange.checked(json.dumps(sound).encode(), "file", 2), list)
    sound["body"] = record["body"] | {"corrections": [number | {"sign": sign}]}
    found = exchange.checked(json.dumps(sound).encode(), "file", 2)
    assert isinstance(found, list)
    assert "a sign and a place" in str(found[0])


def as_csv(archive: Archive, diagnoser: Diagnoser, with_words: bool = True) -> str:
    out = io.StringIO()
    table.write_csv(exchange.records(archive, with_words), diagnoser.catalog, out)
    return out.getvalue()


@pytest.mark.parametrize("with_words", [True, False])
def test_csv_is_a_round_trip(
    stocked: bytes, archive: Archive, diagnoser: Diagnoser, tmp_path: Path, with_words: bool
) -> None:
    taken(archive, stocked)
    text = as_csv(archive, diagnoser, with_words)
    with open_archive(tmp_path / "other.db") as other:
        found = exchange.take(other, table.read_csv(io.StringIO(text), "file", diagnoser.catalog))
        assert (found.makes, found.looks) == (6, 24)
        assert exported(other) == exported(archive, with_words)
        assert as_csv(other, diagnoser) == text


def test_csv_rows_and_no_formulas(stocked: bytes, archive: Archive, diagnoser: Diagnoser) -> None:
    taken(archive, stocked)
    rows = list(csv.DictReader(io.StringIO(as_csv(archive, diagnoser))))
    assert [row["kind"] for row in rows] == ["make"] * 6 + ["look"] * 24 + ["learnt"]
    for row in rows[6:-1]:
        record = json.loads(row["record"])
        assert (row["look"].removeprefix("'"), row["looked_on"]) == (record["name"], record["looked_on"])
        said = {question: value for question, value, _ in record["answers"]}
        assert row["answer_slimy_wet"] == said.get("slimy_wet", "")
        assert float(row["age_days"] or -1) == (record["age_days"] if record["age_days"] is not None else -1)
    assert any(row["wheel"] for row in rows[6:])
    assert table.csv_cells(["=1+1", -1.5, None, "@x", "plain"]) == ["'=1+1", "-1.5", "", "'@x", "plain"]


def test_a_table_is_checked_like_everything_else(stocked: bytes, archive: Archive, diagnoser: Diagnoser) -> None:
    taken(archive, stocked)
    text = as_csv(archive, diagnoser)
    rows = list(csv.reader(io.StringIO(text)))

    def faults(changed: str | list[list[str]]) -> str:
        if isinstance(changed, list):
            out = io.StringIO()
            csv.writer(out, lineterminator="\n").writerows(changed)
            changed = out.getvalue()
        with pytest.raises(AnswersError) as error:
            list(table.read_csv(io.StringIO(changed), "file", diagnoser.catalog))
        return str(error.value)

    def with_cell(row: int, column: str, cell: str) -> list[list[str]]:
        place = rows[0].index(column)
        return [[cell if (r, c) == (row, place) else old for c, old in enumerate(line)] for r, line in enumerate(rows)]

    assert 'style says "tilsit"' in faults(with_cell(9, "style", "tilsit"))
    assert faults(with_cell(9, "style", "tilsit")).startswith("file:10:1: ")
    assert 'answer_sticks_mat says "clear"' in faults(with_cell(12, "answer_sticks_mat", "clear"))
    assert "not JSON" in faults(with_cell(3, "record", "{"))
    assert "digest" in faults(with_cell(3, "record", rows[3][-1].replace('"revision":', '"revision":1')))
    assert 'column "record"' in faults([line[:-1] for line in rows])
    assert 'column "record"' in faults("")
    assert 'column "record"' in faults([rows[0] + ["look"], *rows[1:]])
    assert "cells; expected" in faults([*rows[:4], rows[4][1:], *rows[5:]])
    assert "not CSV" in faults(text[: len(text) - 40])
    assert "not CSV" in faults(text + '"' + "x" * (2 << 20) + '"\n')
    two = faults([*rows[:4], rows[4][1:], *with_cell(9, "style", "tilsit")[5:]])
    assert len(two.splitlines()) == 2


def test_columns_of_other_knowledge_are_passed_over(stocked: bytes, archive: Archive, diagnoser: Diagnoser) -> None:
    taken(archive, stocked)
    rows = list(csv.reader(io.StringIO(as_csv(archive, diagnoser))))
    more = [["answer_gone_by_now", *rows[0]], *(["yes", *row] for row in rows[1:])]
    less = [row[:30] + row[31:] for row in rows]
    for changed in (more, less):
        out = io.StringIO()
        csv.writer(out).writerows(changed)
        out.seek(0)
        found = list(table.read_csv(out, "file", diagnoser.catalog))
        assert found == list(exchange.read_lines(io.BytesIO(stocked), "file"))


@pytest.mark.skipif(importlib.util.find_spec("pyarrow") is None, reason="pyarrow is not installed")
def test_parquet_is_a_round_trip(stocked: bytes, archive: Archive, diagnoser: Diagnoser, tmp_path: Path) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    taken(archive, stocked)
    place = str(tmp_path / "looks.parquet")
    table.write_parquet(exchange.records(archive), diagnoser.catalog, place)
    rows = table.Rows(diagnoser.catalog)
    assert pq.read_table(place).to_pylist() == [rows.of(record) for record in exchange.records(archive)]
    with open_archive(tmp_path / "other.db") as other:
        exchange.take(other, table.read_parquet(place, "file", diagnoser.catalog))
        assert exported(other) == stocked

    def refused() -> str:
        with pytest.raises(AnswersError) as error:
            list(table.read_parquet(place, "file", diagnoser.catalog))
        return str(error.value)

    whole = pq.read_table(place)
    pq.write_table(
        whole.set_column(whole.column_names.index("style"), "style", pa.array(["tilsit"] * len(whole))), place
    )
    assert 'style says "tilsit"' in refused()
    pq.write_table(whole.drop_columns(["record"]), place)
    assert 'column "record"' in refused()
    Path(place).write_bytes(b"PAR1 and nothing more")
    assert "not Parquet" in refused()


def test_makes_changed_on_both_sides_keep_the_wheels_of_both(archive: Archive, tmp_path: Path) -> None:
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
    assert [r.wheel for r in listing.listed(archive)] == ["spring/c"]
