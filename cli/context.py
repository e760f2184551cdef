"""What every command needs: the knowledge, the screen, and where the user's archive lies."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ..engine.errors import FileProblem
from ..engine.house.folder import plain
from ..engine.reading import open_knowledge
from .screen import Screen, opened

if TYPE_CHECKING:
    from ..engine.archive.learnt import Standing
    from ..engine.catalog import Catalog
    from ..engine.house.keeping import House
    from ..engine.model import Knowledge


def knowledge_folder() -> Path:
    """Where the packaged knowledge lies."""
    from .. import knowledge  # a folder without code

    return Path(knowledge.__path__[0])


def packaged_knowledge() -> Knowledge:
    """The packaged knowledge, checked, from the cache when that is beyond doubt."""
    from platformdirs import user_cache_path

    return open_knowledge(knowledge_folder(), user_cache_path("rindwright", appauthor=False))


def archive_path(named: str | None = None) -> Path:
    """The archive: as named, else ``RINDWRIGHT_ARCHIVE``, or in the user's own folder."""
    chosen = named or os.environ.get("RINDWRIGHT_ARCHIVE")
    return Path(chosen) if chosen else _home() / "archive.db"


def standing_in(catalog: Catalog, named: str | None = None) -> Standing:
    """What was learnt and is in force in an archive; nothing where there is none that can be read."""
    from ..engine.archive.learnt import NOTHING, standing
    from ..engine.archive.store import ArchiveProblem, open_archive

    path = archive_path(named)
    if not path.exists():
        return NOTHING
    try:
        with open_archive(path, writable=False, create=False) as archive:
            return standing(archive, catalog) or NOTHING
    except ArchiveProblem:
        return NOTHING


def house_folder(chosen: Path | None = None) -> Path:
    """Where house rules lie: the folder chosen, else ``RINDWRIGHT_HOUSE``, or in the user's own folder."""
    named = os.environ.get("RINDWRIGHT_HOUSE")
    return chosen if chosen is not None else Path(named) if named else _home() / "house"


def knowledge_in_force(chosen: Path | None = None) -> Knowledge:
    """The packaged knowledge with the house rules over it; a rule left out is said on standard error."""
    house = open_house(chosen)
    tell(house)
    return house.knowledge


def open_house(chosen: Path | None = None) -> House:
    """The house, from the cache when that is beyond doubt. Raises ``FileProblem`` when the folder chosen is none."""
    if chosen is not None and not chosen.is_dir():
        raise FileProblem(f"{plain(str(chosen))} is not a folder of house rules.")
    from platformdirs import user_cache_path

    from ..engine.house.keeping import open_house as opened

    return opened(packaged_knowledge(), house_folder(chosen), user_cache_path("rindwright", appauthor=False))


def tell(house: House) -> None:
    """Say which house rules do not count, and why."""
    import click

    for fault in house.faults[:TOLD]:
        click.echo(f"A house rule is left out. {fault}", err=True)
    if len(house.faults) > TOLD:
        click.echo(f"{len(house.faults) - TOLD} more; all of them: rindwright rules check", err=True)


TOLD = 3
"""Most faults of house rules said before a diagnosis."""


def _home() -> Path:
    """``RINDWRIGHT_HOME``, or the system's folder for user data."""
    from platformdirs import user_data_path

    home = os.environ.get("RINDWRIGHT_HOME")
    return Path(home) if home else user_data_path("rindwright", appauthor=False)


def console(no_color: bool = False, aside: bool = False) -> Screen:
    """Standard output (``aside``: standard error), plain where it is no terminal, and never failing on a character."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    return opened(no_color, aside)


def screen_width() -> int:
    """Columns to lay out for: the terminal's, or ``COLUMNS``, or 80; between 30 and 100."""
    from shutil import get_terminal_size

    return max(30, min(100, get_terminal_size((80, 24)).columns))
