"""Archives in and out as one table, CSV or Parquet: a row for each record, to be read elsewhere and taken in again.

The columns before the last are for reading: what a look came to, and an ``answer_QUESTION`` for every question. The
last, ``record``, holds the whole record; it is what is taken in. A cell that no longer says what its record says is a
fault, so that nobody changes a table and wonders why nothing came of it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import IO

from ..answers import as_text
from ..catalog import Catalog
from ..errors import AnswersError, Fault
from .daybook import Record, as_json
from .exchange import LINE_CAP, checked, without_faults

Cell = str | float | None
Row = dict[str, Cell]
HEAD = (
    "kind", "look", "looked_on", "make", "wheel", "family", "style", "age_days", "verdict", "first_cause",
    "first_probability", "outcome", "known_by", "all_else_excluded", "taste", "due_on", "result",
)  # fmt: skip
RECORD = "record"
_NUMBERS = ("age_days", "first_probability")
_AT_ONCE = 1_000
"""Rows of Parquet held at a time."""


def columns(catalog: Catalog) -> list[str]:
    """The columns, in their order."""
    return [*HEAD, *(f"answer_{question}" for question in catalog.questions), RECORD]


class Rows:
    """Records as rows. Makes come before the looks at their wheels, so that a look can say where it belongs."""

    def __init__(self, catalog: Catalog) -> None:
        self._catalog = catalog
        self._empty: Row = dict.fromkeys(columns(catalog))
        self._titles: dict[str, tuple[str, str]] = {}

    def of(self, record: Record) -> Row:
        """The row of a record."""
        row: Row = self._empty | {"kind": record["kind"], RECORD: as_json(record)}
        if record["kind"] == "make":
            self._titles |= {w["uid"]: (record["name"], w["name"]) for w in record["wheels"]}
            return row | {"make": record["name"], "family": record["family"], "style": record["style"]}
        return row | self._look(record) if record["kind"] == "look" else row

    def known(self, record: Record) -> Row:
        """The cells of a record that can be told from the file it stands in: its wheel may be elsewhere."""
        row = self.of(record)
        if record["kind"] == "look" and record["wheel"] not in (None, *self._titles):
            return {column: cell for column, cell in row.items() if column not in ("make", "wheel")}
        return row

    def _look(self, record: Record) -> Row:
        make, wheel = self._titles.get(record["wheel"], (None, None))
        outcome = record["outcomes"][-1] if record["outcomes"] else None
        follow = record["follow_up"] or {"due_on": None, "result": None}
        row: Row = {
            "look": record["name"],
            "make": make,
            "wheel": wheel,
            **{key: record[key] for key in ("looked_on", "family", "style", "verdict", "first_cause")},
            **{key: None if record[key] is None else float(record[key]) for key in _NUMBERS},
            "outcome": (" ".join(outcome["causes"]) or "nothing") if outcome else None,
            "known_by": outcome["known_by"] if outcome else None,
            "all_else_excluded": ("yes" if outcome["complete"] else "no") if outcome else None,
            "taste": outcome["taste"] if outcome else None,
            "due_on": follow["due_on"],
            "result": follow["result"],
        }
        for question, value, _ in record["answers"]:
            if question in self._catalog.questions:
                row[f"answer_{question}"] = self._cell(question, value)
        return row

    def _cell(self, question: str, value: str | float | list[str]) -> Cell:
        number = self._catalog.questions[question].kind == "number"
        if isinstance(value, str):
            return None if number else value
        if isinstance(value, list):
            return as_text(tuple(value))
        return float(value) if number else as_text(float(value))


def csv_cells(row: Iterable[Cell]) -> list[str]:
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


def write_csv(records: Iterable[Record], catalog: Catalog, file: IO[str]) -> None:
    """Records as CSV, with a line of column names."""
    rows, writer = Rows(catalog), csv.writer(file, lineterminator="\n")
    writer.writerow(columns(catalog))
    for record in records:
        writer.writerow(csv_cells(rows.of(record).values()))


def read_csv(file: IO[str], name: str, catalog: Catalog) -> Iterator[Record]:
    """The records of a CSV table, each checked. Raises ``AnswersError`` with every fault and its line."""
    csv.field_size_limit(LINE_CAP + 1)
    reader = csv.reader(file, strict=True)

    def cells() -> Iterator[tuple[int, list[str]]]:
        while True:
            try:
                row = next(reader)
            except StopIteration:
                return
            except (csv.Error, UnicodeDecodeError) as error:
                why = "it is not text in UTF-8" if isinstance(error, UnicodeDecodeError) else str(error)
                raise AnswersError([Fault(name, reader.line_num, 1, f"This is not CSV: {why}.")]) from None
            yield reader.line_num, row

    found = cells()
    head = next(found, (1, []))[1]
    _whole(head, name)
    yield from without_faults(_csv_rows(found, head, name, catalog))


def _csv_rows(
    found: Iterable[tuple[int, list[str]]], head: Sequence[str], name: str, catalog: Catalog
) -> Iterator[Record | list[Fault]]:
    rows = Rows(catalog)
    for number, cells in found:
        if len(cells) != len(head):
            yield [Fault(name, number, 1, f"This row has {len(cells)} cells; expected {len(head)}.")]
            continue
        yield _taken(rows, dict(zip(head, cells, strict=True)), name, number, _in_csv)


def _in_csv(row: Row) -> Mapping[str, Cell]:
    return dict(zip(row, csv_cells(row.values()), strict=True))


def write_parquet(records: Iterable[Record], catalog: Catalog, place: str) -> None:
    """Records as Parquet, in batches. Needs ``pyarrow`` (extra ``institute``)."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    numbers = {*_NUMBERS, *(f"answer_{q.id}" for q in catalog.questions.values() if q.kind == "number")}
    schema = pa.schema([(n, pa.float64() if n in numbers else pa.string()) for n in columns(catalog)])
    rows, batch = Rows(catalog), list[Row]()
    with pq.ParquetWriter(place, schema, compression="zstd") as writer:
        for record in records:
            batch.append(rows.of(record))
            if len(batch) == _AT_ONCE:
                writer.write_table(pa.Table.from_pylist(batch, schema=schema))
                batch.clear()
        writer.write_table(pa.Table.from_pylist(batch, schema=schema))


