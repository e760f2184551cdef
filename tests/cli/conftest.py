"""Run the program as a person would: as its own process, in a home of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Program = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def program(tmp_path: Path) -> Program:
    return run_in(tmp_path)


def run_in(folder: Path) -> Program:
    """A function that runs the program with its home in a folder."""

    def run(
        *arguments: str, typed: str | bytes = "", columns: int = 80, **more: str
    ) -> subprocess.CompletedProcess[str]:
        environment = {
            **{k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS")},
            "COLUMNS": str(columns),
            "RINDWRIGHT_HOME": str(folder / "home"),
            "PYTHONUTF8": "1",
            **more,
        }
        done = subprocess.run(
            [sys.executable, "-m", "rindwright.cli", *arguments],
            input=typed if isinstance(typed, bytes) else typed.encode(),
            capture_output=True,
            env=environment,
            cwd=folder,
            timeout=60,
        )
        return subprocess.CompletedProcess(
            done.args, done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")
        )

    return run
