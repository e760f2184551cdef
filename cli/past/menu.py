"""``rindwright past``, ``make`` and ``learn``: the commands. What they do is opened when one runs."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..groups import OrderedGroup
from ..options import archive_option, house_option, json_option, no_color_option, on_option

ORDER = (
    "list", "show", "due", "did", "seen", "outcome", "note", "wheel", "compare", "alike", "repeat",
    "replay", "export", "import", "backup", "check", "mend",
)  # fmt: skip


@click.group(cls=OrderedGroup, order=ORDER, invoke_without_command=True)
@click.pass_context
def past(ctx: click.Context) -> None:
    """Look back: past looks, what was done, what came of it. Alone it lists the latest looks."""
    if ctx.invoked_subcommand is None:
        ctx.invoke(list_)


@past.command("list")
@click.option("--family", default=None, metavar="ID", help="Only this kind of rind.")
@click.option("--cause", default=None, metavar="ID", help="Only looks that named it first, or turned out to be it.")
@click.option("--wheel", default=None, metavar="MAKE/WHEEL", help="Only this wheel.")
@click.option("--make", "make_", default=None, metavar="NAME", help="Only this make.")
@click.option("--open", "open_only", is_flag=True, help="Only those to be looked at again.")
@click.option("--text", default=None, metavar="WORDS", help="Only those with these words in a name, note or deed.")
@click.option("--most", default=20, show_default=True, type=click.IntRange(1, 100_000), help="How many.")
@json_option
@no_color_option
@house_option
@archive_option
def list_(
    family: str | None = None,
    cause: str | None = None,
    wheel: str | None = None,
    make_: str | None = None,
    open_only: bool = False,
    text: str | None = None,
    most: int = 20,
    as_json: bool = False,
    no_color: bool = False,
    archive: str | None = None,
    house: Path | None = None,
) -> None:
    """List past looks, newest first."""
    from .looks import run

    sys.exit(run(archive, house, family, cause, wheel, make_, open_only, text, most, as_json, no_color))


@past.command()
@click.argument("look", required=False, default="")
@click.option("--beside", is_flag=True, help="Show beside it what the packaged knowledge alone says of its answers.")
@json_option
@no_color_option
@house_option
@archive_option
def show(look: str, beside: bool, as_json: bool, no_color: bool, archive: str | None, house: Path | None) -> None:
    """Show a look as it stood: answers, diagnosis, what was done, what came of it. Alone: the latest."""
    from .looks import show as run

    sys.exit(run(archive, house, look, beside, as_json, no_color))


@past.command()
@click.option("--until", default="today", metavar="DATE", help="Up to this day.")
@no_color_option
@house_option
@archive_option
def due(until: str, no_color: bool, archive: str | None, house: Path | None) -> None:
    """List what is to be looked at again, and what should be seen."""
    from .looks import due as run

    sys.exit(run(archive, house, until, no_color))


@past.command()
@click.argument("look")
@click.argument("what", nargs=-1, required=True)
@click.option("--act", default="", metavar="ID", help="The act of the knowledge it was.")
@on_option
@archive_option
def did(look: str, what: tuple[str, ...], act: str, on: str | None, archive: str | None) -> None:
    """Say what was done after a look: in your words, or the numbers of steps of its advice."""
    from .say import did as run

    sys.exit(run(archive, look, what, act, on))


@past.command()
@click.argument("look")
@click.argument("result", type=click.Choice(["better", "same", "worse"]))
@on_option
@archive_option
def seen(look: str, result: str, on: str | None, archive: str | None) -> None:
    """Say what was seen when you looked again."""
    from .say import seen as run

    sys.exit(run(archive, look, result, on))


@past.command()
@click.argument("look")
@click.argument("causes", nargs=-1, required=True, metavar="CAUSE...")
@click.option(
    "--known-by",
    required=True,
    type=click.Choice(["laboratory", "lens", "remedy", "own"]),
    help="How it is known: laboratory, lens, the remedy for it worked, or your own view.",
)
@click.option("--only", is_flag=True, help="Everything else is excluded.")
@click.option("--taste", default="not tasted", type=click.Choice(["good", "fair", "poor", "not tasted"]))
@on_option
@house_option
@archive_option
def outcome(
    look: str,
    causes: tuple[str, ...],
    known_by: str,
    only: bool,
    taste: str,
    on: str | None,
    archive: str | None,
    house: Path | None,
) -> None:
    """Say what a look turned out to be: ids of causes, or  nothing  when nothing was wrong."""
    from .say import outcome as run

    sys.exit(run(archive, house, look, causes, known_by, only, taste, on))


@past.command()
@click.argument("look")
@click.argument("text", nargs=-1, required=True)
@on_option
@archive_option
def note(look: str, text: tuple[str, ...], on: str | None, archive: str | None) -> None:
    """Add a note to a look."""
    from .say import note as run

    sys.exit(run(archive, look, text, on))


@past.command()
@click.argument("wheel")
@no_color_option
@house_option
@archive_option
def wheel(wheel: str, no_color: bool, archive: str | None, house: Path | None) -> None:
    """Draw a wheel over its weeks: signs, care, weight, climate and verdicts."""
    from .timeline import run

    sys.exit(run(archive, house, wheel, no_color))


@past.command()
@click.argument("first")
@click.argument("second")
@click.option("--makes", is_flag=True, help="The two are makes, not looks.")
@no_color_option
@house_option
@archive_option
def compare(first: str, second: str, makes: bool, no_color: bool, archive: str | None, house: Path | None) -> None:
    """Show how two looks (or makes) differ, and which differences moved the ranking."""
    from .compare import run

    sys.exit(run(archive, house, first, second, makes, no_color))


@past.command()
@click.argument("look", required=False, default="")
@click.option("--most", default=5, show_default=True, type=click.IntRange(1, 100))
@no_color_option
@house_option
@archive_option
def alike(look: str, most: int, no_color: bool, archive: str | None, house: Path | None) -> None:
    """Find the past looks and published cases most like this look, and what worked then."""
    from .alike import run

    sys.exit(run(archive, house, look, most, no_color))


@past.command()
@click.argument("wheel")
@no_color_option
@house_option
@archive_option
def repeat(wheel: str, no_color: bool, archive: str | None, house: Path | None) -> None:
    """From a wheel that turned out well: what differed from the plan, as a protocol for the next make."""
    from .repeat import run

    sys.exit(run(archive, house, wheel, no_color))


@past.command()
@click.option("--most", default=10, show_default=True, type=click.IntRange(0, 10_000), help="Changed looks to show.")
@click.option("--processes", default=0, type=click.IntRange(0, 256), help="Processes to work with; 0: one per core.")
@click.option("--dask", default=None, metavar="ADDRESS", help="Work on a dask cluster (extra: rindwright[institute]).")
@no_color_option
@house_option
@archive_option
def replay(
    most: int, processes: int, dask: str | None, no_color: bool, archive: str | None, house: Path | None
) -> None:
    """Weigh every stored look again under today's knowledge, and show what changed and why."""
    from .replay import run

    sys.exit(run(archive, house, most, processes, dask, no_color))


