"""One cause under two names is found, and what is packaged holds none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from rindwright.engine.model import Cause, Knowledge
from rindwright.engine.reading.loader import Loaded
from rindwright.engine.reading.review import near_twins, no_twins


def with_twin(knowledge: Knowledge, change: Callable[[Cause], Cause]) -> Knowledge:
    one = next(c for c in knowledge.causes if c.id == "box_too_wet")
    return replace(knowledge, causes=(*knowledge.causes, change(replace(one, id="wet_box", mistaken_for=()))))


def sentences(knowledge: Knowledge) -> list[str]:
    loaded = Loaded(knowledge)
    no_twins(loaded)
    return [f.sentence for f in loaded.faults]


def test_the_packaged_causes_hold_no_twins(knowledge: Knowledge) -> None:
    assert sentences(knowledge) == []


@pytest.mark.parametrize("dropped", [0, 1])
def test_a_twin_is_named_even_with_a_sign_less(knowledge: Knowledge, dropped: int) -> None:
    found = sentences(with_twin(knowledge, lambda c: replace(c, signs=c.signs[dropped:])))
    assert len(found) == 1
    assert "box_too_wet" in found[0]
    assert "wet_box" in found[0]


def test_another_kind_other_rinds_or_half_the_signs_make_no_twin(knowledge: Knowledge) -> None:
    changes: list[Callable[[Cause], Cause]] = [
        lambda c: replace(c, kind="takeover"),
        lambda c: replace(c, rinds=("large",)),
        lambda c: replace(c, signs=c.signs[: len(c.signs) // 2]),
    ]
    for change in changes:
        assert sentences(with_twin(knowledge, change)) == []


def test_near_twins_grow_with_a_looser_measure(knowledge: Knowledge) -> None:
    strict, loose = set(near_twins(knowledge.causes, 0.85)), set(near_twins(knowledge.causes, 0.3))
    assert strict < loose


def test_a_reader_can_tell_look_alikes_apart(knowledge: Knowledge) -> None:
    """Causes that share most of their signs say, on one page or the other, how to tell them apart."""
    told = {frozenset((c.id, look.cause)) for c in knowledge.causes for look in c.mistaken_for}
    for pair in near_twins(knowledge.causes, 0.6):
        assert frozenset(pair) in told, pair
