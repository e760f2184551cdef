"""How long two million readings take, and how much memory; and what a data-frame library would save.

Run apart from the tests:  python tests/benchmarks/logger.py [ROWS]
Aim: 2 000 000 rows in under 10 seconds and 500 MB, reading and all facts together. The program measures
itself in a process of its own; polars, where installed, only splits and types the same file.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

OURS = """
import sys
from rindwright.engine.sums.logger import SMEAR_BANDS
from rindwright.engine.sums.logger_facts import log_facts
from rindwright.engine.sums.logger_reading import read_log
with open(sys.argv[1], "rb") as file:
    log = read_log(file, "log")
facts = log_facts(log, SMEAR_BANDS)
print(facts.readings)
"""
POLARS = """
import sys
import polars
frame = polars.read_csv(sys.argv[1], try_parse_dates=True)
print(len(frame))
"""


def write(path: Path, rows: int) -> None:
    """An invented log: a daily wave with noise, one reading a minute."""
    noise = np.random.default_rng(7)
    seconds = np.arange(rows) * 60 + 1_577_836_800
    wave = 2 * np.pi * seconds / 86_400
    warm = 12 + 1.5 * np.sin(wave) + noise.normal(0, 0.2, rows)
    moist = np.clip(92 + 3 * np.sin(wave + 2) + noise.normal(0, 0.5, rows), 0, 100)
    stamps = np.datetime_as_string(seconds.astype("M8[s]"))
    with path.open("w") as file:
        file.write("timestamp,temperature_C,humidity_pct\n")
        file.writelines(f"{s},{t:.2f},{h:.2f}\n" for s, t, h in zip(stamps, warm, moist, strict=True))


def measured(code: str, path: Path) -> str:
    """Seconds by the clock, seconds of processor and peak memory of one child, in words."""
    start = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        return "not installed"
    clock, busy = time.perf_counter() - start, used.ru_utime + used.ru_stime
    return f"{clock:.1f} s, {busy:.1f} s of processor, {used.ru_maxrss / 1024:.0f} MB at most"


def main(rows: int) -> None:
    """Print one line each."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        # In a process of its own: a child's peak memory starts from that of whoever started it.
        subprocess.run([sys.executable, __file__, "write", str(path), str(rows)], check=True)
        print(f"{rows} rows, {path.stat().st_size / 1e6:.0f} MB")
        print(f"csv and numpy, read and all facts: {measured(OURS, path)}")
        print(f"polars, read only: {measured(POLARS, path)}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["write"]:
        write(Path(sys.argv[2]), int(sys.argv[3]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 2_000_000)
