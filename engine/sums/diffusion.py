"""How salt wanders: into a cheese that lies in brine, and evenly through it afterwards.

A wheel is a slab crossed with a cylinder, a block is three slabs crossed: what is still missing
at a point is the product of what is missing in each direction. The same holds while the salted
cheese lies and evens out, because nothing leaves through any face. So one dimension at a time is
enough, and exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from .ground import Formula, within
from .shape import Shape

UPTAKE = Formula(
    "diffusion_uptake",
    "Share of the final salt taken up",
    "slab: 1 − Σ 8/((2n+1)²π²)·exp(−(2n+1)²π²Dt/L²); cylinder: 1 − Σ 4/α²·exp(−α²Dt/R²); "
    "wheel: 1 − (1 − slab)·(1 − cylinder)",
    "constant D, surface at brine strength at once, no shrinking; real cheese takes up 10 to 30 % less at first",
    "crank_diffusion",
    ("floury_2010",),
)
EVENING = Formula(
    "diffusion_evening",
    "Time to even out",
    "slab: τ = L²/(4π²D); cylinder: τ = R²/(3.8317²D); after 3τ about 5 % of the unevenness is left",
    "a cheese that loses and gains no salt",
    "crank_diffusion",
    ("floury_2010",),
)
CM2_DAY_PER_M2_S = 86400 * 1e4
J1_ZERO = 3.831705970207512

_J0 = (2.404825557695773, 5.520078110286311, 8.653727912911013, 11.79153443901428, 14.93091770848779)
_TERMS = 60


@cache
def j0_zeros(count: int = _TERMS) -> tuple[float, ...]:
    """The first zeros of the Bessel function J0; beyond the fifth by McMahon's expansion, to 1e-9."""
    found = list(_J0[:count])
    for n in range(len(found) + 1, count + 1):
        b = 8 * (n - 0.25) * math.pi
        found.append(b / 8 + 1 / b - 124 / (3 * b**3) + 120928 / (15 * b**5))
    return tuple(found)


def slab_uptake(dt_per_l2: float) -> float:
    """Share (0 to 1) of the final salt in a slab of thickness L after Dt/L², salted on both faces."""
    within("Time over thickness", dt_per_l2, 0, math.inf, "", "time does not run back")
    if dt_per_l2 < 0.01:  # the series needs many terms here, the short-time form is exact to 1e-10
        return 4 * math.sqrt(dt_per_l2 / math.pi)
    return 1 - sum(
        8 / ((2 * n + 1) ** 2 * math.pi**2) * math.exp(-((2 * n + 1) ** 2) * math.pi**2 * dt_per_l2)
        for n in range(_TERMS)
    )


def cylinder_uptake(dt_per_r2: float) -> float:
    """Share (0 to 1) of the final salt in a long cylinder of radius R after Dt/R²."""
    within("Time over radius", dt_per_r2, 0, math.inf, "", "time does not run back")
    if dt_per_r2 < 0.005:
        s = math.sqrt(dt_per_r2 / math.pi)
        return 4 * s - dt_per_r2 - s * dt_per_r2 / 3
    return 1 - sum(4 / a**2 * math.exp(-(a**2) * dt_per_r2) for a in j0_zeros())


def uptake(shape: Shape, days: float, d_cm2_day: float) -> float:
    """Share (0 to 1) of the final salt that a shape has taken up after some days in brine.

    ``d_cm2_day``: diffusion coefficient, 0.01 to 1 cm²/day. Raises ``OutOfRange``. Source: crank_diffusion.
    """
    within("The time", days, 0, 400, "days", "no cheese lies in brine longer for salting")
    _coefficient(d_cm2_day)
    dt = d_cm2_day * days
    missing = 1 - slab_uptake(dt / shape.height_cm**2)
    if shape.diameter_cm:
        missing *= 1 - cylinder_uptake(4 * dt / shape.diameter_cm**2)
    else:
        missing *= (1 - slab_uptake(dt / shape.length_cm**2)) * (1 - slab_uptake(dt / shape.width_cm**2))
    return 1 - missing


def days_for_uptake(shape: Shape, share: float, d_cm2_day: float) -> float:
    """Days until ``share`` (0 to 0.99) of the final salt is in. Raises ``OutOfRange``."""
    within("The share", share, 0, 0.99, "", "the last of it takes for ever")
    return solve(lambda days: uptake(shape, days, d_cm2_day), share, 0.0, 400.0)


