"""The belief engine against the plain definitions, against an outside engine, and against itself."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pyagrum
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers, Value
from rindwright.engine.belief import (
    Array,
    Beliefs,
    Finding,
    Lane,
    Network,
    Redraw,
    TooWide,
    beliefs,
    log_joint,
    width_of,
)
from rindwright.engine.diagnosis import Diagnoser

from tests.strategies import finding_of, network_of, networks, number_of, styles_of


@dataclass(frozen=True)
class Enumerated:
    posterior: Array
    evidence: float
    joint: Array
    """Probability of each state and the answers; bit k of the state's number is node k."""


def enumerate_all(network: Network, moved: dict[int, float] | None = None) -> Enumerated:
    """Sum over every state of every node, straight from the definitions; shares no code with the engine."""
    n = len(network.base)
    on = ((np.arange(2**n)[:, None] >> np.arange(n)) & 1).astype(bool)
    joint = np.ones(2**n)
    for node in range(n):
        base = network.base[node]
        if moved and node in moved:
            base = 1 / (1 + (1 - base) / base * math.exp(-moved[node]))
        off = np.full(2**n, 1 - base)
        for parent, child, q in network.feeds:
            if child == node:
                off = off * np.where(on[:, parent], 1 - q, 1.0)
        joint *= np.where(on[:, node], 1 - off, off)
    for f in network.findings:
        if f.if_there > f.if_not:
            silent = np.full(2**n, 1 - f.leak)
            for node, q in f.links:
                silent = silent * np.where(on[:, node], 1 - q, 1.0)
            joint *= f.if_there * (1 - silent) + f.if_not * silent
        else:
            # An answer against a sign: what it says with one linked node on, relative to none, multiplied up.
            nothing = f.if_there * f.leak + f.if_not * (1 - f.leak)
            joint *= nothing
            for node, q in f.links:
                shows = 1 - (1 - f.leak) * (1 - q)
                alone = f.if_there * shows + f.if_not * (1 - shows)
                joint *= np.where(on[:, node], alone / nothing, 1.0)
    evidence = float(joint.sum())
    return Enumerated((joint[:, None] * on).sum(axis=0) / evidence, evidence, joint)


def assert_column(found: Beliefs, column: int, truth: Enumerated, within: float = 1e-9) -> None:
    assert np.abs(found.posterior[:, column] - truth.posterior).max() < within
    assert abs(found.log_evidence[column] - math.log(truth.evidence)) < within


@settings(max_examples=400)
@given(networks())
def test_posteriors_evidence_and_all_off_equal_enumeration(network: Network) -> None:
    found, truth = beliefs(network), enumerate_all(network)
    assert not found.approximate
    assert_column(found, 0, truth)
    all_off = math.exp(log_joint(network, ()) - found.log_evidence[0])
    assert abs(all_off - truth.joint[0] / truth.evidence) < 1e-9


@settings(max_examples=300)
@given(networks(max_findings=6), st.integers(0, 2**32 - 1))
def test_lanes_equal_enumeration(network: Network, seed: int) -> None:
    rng = random.Random(seed)
    size = len(network.base)
    supposed = finding_of(rng, rng.sample(range(size), rng.randint(1, min(size, 4))), "no")
    moved = {node: rng.uniform(-3, 3) for node in rng.sample(range(size), rng.randint(1, size))}
    left = frozenset(j for j in range(len(network.findings)) if rng.random() < 0.5)
    kept = tuple(f for j, f in enumerate(network.findings) if j not in left)
    lanes = [
        Lane(),
        Lane(absent=(supposed,)),
        Lane(log_odds=tuple(moved.items())),
        Lane(without=left),
        Lane((supposed,), tuple(moved.items()), left),
    ]
    found = beliefs(network, lanes)
    with_no = replace(network, findings=(*network.findings, supposed))
    assert_column(found, 0, enumerate_all(network))
    assert_column(found, 1, enumerate_all(with_no))
    assert_column(found, 2, enumerate_all(network, moved))
    assert_column(found, 3, enumerate_all(replace(network, findings=kept)))
    assert_column(found, 4, enumerate_all(replace(network, findings=(*kept, supposed)), moved))
    # The posterior given "yes" follows from "no" by subtraction; its error grows as "yes" gets rare.
    no = math.exp(found.log_evidence[1] - found.log_evidence[0])
    by_subtraction = found.posterior[:, 0] - no * found.posterior[:, 1]
    if_yes = enumerate_all(replace(network, findings=(*network.findings, replace(supposed, if_there=1.0, if_not=0.0))))
    yes = if_yes.evidence / enumerate_all(network).evidence
    assert abs(1 - no - yes) < 1e-9
    assert np.abs(by_subtraction - yes * if_yes.posterior).max() < 1e-9
    # One state in full is part of the evidence.
    state = [node for node in range(size) if rng.random() < 0.3]
    truth = enumerate_all(network)
    assert abs(math.exp(log_joint(network, state)) - truth.joint[sum(1 << node for node in state)]) < 1e-9


