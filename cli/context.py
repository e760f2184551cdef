"""What every command needs: the knowledge, the screen, and where the user's archive lies."""

from __future__ import annotations

import os
import sys
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from ..engine.reading import open_knowledge

if TYPE_CHECKING:
    from rich.console import Console

    from ..engine.model import Knowledge


def knowledge_folder() -> Path:
    """Where the packaged knowledge lies."""
    return Path(str(files("rindwright.knowledge")))


def packaged_knowledge() -> Knowledge:
    """The packaged knowledge, checked, from the cache when that is beyond doubt."""
    from platformdirs import user_cache_path

    return open_knowledge(knowledge_folder(), user_cache_path("rindwright", appauthor=False))


def archive_path(named: str | None = None) -> Path:
    """The archive: as named, else ``RINDWRIGHT_ARCHIVE``, ``RINDWRIGHT_HOME``, or the system's folder for user data."""
    from platformdirs import user_data_path

    chosen = named or os.environ.get("RINDWRIGHT_ARCHIVE")
    if chosen:
        return Path(chosen)
    home = os.environ.get("RINDWRIGHT_HOME")
    return (Path(home) if home else user_data_path("rindwright", appauthor=False)) / "archive.db"


def console(no_color: bool = False) -> Console:
    """Standard output, plain where it is not a terminal, and never failing on a character."""
    from rich.console import Console

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")

    class Quiet(Console):
        def on_broken_pipe(self) -> None:
            """A reader that has seen enough, such as head, is no fault."""
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise SystemExit(0)

    return Quiet(
        no_color=True if no_color else None,
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=True,
        legacy_windows=False,
    )


def screen_width() -> int:
    """Columns to lay out for: the terminal's, or ``COLUMNS``, or 80; between 30 and 100."""
    from shutil import get_terminal_size

    return max(30, min(100, get_terminal_size((80, 24)).columns))