def read_parquet(place: str, name: str, catalog: Catalog) -> Iterator[Record]:
    """The records of a Parquet table, each checked. Raises ``AnswersError`` with every fault and its row."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(place) as file:
            _whole(file.schema_arrow.names, name)
            batches = (row for batch in file.iter_batches(_AT_ONCE) for row in batch.to_pylist())
            yield from without_faults(_parquet_rows(batches, name, catalog))
    except (pa.ArrowException, OSError) as error:
        raise AnswersError([Fault(name, 1, 1, f"This is not Parquet: {str(error).splitlines()[0]}")]) from None


def _parquet_rows(found: Iterable[Row], name: str, catalog: Catalog) -> Iterator[Record | list[Fault]]:
    rows = Rows(catalog)
    for number, told in enumerate(found, 1):
        yield _taken(rows, told, name, number)


def _whole(head: Sequence[str], name: str) -> None:
    if RECORD not in head or len(set(head)) != len(head):
        raise AnswersError(
            [Fault(name, 1, 1, f'Expected a table written by  past export, with its column "{RECORD}".')]
        )


def _taken(
    rows: Rows,
    told: Mapping[str, Cell],
    name: str,
    number: int,
    written: Callable[[Row], Mapping[str, Cell]] = lambda row: row,
) -> Record | list[Fault]:
    """The record of a row, checked; ``written`` is how its cells stand in the file."""
    text = told[RECORD]
    one = checked(text.encode() if isinstance(text, str) else b"", name, number)
    return one if isinstance(one, list) else _changed(told, written(rows.known(one)), name, number) or one


def _changed(told: Mapping[str, Cell], said: Mapping[str, Cell], name: str, number: int) -> list[Fault]:
    """Cells that no longer say what their record says. Columns that are not known here are passed over."""
    return [
        Fault(
            name, number, 1,
            f'{column} says "{told[column]}" where its record says "{said[column]}"; a table is changed in its record.',
        )
        for column in told
        if column != RECORD and column in said and told[column] != said[column]
    ]  # fmt: skip
