"""Housekeeping is put off while a span is weighed, and taken up again afterwards."""

from __future__ import annotations

import gc
import os
import platform
import subprocess
import sys

import pytest
from rindwright.engine.archive import housekeeping
from rindwright.engine.archive.housekeeping import TRIM, memory_held, without_sweeps

FAULTS = """
import contextlib, resource
import numpy as np
from rindwright.engine.archive import housekeeping
from rindwright.engine.archive.housekeeping import memory_held

def blanked(held):
    np.ones(300_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    with held():
        for _ in range(200):
            np.ones(300_000)
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before

print(blanked(contextlib.nullcontext), blanked(memory_held), blanked(contextlib.nullcontext))
"""


def test_sweeps_come_back_also_after_an_error() -> None:
    def work() -> None:
        with without_sweeps():
            assert not gc.isenabled()
            raise KeyError

    assert gc.isenabled()
    with pytest.raises(KeyError):
        work()
    assert gc.isenabled()


def test_sweeps_that_were_off_stay_off() -> None:
    gc.disable()
    try:
        with without_sweeps():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="other C libraries have no such settings")
def test_pages_are_not_blanked_again_for_every_column() -> None:
    """A column of 300,000 numbers fills 586 pages of 4 KiB; glibc's mallopt(3) says when they are handed back."""
    told = subprocess.run(
        [sys.executable, "-c", FAULTS], env={**os.environ, TRIM: "65536"}, capture_output=True, text=True, check=True
    )
    before, held, after = map(int, told.stdout.split())
    assert held < before / 20
    assert after > before / 2  # what the cluster asked for stands again


@pytest.mark.parametrize("asked", ["", "much", "-1"])
def test_nothing_is_done_where_nothing_is_asked(monkeypatch: pytest.MonkeyPatch, asked: str) -> None:
    monkeypatch.setenv(TRIM, asked)
    touched: list[bool] = []
    monkeypatch.setattr(housekeeping, "_glibc", lambda: touched.append(True))
    with memory_held():
        pass
    assert not touched
    monkeypatch.setenv(TRIM, "65536")
    with memory_held():  # as on another C library
        pass
    assert touched
