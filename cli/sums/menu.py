"""``rindwright sums``: one command for each kind of sum, opened only when it is used."""

from __future__ import annotations

import click

from ..groups import LazyGroup

_PLACES = {name: f"sums.{name}:command" for name in ("brine", "salt", "drying", "air", "growth", "logger")}


@click.group(cls=LazyGroup, places=_PLACES)
def sums() -> None:
    """Work out brine, salt, drying, air, growth, or read a climate logger.

    A figure may carry a unit: 10L, 2qt, 54F, 8oz. What is missing is asked for.
    """
