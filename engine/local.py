"""What one maker's own confirmed looks say beside the knowledge: corrections that are never mixed into it.

The cited word and its number stay what they are; a correction is kept under the place it belongs to, applied
when a network is built, and can be taken away again. Cautions know no corrections.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from .catalog import Catalog
from .model import Link
from .odds import moved

BASE_CAP = math.log(8)
"""Log-odds that a base rate is moved by at most."""
LinkKey = tuple[str, str, int]
"""Cause, sign, and the place of the link among those of the cause."""
LeakKey = tuple[str, int]
"""Sign, and the place of the rate among its rates on sound rinds."""


@dataclass(frozen=True, slots=True)
class Local:
    """Corrections: shifts of base rates in log-odds; strengths of links and rates on sound rinds, 0 to 1."""

    base: Mapping[str, float] = field(default_factory=dict)
    links: Mapping[LinkKey, float] = field(default_factory=dict)
    leaks: Mapping[LeakKey, float] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.base or self.links or self.leaks)

    @property
    def stamp(self) -> str:
        """A hash of all corrections; empty when there are none."""
        if not self:
            return ""
        text = repr([sorted(self.base.items()), sorted(self.links.items()), sorted(self.leaks.items())])
        return hashlib.sha256(text.encode()).hexdigest()[:16]


NONE = Local()


def link_at(catalog: Catalog, key: LinkKey) -> Link:
    """The link that a key stands for."""
    return catalog.causes[key[0]].signs[key[2]]


def base_of(catalog: Catalog, local: Local, cause: str) -> float:
    """The base rate of a cause, corrected."""
    cited = catalog.value("base_rate", catalog.causes[cause].base_rate)
    return moved(cited, local.base.get(cause, 0.0))
