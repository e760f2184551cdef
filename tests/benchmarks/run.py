"""Figures, as ratios with the yardstick measured in the same run.

    python tests/benchmarks/run.py            all of it, some minutes
    python tests/benchmarks/run.py --quick    smaller samples
    python tests/benchmarks/run.py --write    keeps the table in RESULTS.md

The wheels are invented: drawn from the knowledge itself, so that their causes are known.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.reading import load_checked

from tests.benchmarks import merit, speed
from tests.benchmarks.table import Row, layout

RESULTS = Path(__file__).resolve().parent / "RESULTS.md"


def main() -> None:
    """Measure, and print one table."""
    parser = argparse.ArgumentParser(description="Measure speed, asking and calibration against their yardsticks.")
    parser.add_argument("--quick", action="store_true", help="smaller samples")
    parser.add_argument("--write", action="store_true", help="keep the table in RESULTS.md as well")
    chosen = parser.parse_args()
    rows: list[Row] = []
    for name, measure in _measures(chosen.quick):
        print(f"measuring: {name}", file=sys.stderr, flush=True)
        rows.extend(measure())
    table = layout(rows)
    print(table)
    if chosen.write:
        RESULTS.write_text(_page(table, chosen.quick), encoding="utf-8")


def _measures(quick: bool) -> Iterator[tuple[str, Callable[[], list[Row]]]]:
    diagnoser = Diagnoser(load_checked(Path(str(files("rindwright.knowledge")))))
    yield "start", lambda: speed.start_up(diagnoser.catalog)
    yield "one answer", lambda: speed.one_answer(diagnoser, 4 if quick else 15)
    yield "posteriors", lambda: speed.against_library(diagnoser, 4 if quick else 12)
    yield "widths", lambda: speed.widths(diagnoser, 50 if quick else 200)
    yield "rules", lambda: speed.rule_layouts(diagnoser)
    yield "calibration", lambda: merit.calibration(diagnoser, 300 if quick else 1000)
    yield "questions", lambda: merit.questions(diagnoser, 60 if quick else 200, 120 if quick else 150)


def _page(table: str, quick: bool) -> str:
    """RESULTS.md: the table, and how it came about."""
    command = "python tests/benchmarks/run.py" + (" --quick" if quick else "")
    return f"""# Figures

`{command} --write`, on {os.cpu_count()} cores, Python {platform.python_version()}. Each ratio is taken within one run:
times in milliseconds are this machine's and pass for nothing. Aims stand with their stretch in brackets.

{table}

The wheels are invented: drawn from the knowledge itself (`simulate.py`), so that their causes are known. They show
how well the tool reasons and asks if the knowledge is right; they cannot show that it is. Sound wheels count in the
calibration (any first-named cause is then wrong), and not in the number of questions. Times against pyAgrum and of an
answer are processor time. A doubtful "no" is folded: exact for one cause at a time, a short cut for several. pyAgrum is
given the same question, folded or as said; what the short cut leaves out has a row of its own.
"""


if __name__ == "__main__":
    main()
