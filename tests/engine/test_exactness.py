"""Answers weighed as they were said, and folded: against every state added up, 50 digits, and an outside engine.

The tests of ``test_belief`` take the folded "no" as given. Here the two meanings of a doubtful "no" are told apart: *as
said*, the sign is there or not, and the maker misses it once or not at all; *folded*, each node that may show the sign
weighs the answer as if it were the only one.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal, localcontext
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.belief import Array, Lane, Network, Redraw, beliefs, width_of
from rindwright.engine.diagnosis import Diagnoser

from tests.benchmarks.speed import folded, full_network, library_posteriors
from tests.strategies import finding_of, networks

SIZES = [(10, 0), (20, 0), (10, 20), (4, 40)]
"""Signs there and signs not there, over the whole network of a family."""


def added_up(network: Network) -> tuple[Array, float]:
    """Posteriors and P(answers) from every state of every node, each answer weighed as it was said."""
    n = len(network.base)
    on = ((np.arange(2**n)[:, None] >> np.arange(n)) & 1).astype(bool)
    joint = np.ones(2**n)
    for node, base in enumerate(network.base):
        off = np.full(2**n, 1 - base)
        for parent, child, q in network.feeds:
            if child == node:
                off *= np.where(on[:, parent], 1 - q, 1.0)
        joint *= np.where(on[:, node], 1 - off, off)
    for f in network.findings:
        silent = np.full(2**n, 1 - f.leak)
        for node, q in f.links:
            silent *= np.where(on[:, node], 1 - q, 1.0)
        joint *= f.if_there * (1 - silent) + f.if_not * silent
    evidence = float(joint.sum())
    return (joint[:, None] * on).sum(axis=0) / (evidence or 1.0), evidence


@settings(max_examples=300)
@given(networks(max_findings=10), st.integers(0, 2**32 - 1))
def test_answers_as_said_equal_every_state_added_up(network: Network, seed: int) -> None:
    rng = random.Random(seed)
    size = len(network.base)
    some = rng.sample(range(size), rng.randint(1, min(size, 4)))
    more = tuple(finding_of(rng, some, answer) for answer in ("graded no", "graded no", "graded yes"))
    network = replace(network, findings=(*network.findings, *more))
    supposed = finding_of(rng, some, "no")
    left = frozenset(j for j in range(len(network.findings)) if rng.random() < 0.4)
    found = beliefs(network, [Lane(), Lane(absent=(supposed,)), Lane(without=left)], fold=False)
    kept = tuple(f for j, f in enumerate(network.findings) if j not in left)
    told = [network, replace(network, findings=(*network.findings, supposed)), replace(network, findings=kept)]
    for lane, one in enumerate(told):
        posterior, evidence = added_up(one)
        assert np.abs(found.posterior[:, lane] - posterior).max() < 1e-9
        assert abs(found.log_evidence[lane] - math.log(evidence)) < 1e-9
    strengths = np.array([[q] for f in network.findings for _, q in f.links])
    fed = np.array([q for *_, q in network.feeds]).reshape(-1, 1)
    redrawn = beliefs(network, redraw=Redraw(np.array(network.base)[:, None], strengths, fed), fold=False)
    assert np.abs(redrawn.posterior[:, 0] - found.posterior[:, 0]).max() < 1e-11


@settings(max_examples=150)
@given(networks(max_findings=6))
def test_folding_loses_nothing_where_no_two_nodes_show_a_sign(network: Network) -> None:
    alone = tuple(f if f.speaks_for else replace(f, links=f.links[:1]) for f in network.findings)
    network = replace(network, findings=alone)
    assert width_of(network, fold=False) == width_of(network)
    assert np.abs(beliefs(network).posterior[:, 0] - added_up(network)[0]).max() < 1e-9


@pytest.mark.parametrize(("there", "missing"), SIZES)
@pytest.mark.parametrize("seed", range(3))
def test_equals_pyagrum_over_a_whole_family(diagnoser: Diagnoser, there: int, missing: int, seed: int) -> None:
    network = full_network(diagnoser, there, missing, seed)
    as_said, by_short_cut = beliefs(network, fold=False).posterior[:, 0], beliefs(network).posterior[:, 0]
    assert np.abs(as_said - library_posteriors(network)).max() < 1e-9
    assert np.abs(by_short_cut - library_posteriors(folded(network))).max() < 1e-9
    # The two differ where signs are said not to be there: one must not be held against the other's figures.
    assert (np.abs(as_said - by_short_cut).max() > 1e-5) == (missing > 0)


@settings(max_examples=300)
@given(networks(max_nodes=6), st.integers(0, 2**32 - 1))
def test_numbers_at_their_ends_lose_nothing(network: Network, seed: int) -> None:
    """Signs that never show by themselves, links that never or always work: some states are then impossible."""
    rng = random.Random(seed)

    def ended(q: float) -> float:
        return rng.choice((q, q, 0.0, 1.0))

    findings = tuple(
        replace(f, leak=rng.choice((f.leak, 0.0)), links=tuple((node, ended(q)) for node, q in f.links))
        if f.speaks_for
        else f
        for f in network.findings
    )
    network = Network(network.base, tuple((a, b, ended(q)) for a, b, q in network.feeds), findings)
    posterior, evidence = added_up(network)
    if evidence > 0:
        found = beliefs(network, fold=False)
        assert np.abs(found.posterior[:, 0] - posterior).max() < 1e-9
        assert abs(found.log_evidence[0] - math.log(evidence)) < 1e-9


Factor = tuple[tuple[str, ...], "np.ndarray[Any, np.dtype[Any]]"]
"""Variables, and a table of decimal numbers over them."""


def tables_of(network: Network) -> list[Factor]:
    """The network as tables: every OR a chain of small ones, nothing signed, nothing folded."""
    found: list[Factor] = []
    one, nought = Decimal(1), Decimal(0)

    def chain(name: str, alone: float, links: Iterable[tuple[int, float]]) -> str:
        found.append(((f"{name}_0",), np.array([one - Decimal(alone), Decimal(alone)])))
        last = f"{name}_0"
        for k, (node, strength) in enumerate(links, 1):
            q = Decimal(strength)
            here = f"{name}_{k}"
            either = np.array([[[one, nought], [one - q, q]], [[nought, one], [nought, one]]])
            found.append(((last, f"node{node}", here), either))
            last = here
        return last

    for node, base in enumerate(network.base):
        last = chain(f"own{node}", base, [(parent, q) for parent, child, q in network.feeds if child == node])
        found.append(((last, f"node{node}"), np.array([[one, nought], [nought, one]])))
    for j, f in enumerate(network.findings):
        last = chain(f"sign{j}", f.leak, f.links)
        found.append(((last,), np.array([Decimal(f.if_not), Decimal(f.if_there)])))
    return found


def summed(tables: list[Factor]) -> Decimal:
    """All variables summed out one by one, smallest table first."""
    tables = list(tables)
    while any(scope for scope, _ in tables):
        scopes: dict[str, set[str]] = {}
        for scope, _ in tables:
            for v in scope:
                scopes.setdefault(v, set()).update(scope)
        going = min(sorted(scopes), key=lambda v: len(scopes[v]))
        union = (going, *sorted(scopes[going] - {going}))
        whole = np.full((2,) * len(union), Decimal(1))
        for scope, table in [t for t in tables if going in t[0]]:
            axes = sorted(range(len(scope)), key=lambda a, s=scope: union.index(s[a]))  # type: ignore[misc]
            whole = whole * table.transpose(axes).reshape([2 if v in scope else 1 for v in union])
        tables = [t for t in tables if going not in t[0]] + [(union[1:], whole.sum(axis=0))]
    total = Decimal(1)
    for _, table in tables:
        total *= table.item() if isinstance(table, np.ndarray) else table
    return total


@pytest.mark.parametrize("seed", range(3))
def test_equals_50_digits_over_a_whole_family(diagnoser: Diagnoser, seed: int) -> None:
    network = full_network(diagnoser, 10, 20, seed)
    as_said, by_short_cut = beliefs(network, fold=False).posterior[:, 0], beliefs(network).posterior[:, 0]
    furthest = np.argsort(-np.abs(as_said - by_short_cut), kind="stable")[:3]
    with localcontext() as context:
        context.prec = 50
        for told, posterior in ((network, as_said), (folded(network), by_short_cut)):
            tables = tables_of(told)
            whole = summed(tables)
            for node in furthest.tolist():
                on = summed([*tables, ((f"node{node}",), np.array([Decimal(0), Decimal(1)]))])
                assert abs(on / whole - Decimal(float(posterior[node]))) < Decimal("1e-12")
