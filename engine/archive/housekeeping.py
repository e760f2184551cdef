"""Housekeeping of Python and of the C library, put off while a piece of work runs."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
from collections.abc import Iterator
from typing import Any

TRIM = "MALLOC_TRIM_THRESHOLD_"
"""Of the environment: how many free bytes glibc keeps before it hands them back (mallopt(3))."""
_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3
"""Numbers of these two settings in glibc's malloc.h."""
_MMAP_USUAL = 128 << 10
_HELD = 32 << 20
"""Bytes kept meanwhile: the most that glibc takes for the second setting."""


@contextlib.contextmanager
def without_sweeps() -> Iterator[None]:
    """Python's search for rings of garbage put off: for work that makes many lists and no rings."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@contextlib.contextmanager
def memory_held() -> Iterator[None]:
    """Memory handed back when the work is done, not with every column that is done with.

    The workers of a dask cluster are told, through their environment, to hand memory back at once. The system then
    blanks the same pages again for column after column, which doubles the time of a span. Where nothing of the kind is
    asked for, and where the C library has no such settings, nothing is done.
    """
    asked = os.environ.get(TRIM, "")
    libc = _glibc() if asked.isdecimal() else None
    if libc is None:
        yield
        return
    libc.mallopt(_TRIM_THRESHOLD, _HELD)
    libc.mallopt(_MMAP_THRESHOLD, _HELD)
    try:
        yield
    finally:
        libc.mallopt(_TRIM_THRESHOLD, min(int(asked), _HELD))
        libc.mallopt(_MMAP_THRESHOLD, _MMAP_USUAL)
        libc.malloc_trim(0)


def _glibc() -> Any:
    try:
        libc = ctypes.CDLL(None)
        return libc if libc.mallopt and libc.malloc_trim else None
    except (OSError, TypeError, AttributeError):  # another C library, or Windows
        return None
