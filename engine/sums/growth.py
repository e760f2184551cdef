"""Growth by the gamma concept: what share of its best rate an organism reaches on a given surface.

Each of temperature, pH and water activity gives a share from 0 to 1; the shares multiply. Most figures
for rind organisms are estimates and say so. Nothing here is a limit of safety: a share of 0 means only
that a published or estimated limit was passed, and limits differ from strain to strain.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import product

from ..catalog import grade_of
from ..errors import listed, nearest
from .ground import Formula, OutOfRange, sources, table, within

CARDINAL = Formula(
    "cardinal_parameter_model",
    "Cardinal parameter model of order n",
    "(x - max)·(x - min)^n / {(opt - min)^(n-1)·[(opt - min)·(x - opt) - (opt - max)·((n-1)·opt + min - n·x)]}",
    "between min and max; 0 outside. n = 2 for temperature, 1 for pH",
    "rosso_1993",
)
WATER = Formula(
    "water_activity_term",
    "Linear term of water activity",
    "(aw - min)/(1 - min)",
    "from min to 1; 0 below",
    "gamma_concept",
)
GAMMA = Formula(
    "gamma_concept",
    "Gamma concept",
    "rate = best rate · share(temperature) · share(pH) · share(water activity)",
    "no interplay between the three; near several limits at once it is too high",
    "gamma_concept",
    ("rosso_1993",),
)
DOUBLING = Formula("doubling_time", "Doubling time", "ln 2 / rate", "while food and room last", "definition")

_FACTORS = {"temperature": "T", "pH": "pH", "water activity": "aw"}
_FIGURES = "growth on cheese was not modelled beyond"


@dataclass(frozen=True, slots=True)
class Cardinal:
    """One figure of one organism, with the span it may lie in and where it comes from."""

    parameter: str
    value: float
    low: float
    high: float
    what: str
    grade: str
    """published, handbook, trade or memory."""
    source: str
    also: tuple[str, ...] = ()

    @property
    def estimate(self) -> bool:
        """Whether it is a judgement and no finding."""
        return self.grade == "memory"


@dataclass(frozen=True, slots=True)
class Grower:
    """An organism with the figures its growth is worked out from."""

    id: str
    name: str
    role: str
    """``rind`` (grown on purpose on some rind), ``spoiler`` or ``hazard``."""
    figures: Mapping[str, Cardinal]


@dataclass(frozen=True, slots=True)
class Surface:
    """The surface that something is to grow on."""

    temperature_c: float
    ph: float
    water_activity: float

    def checked(self) -> Surface:
        """Itself. Raises ``OutOfRange``."""
        within("Temperature", self.temperature_c, -2, 45, "°C", _FIGURES)
        within("Surface pH", self.ph, 3, 10, "", _FIGURES)
        within("Water activity", self.water_activity, 0.6, 1, "", "a rind lies between, and 1 is pure water")
        return self


@dataclass(frozen=True, slots=True)
class Factor:
    """What one property of the surface leaves of the best rate."""

    name: str
    share: float
    low: float
    high: float
    """The span over the spans of the figures."""
    estimate: bool
    """Whether any of its figures is an estimate."""
    figures: tuple[Cardinal, ...]


@dataclass(frozen=True, slots=True)
class Growth:
    """How fast one organism may grow on a surface, against its own best."""

    organism: str
    name: str
    role: str
    share: float
    low: float
    high: float
    factors: tuple[Factor, ...]
    left_out: tuple[str, ...]
    """Properties for which no figures are known; they count as no hindrance."""
    doubling_hours: tuple[float | None, ...] | None
    """Fastest, likely and slowest; None for never, and all None without a rate."""
    rim_mm_per_day: tuple[float, float, float] | None
    """For moulds with a rate: how fast the rim of a colony moves, low, likely, high."""
    estimate: bool
    """Whether any figure behind the share is an estimate."""
    formulas: tuple[Formula, ...] = (GAMMA, CARDINAL, WATER, DOUBLING)

    @property
    def held_by(self) -> str:
        """The property that holds it back most."""
        return min(self.factors, key=lambda f: f.share).name


def cardinal_share(x: float, minimum: float, optimum: float, maximum: float, order: int) -> float:
    """Share of the best rate, 0 to 1, by the cardinal parameter model. Raises ``OutOfRange``."""
    if not minimum < optimum < maximum:
        raise OutOfRange(
            f"Minimum, optimum and maximum cannot be {minimum:g}, {optimum:g} and {maximum:g}; expected this order."
        )
    if not _fits(minimum, optimum, maximum, order == 2):
        raise OutOfRange(
            f"An optimum of {optimum:g} cannot lie nearer the minimum {minimum:g} than the maximum {maximum:g}: "
            "the model of order 2 was made for the other case."
        )
    return _share(x, minimum, optimum, maximum, order)


def _fits(minimum: float, optimum: float, maximum: float, second_order: bool) -> bool:
    # Of order 2, the curve has a pole when the optimum lies nearer the minimum than the maximum.
    return minimum < optimum < maximum and not (second_order and 2 * optimum < minimum + maximum)


def _share(x: float, low: float, best: float, high: float, n: int) -> float:
    if not low < x < high:
        return 0.0
    if x == best:
        return 1.0
    over = (x - high) * (x - low) ** n
    under = (best - low) ** (n - 1) * ((best - low) * (x - best) - (best - high) * ((n - 1) * best + low - n * x))
    return min(1.0, max(0.0, over / under))


def water_share(water_activity: float, minimum: float) -> float:
    """Share of the best rate, 0 to 1, by water activity. Raises ``OutOfRange``."""
    within("Lowest water activity", minimum, 0.5, 0.999, "", "nothing known grows below")
    within("Water activity", water_activity, 0, 1, "", "1 is pure water")
    return max(0.0, (water_activity - minimum) / (1 - minimum))


@cache
def growers() -> Mapping[str, Grower]:
    """Every organism with figures, by id, in the order of the table."""
    figures: dict[str, dict[str, Cardinal]] = {}
    known = sources()
    for row in table("growth_values"):
        figures.setdefault(row["organism"], {})[row["parameter"]] = Cardinal(
            row["parameter"],
            float(row["value"]),
            float(row["low"]),
            float(row["high"]),
            row["what"],
            grade_of(known[row["source"]]),
            row["source"],
            tuple(row["also"].split()),
        )
    return {r["id"]: Grower(r["id"], r["name"], r["role"], figures[r["id"]]) for r in table("growth_organisms")}


def grower(name: str) -> Grower:
    """An organism by id or name. Raises ``OutOfRange`` with the nearest one."""
    word = "_".join(name.casefold().replace("_", " ").split())
    found = growers()
    fitting = [g for g in found.values() if word in (g.id, "_".join(g.name.casefold().split()))]
    fitting = fitting or [g for g in found.values() if word and g.id.startswith(word)]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise OutOfRange(f'"{name}" may be {listed([g.name for g in fitting])}; name one.')
    raise OutOfRange(
        f'No growth figures are known for "{name}"{nearest(word, found)}; see  rindwright sums growth list.'
    )


def factor(organism: Grower, name: str, at: float) -> Factor | None:
    """One property's share for an organism; None when its figures are not known."""
    short = _FACTORS[name]
    wanted = ("aw_min",) if short == "aw" else tuple(f"{short}_{end}" for end in ("min", "opt", "max"))
    figures = [organism.figures[p] for p in wanted if p in organism.figures]
    if len(figures) < len(wanted):
        return None

    def share(*numbers: float) -> float:
        if short == "aw":
            return water_share(at, numbers[0])
        return _share(at, numbers[0], numbers[1], numbers[2], 2 if short == "T" else 1)

    likely = share(*(f.value for f in figures))
    spans = list(product(*(sorted({f.low, f.value, f.high}) for f in figures)))
    if short != "aw":
        spans = [c for c in spans if _fits(c[0], c[1], c[2], short == "T")]
    corners = [likely, *(share(*corner) for corner in spans)]
    return Factor(name, likely, min(corners), max(corners), any(f.estimate for f in figures), tuple(figures))


