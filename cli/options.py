"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click

_F = TypeVar("_F", bound=Callable[..., None])


def archive_option(command: _F) -> _F:
    """``--archive FILE``."""
    return click.option(
        "--archive", default=None, metavar="FILE", help="The archive to use, instead of RINDWRIGHT_ARCHIVE or your own."
    )(command)


def no_color_option(command: _F) -> _F:
    """``--no-color``."""
    return click.option("--no-color", is_flag=True, help="No colour and no bold.")(command)


def json_option(command: _F) -> _F:
    """``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print as JSON.")(command)


def on_option(command: _F) -> _F:
    """``--on DATE``."""
    return click.option("--on", default=None, metavar="DATE", help="The day, when it is not today.")(command)


def house_option(command: _F) -> _F:
    """``--house DIR``: which folder of house rules counts."""
    return click.option(
        "--house",
        type=click.Path(path_type=Path),
        default=None,
        metavar="DIR",
        help="Folder of house rules; your own when left out (or RINDWRIGHT_HOUSE).",
    )(command)


def because_option(command: _F) -> _F:
    """``--because WORDS``."""
    return click.option("--because", default=None, metavar="WORDS", help="Why; asked for when left out.")(command)
