"""``rindwright past export`` and ``past import``."""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TextIO

import click

from ...engine.archive import exchange, table
from ...engine.archive.daybook import Record
from ...engine.archive.store import Archive, open_archive
from ...engine.catalog import Catalog
from ...engine.errors import FileProblem
from ..context import archive_path, knowledge_in_force
from ..sentences import counted
from ..status import Status
from .looks import opened

FORMS = {".jsonl": "jsonl", ".ndjson": "jsonl", ".csv": "csv", ".parquet": "parquet"}


NEEDED = "Parquet needs pyarrow: pip install 'rindwright[institute]'"


def export(named: str | None, house: Path | None, file: str, form: str | None, without_words: bool) -> Status:
    """Write the archive out, whole or not at all."""
    form = form or ("jsonl" if file == "-" else FORMS.get(Path(file).suffix.casefold()))
    if form is None:
        raise FileProblem(f'"{file}" does not say what to write; end it in .jsonl, .csv or .parquet, or say --as.')
    if form == "parquet" and file == "-":
        raise FileProblem("Parquet is not written to standard output; name a file.")
    catalog = Catalog(knowledge_in_force(house))
    with opened(named) as archive, archive.at_one_moment():
        if file == "-":
            sys.stdout.reconfigure(encoding="utf-8", newline="")  # type: ignore[union-attr]
            _text(archive, catalog, form, not without_words, sys.stdout)
        else:
            _may_be_replaced(Path(file), form)
            _whole(Path(file), lambda place: _to_file(archive, catalog, form, not without_words, place))
    return Status.DONE


HEADS = {"jsonl": rb'\{.{0,40}"schema":"rindwright-archive/', "csv": b"kind,look,", "parquet": b"PAR1"}
"""How an earlier export begins."""


def _may_be_replaced(place: Path, form: str) -> None:
    """Only an earlier export gives way: not an archive, its backups, or a table of the maker's own."""
    try:
        with place.open("rb") as file:
            head = file.read(200)
    except OSError:  # not there; or it cannot be written either, which is said then
        return
    if head and not re.match(HEADS[form], head):
        raise FileProblem(f"{place} is there already, and is no earlier export; name another file.")


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


def _to_file(archive: Archive, catalog: Catalog, form: str, with_words: bool, place: str) -> None:
    if form == "parquet":
        try:
            table.write_parquet(exchange.records(archive, with_words), catalog, place)
        except ImportError:
            raise FileProblem(NEEDED) from None
        return
    with open(place, "w", encoding="utf-8", newline="") as file:
        _text(archive, catalog, form, with_words, file)


def _text(archive: Archive, catalog: Catalog, form: str, with_words: bool, file: TextIO) -> None:
    if form == "csv":
        table.write_csv(exchange.records(archive, with_words), catalog, file)
        return
    for line in exchange.lines(archive, with_words):
        file.write(line + "\n")


def take(named: str | None, house: Path | None, file: str, form: str | None, check_only: bool) -> Status:
    """Take an exported file in, after every record of it has been checked."""
    form = form or FORMS.get(Path(file).suffix.casefold(), "jsonl")
    try:
        Path(file).open("rb").close()
    except FileNotFoundError:
        raise FileProblem(f"{file} does not exist.") from None
    except OSError as error:
        raise FileProblem(f"{file} cannot be read: {error.strerror or 'unknown error'}.") from None
    catalog = Catalog(knowledge_in_force(house))
    total = exchange.survey(_read(file, form, catalog), _wheels(named))
    if check_only:
        click.echo(f"No fault found: {counted(total, 'record')}.")
        return Status.DONE
    with open_archive(archive_path(named)) as archive:
        found = exchange.take(archive, _read(file, form, catalog))
    click.echo(
        f"Taken: {counted(found.makes, 'make')}, {counted(found.looks, 'look')}. "
        f"{counted(found.known, 'record')} known already."
    )
    if found.lessons:
        click.echo("What was learnt came with them. See what of it is in force: rindwright learn")
    if found.lessons_passed_over:
        click.echo("What was learnt elsewhere is not taken over: it is its maker's own.")
    return Status.DONE


def _wheels(named: str | None) -> set[str]:
    """Wheels that a look may belong to already."""
    path = archive_path(named)
    if not path.exists():
        return set()
    with open_archive(path, writable=False) as archive:
        return exchange.wheels_of(archive)


def _read(file: str, form: str, catalog: Catalog) -> Iterator[Record]:
    if form == "parquet":
        try:
            yield from table.read_parquet(file, file, catalog)
        except ImportError:
            raise FileProblem(NEEDED) from None
    elif form == "csv":
        with open(file, encoding="utf-8-sig", newline="") as text:
            yield from table.read_csv(text, file, catalog)
    else:
        with open(file, "rb") as raw:
            yield from exchange.read_lines(raw, file)
