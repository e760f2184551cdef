"""A start opens only what the first question needs: it must be on the screen at once."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HEAVY = (
    "rich",
    "yaml",
    "pydantic",
    "numpy",
    "rapidfuzz",
    "experta",
    "sqlite3",
    "pint",
    "importlib.metadata",
    "zipfile",
)

PROGRAM = f"""
import sys
from rindwright.cli.ask import questionnaire
asked = questionnaire.read_line
def read_line():
    print("HEAVY:", *[name for name in {HEAVY!r} if name in sys.modules])
    return asked()
questionnaire.read_line = read_line
sys.argv = ["rindwright", "ask"]
from rindwright.cli.main import main
main()
"""


def test_the_first_question_waits_for_nothing_heavy(tmp_path: Path) -> None:
    own = dict.fromkeys(("HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME", "RINDWRIGHT_HOME"), str(tmp_path))
    for _ in range(2):  # the first run fills the cache
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM], env={**os.environ, **own}, input="quit\n", capture_output=True, text=True
        )
    told = [line for line in done.stdout.splitlines() if "HEAVY:" in line]
    assert [line.partition("HEAVY:")[2].strip() for line in told] == [""], done.stderr
