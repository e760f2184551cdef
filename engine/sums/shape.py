"""The shape of a cheese: its surface and its bulk, from what a ruler shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .ground import Formula, OutOfRange, within
from .kitchen import grams, plainly

GEOMETRY = Formula(
    "shape",
    "Surface of a cheese",
    "wheel: 2·π·r² + 2·π·r·h; block: 2·(l·w + l·h + w·h)",
    "straight edges; rounded rims and mat marks are left out",
    "definition",
)
KG_PER_LITRE = (0.9, 1.25)
"""What a litre of cheese weighs, from an open paste to a dry hard one: common practice, no source."""
RULER_CM = 0.5
"""How far a size read from a ruler may be off, rounded edges and all: a judgement."""
_WHY = "cheese of other sizes is beyond what the salt and drying figures were made for"


@dataclass(frozen=True, slots=True)
class Shape:
    """A wheel (a cylinder lying on its face) or a block. Lengths in cm."""

    height_cm: float
    diameter_cm: float = 0.0
    """Of a wheel; 0 for a block."""
    length_cm: float = 0.0
    width_cm: float = 0.0

    @property
    def face_cm2(self) -> float:
        """One flat face."""
        return math.pi * self.diameter_cm**2 / 4 if self.diameter_cm else self.length_cm * self.width_cm

    @property
    def area_cm2(self) -> float:
        """The whole surface."""
        around = math.pi * self.diameter_cm if self.diameter_cm else 2 * (self.length_cm + self.width_cm)
        return 2 * self.face_cm2 + around * self.height_cm

    @property
    def area_m2(self) -> float:
        """The whole surface, m²."""
        return self.area_cm2 / 10_000

    @property
    def volume_cm3(self) -> float:
        """The bulk."""
        return self.face_cm2 * self.height_cm

    @property
    def in_words(self) -> str:
        """The size, height last."""
        across = (self.diameter_cm,) if self.diameter_cm else (self.length_cm, self.width_cm)
        return " x ".join(plainly(cm, 3) for cm in (*across, self.height_cm)) + " cm"

    def usual_weight_g(self) -> tuple[float, float]:
        """The least and the most that a cheese of this size weighs, the ruler's error allowed for."""

        def bulk(off: float) -> float:
            cm = [x + off if x else 0.0 for x in (self.height_cm, self.diameter_cm, self.length_cm, self.width_cm)]
            return Shape(*cm).volume_cm3

        return KG_PER_LITRE[0] * bulk(-RULER_CM), KG_PER_LITRE[1] * bulk(RULER_CM)


def wheel(diameter_cm: float, height_cm: float) -> Shape:
    """A wheel of 2 to 120 cm across and 1 to 40 cm high. Raises ``OutOfRange``. Definition."""
    within("The diameter", diameter_cm, 2, 120, "cm", _WHY)
    within("The height", height_cm, 1, 40, "cm", _WHY)
    return Shape(height_cm, diameter_cm)


def block(length_cm: float, width_cm: float, height_cm: float) -> Shape:
    """A block of 2 to 120 cm by 2 to 120 cm and 1 to 40 cm high. Raises ``OutOfRange``. Definition."""
    within("The length", length_cm, 2, 120, "cm", _WHY)
    within("The width", width_cm, 2, 120, "cm", _WHY)
    within("The height", height_cm, 1, 40, "cm", _WHY)
    return Shape(height_cm, 0.0, length_cm, width_cm)


def of_one_cheese(shape: Shape, weights_g: Sequence[float]) -> None:
    """Refuse weights none of which a cheese of this size has. Raises ``OutOfRange`` with both.

    A cheese shrinks as it dries, so the size need only go with one of several weighings.
    """
    low, high = shape.usual_weight_g()
    if min(weights_g) <= high and max(weights_g) >= low:
        return
    given = min(weights_g, key=lambda g: min(abs(g - low), abs(g - high)))
    said = f"{plainly(given / 1000, 4)} kg" if given >= 1000 else f"{plainly(given, 4)} g"
    raise OutOfRange(
        f"A cheese of {shape.in_words} cannot weigh {said}; "
        f"expected {grams(low)} to {grams(high)} for that size: a litre of cheese weighs {KG_PER_LITRE[0]:g} to "
        f"{KG_PER_LITRE[1]:g} kg."
    )
