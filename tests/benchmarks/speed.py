"""How long things take, each against a yardstick timed in turns with it in the same run."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pyagrum
from rindwright.engine._experta import Fact, KnowledgeEngine, Rule
from rindwright.engine.answers import Answers, as_text, understand
from rindwright.engine.belief import WIDTH_CAP, Network, beliefs, width_of
from rindwright.engine.catalog import Catalog
from rindwright.engine.chaining import Chained, ChainRule, RuleRunner
from rindwright.engine.diagnosis import Diagnoser

from tests.benchmarks.simulate import draw
from tests.benchmarks.table import Row, judged

RUNS = 11
FURTHER = 20
"""Answers given after the ones every questionnaire begins with."""


def clock(work: Callable[[], object]) -> float:
    """Seconds a piece of work takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def worked(work: Callable[[], object]) -> float:
    """Seconds of processor a piece of work takes: what others do on the machine counts for little."""
    began = time.process_time()
    work()
    return time.process_time() - began


def in_turns(first: Callable[[], object], second: Callable[[], object], runs: int) -> tuple[float, float]:
    """Median seconds of processor of two pieces of work, timed by turns so that both meet the same machine."""
    pairs = [(worked(first), worked(second)) for _ in range(runs)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)


def start_up(catalog: Catalog) -> list[Row]:
    """From process start until the first question is on the screen; the knowledge is in its cache."""
    wanted = " ".join(next(iter(catalog.questions.values())).ask.split()[:4]).encode()
    with tempfile.TemporaryDirectory() as home:
        own = {"HOME": home, "XDG_CACHE_HOME": home, "XDG_DATA_HOME": home, "RINDWRIGHT_HOME": home}
        environment = {**os.environ, **own}

        def ours() -> float:
            """Seconds to the line with the first question; the process then meets the end of its input."""
            began = time.perf_counter()
            with subprocess.Popen(
                [sys.executable, "-m", "rindwright.cli", "ask"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment,
            ) as process:
                assert process.stdout is not None
                for line in process.stdout:
                    if wanted in line:
                        seconds = time.perf_counter() - began
                        break
                else:
                    raise RuntimeError("the questionnaire ended before its first question")
                process.stdout.read()
            return seconds

        def yardstick() -> float:
            return clock(lambda: subprocess.run([sys.executable, "-c", "import rich, yaml"], check=True))

        ours()  # fills the cache
        yardstick()
        pairs = [(ours(), yardstick()) for _ in range(RUNS)]
    a, b = statistics.median(p[0] for p in pairs), statistics.median(p[1] for p in pairs)
    return [
        Row("start to first question", _ms(a), f"{_ms(b)}: python -c 'import rich, yaml'", f"{a / b:.2f}x",
            "at most 4x (2x)", judged(a / b, 4, 2)),
    ]  # fmt: skip


def small_tables() -> float:
    """A fixed piece of numpy work of the engine's kind: many products and sums of small tables."""
    table = np.random.default_rng(0).random((2, 2, 2, 2, 2, 64))
    row = table[0]
    total = 0.0
    for _ in range(400):
        total += float((table * row).sum(axis=0)[0, 0, 0, 0, 0])
    return total


def one_answer(diagnoser: Diagnoser, wheels: int) -> list[Row]:
    """An answer understood, taken, chained and weighed, and the next question chosen."""
    rng = np.random.default_rng(1)
    times: list[float] = []
    sticks: list[float] = []
    for turn in range(wheels + 1):
        wheel = draw(diagnoser.catalog, rng)
        answers, skipped = wheel.opening(), frozenset[str]()
        ranked = diagnoser.next_questions(answers, skipped)
        taken = 0
        while ranked and taken < FURTHER:
            question = diagnoser.catalog.questions[ranked[0].question]
            value = wheel.answers.get(question.id)
            if value is None:  # nothing is drawn for it: passed over
                skipped |= {question.id}
                ranked = diagnoser.next_questions(answers, skipped)
                continue
            typed = as_text(value)
            began = time.process_time()
            answers = answers.adding(question.id, understand(question, typed))
            ranked = diagnoser.next_questions(answers, skipped)
            if turn:  # the first wheel only warms up
                times.append(time.process_time() - began)
            taken += 1
        sticks.append(worked(small_tables))
    median, p95 = statistics.median(times), float(np.quantile(times, 0.95))
    stick = statistics.median(sticks)
    yardstick = f"{_ms(stick)}: 400 products of small tables"
    return [
        Row("one answer to the next question, median", _ms(median), yardstick, f"{median / stick:.1f}x"),
        Row("one answer to the next question, p95", _ms(p95), yardstick, f"{p95 / stick:.1f}x",
            "at most 100 ms (30 ms)", judged(p95, 0.100, 0.030)),
    ]  # fmt: skip


def full_network(diagnoser: Diagnoser, there: int, missing: int, seed: int) -> Network:
    """The washed network without gates of age or style: some signs there, some said not to be."""
    case, _, _ = diagnoser.prepare(Answers.of({"family": "washed"}))
    index = {name: k for k, name in enumerate(case.nodes)}
    linked = {link.sign for cause in diagnoser.catalog.causes.values() for link in cause.signs}
    signs = [s for s in diagnoser.catalog.signs.values() if s.id in linked and not s.healthy]
    order = np.random.default_rng(seed).permutation(len(signs))[: there + missing]
    findings = tuple(
        diagnoser.builder.finding(signs[int(k)], "there" if n < there else "not there", index, case.view, ())
        for n, k in enumerate(order)
    )
    return Network(case.network.base, case.network.feeds, findings)


def against_library(diagnoser: Diagnoser, sets: int) -> list[Row]:
    """All posteriors of the full network, ours against pyAgrum's exact ones, building included on both sides.

    Both answer the same question: a "no" is folded for both, or weighed as it was said by both. What folding costs is a
    row of its own.
    """
    pyagrum.setNumberOfThreads(1)  # type: ignore[no-untyped-call]
    rows = []
    left_out: list[float] = []
    for there, missing, fold in ((10, 0, True), (20, 0, True), (10, 20, True), (10, 20, False)):
        ratios, ours, theirs, gaps = [], [], [], []
        for seed in range(sets):
            network = full_network(diagnoser, there, missing, seed)
            same = folded(network) if fold else network
            found = beliefs(network, fold=fold).posterior[:, 0]
            gaps.append(float(np.abs(found - library_posteriors(same)).max()))
            a, b = in_turns(lambda n=network: beliefs(n, fold=fold), lambda n=same: library_posteriors(n), 5)  # type: ignore[misc]  # noqa: B023
            ratios.append(b / a)
            ours.append(a)
            theirs.append(b)
            if not fold:
                left_out.append(float(np.abs(found - beliefs(network).posterior[:, 0]).max()))
        name = f"all posteriors, {there} signs there" + (f", {missing} not" if missing else "")
        ratio = statistics.median(ratios)
        library = f"{_ms(statistics.median(theirs))}: pyAgrum, largest gap {max(gaps):.0e}"
        rows.append(
            Row(name if fold else f"{name}, as said", _ms(statistics.median(ours)), library, f"{ratio:.1f}x faster",
                "at least 3x (10x)", judged(ratio, 3, 10, least=True))
        )  # fmt: skip
    rows.append(
        Row("what folding 20 signs not there leaves out", "", "the same, as said",
            f"of the cause furthest off: median {statistics.median(left_out):.3f}, worst {max(left_out):.3f}")
    )  # fmt: skip
    return rows


def folded(network: Network) -> Network:
    """The same network with every answer against a sign folded: to a library, a sign that surely is not there."""
    findings = tuple(f if f.speaks_for else f.folded() for f in network.findings)
    return Network(network.base, network.feeds, findings)


def library_posteriors(network: Network) -> np.ndarray[Any, np.dtype[np.float64]]:
    """The same network in pyAgrum: every OR a chain of small tables, every answer a likelihood on its sign."""
    net: Any = pyagrum.BayesNet()  # type: ignore[no-untyped-call]
    fed: dict[int, list[tuple[int, float]]] = {}
    for parent, child, q in network.feeds:
        fed.setdefault(child, []).append((parent, q))
    at: dict[int, int] = {}

    def chain(name: str, alone: float, links: list[tuple[int, float]]) -> int:
        before: int = net.add(f"{name}_0", 2)
        net.cpt(before).fillWith([1 - alone, alone])
        for k, (node, q) in enumerate(links, 1):
            here: int = net.add(f"{name}_{k}", 2)
            net.addArc(before, here)
            net.addArc(at[node], here)
            # The node itself runs fastest, then what was before it, then the cause.
            net.cpt(here).fillWith([1, 0, 0, 1, 1 - q, q, 0, 1])
            before = here
        return before

    waiting = list(range(len(network.base)))
    while waiting:
        node = waiting.pop(0)
        if all(parent in at for parent, _ in fed.get(node, ())):
            at[node] = chain(f"cause{node}", network.base[node], fed.get(node, []))
        else:
            waiting.append(node)
    said = {chain(f"sign{j}", f.leak, list(f.links)): [f.if_not, f.if_there] for j, f in enumerate(network.findings)}
    engine: Any = pyagrum.LazyPropagation(net)  # type: ignore[no-untyped-call]
    engine.setEvidence(said)
    engine.makeInference()
    return np.array([engine.posterior(at[k])[1] for k in range(len(network.base))])


def widths(diagnoser: Diagnoser, sets: int) -> list[Row]:
    """How wide the elimination gets with 20 signs there: it sets the cost, and the cap where figures turn rough."""
    found = sorted(width_of(full_network(diagnoser, 20, 0, seed)) for seed in range(sets))
    over = sum(w > WIDTH_CAP for w in found)
    return [
        Row("widest table, 20 signs there", f"median {found[len(found) // 2]}, largest {found[-1]} of {sets} draws",
            f"cap {WIDTH_CAP}", f"{over} over the cap", "none", "yes" if not over else "NO"),
    ]  # fmt: skip


def rule_layouts(diagnoser: Diagnoser) -> list[Row]:
    """The chaining rules behind one production, against one production for each of them."""
    rules = diagnoser.chainer.rules
    wheel = draw(diagnoser.catalog, np.random.default_rng(3))
    rows = []
    build = in_turns(lambda: RuleRunner(rules).run({}), lambda: _PerRule(rules).run({}), 3)
    rows.append(
        Row("chaining rules: build and first run", _ms(build[0]), f"{_ms(build[1])}: one production per rule",
            f"{build[1] / build[0]:.1f}x faster")
    )  # fmt: skip
    ours, theirs = RuleRunner(rules), _PerRule(rules)
    for answers, name in ((wheel.opening(), "opening answered"), (wheel.answers, "everything answered")):
        settled = diagnoser.chainer.run(answers).settled
        given = {name: value for name, value in settled.items() if name.startswith("answer ")}
        if ours.run(given) != theirs.run(given):
            raise RuntimeError("the two layouts of the rules disagree")
        # From nothing, for a run goes on from the last one where it can.
        a, b = in_turns(lambda g=given: (ours.run({}), ours.run(g)), lambda g=given: theirs.run(g), 5)  # type: ignore[misc]
        rows.append(
            Row(f"chaining {len(rules)} rules, {name}", _ms(a), f"{_ms(b)}: one production per rule",
                f"{b / a:.1f}x faster", "more than 1x", judged(b / a, 1, 1, least=True).removesuffix(", stretch"))
        )  # fmt: skip
    return rows


class _Settled(Fact):  # type: ignore[misc]
    """As in the engine: a proposition that is known to be so, or known not to be."""


class _PerRule:
    """The plain layout: every chain rule a production of its own."""

    def __init__(self, rules: tuple[ChainRule, ...]) -> None:
        self._settled: dict[str, bool] = {}
        self._fired: list[ChainRule] = []
        members = {f"rule_{k}": Rule(*self._premises(rule))(self._act(rule)) for k, rule in enumerate(rules)}
        self._engine = type("OnePerRule", (KnowledgeEngine,), members)()

    @staticmethod
    def _premises(rule: ChainRule) -> list[Any]:
        return [_Settled(name=name, value=value) for name, value in rule.premises]

    def _act(self, rule: ChainRule) -> Callable[[Any], None]:
        def act(engine: Any) -> None:
            self._fired.append(rule)
            self._settle(engine, *rule.concludes)

        return act

    def _settle(self, engine: Any, name: str, value: bool) -> None:
        self._settled[name] = value
        engine.declare(_Settled(name=name, value=value))

    def run(self, given: dict[str, bool]) -> Chained:
        """All that follows, in the engine's own form."""
        self._settled, self._fired = {}, []
        self._engine.reset()
        for name in sorted(given):
            self._settle(self._engine, name, given[name])
        self._engine.run()
        return Chained(dict(sorted(self._settled.items())), tuple(sorted(self._fired)))


def _ms(seconds: float) -> str:
    return f"{seconds * 1e3:.1f} ms"
