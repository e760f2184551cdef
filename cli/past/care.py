"""``rindwright past backup``, ``check``, ``mend``."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

import click

from ...engine.archive.mending import check as check_archive
from ...engine.archive.mending import mend as mend_archive
from ...engine.archive.problems import ArchiveProblem, spoken
from ...engine.archive.store import copy_to, open_archive
from ...engine.errors import FileProblem
from .. import clock
from ..context import archive_path
from ..progress import progress_line
from ..sentences import counted
from ..status import Status
from .looks import opened


def backup(named: str | None, file: str | None) -> Status:
    """Copy the archive, whole and checked."""
    with opened(named, writable=file is None) as archive:
        if file is None:
            place = archive.back_up()
        else:
            place = Path(file)
            if place.exists():
                raise FileProblem(f"{place} is there already; name a file that is not.")
            with spoken(archive.path):
                copy_to(archive.path, place)
    click.echo(f"Copied and checked: {place}")
    return Status.DONE


def check(named: str | None) -> Status:
    """Check every page and every record."""
    with opened(named) as archive, progress_line("Checked") as progress:
        found = check_archive(archive, progress)
    for fault in found.faults:
        click.echo(fault, err=True)
    if found.faults:
        click.echo("Make it whole again: rindwright past mend", err=True)
        return Status.INVALID
    click.echo(f"Sound: {counted(found.makes, 'make')}, {counted(found.looks, 'look')}.")
    if found.waiting:
        click.echo(f"Still in the daybook, and taken up by the next look or note: {counted(found.waiting, 'change')}.")
    return Status.DONE


def mend(named: str | None) -> Status:
    """Make a damaged archive whole again."""
    path = archive_path(named)
    with contextlib.suppress(ArchiveProblem), open_archive(path, writable=False, create=False) as archive:
        whole = check_archive(archive)
        if not (whole.faults or whole.waiting):
            click.echo(f"There is nothing to mend: {counted(whole.makes, 'make')}, {counted(whole.looks, 'look')}.")
            return Status.DONE
    found = mend_archive(path, re.sub(r"\D", "", clock.now()[:19]))
    click.echo(f"Whole again: {counted(found.makes, 'make')}, {counted(found.looks, 'look')}.")
    if found.from_file:
        click.echo(f"{found.from_file} of them only the old file still held.")
    if found.set_aside is not None:
        click.echo(f"The old file is kept: {found.set_aside}")
    return Status.DONE
