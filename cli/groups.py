"""Groups of commands: in the order a maker needs them, with the nearest word for one that is not there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from importlib import import_module
from shutil import get_terminal_size
from typing import Any

import click

from ..engine.errors import nearest

HERE = ""
"""The place of a command that is added to its group as usual."""


NARROWEST = 40
"""Columns down to which help is laid out for the screen."""


class FittingHelp(click.HelpFormatter):
    """Help as wide as the screen, from ``NARROWEST`` columns on; click itself stops at 52."""

    def __init__(self, indent_increment: int = 2, width: int | None = None, max_width: int | None = None) -> None:
        if width is None:
            width = max(NARROWEST, min(get_terminal_size((80, 24)).columns, max_width or 80)) - 2
        super().__init__(indent_increment, width, max_width)

    def write_dl(self, rows: Iterable[tuple[str, str]], col_max: int = 30, col_spacing: int = 2) -> None:
        """Terms and what they mean: the narrower the screen, the less of it the terms get beside their words."""
        broken = [(self._broken(term), words) for term, words in rows]
        super().write_dl(broken, max(10, min(col_max, self.width - 38)), col_spacing)

    def _broken(self, term: str) -> str:
        """A term that is too long for a line, broken between its choices."""
        lines = [""]
        for part in re.split(r"(?<=\|)|(?<= )(?=\[)", term):
            if lines[-1] and len(lines[-1]) + len(part.rstrip()) > self.width - self.current_indent:
                lines.append("    ")
            lines[-1] += part
        return f"\n{'':>{self.current_indent}}".join(line.rstrip() for line in lines)


class FittingContext(click.Context):
    """A context whose help fits the screen."""

    formatter_class = FittingHelp


class OrderedGroup(click.Group):
    """A group that lists its commands as told, and whose help fits the screen."""

    context_class = FittingContext

    def __init__(self, *args: Any, order: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._order = order

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command, with help that fits the screen; None when there is none of that name."""
        return fitting(super().get_command(ctx, name))

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


def fitting(command: click.Command | None) -> click.Command | None:
    """A command whose help fits the screen."""
    if command is not None:
        command.context_class = FittingContext
    return command


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
        return fitting(found) if isinstance(found, click.Command) else None
