"""Commands that are opened only when they are used, so that a start does not read what it will not run."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import click

HERE = ""
"""The place of a command that is added to its group as usual."""


class LazyGroup(click.Group):
    """A group whose commands lie in modules of their own; they are listed as given."""

    def __init__(self, *args: Any, places: dict[str, str], **kwargs: Any) -> None:
        """``places``: a command's name to ``package.module:attribute`` below the folder ``cli``, or ``HERE``."""
        super().__init__(*args, **kwargs)
        self._places = places

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order a maker needs them."""
        return list(self._places)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command, opened now; None when there is none of that name."""
        if not self._places.get(name):
            return super().get_command(ctx, name)
        module, _, attribute = self._places[name].partition(":")
        found = getattr(import_module(f".{module}", __package__), attribute)
        return found if isinstance(found, click.Command) else None
