"""Figures, as ratios with the yardstick measured in the same run.

python tests/benchmarks/run.py            all of it, some minutes
python tests/benchmarks/run.py --quick    a smaller sample
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
import pyagrum
from rindwright.engine.answers import Answers
from rindwright.engine.asking import Worth
from rindwright.engine.belief import Network, beliefs
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import FIRST, SAFETY
from rindwright.engine.reading import load_checked
from simulate import Wheel, draw, volunteered

QUICK = "--quick" in sys.argv


def main() -> None:
    """Measure, and print one line per figure."""
    diagnoser = Diagnoser(load_checked(Path(str(files("rindwright.knowledge")))))
    start_up()
    one_answer(diagnoser)
    against_library(diagnoser)
    rule_layouts(diagnoser)
    questions_and_calibration(diagnoser)


def say(what: str, figure: str, aim: str) -> None:
    """One line of the table."""
    print(f"{what:<58} {figure:<34} aim {aim}", flush=True)


def clock(work: Callable[[], object]) -> float:
    """Seconds a piece of work takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def start_up(runs: int = 11) -> None:
    """Process start to first question, against importing rich and yaml."""

    def first_question() -> None:
        with subprocess.Popen(
            [sys.executable, "-m", "rindwright.cli", "ask"], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        ) as process:
            assert process.stdout is not None
            while b"What kind of rind" not in process.stdout.readline():
                pass
            process.kill()

    def yardstick() -> None:
        subprocess.run([sys.executable, "-c", "import rich, yaml"], check=True)

    first_question()
    pairs = [(clock(first_question), clock(yardstick)) for _ in range(runs)]
    ratio = statistics.median(a / b for a, b in pairs)
    say("start to first question / import rich, yaml", f"{ratio:.2f}x", "4x, stretch 2x")


def one_answer(diagnoser: Diagnoser) -> None:
    """One answer taken, chained, weighed, next question chosen."""
    rng = np.random.default_rng(1)
    times: list[float] = []
    for _ in range(6 if QUICK else 20):
        wheel = draw(diagnoser.catalog, rng)
        answers = wheel.opening()
        rest = [pair for pair in wheel.answers if answers.get(pair[0]) is None][:20]
        for question, value in rest:
            answers = answers.adding(question, value)
            times.append(clock(lambda now=answers: diagnoser.next_questions(now)))  # type: ignore[misc]
    table = np.random.default_rng(0).random((400, 400))
    yardstick = statistics.median(clock(lambda: np.linalg.svd(table)) for _ in range(7))
    p95 = float(np.quantile(times, 0.95))
    say(
        "one answer to next question, median / p95",
        f"{statistics.median(times) * 1e3:.1f} / {p95 * 1e3:.1f} ms ({p95 / yardstick:.2f} of an SVD of 400)",
        "p95 100 ms, stretch 30",
    )


def full_network(diagnoser: Diagnoser, positives: int, seed: int) -> Network:
    """The washed network without gates of age or rind, with some signs there and twice as many not."""
    answers = Answers.of({"family": "washed"})
    case, _, _ = diagnoser.prepare(answers)
    index = {name: k for k, name in enumerate(case.nodes)}
    linked = {link.sign for c in diagnoser.catalog.causes.values() for link in c.signs}
    usable = [s for s in diagnoser.catalog.signs.values() if s.id in linked and not s.healthy]
    order = np.random.default_rng(seed).permutation(len(usable))
    findings = [
        diagnoser.builder.finding(usable[int(k)], "there" if n < positives else "not there", index, case.view, ())
        for n, k in enumerate(order[: 3 * positives])
    ]
    return Network(case.network.base, case.network.feeds, tuple(findings))


def against_library(diagnoser: Diagnoser) -> None:
    """All posteriors of the full network, ours against a general exact library, building included."""
    for positives in (10, 20):
        ratios, gaps, widths = [], [], []
        for seed in range(3 if QUICK else 8):
            network = full_network(diagnoser, positives, seed)
            ours = statistics.median(clock(lambda n=network: beliefs(n)) for _ in range(5))  # type: ignore[misc]
            began = time.perf_counter()
            theirs = library_posteriors(network)
            ratios.append((time.perf_counter() - began) / ours)
            found = beliefs(network)
            gaps.append(float(np.abs(found.posterior[:, 0] - theirs).max()))
            widths.append(found.width)
        say(
            f"pyAgrum / ours at {positives} positive signs",
            f"{statistics.median(ratios):.1f}x (gap {max(gaps):.0e}, width {max(widths)})",
            "3x, stretch 10x",
        )


