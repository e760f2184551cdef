"""``rindwright sums``: one command for each kind of sum, opened only when it is used."""

from __future__ import annotations

from importlib import import_module

import click

_MODULES = {
    "brine": "sums_brine",
    "salt": "sums_salt",
    "drying": "sums_drying",
    "air": "sums_air",
    "growth": "sums_growth",
    "logger": "sums_logger",
}
"""Command to the module that defines it as ``command``."""


class _Sums(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_MODULES)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in _MODULES:
            return None
        found = import_module(f".{_MODULES[name]}", __package__).command
        return found if isinstance(found, click.Command) else None


@click.group(cls=_Sums)
def sums() -> None:
    """Work out brine, salt, drying, air, growth, or read a climate logger.

    A figure may carry a unit: 10L, 2qt, 54F, 8oz. What is missing is asked for.
    """
