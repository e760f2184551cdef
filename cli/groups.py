"""Groups of commands: in the order a maker needs them, with the nearest word for one that is not there."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from typing import Any

import click

from ..engine.errors import nearest

HERE = ""
"""The place of a command that is added to its group as usual."""


class OrderedGroup(click.Group):
    """A group that lists its commands as told."""

    def __init__(self, *args: Any, order: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._order = order

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order given; by the alphabet without one."""
        return list(self._order) or super().list_commands(ctx)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is called. Raises ``UsageError`` with the nearest word."""
        if args and not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            names = self.list_commands(ctx)
            known = nearest(args[0], names) or f"; there are {', '.join(names)}"
            raise click.UsageError(f'There is no command "{args[0]}"{known}.', ctx)
        return super().resolve_command(ctx, args)


class LazyGroup(OrderedGroup):
    """A group whose commands lie in modules of their own, each opened when it is used: a start reads no other."""

    def __init__(self, *args: Any, places: dict[str, str], **kwargs: Any) -> None:
        """``places``: a command's name to ``package.module:attribute`` below the folder ``cli``, or ``HERE``."""
        super().__init__(*args, order=tuple(places), **kwargs)
        self._places = places

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command, opened now; None when there is none of that name."""
        if not self._places.get(name):
            return super().get_command(ctx, name)
        module, _, attribute = self._places[name].partition(":")
        found = getattr(import_module(f".{module}", __package__), attribute)
        return found if isinstance(found, click.Command) else None