@settings(max_examples=150)
@given(networks(max_nodes=7, max_findings=5))
def test_joint_probabilities_of_all_states_add_up_to_the_evidence(network: Network) -> None:
    n = len(network.base)
    states = [[k for k in range(n) if state >> k & 1] for state in range(2**n)]
    joint = np.exp([log_joint(network, on) for on in states])
    found = beliefs(network)
    assert abs(math.log(joint.sum()) - found.log_evidence[0]) < 1e-9
    for node in range(n):
        share = sum(p for p, on in zip(joint, states, strict=True) if node in on) / joint.sum()
        assert abs(share - found.posterior[node, 0]) < 1e-9


gum: Any = pyagrum  # comes without types


def _outside(network: Network) -> tuple[Array, float]:
    """The same network in pyAgrum (LazyPropagation): every OR a chain of small tables.

    A sure "no" is an observed sign; a graded yes is a likelihood on the sign; a graded no is, by
    the engine's own definition, a likelihood on each linked node.
    """
    bn = gum.BayesNet()

    def add(name: str) -> None:
        bn.add(gum.LabelizedVariable(name, name, 2))

    n = len(network.base)
    for node in range(n):
        add(f"c{node}")
    parents: dict[int, dict[int, float]] = {}
    for parent, child, q in network.feeds:
        parents.setdefault(child, {})[parent] = q
        bn.addArc(f"c{parent}", f"c{child}")
    for node in range(n):
        fed = parents.get(node, {})
        for state in range(2 ** len(fed)):
            setting = {f"c{p}": state >> k & 1 for k, p in enumerate(fed)}
            off = 1 - network.base[node]
            for p, q in fed.items():
                off *= 1 - q * setting[f"c{p}"]
            bn.cpt(f"c{node}")[setting] = [off, 1 - off]
    observed: dict[str, list[float]] = {}
    weight = np.ones((n, 2))
    constant = 0.0
    for j, f in enumerate(network.findings):
        if f.if_there <= f.if_not and f.if_there > 0:
            quiet = f.if_there * f.leak + f.if_not * (1 - f.leak)
            constant += math.log(quiet)
            for node, q in f.links:
                shows = 1 - (1 - f.leak) * (1 - q)
                weight[node, 1] *= (f.if_there * shows + f.if_not * (1 - shows)) / quiet
            continue
        before = ""
        for k, (node, q) in enumerate(f.links):
            here, cause = f"s{j}_{k}", f"c{node}"
            add(here)
            bn.addArc(cause, here)
            if before:
                bn.addArc(before, here)
                for c in (0, 1):
                    bn.cpt(here)[{before: 1, cause: c}] = [0.0, 1.0]
                    bn.cpt(here)[{before: 0, cause: c}] = [1 - q * c, q * c]
            else:
                for c in (0, 1):
                    silent = (1 - f.leak) * (1 - q * c)
                    bn.cpt(here)[{cause: c}] = [silent, 1 - silent]
            before = here
        observed[before] = [f.if_not, f.if_there]
    for node in range(n):
        if weight[node, 1] != 1:
            observed[f"c{node}"] = [float(w) for w in weight[node]]
    engine = gum.LazyPropagation(bn)
    engine.setEvidence(observed)
    engine.makeInference()
    posterior = np.array([float(engine.posterior(f"c{node}")[1]) for node in range(n)])
    return posterior, math.log(engine.evidenceProbability()) + constant


@pytest.mark.parametrize("seed", range(10))
def test_equals_pyagrum_on_larger_networks(seed: int) -> None:
    network = large_network(seed)
    network = replace(network, findings=tuple(f for f in network.findings if f.links))
    found = beliefs(network)
    posterior, log_evidence = _outside(network)
    assert np.abs(found.posterior[:, 0] - posterior).max() < 1e-9
    assert abs(found.log_evidence[0] - log_evidence) < 1e-9


