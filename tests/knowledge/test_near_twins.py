"""One cause or one sign under two names is found, and what is packaged holds none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from rindwright.engine.model import Cause, Knowledge, Link
from rindwright.engine.reading.loader import Loaded
from rindwright.engine.reading.review import near_twin_signs, near_twins, no_twins


def with_twin(knowledge: Knowledge, change: Callable[[Cause], Cause]) -> Knowledge:
    one = next(c for c in knowledge.causes if c.id == "box_too_wet")
    return replace(knowledge, causes=(*knowledge.causes, change(replace(one, id="wet_box", mistaken_for=()))))


def sentences(knowledge: Knowledge) -> list[str]:
    loaded = Loaded(knowledge)
    no_twins(loaded)
    return [f.sentence for f in loaded.faults]


def test_the_packaged_causes_and_signs_hold_no_twins(knowledge: Knowledge) -> None:
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


# --- signs -------------------------------------------------------------------------------------


def with_twin_sign(knowledge: Knowledge, one: str, left_out: int = 0, **changed: str) -> Knowledge:
    """A sign and its question once more under another name, on every page but some that names the first."""
    sign = replace(next(s for s in knowledge.signs if s.id == one), id="twin")
    question = replace(next(q for q in knowledge.questions if q.id == one), id="twin", **changed)  # type: ignore[arg-type]
    pages = [c for c in knowledge.causes if any(link.sign == one for link in c.signs)][left_out:]

    def linked(cause: Cause) -> Cause:
        again: tuple[Link, ...] = tuple(replace(link, sign="twin") for link in cause.signs if link.sign == one)
        return replace(cause, signs=(*cause.signs, *again)) if cause in pages else cause

    return replace(
        knowledge,
        signs=(*knowledge.signs, sign),
        questions=(*knowledge.questions, question),
        causes=tuple(linked(c) for c in knowledge.causes),
    )


@pytest.mark.parametrize("one", ["slip_skin", "lid_drops", "long_hairs"])
def test_a_sign_that_stands_twice_is_named(knowledge: Knowledge, one: str) -> None:
    found = sentences(with_twin_sign(knowledge, one))
    assert any(f'"{one}" and "twin" point to the same causes' in sentence for sentence in found)
    assert near_twin_signs(with_twin_sign(knowledge, "blue_green_spot", left_out=1)) == [("blue_green_spot", "twin")]


def test_another_sense_or_half_the_causes_make_no_twin_sign(knowledge: Knowledge) -> None:
    assert near_twin_signs(with_twin_sign(knowledge, "slip_skin", about="look")) == []
    assert near_twin_signs(with_twin_sign(knowledge, "blue_green_spot", left_out=10)) == []