def library_posteriors(network: Network) -> np.ndarray:  # type: ignore[type-arg]
    """The same evidence in pyAgrum: negatives as likelihoods, every OR as a chain of small tables."""
    net = pyagrum.BayesNet()
    evidence: dict[str, list[float]] = {}
    parents: dict[int, list[tuple[int, float]]] = {}
    for parent, child, q in network.feeds:
        parents.setdefault(child, []).append((parent, q))
    weight = np.ones(len(network.base))
    for f in network.findings:
        if not f.speaks_for:
            for node, q in f.folded().links:
                weight[node] *= 1 - q

    def chain(name: str, leak: float, links: list[tuple[int, float]]) -> str:
        net.add(pyagrum.LabelizedVariable(f"{name}_0", "", 2))
        net.cpt(f"{name}_0")[:] = [1 - leak, leak]
        before = f"{name}_0"
        for k, (node, q) in enumerate(links, 1):
            here = name if k == len(links) else f"{name}_{k}"
            net.add(pyagrum.LabelizedVariable(here, "", 2))
            net.addArc(before, here)
            net.addArc(f"x{node}", here)
            for a in (0, 1):
                for b in (0, 1):
                    quiet = (1 - a) * (1 - q * b)
                    net.cpt(here)[{before: a, f"x{node}": b}] = [quiet, 1 - quiet]
            before = here
        return before

    waiting = list(range(len(network.base)))
    done: set[int] = set()
    while waiting:
        node = waiting.pop(0)
        ups = parents.get(node, [])
        if any(p not in done for p, _ in ups):
            waiting.append(node)
            continue
        if ups:
            chain(f"x{node}", network.base[node], ups)
        else:
            net.add(pyagrum.LabelizedVariable(f"x{node}", "", 2))
            net.cpt(f"x{node}")[:] = [1 - network.base[node], network.base[node]]
        done.add(node)
        if weight[node] < 1:
            evidence[f"x{node}"] = [1.0, float(weight[node])]
    for j, f in enumerate(network.findings):
        if f.speaks_for:
            last = chain(f"s{j}", f.leak, list(f.links))
            evidence[last] = [f.if_not, f.if_there]
    engine = pyagrum.LazyPropagation(net)
    engine.setEvidence(evidence)
    engine.makeInference()
    return np.array([engine.posterior(f"x{k}")[1] for k in range(len(network.base))])


def rule_layouts(diagnoser: Diagnoser) -> None:
    """One production with an index against one production per rule, on the packaged rules."""
    from rindwright.engine._experta import Fact, KnowledgeEngine, Rule

    rules = diagnoser.chainer.rules
    wheel = draw(diagnoser.catalog, np.random.default_rng(3))
    ours = statistics.median(clock(lambda: diagnoser.chainer.run(wheel.answers)) for _ in range(5))

    class Settled(Fact):  # type: ignore[misc]
        pass

    members: dict[str, object] = {}
    for k, rule in enumerate(rules):
        facts = [Settled(name=n, value=v) for n, v in rule.premises]

        def fire(self, concludes=rule.concludes):  # type: ignore[no-untyped-def]
            self.declare(Settled(name=concludes[0], value=concludes[1]))

        fire.__name__ = f"rule_{k}"
        members[f"rule_{k}"] = Rule(*facts, salience=-k)(fire)
    began = time.perf_counter()
    engine = type("PerRule", (KnowledgeEngine,), members)()
    engine.reset()
    build = time.perf_counter() - began
    settled = diagnoser.chainer.run(wheel.answers).settled
    given = {n: v for n, v in settled.items() if n.startswith("answer ")}

    def run() -> None:
        engine.reset()
        for name, value in sorted(given.items()):
            engine.declare(Settled(name=name, value=value))
        engine.run()

    theirs = statistics.median(clock(run) for _ in range(3))
    say(
        "one production per rule / one for all",
        f"{theirs / ours:.0f}x ({theirs * 1e3:.0f} / {ours * 1e3:.1f} ms; built in {build * 1e3:.0f} ms)",
        "more than 1x",
    )