def _shuffled(network: Network, rng: random.Random) -> tuple[Network, list[int], list[int]]:
    """The network with nodes renumbered and findings, links and feeds in another order."""
    place = list(range(len(network.base)))
    rng.shuffle(place)
    base = [0.0] * len(place)
    for node, b in enumerate(network.base):
        base[place[node]] = b
    feeds = [(place[p], place[c], q) for p, c, q in network.feeds]
    rng.shuffle(feeds)
    order = list(range(len(network.findings)))
    rng.shuffle(order)
    findings = []
    for j in order:
        links = [(place[node], q) for node, q in network.findings[j].links]
        rng.shuffle(links)
        findings.append(replace(network.findings[j], links=tuple(links)))
    return Network(tuple(base), tuple(feeds), tuple(findings)), place, order


def large_network(seed: int) -> Network:
    rng = random.Random(seed)
    answers = ["yes"] * 5 + ["graded yes"] * 3 + ["no"] * 14 + ["graded no"] * 8
    rng.shuffle(answers)
    return network_of(rng, 25, answers, feeds=10)


@pytest.mark.parametrize("seed", range(30))
def test_order_of_nodes_findings_and_links_does_not_matter(seed: int) -> None:
    network = large_network(seed)
    plain = beliefs(network)
    for again in range(5):
        other, place, _ = _shuffled(network, random.Random(1000 * seed + again))
        found = beliefs(other)
        assert np.abs(found.posterior[place, 0] - plain.posterior[:, 0]).max() < 1e-12
        assert abs(found.log_evidence[0] - plain.log_evidence[0]) < 1e-12


@settings(max_examples=150)
@given(networks(), st.sampled_from(("no", "graded no", "blank")), st.integers(0, 2**32 - 1))
def test_a_no_never_costs_width(network: Network, answer: str, seed: int) -> None:
    rng = random.Random(seed)
    nodes = list(range(len(network.base)))
    against = tuple(finding_of(rng, nodes, answer) for _ in range(12))
    more = replace(network, findings=(*against, *network.findings, *against))
    assert width_of(more) == width_of(network)
    assert beliefs(network, [Lane(absent=against)]).width == width_of(network)
    # A yes over the same nodes does cost: the comparison above is not empty.
    yes = replace(network, findings=(*network.findings, *(finding_of(rng, nodes, "yes") for _ in nodes)))
    assert len(nodes) < 2 or width_of(yes) > len(nodes) // 2


@settings(max_examples=200)
@given(networks(), st.integers(0, 2**32 - 1))
def test_a_link_of_strength_nought_equals_no_link(network: Network, seed: int) -> None:
    rng = random.Random(seed)
    size = len(network.base)
    findings = tuple(
        replace(f, links=(*f.links, *((node, 0.0) for node in range(size) if node not in dict(f.links))))
        if rng.random() < 0.5
        else f
        for f in network.findings
    )
    fed = {(p, c) for p, c, _ in network.feeds}
    idle = tuple((a, b, 0.0) for a in range(size) for b in range(a + 1, size) if not {(a, b), (b, a)} & fed)
    plain = beliefs(network)
    found = beliefs(replace(network, findings=findings, feeds=(*network.feeds, *idle)))
    assert np.abs(found.posterior - plain.posterior).max() < 1e-10
    assert np.abs(found.log_evidence - plain.log_evidence).max() < 1e-10


def redraw_of(network: Network, base: Array, links: Array, feeds: Array, columns: int) -> Redraw:
    return Redraw(
        np.repeat(base.reshape(-1, 1), columns, axis=1),
        np.repeat(links.reshape(-1, 1), columns, axis=1),
        np.repeat(feeds.reshape(-1, 1), columns, axis=1),
    )


def _numbers_of(network: Network) -> tuple[Array, Array, Array]:
    return (
        np.array(network.base),
        np.array([q for f in network.findings for _, q in f.links]),
        np.array([q for *_, q in network.feeds]),
    )


@settings(max_examples=200)
@given(networks())
def test_redrawing_unchanged_numbers_equals_the_plain_run(network: Network) -> None:
    plain = beliefs(network)
    same = beliefs(network, redraw=redraw_of(network, *_numbers_of(network), 3))
    assert same.posterior.shape == (len(network.base), 3)
    assert np.abs(same.posterior - plain.posterior).max() < 1e-12
    assert np.abs(same.log_evidence - plain.log_evidence[0]).max() < 1e-12


