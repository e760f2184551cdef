"""The shape of a cheese: its surface and its bulk, from what a ruler shows."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .ground import Formula, within

GEOMETRY = Formula(
    "shape",
    "Surface of a cheese",
    "wheel: 2·π·r² + 2·π·r·h; block: 2·(l·w + l·h + w·h)",
    "straight edges; rounded rims and mat marks are left out",
    "definition",
)
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