def growth(organism: Grower, surface: Surface) -> Growth:
    """How fast an organism may grow on a surface. Raises ``OutOfRange``."""
    surface.checked()
    at = {"temperature": surface.temperature_c, "pH": surface.ph, "water activity": surface.water_activity}
    found = {name: factor(organism, name, x) for name, x in at.items()}
    factors = tuple(f for f in found.values() if f is not None)
    share, low, high = (
        math.prod(f.share for f in factors),
        math.prod(f.low for f in factors),
        math.prod(f.high for f in factors),
    )
    rate, rim = organism.figures.get("mu_opt"), organism.figures.get("radial_opt")
    return Growth(
        organism.id,
        organism.name,
        organism.role,
        share,
        low,
        high,
        factors,
        tuple(name for name, f in found.items() if f is None),
        None if rate is None else (
            _doubling(rate.high * high), _doubling(rate.value * share), _doubling(rate.low * low)
        ),
        None if rim is None else (rim.low * low, rim.value * share, rim.high * high),
        any(f.estimate for f in factors),
    )  # fmt: skip


def growths(organisms: Iterable[Grower], surface: Surface) -> tuple[Growth, ...]:
    """Several organisms on one surface, fastest for its kind first. Raises ``OutOfRange``."""
    return tuple(sorted((growth(o, surface) for o in organisms), key=lambda g: (-g.share, g.organism)))


def _doubling(rate_per_h: float) -> float | None:
    return math.log(2) / rate_per_h if rate_per_h > 0 else None
