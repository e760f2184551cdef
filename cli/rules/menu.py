"""``rindwright rules``: the commands. Each opens what it needs when it runs."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..groups import OrderedGroup
from ..options import archive_option, because_option, house_option, no_color_option

ORDER = ("new", "check", "try", "list", "show", "off", "on", "take-back", "take-in")
"""As a maker meets them."""


@click.group(cls=OrderedGroup, order=ORDER)
def rules() -> None:
    """Teach the tool what your house knows: rules of your own.

    Start with  rindwright rules new.
    """


@rules.command()
@house_option
@no_color_option
def new(house: Path | None, no_color: bool) -> None:
    """Write a rule by answering a few questions."""
    from .guide import run

    sys.exit(run(house, no_color))


@rules.command()
@click.argument("place", required=False, type=click.Path(path_type=Path))
@house_option
@no_color_option
def check(place: Path | None, house: Path | None, no_color: bool) -> None:
    """Check your rules, or a file or folder of rules: faults, examples, doubts."""
    from .shelf import check as run

    sys.exit(run(place, house, no_color))


@rules.command(name="list")
@click.option("--all", "everything", is_flag=True, help="Every cause too, with the layer it comes from.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@house_option
@no_color_option
def list_(everything: bool, as_json: bool, house: Path | None, no_color: bool) -> None:
    """List the rules, and the layer each comes from."""
    from .shelf import listing as run

    sys.exit(run(everything, as_json, house, no_color))


@rules.command()
@click.argument("name")
@house_option
@no_color_option
def show(name: str, house: Path | None, no_color: bool) -> None:
    """Show a rule in plain words: what it says, why, how far it reaches."""
    from .shelf import show as run

    sys.exit(run(name, house, no_color))


@rules.command(name="try")
@click.argument("rule", required=False)
@click.option(
    "--on", "files", multiple=True, metavar="FILE", help="An answers file to try it on; may be given several times."
)
@click.option("--no-looks", is_flag=True, help="Leave your past questionnaires out.")
@house_option
@archive_option
@no_color_option
def try_(
    rule: str | None, files: tuple[str, ...], no_looks: bool, house: Path | None, archive: str | None, no_color: bool
) -> None:
    """Try a rule (its name, or a file) before it counts: what would change.

    Without a rule: all of your rules against the packaged knowledge alone.
    """
    from .trial import run

    sys.exit(run(rule, files, no_looks, house, archive, no_color))


@rules.command()
@click.argument("name")
@click.option("--sign", default="", metavar="ID", help="With a packaged cause: only its tie to this sign.")
@click.option("--when", default="", metavar="ID", help="With a packaged cause: only its tie to this circumstance.")
@click.option("--owner", default="this house", show_default=True, metavar="NAME", help="Whose rule it is.")
@because_option
@house_option
@no_color_option
def off(name: str, sign: str, when: str, because: str | None, owner: str, house: Path | None, no_color: bool) -> None:
    """Switch off a rule of yours, or a packaged cause, sign, circumstance or normal row."""
    from .switch import off as run

    sys.exit(run(name, sign, when, because, owner, house, no_color))


@rules.command()
@click.argument("name")
@because_option
@house_option
@no_color_option
def on(name: str, because: str | None, house: Path | None, no_color: bool) -> None:
    """Switch it on again."""
    from .switch import on as run

    sys.exit(run(name, because, house, no_color))


@rules.command(name="take-back")
@click.argument("name")
@because_option
@house_option
@no_color_option
def take_back(name: str, because: str | None, house: Path | None, no_color: bool) -> None:
    """Take a rule out of the house; its file is kept aside."""
    from .switch import take_back as run

    sys.exit(run(name, because, house, no_color))


@rules.command(name="take-in")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Take in without asking.")
@house_option
@archive_option
@no_color_option
def take_in(folder: Path, yes: bool, house: Path | None, archive: str | None, no_color: bool) -> None:
    """Take in somebody else's folder of rules, after a look at what it would change."""
    from .take import run

    sys.exit(run(folder, yes, house, archive, no_color))
