"""Options that every command shares which reads a logger's file. Nothing heavy is opened here."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from ..engine.sums.logger_reading import Reading


def reading_options(command: Callable[..., None]) -> Callable[..., None]:
    """Options that say of a logger's file what it does not say itself."""
    options: tuple[Callable[[Any], Any], ...] = (
        click.option("--zone", default="", metavar="ZONE", help="Where the clock ran, such as Europe/Paris."),
        click.option(
            "--date-order", type=click.Choice(["dmy", "mdy", "ymd"]), help="Whether day, month or year is first."
        ),
        click.option("--unit", type=click.Choice(["C", "F"]), help="Unit of the temperature, where the file has none."),
        click.option("--time-column", default="", metavar="NAME", help="Name or number of the column of time."),
        click.option(
            "--temperature-column", default="", metavar="NAME", help="Name or number of the column of temperature."
        ),
        click.option("--humidity-column", default="", metavar="NAME", help="Name or number of the column of humidity."),
    )
    for option in reversed(options):  # the one applied last is listed first
        command = option(command)
    return command


def how_to_read(told: dict[str, Any]) -> Reading:
    """The options above, taken out of what a command was given."""
    from ..engine.sums.logger_columns import Wanted
    from ..engine.sums.logger_reading import Reading

    columns = Wanted(
        told.pop("time_column"), told.pop("temperature_column"), told.pop("humidity_column"), told.pop("unit") or ""
    )
    return Reading(columns, told.pop("date_order") or "", told.pop("zone"))
