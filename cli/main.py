"""The command line. Each command opens what it needs when it runs, so that help comes at once."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..engine.errors import AnswersError, FileProblem, KnowledgeError, RindwrightError
from .groups import HERE, LazyGroup, OrderedGroup
from .logger_options import how_to_read, reading_options
from .options import archive_option, house_option
from .status import Status

_PLACES = {
    "ask": HERE,
    "weigh": HERE,
    "past": "past.menu:past",
    "make": "past.menu:make",
    "learn": "past.menu:learn",
    "sums": "sums.menu:sums",
    "questions": HERE,
    "card": HERE,
    "rules": "rules.menu:rules",
    "knowledge": HERE,
}
"""Every command and where it lies, in the order a maker needs them."""


@click.group(
    cls=LazyGroup, places=_PLACES, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="rindwright")
def cli() -> None:
    """Says what is wrong with a cheese rind, why, and what to do about it.

    Start with  rindwright ask.
    """


@cli.command()
@click.option(
    "--resume",
    "resume",
    is_flag=False,
    flag_value="",
    default=None,
    metavar="[NAME]",
    help="Go on with a questionnaire that was left; the last one when no name is given.",
)
@click.option("--name", default=None, metavar="NAME", help="What to call this questionnaire.")
@click.option("--wheel", default=None, metavar="MAKE/WHEEL", help="The wheel you look at; asks only what is new.")
@click.option("--on", default=None, metavar="DATE", help="The day of the look, when it is not today.")
@click.option("--fact", multiple=True, metavar="QUESTION=ANSWER", help="Something you know already: weight_g=640.")
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON at the end.")
@click.option("--logger", metavar="CSV", help="A climate logger's file; its answers are shown before they count.")
@reading_options
@click.option("--no-color", is_flag=True, help="No colour and no bold.")
@house_option
@archive_option
def ask(
    resume: str | None,
    name: str | None,
    wheel: str | None,
    on: str | None,
    fact: tuple[str, ...],
    as_json: bool,
    logger: str | None,
    no_color: bool,
    archive: str | None,
    house: Path | None,
    **told: str,
) -> None:
    """Answer questions about a rind, one line at a time. Every answer is kept as it is given."""
    from .ask.questionnaire import run

    log = None
    if logger is not None:
        from .sums.logger import opened_file

        log = opened_file(logger, how_to_read(told))
    sys.exit(run(resume, name, as_json, no_color, archive, wheel, on, log, house, fact))


@cli.command()
@click.argument("file", required=False)
@click.option(
    "--notice", default=None, metavar="WORDS", help='What you notice, in your own words: "blue spots, slimy".'
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")
@click.option("--strict", is_flag=True, help=f"End with {int(Status.UNDECIDED)} when undecided.")
@click.option("--beside", is_flag=True, help="Show beside it what the packaged knowledge alone would say.")
@house_option
@click.option("--logger", metavar="CSV", help="A climate logger's file, to answer for the air.")
@reading_options
@click.option("--formula", is_flag=True, help="Say how each amount was worked out, with the source.")
@click.option("--keep", is_flag=True, help="Keep it as a look, as ask does; --name, --wheel and --on go with it.")
@click.option("--name", default=None, metavar="NAME", help="What to call the look that is kept.")
@click.option("--wheel", default=None, metavar="MAKE/WHEEL", help="The wheel it is a look at; what is known is added.")
@click.option("--on", default=None, metavar="DATE", help="The day of the look, when it is not today.")
@click.option("--no-color", is_flag=True, help="No colour and no bold.")
@archive_option
def weigh(
    file: str | None,
    notice: str | None,
    as_json: bool,
    strict: bool,
    logger: str | None,
    formula: bool,
    beside: bool,
    keep: bool,
    name: str | None,
    wheel: str | None,
    on: str | None,
    no_color: bool,
    house: Path | None,
    archive: str | None,
    **told: str,
) -> None:
    """Diagnose from an answers file (YAML or JSON); - reads standard input. Asks nothing."""
    from .weigh import Keeping, run

    if file is None and notice is None:
        raise click.UsageError("Give an answers file, - for standard input, or --notice.")
    if not keep and (name or wheel or on):
        raise click.UsageError("--name, --wheel and --on go with --keep.")
    log = None
    if logger is not None:
        from .sums.logger import opened_file

        log = opened_file(logger, how_to_read(told))
    keeping = Keeping(name, wheel, on) if keep else None
    sys.exit(run(file, notice, as_json, strict, no_color, log, formula, house, beside, keeping, archive))


@cli.command()
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@house_option
def questions(as_json: bool, house: Path | None) -> None:
    """Print every question, with its answers, unit and id."""
    from .listing import questions as run

    sys.exit(run(as_json, house))


@cli.command()
@click.argument("id")
@click.option("--no-color", is_flag=True, help="No colour and no bold.")
@house_option
def card(id: str, no_color: bool, house: Path | None) -> None:
    """Show all that is known of a cause, sign, act, caution, organism or source."""
    from .card import run

    sys.exit(run(id, no_color, house))


@cli.group(cls=OrderedGroup)
def knowledge() -> None:
    """Look after knowledge files."""


@knowledge.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
def check(folder: Path | None) -> None:
    """Check knowledge files; every fault with file, line and column."""
    from .listing import check as run

    sys.exit(run(folder))


def main() -> None:
    """Run the command line; every expected trouble becomes one sentence and an exit code."""
    try:
        cli.main(prog_name="rindwright", standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Interrupted.", err=True)
        sys.exit(Status.INTERRUPTED)
    except click.ClickException as problem:
        told = problem.format_message()
        apart = "\n\n" if "\n" in told else " "  # the help of a group stands by itself
        click.echo(f"{told}{apart}Try: {_path(problem)} --help", err=True)
        sys.exit(Status.USAGE)
    except (KnowledgeError, AnswersError) as problem:
        for fault in problem.faults:
            click.echo(str(fault), err=True)
        sys.exit(Status.INVALID)
    except (FileProblem, RindwrightError) as problem:
        click.echo(str(problem), err=True)
        sys.exit(Status.INVALID)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(Status.DONE)
    except KeyboardInterrupt:
        click.echo("Interrupted.", err=True)
        sys.exit(Status.INTERRUPTED)


def _path(problem: click.ClickException) -> str:
    """The command that was called wrongly, as it is typed."""
    context = problem.ctx if isinstance(problem, click.UsageError) else None
    return context.command_path if context else "rindwright"


if __name__ == "__main__":
    main()
