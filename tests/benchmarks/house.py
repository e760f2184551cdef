"""A thousand invented house rules over the full knowledge: reading, checking, opening, weighing.
python tests/benchmarks/house.py [HOW MANY]
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import screened
from rindwright.engine.house.checking import check
from rindwright.engine.house.keeping import open_house
from rindwright.engine.house.layering import layer
from rindwright.engine.house.reading import read_shelf
from rindwright.engine.reading import load_checked
from rindwright.engine.reading.answers_file import read_answers

from tests.house_rules import KINDS, rules_of, text_of

COUNT = int(sys.argv[1]) if len(sys.argv) > 1 else 1000


def main() -> None:
    """Measure, and print one line per figure; seconds are of processor."""
    knowledge = load_checked(Path(str(files("rindwright.knowledge"))))
    catalog = Catalog(knowledge)
    with tempfile.TemporaryDirectory() as name:
        folder, cache = Path(name) / "house", Path(name) / "cache"
        folder.mkdir()
        for rule in rules_of(catalog, COUNT, 1, tuple(k for k in KINDS if k != "off")):
            (folder / f"{rule['rule']}.yaml").write_text(text_of(rule), encoding="utf-8")
        shelf = read_shelf(folder)
        report = check(knowledge, shelf)
        say("rules in force", f"{len(report.layered.in_force)} of {COUNT}", "")
        say("read", f"{best(lambda: read_shelf(folder)):.2f} s", "")
        say("lay over", f"{best(lambda: layer(knowledge, shelf.entries)):.2f} s", "")
        say("check, reading included", f"{best(lambda: check(knowledge, read_shelf(folder))):.2f} s", "3 s")
        open_house(knowledge, folder, cache)
        say("open from the cache", f"{best(lambda: open_house(knowledge, folder, cache)):.2f} s", "")
        housed, alone = Diagnoser(report.layered.knowledge), Diagnoser(knowledge)
        looks = cases(catalog)
        one, many = (each(d, looks) for d in (alone, housed))
        ratio = statistics.median(b / a for a, b in zip(one, many, strict=True))
        say("one answer to next question, p95, packaged alone", f"{p95(one) * 1e3:.0f} ms", "")
        say("one answer to next question, p95, with the rules", f"{p95(many) * 1e3:.0f} ms", "100 ms")
        say("one answer: with the rules / packaged alone", f"{ratio:.1f}x", "")


def cases(catalog: Catalog) -> list[Answers]:
    """The worked cases, with every safety question out of the way."""
    found = []
    for path in sorted(Path(str(files("rindwright.cases"))).glob("worked/*.yaml"))[:40]:
        found.append(read_answers(catalog, path.read_text(encoding="utf-8"), path.name))
    return found


def each(diagnoser: Diagnoser, looks: list[Answers]) -> list[float]:
    """Seconds for the next question of each look; the better of two, with every other look between them."""
    skipped = frozenset(screened(diagnoser.catalog))
    diagnoser.next_questions(looks[-1], skipped)
    runs = [
        [best(lambda told=told: diagnoser.next_questions(told, skipped), 1) for told in looks]  # type: ignore[misc]
        for _ in range(2)
    ]
    return [min(pair) for pair in zip(*runs, strict=True)]


def best(work: Callable[[], object], runs: int = 3) -> float:
    """Seconds of processor, of the quickest of some runs: others use the machine too."""
    times = []
    for _ in range(runs):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return min(times)


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return sorted(times)[int(0.95 * (len(times) - 1))]


def say(what: str, figure: str, aim: str) -> None:
    """One line of the table."""
    print(f"{what:<52} {figure:<20} {'aim ' + aim if aim else ''}", flush=True)


if __name__ == "__main__":
    main()
