"""How the surface of each kind of rind loses its acid: estimates, held to what was published."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import listed, nearest
from .ground import OutOfRange
from .growth import Surface


@dataclass(frozen=True, slots=True)
class Course:
    """How the surface of one kind of rind loses its acid: estimates, held to a few published anchors."""

    id: str
    name: str
    eater: str
    start_ph: float
    rise: float
    width_days: float
    to_ph_6_days: tuple[float, float]
    """Span of days until pH 6.0 at the reference surface."""
    reference: Surface
    caveat: str = ""
    """What its readers must know beyond that it is an estimate."""


COURSES = (
    Course("smear_soft", "soft smear", "debaryomyces_hansenii", 5.05, 2.5, 1.75, (5, 10), Surface(13, 5.5, 0.97)),
    Course("smear_firm", "semi-hard smear", "debaryomyces_hansenii", 5.1, 2.4, 2.0, (7, 14), Surface(13, 5.5, 0.97)),
    Course("bloomy", "white-mould cheese", "penicillium_camemberti", 4.8, 2.8, 0.5, (6, 9), Surface(12, 5.5, 0.975)),
    # On 39 trial wheels of one make the mean was 6.89 on day 18, the lowest 6.21, and the mean 7.15 on day 28: the
    # likely course passes both means, and the late one reaches pH 6 by the day on which all of them had.
    Course(
        "grey_mould", "wheel with a grey mould coat", "debaryomyces_hansenii", 5.05, 2.1, 3.0, (5, 18),
        Surface(10, 5.5, 0.97),
        "held to 39 trial wheels of one make, at a temperature not known here; on more than a quarter of them the pH "
        "fell back again between day 18 and day 28",
    ),
)  # fmt: skip


def course(name: str) -> Course:
    """A kind of rind by id. Raises ``OutOfRange`` with the nearest one."""
    word = "_".join(name.casefold().replace("-", " ").replace("_", " ").split())
    for one in COURSES:
        if word == one.id:
            return one
    known = [c.id for c in COURSES]
    raise OutOfRange(f'No course of pH is known for "{name}"{nearest(word, known)}; expected {listed(known)}.')


UNKNOWN = {
    "lactic": "the skin of a sour-set cheese",
    "natural": "a dry, brushed rind",
    "blue": "the coat of a blue cheese",
    "hard": "a hard bare, oiled or cloth-bound rind",
}
"""Rinds for which no figure is known, not even as an estimate: there the maker's own readings must do."""
RINDS = (*(c.id for c in COURSES), *UNKNOWN)
