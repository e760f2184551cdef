"""``rindwright past export`` and ``past import``."""

from __future__ import annotations

import csv
import os
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TextIO

import click

from ...engine.archive import exchange
from ...engine.archive.store import Archive, open_archive
from ...engine.catalog import Catalog
from ...engine.errors import FileProblem
from ..context import archive_path, knowledge_in_force
from ..status import Status
from .looks import counted, opened

_Writer = Callable[[Archive, bool, str, TextIO | None], None]
FORMS = {".jsonl": "jsonl", ".ndjson": "jsonl", ".csv": "csv", ".parquet": "parquet"}


def export(named: str | None, house: Path | None, file: str, form: str | None, without_words: bool) -> Status:
    """Write the archive out, whole or not at all."""
    form = form or ("jsonl" if file == "-" else FORMS.get(Path(file).suffix.casefold()))
    if form is None:
        raise FileProblem(f'"{file}" does not say what to write; end it in .jsonl, .csv or .parquet, or say --as.')
    if form == "parquet" and file == "-":
        raise FileProblem("Parquet is not written to standard output; name a file.")
    writers: dict[str, _Writer] = {"jsonl": _jsonl, "csv": partial(_csv, house), "parquet": partial(_parquet, house)}
    writer = writers[form]
    with opened(named) as archive:
        if file == "-":
            writer(archive, not without_words, "-", sys.stdout)
        else:
            _whole(Path(file), lambda place: writer(archive, not without_words, place, None))
    return Status.DONE


def _whole(place: Path, write: Callable[[str], None]) -> None:
    if place.is_dir():
        raise FileProblem(f"{place} is a folder; expected a file to write.")
    try:
        handle, part = tempfile.mkstemp(dir=place.parent, prefix=".export-")
    except OSError as error:
        raise FileProblem(f"{place} cannot be written: {error.strerror or 'unknown error'}.") from None
    os.close(handle)
    try:
        write(part)
        os.replace(part, place)
    except OSError as error:
        Path(part).unlink(missing_ok=True)
        raise FileProblem(f"{place} cannot be written: {error.strerror or 'unknown error'}.") from None
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise
    click.echo(f"Written: {place}", err=True)


def _jsonl(archive: Archive, with_words: bool, place: str, out: TextIO | None) -> None:
    file = out or open(place, "w", encoding="utf-8", newline="\n")  # noqa: SIM115  standard output stays open
    try:
        for line in exchange.lines(archive, with_words):
            file.write(line + "\n")
    finally:
        if out is None:
            file.close()


def _csv(house: Path | None, archive: Archive, with_words: bool, place: str, out: TextIO | None) -> None:
    catalog = Catalog(knowledge_in_force(house))
    file = out or open(place, "w", encoding="utf-8", newline="")  # noqa: SIM115  standard output stays open
    try:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*exchange.TABLE_HEAD, *(f"answer_{q}" for q in catalog.questions)])
        for row in exchange.table(archive, catalog, with_words):
            writer.writerow(exchange.csv_cells(list(row.values())))
    finally:
        if out is None:
            file.close()


def _parquet(house: Path | None, archive: Archive, with_words: bool, place: str, _: TextIO | None) -> None:
    catalog = Catalog(knowledge_in_force(house))
    try:
        exchange.write_parquet(exchange.table(archive, catalog, with_words), catalog, place)
    except ImportError:
        raise FileProblem("Parquet needs pyarrow: pip install 'rindwright[institute]'") from None


def take(named: str | None, file: str, check_only: bool) -> Status:
    """Take an exported file in, after every line of it has been checked."""
    place = Path(file)
    try:
        source = place.open("rb")
    except FileNotFoundError:
        raise FileProblem(f"{file} does not exist.") from None
    except OSError as error:
        raise FileProblem(f"{file} cannot be read: {error.strerror or 'unknown error'}.") from None
    with source:
        total = sum(1 for _ in exchange.read_lines(source, file))
        if check_only:
            click.echo(f"No fault found: {counted(total, 'record')}.")
            return Status.DONE
        source.seek(0)
        with open_archive(archive_path(named)) as archive:
            found = exchange.take(archive, exchange.read_lines(source, file))
    click.echo(
        f"Taken: {counted(found.makes, 'make')}, {counted(found.looks, 'look')}. "
        f"{counted(found.known, 'record')} known already."
    )
    if found.lessons_passed_over:
        click.echo("What was learnt elsewhere is not taken over: it is its maker's own.")
    return Status.DONE
