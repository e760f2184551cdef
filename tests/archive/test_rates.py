"""Local base rates: the averages against a library's negative binomial, and what many causes tell together."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.archive.rates import (
    AS_CITED,
    LEVEL_SPREAD,
    LEVELS,
    PSEUDO,
    Count,
    manners,
    shifts,
)
from scipy import stats

CAP = math.log(8)
counts_of = st.lists(st.tuples(st.integers(0, 30), st.floats(0.01, 30)), min_size=1, max_size=12)


def named(some: list[tuple[float, float]]) -> dict[str, Count]:
    return {f"cause {k}": Count(seen, of) for k, (seen, of) in enumerate(some)}


@given(counts_of)
def test_shares_are_those_of_the_negative_binomial(some: list[tuple[int, float]]) -> None:
    """A count with a gamma-distributed rate is negative-binomial: scipy.stats.nbinom, and scipy.stats.norm."""
    found = manners(Count(seen, of) for seen, of in some)
    log_share = []
    for way in found:
        beforehand = math.log(len(PSEUDO) if way.pseudo == AS_CITED else 1)
        beforehand += float(stats.norm.logpdf(math.log(way.level), 0, LEVEL_SPREAD))
        foretold = [stats.nbinom.logpmf(n, way.pseudo, way.pseudo / (way.pseudo + way.level * e)) for n, e in some]
        log_share.append(beforehand + float(np.sum(foretold)))
    share = np.exp(np.array(log_share) - max(log_share))
    assert [way.share for way in found] == pytest.approx((share / share.sum()).tolist(), rel=1e-6, abs=1e-12)
    assert len(found) == (len(PSEUDO) + 1) * len(LEVELS)


@given(counts_of)
def test_the_ratio_is_the_mean_of_the_gamma_that_is_left(some: list[tuple[int, float]]) -> None:
    """Gamma and Poisson are conjugate: shape a + O, rate a + level * E, times the level (scipy.stats.gamma)."""
    for way in manners(Count(n, e) for n, e in some)[:: len(LEVELS) - 1]:
        for n, e in some:
            mean = stats.gamma.mean(way.pseudo + n, scale=1 / (way.pseudo + way.level * e)) * way.level
            assert way.ratio(Count(n, e)) == pytest.approx(float(mean))


@given(counts_of, st.randoms(use_true_random=False))
def test_order_does_not_matter_and_the_cap_holds(some: list[tuple[int, float]], shuffled: random.Random) -> None:
    found = shifts(named(some), CAP)
    order = list(named(some).items())
    shuffled.shuffle(order)
    again = shifts(dict(order), CAP)
    assert {c: round(s, 9) for c, s in again.items()} == {c: round(s, 9) for c, s in found.items()}
    assert all(abs(s) <= CAP for s in found.values())


def test_more_often_confirmed_is_never_moved_less() -> None:
    found = shifts(named([(n, 2.0) for n in range(8)]), CAP)
    assert sorted(found.values()) == list(found.values())


def test_a_cause_that_no_look_could_show_stays() -> None:
    found = shifts({**named([(20, 5)] * 10), "of another rind": Count(0, 0)}, CAP)
    assert found["of another rind"] == 0
    assert found["cause 0"] > 1


def test_counts_as_cited_move_next_to_nothing() -> None:
    """As in a world where the knowledge is right: two hundred draws of a hundred causes."""
    rng = np.random.default_rng(5)
    moved = []
    for _ in range(200):
        expected = rng.gamma(0.5, 4, 100)
        moved.append(
            np.mean(np.abs(list(shifts(named(list(zip(rng.poisson(expected), expected, strict=True))), CAP).values())))
        )
    assert np.mean(moved) < 0.05


def test_rates_that_differ_are_found_out() -> None:
    """True ratios exp(N(0, 1)): what is learnt foretells new counts better (Poisson log score, scipy.stats.poisson)
    than the cited rates, and than a ratio shrunken the same whatever all causes say together."""
    rng = np.random.default_rng(6)
    lost = {"cited": 0.0, "learnt": 0.0, "a = 2": 0.0}
    for _ in range(50):
        expected = rng.gamma(0.5, 2, 100)
        true = expected * np.exp(rng.standard_normal(100))
        seen = rng.poisson(true)
        found = np.array(list(shifts(named(list(zip(seen, expected, strict=True))), CAP).values()))
        again = rng.poisson(true)
        for name, ratio in (("cited", 1.0), ("learnt", np.exp(found)), ("a = 2", (2 + seen) / (2 + expected))):
            lost[name] -= float(np.sum(stats.poisson.logpmf(again, expected * ratio))) / 50
    assert lost["learnt"] < lost["cited"] - 30
    assert lost["learnt"] < lost["a = 2"] - 1


def test_the_level_is_how_often_faults_come() -> None:
    """It moves a cause that was never confirmed, and one cause among ten tells little of it."""
    found = shifts({**named([(60, 30)] * 10), "never": Count(0, 0.1)}, CAP)
    assert found["cause 0"] == pytest.approx(math.log(2), rel=0.1)
    assert found["never"] > 0.4
    alone = shifts({**named([(12, 2), *[(2, 2)] * 9]), "never": Count(0, 0.1)}, CAP)
    assert alone["cause 0"] > 1
    assert abs(alone["never"]) < 0.3
