"""The maker's own readings of the surface pH: whether they rise at all, and where they place a course."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .ground import OutOfRange, within

STRIP_PH = 0.3
"""How far a strip on a rind may be off: an estimate."""
TWO_STRIPS_PH = STRIP_PH * math.sqrt(2)
"""How far two strips may differ on a surface that has not changed: the errors of both, added as squares."""


def only_rising(readings: Sequence[tuple[float, float]], start_ph: float | None = None) -> None:
    """Refuse readings, and a start, that no rise can have. Raises ``OutOfRange``."""
    for age, ph in readings:
        within("Age at a reading", age, 0, 200, "days", "the rise belongs to the first weeks")
        within("Surface pH", ph, 3.5, 9, "", "rinds lie between")
    told = sorted([*([] if start_ph is None else [(0.0, start_ph)]), *readings], key=lambda r: (r[0], -r[1]))
    highest = (0.0, 0.0)
    for age, ph in told:
        if highest[1] - ph > TWO_STRIPS_PH + 1e-9:
            raise OutOfRange(
                f"pH {highest[1]:.4g} on day {highest[0]:.4g} and pH {ph:.4g} on day {age:.4g} do not show a rise, and "
                "two strips on one surface differ by about 0.4 at most; expected readings that rise with the days: "
                "from a rind that turns sour again no day follows."
            )
        if ph > highest[1]:
            highest = (age, ph)


def placed(
    readings: Sequence[tuple[float, float]], begin: float, top: float, width: float
) -> tuple[float, float, float]:
    """Day of the middle of a course from ``begin`` to ``top`` by readings: early, likely, late."""

    def share(ph: float) -> float:
        return min(0.98, max(0.02, (ph - begin) / (top - begin)))

    def middle(age: float, ph: float) -> float:
        return age - width * math.log(share(ph) / (1 - share(ph)))

    # On its flat ends a course has nearly the same pH for weeks, so a reading there tells hardly any day; where all
    # are flat, the last before the rise and the first after it tell most.
    counted = [(age, ph, (share(ph) * (1 - share(ph))) ** 2) for age, ph in readings]
    if not any(0.02 < share(ph) < 0.98 for _, ph in readings):
        before, after = ([r for r in counted if (share(r[1]) > 0.5) == risen] for risen in (False, True))
        counted = [*([max(before)] if before else []), *([min(after)] if after else [])]
    total = sum(weight for *_, weight in counted)
    early, likely, late = (
        sum(weight * middle(age, ph + off) for age, ph, weight in counted) / total for off in (STRIP_PH, 0.0, -STRIP_PH)
    )
    return early, likely, late
