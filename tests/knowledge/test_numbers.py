"""What the numbers of the knowledge promise beyond the rules of review (``engine/reading/review/numbers.py``)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from itertools import pairwise

from rindwright.engine.model import Knowledge


def numbers(thing: object) -> Iterator[float]:
    if isinstance(thing, (int, float)) and not isinstance(thing, bool):
        yield float(thing)
    elif isinstance(thing, tuple):
        for part in thing:
            yield from numbers(part)
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from numbers(getattr(thing, f.name))


def test_every_number_is_one(knowledge: Knowledge) -> None:
    assert all(math.isfinite(x) for x in numbers(knowledge))


def test_bands_of_the_probability_words_leave_no_gap(knowledge: Knowledge) -> None:
    words = next(s for s in knowledge.words.scales if s.id == "probability").words
    assert (words[0].low, words[-1].high) == (0, 1)
    assert all(a.high == b.low for a, b in pairwise(words))


def test_answers_are_right_more_often_than_wrong(knowledge: Knowledge) -> None:
    for n in knowledge.words.answer_noise:
        assert 0 < n.missed < 0.5 > n.imagined > 0, n
        assert n.missed + n.slight_if_there < 0.5, n
        assert n.imagined + n.slight_if_not < 0.5, n
        assert n.slight_if_there > n.slight_if_not, n