def first_cause(diagnoser: Diagnoser, answers: Answers) -> tuple[str, float]:
    """The first-named cause and its probability."""
    case, _, _ = diagnoser.prepare(answers)
    p = beliefs(case.network).posterior[:-1, 0]
    k = int(np.argmax(p))
    return case.nodes[k], float(p[k])


def questions_and_calibration(diagnoser: Diagnoser) -> None:
    """Questions to reach 95 % of the full questionnaire's hits; and whether the figures mean what they say."""
    rng = np.random.default_rng(7)
    catalog = diagnoser.catalog
    wheels: list[Wheel] = []
    while len(wheels) < (40 if QUICK else 150):
        wheel = draw(catalog, rng)
        if wheel.causes:
            wheels.append(wheel)
    fixed = fixed_order(diagnoser, wheels[:10])
    full = sum(first_cause(diagnoser, w.answers)[0] in w.causes for w in wheels) / len(wheels)
    most = 60
    ours = np.zeros(most + 1)
    theirs = np.zeros(most + 1)
    said: list[tuple[float, bool]] = []
    for wheel in wheels:
        told = volunteered(catalog, wheel, rng)
        for hits, adaptive in ((ours, True), (theirs, False)):
            answers = wheel.opening()
            for question, value in told:
                answers = answers.adding(question, value)
            queue = [q for q in fixed if answers.get(q) is None and wheel.answers.get(q) is not None]
            skipped: frozenset[str] = frozenset((*FIRST, *SAFETY))
            for n in range(most + 1):
                name, p = first_cause(diagnoser, answers)
                hits[n] += name in wheel.causes
                if adaptive and n == 15:
                    said.append((p, name in wheel.causes))
                following = (
                    next_question(diagnoser, answers, skipped, wheel) if adaptive else queue.pop(0) if queue else None
                )
                if following is None:
                    hits[n + 1 :] += name in wheel.causes
                    break
                answers = answers.adding(following, wheel.answers.get(following) or "unknown")
    goal = 0.95 * full * len(wheels)
    a = next((n for n in range(most + 1) if ours[n:].min() >= goal or ours[n] >= goal), most)
    b = next((n for n in range(most + 1) if theirs[n] >= goal), most)
    more = "at least " if theirs.max() < goal else ""
    say(
        "questions to 95 % of the full first cause / fixed order",
        f"{a / max(b, 1):.2f} ({a} / {more}{b}; full {full:.2f}, {len(wheels)} wheels)",
        "0.4, stretch 0.2",
    )
    while len(said) < (150 if QUICK else 600):
        wheel = draw(catalog, rng)
        rest = [pair for pair in wheel.answers if pair[0] not in FIRST]
        half = [rest[int(k)] for k in rng.permutation(len(rest))[: len(rest) // 2]]
        name, p = first_cause(diagnoser, Answers.of([pair for pair in wheel.answers if pair[0] in FIRST] + half))
        said.append((p, name in wheel.causes))
    said = said[len(wheels) :]
    say(
        "calibration of the first-named cause, half answered",
        f"ECE {ece(said):.3f} ({len(said)} wheels)",
        "at most 0.05",
    )


def next_question(diagnoser: Diagnoser, answers: Answers, skipped: frozenset[str], wheel: Wheel) -> str | None:
    """The most useful open question that the wheel has an answer to."""
    ranked: list[Worth] = diagnoser.next_questions(answers, skipped)
    return next((w.question for w in ranked if wheel.answers.get(w.question) is not None), None)


def fixed_order(diagnoser: Diagnoser, wheels: list[Wheel]) -> list[str]:
    """Questions by their average gain when nothing but family, style and age is known."""
    total: dict[str, float] = {}
    for wheel in wheels:
        for worth in diagnoser.next_questions(wheel.opening(), frozenset((*FIRST, *SAFETY))):
            total[worth.question] = total.get(worth.question, 0.0) + worth.gain
    return sorted(total, key=lambda q: (-total[q], q))


def ece(said: list[tuple[float, bool]], bins: int = 10) -> float:
    """Expected calibration error: the gap between what was said and what was so, over ten bins."""
    gap = 0.0
    for k in range(bins):
        inside = [(p, so) for p, so in said if k / bins <= p < (k + 1) / bins or (k == bins - 1 and p == 1)]
        if inside:
            gap += abs(sum(p for p, _ in inside) - sum(so for _, so in inside))
    return gap / max(len(said), 1)


if __name__ == "__main__":
    main()