def solve(rising: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Where a rising function reaches a value, by halving; an end when it lies outside."""
    for _ in range(70):
        middle = (low + high) / 2
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@dataclass(frozen=True, slots=True)
class Evening:
    """Time constants of evening out, days."""

    across_days: float
    """Through the thickness: in a flat cheese this one rules."""
    around_days: float
    """From the rim to the middle, or along the longer side of a block."""
    nearly_even_days: float
    """Three times the first: about 5 % of the unevenness through the thickness is left."""
    formula: Formula = EVENING


def evening(shape: Shape, d_cm2_day: float) -> Evening:
    """How long salt takes to even out in a shape. Raises ``OutOfRange``. Source: crank_diffusion."""
    _coefficient(d_cm2_day)
    across = shape.height_cm**2 / (4 * math.pi**2 * d_cm2_day)
    if shape.diameter_cm:
        around = (shape.diameter_cm / 2) ** 2 / (J1_ZERO**2 * d_cm2_day)
    else:
        around = max(shape.length_cm, shape.width_cm) ** 2 / (4 * math.pi**2 * d_cm2_day)
    return Evening(across, around, 3 * across)


@dataclass(frozen=True, slots=True)
class Profile:
    """Salt at three places, each as a multiple of the mean of the whole cheese."""

    core: float
    face: float
    """Under the middle of a flat face."""
    rim: float
    """Half way up the side of a wheel, or in the middle of a long side."""
    mean_share: float
    """Share of the final salt that is in."""
    formula: Formula = EVENING


def profile(shape: Shape, salting_days: float, rest_days: float, d_cm2_day: float) -> Profile:
    """Where the salt stands, ``rest_days`` after ``salting_days`` in brine. Raises ``OutOfRange``.

    Worked out by finite volumes, one dimension at a time. Source: crank_diffusion.
    """
    within("The time in brine", salting_days, 1e-4, 100, "days", "salting takes minutes to weeks")
    within("The time since", rest_days, 0, 1000, "days", "no figures beyond")
    _coefficient(d_cm2_day)
    slab = _missing(shape.height_cm / 2, False, salting_days, rest_days, d_cm2_day)
    if shape.diameter_cm:
        others = [_missing(shape.diameter_cm / 2, True, salting_days, rest_days, d_cm2_day)]
    else:
        sides = (shape.length_cm / 2, shape.width_cm / 2)
        others = [_missing(half, False, salting_days, rest_days, d_cm2_day) for half in sides]
    core_o = face_o = mean_o = 1.0
    for core, _, mean in others:
        core_o, face_o, mean_o = core_o * core, face_o * core, mean_o * mean
    rim_o = others[0][1] * (others[1][0] if len(others) > 1 else 1.0)
    mean = 1 - slab[2] * mean_o
    return Profile((1 - slab[0] * core_o) / mean, (1 - slab[1] * face_o) / mean, (1 - slab[0] * rim_o) / mean, mean)


def _missing(half: float, round_: bool, salting: float, rest: float, d: float) -> tuple[float, float, float]:
    """What is missing in one dimension at the core, at the surface and in the mean (1 before salting)."""
    row = Row.of(half, round_)
    state = row.after([1.0] * len(row.bulk), salting, d, open_wall=True)
    state = row.after(state, rest, d, open_wall=False)
    return state[0], state[-1], row.mean(state)


@dataclass(frozen=True, slots=True)
class Row:
    """Cells from the middle to the surface, finer outwards, where a short salting leaves a thin shell."""

    edges: tuple[float, ...]
    bulk: tuple[float, ...]
    """How much each cell counts: its length, or in the round its ring."""
    flow: tuple[float, ...]
    """Conductance of the inner edge of each cell, for a diffusion coefficient of 1."""
    wall: float

    @staticmethod
    def of(half: float, round_: bool, cells: int = 120) -> Row:
        """Cells over half a slab, or over the radius of a cylinder, in cm."""
        edges = [half * (1 - (1 - k / cells) ** 2) for k in range(cells + 1)]
        middles = [(a + b) / 2 for a, b in pairwise(edges)]
        power = 2 if round_ else 1
        skin = [power * e ** (power - 1) for e in edges]
        flow = [0.0, *(skin[k] / (middles[k] - middles[k - 1]) for k in range(1, cells))]
        bulk = [b**power - a**power for a, b in pairwise(edges)]
        return Row(tuple(edges), tuple(bulk), tuple(flow), skin[-1] / (half - middles[-1]))

    def mean(self, state: Sequence[float]) -> float:
        """The mean of the cells."""
        return sum(v * s for v, s in zip(self.bulk, state, strict=True)) / sum(self.bulk)

    def after(self, state: list[float], days: float, d: float, open_wall: bool, steps: int = 150) -> list[float]:
        """The cells some days later; an open wall is held at 0, a closed one lets nothing through."""
        if days <= 0:
            return state
        # Steps grow with the square of their number: a sudden start needs small ones.
        for a, b in pairwise(days * (k / steps) ** 2 for k in range(steps + 1)):
            state = _step(state, self.bulk, self.flow, self.wall if open_wall else 0.0, d * (b - a))
        return state


def _step(state: Sequence[float], bulk: Sequence[float], flow: Sequence[float], wall: float, dt: float) -> list[float]:
    """One backward step of a row of cells: what flows out through the wall is gone (tridiagonal, Thomas)."""
    n = len(state)
    upper, right = [0.0] * n, [0.0] * n
    for k in range(n):
        left = flow[k] * dt
        out = flow[k + 1] * dt if k + 1 < n else wall * dt
        pivot = bulk[k] + left + out - (left * upper[k - 1] if k else 0.0)
        upper[k] = (flow[k + 1] * dt if k + 1 < n else 0.0) / pivot
        right[k] = (bulk[k] * state[k] + (left * right[k - 1] if k else 0.0)) / pivot
    for k in range(n - 2, -1, -1):
        right[k] += upper[k] * right[k + 1]
    return right


def _coefficient(d_cm2_day: float) -> None:
    within("The diffusion coefficient", d_cm2_day, 0.01, 1, "cm²/day", "0.05 to 0.46 was measured in cheese")
