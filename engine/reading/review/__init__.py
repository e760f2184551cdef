"""What the format allows is not yet good knowledge: the rules a reviewer would apply.

Each rule is a small function over ``Loaded`` that notes its faults at the place they stand.
Adding a rule means writing a function in the room it fits and naming it in ``RULES``.
"""

from __future__ import annotations

from collections.abc import Callable

from ..loader import Loaded
from .links import conditions_make_sense, references_exist, sources_exist_and_serve
from .numbers import RULES as _NUMBERS
from .safety import safety_is_complete
from .sense import (
    causes_can_be_reached,
    choices_differ,
    circumstances_serve,
    near_twin_signs,
    near_twins,
    no_twins,
    nothing_goes_round,
    signs_are_asked_and_used,
)
from .walk import strings_in
from .wording import FORBIDDEN, nothing_is_promised, words_are_complete

RULES: tuple[Callable[[Loaded], None], ...] = (
    conditions_make_sense,
    references_exist,
    sources_exist_and_serve,
    signs_are_asked_and_used,
    choices_differ,
    circumstances_serve,
    nothing_goes_round,
    causes_can_be_reached,
    words_are_complete,
    nothing_is_promised,
    safety_is_complete,
    no_twins,
    *_NUMBERS,
)


def review(loaded: Loaded) -> None:
    """Run every rule; faults are added to ``loaded``."""
    for rule in RULES:
        rule(loaded)


__all__ = ["FORBIDDEN", "RULES", "near_twin_signs", "near_twins", "no_twins", "review", "strings_in"]