@settings(max_examples=150)
@given(networks(max_nodes=8), st.integers(0, 2**32 - 1))
def test_each_redrawn_lane_equals_enumeration_with_its_own_numbers(network: Network, seed: int) -> None:
    noise = np.random.RandomState(seed)
    base, links, feeds = (
        1 / (1 + np.exp(-(np.log(x / (1 - x))[:, None] + 0.8 * noise.standard_normal((len(x), 4)))))
        for x in _numbers_of(network)
    )
    found = beliefs(network, redraw=Redraw(base, links, feeds))
    for k in range(4):
        at = 0
        findings = []
        for f in network.findings:
            drawn = tuple((node, float(links[at + i, k])) for i, (node, _) in enumerate(f.links))
            findings.append(replace(f, links=drawn))
            at += len(f.links)
        fed = tuple((p, c, float(feeds[i, k])) for i, (p, c, _) in enumerate(network.feeds))
        assert_column(found, k, enumerate_all(Network(tuple(base[:, k].tolist()), fed, tuple(findings))))


@settings(max_examples=200)
@given(networks(max_nodes=1, max_findings=6))
def test_folding_a_no_is_exact_for_one_cause(network: Network) -> None:
    # With one node there is nothing to multiply up: the definition of the answer itself.
    b = network.base[0]
    weight = [1 - b, b]
    for f in network.findings:
        for on in (0, 1):
            silent = (1 - f.leak) * (1 - dict(f.links).get(0, 0.0) * on)
            weight[on] *= f.if_there * (1 - silent) + f.if_not * silent
    assert abs(beliefs(network).posterior[0, 0] - weight[1] / sum(weight)) < 1e-12


def test_many_lanes_are_worked_in_parts_with_the_same_outcome(monkeypatch: pytest.MonkeyPatch) -> None:
    network = large_network(3)
    lanes = [Lane(log_odds=((k % 25, k / 40 - 1),), without=frozenset({k % 30})) for k in range(80)]
    whole = beliefs(network, lanes)
    monkeypatch.setattr("rindwright.engine.belief._TABLE_BUDGET", 1 << (whole.width + 2))
    parts = beliefs(network, lanes)
    assert np.array_equal(whole.posterior, parts.posterior)
    assert np.array_equal(whole.log_evidence, parts.log_evidence)


@pytest.mark.parametrize("seed", range(20))
def test_the_promised_width_is_what_the_cap_is_held_against(seed: int) -> None:
    network = large_network(seed)
    width = width_of(network)
    assert beliefs(network, cap=width).width == width
    with pytest.raises(TooWide) as caught:
        beliefs(network, cap=width - 1)
    assert caught.value.width == width


def test_nothing_answered_leaves_the_base_rates() -> None:
    found = beliefs(Network((0.1, 0.25), ((0, 1, 0.4),)))
    assert np.allclose(found.posterior[:, 0], [0.1, 1 - 0.75 * (1 - 0.1 * 0.4)], atol=1e-15)
    assert abs(found.log_evidence[0]) < 1e-15


@pytest.mark.parametrize("seed", range(60))
def test_many_positive_signs_of_rare_causes_stay_right(seed: int) -> None:
    # The signed weights cancel down to a very small evidence, and doubles alone then keep six digits. The gap
    # between sums that must agree shows it, and the run is done again with longer numbers.
    # Rarer and surer than any answer of the packaged knowledge: its smallest imagined share is 0.01.
    rng = random.Random(seed)
    findings = tuple(
        Finding(
            number_of(rng, 0.01, 0.1), tuple((n, rng.uniform(0.1, 0.95)) for n in rng.sample(range(10), 4)), 0.9, 0.01
        )
        for _ in range(12)
    )
    network = Network(tuple(number_of(rng, 0.0002, 0.03) for _ in range(10)), (), findings)
    assert_column(beliefs(network), 0, enumerate_all(network), within=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_equals_pyagrum_on_cases_of_the_packaged_knowledge(diagnoser: Diagnoser, seed: int) -> None:
    rng = random.Random(seed)
    given_answers: dict[str, Value] = {"style": rng.choice(styles_of(diagnoser.catalog, "washed")), "age_days": 25.0}
    plain_signs = [s.id for s in diagnoser.catalog.signs.values() if s.when is None]
    for k, name in enumerate(rng.sample(plain_signs, 36)):
        scale = diagnoser.catalog.questions[name].kind == "scale"
        positive = rng.choice(("clear", "slight")) if scale else "yes"
        given_answers[name] = positive if k < 9 else "no"
    case, _, _ = diagnoser.prepare(Answers.of(given_answers))
    assert len(case.network.findings) > 15
    assert len(case.network.feeds) > 3
    found = beliefs(case.network)
    posterior, log_evidence = _outside(case.network)
    assert np.abs(found.posterior[:, 0] - posterior).max() < 1e-9
    assert abs(found.log_evidence[0] - log_evidence) < 1e-9