@past.command()
@click.argument("file")
@click.option(
    "--as",
    "form",
    type=click.Choice(["jsonl", "csv", "parquet"]),
    default=None,
    help="jsonl: one record a line; csv and parquet: a table, one row a record. By the file's ending.",
)
@click.option("--without-words", is_flag=True, help="Leave out notes, free words and names of your own.")
@house_option
@archive_option
def export(file: str, form: str | None, without_words: bool, archive: str | None, house: Path | None) -> None:
    """Write the archive to a file; - is standard output."""
    from .exchange import export as run

    sys.exit(run(archive, house, file, form, without_words))


@past.command("import")
@click.argument("file")
@click.option(
    "--as",
    "form",
    type=click.Choice(["jsonl", "csv", "parquet"]),
    default=None,
    help="Its form, whatever its ending.",
)
@click.option("--check-only", is_flag=True, help="Check the file, and take nothing.")
@house_option
@archive_option
def import_(file: str, form: str | None, check_only: bool, archive: str | None, house: Path | None) -> None:
    """Take looks and makes from an exported file, after checking every record."""
    from .exchange import take as run

    sys.exit(run(archive, house, file, form, check_only))


@past.command()
@click.argument("file", required=False, default=None)
@archive_option
def backup(file: str | None, archive: str | None) -> None:
    """Copy the archive, whole and checked: to FILE, or beside itself."""
    from .care import backup as run

    sys.exit(run(archive, file))


@past.command()
@archive_option
def check(archive: str | None) -> None:
    """Check every page and every record of the archive."""
    from .care import check as run

    sys.exit(run(archive))


@past.command()
@archive_option
def mend(archive: str | None) -> None:
    """Make a damaged archive whole again from its backups and its daybook."""
    from .care import mend as run

    sys.exit(run(archive))


@click.command()
@click.argument("name", required=False)
@click.option("--new", is_flag=True, help="Begin this make.")
@click.option("--meant", default=None, metavar="STYLE", help="What it was meant to be.")
@click.option("--made", default=None, metavar="DATE", help="The day it was made.")
@click.option("--salted", default=None, metavar="DATE", help="The day salting ended: age counts from here.")
@click.option("--milk", default=None, metavar="WORDS", help="The milk, in your words.")
@click.option("--salt", default=None, metavar="WORDS", help="How it was salted, in your words.")
@click.option("--culture", multiple=True, metavar="SPECIES[=AMOUNT]", help="A culture that went in.")
@click.option("--wheel", multiple=True, metavar="NAME", help="A wheel of it; a new make has one, called 1.")
@click.option("--fact", multiple=True, metavar="QUESTION=ANSWER", help="Something known of it.")
@click.option("--plan", multiple=True, metavar="QUESTION=ANSWER", help="Something it was meant to get.")
@click.option("--note", default=None, metavar="TEXT", help="A free note.")
@on_option
@no_color_option
@house_option
@archive_option
def make(name: str | None, no_color: bool, archive: str | None, house: Path | None, **given: object) -> None:
    """Begin a make, add to it, or show it. Alone it lists all makes."""
    from .make import run

    sys.exit(run(archive, house, name, no_color, given))


@click.command()
@click.option("--take", is_flag=True, help="Use what was learnt from now on, beside the cited knowledge.")
@click.option("--reset", is_flag=True, help="Take back everything learnt.")
@no_color_option
@house_option
@archive_option
def learn(take: bool, reset: bool, no_color: bool, archive: str | None, house: Path | None) -> None:
    """Show what your confirmed looks would change, and change it only when told to."""
    from .learn import run

    if take and reset:
        raise click.UsageError("Give --take or --reset, not both.")
    sys.exit(run(archive, house, take, reset, no_color))
