"""Numbers that no shape can check: shares are shares, bands hold their value, windows and days run forward."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from itertools import pairwise

from rindwright.engine.model import Amount, Knowledge


def numbers(thing: object) -> Iterator[float]:
    if isinstance(thing, (int, float)) and not isinstance(thing, bool):
        yield float(thing)
    elif isinstance(thing, tuple):
        for part in thing:
            yield from numbers(part)
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from numbers(getattr(thing, f.name))


def amounts(knowledge: Knowledge) -> Iterator[tuple[str, Amount]]:
    for cause in knowledge.causes:
        for step in (*cause.today, *cause.next_make):
            if step.amount is not None:
                yield cause.id, step.amount


def test_every_number_is_one(knowledge: Knowledge) -> None:
    assert all(math.isfinite(x) for x in numbers(knowledge))


def test_scales_rise_and_bands_hold_their_value(knowledge: Knowledge) -> None:
    shares = {"frequency", "feeding", "base_rate", "how_common", "probability"}
    assert shares < {s.id for s in knowledge.words.scales}
    for scale in knowledge.words.scales:
        values = [w.value for w in scale.words]
        assert values == sorted(set(values)), scale.id
        for word in scale.words:
            if scale.id in shares:
                assert 0 < word.value < 1, word
            if word.low is not None and word.high is not None:
                assert 0 <= word.low < word.value < word.high <= 1, word
    assert min(w.value for s in knowledge.words.scales if s.id == "strength" for w in s.words) > 1


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


def test_windows_and_days_run_forward(knowledge: Knowledge) -> None:
    windows = [(e.id, e.from_day, e.to_day) for kind in ("questions", "signs", "causes", "normal")
               for e in getattr(knowledge, kind)]  # fmt: skip
    windows += [(c.id, link.from_day, link.to_day) for c in knowledge.causes for link in c.signs]
    windows += [(s.id, rate.from_day, rate.to_day) for s in knowledge.signs for rate in s.on_sound_rinds]
    for id, start, end in windows:
        assert start >= 0, id
        assert end is None or end >= start, id
    for cause in knowledge.causes:
        assert cause.look_again is not None
        assert 1 <= cause.look_again.after_days <= 60, cause.id
        for link in cause.signs:
            assert link.to_day is None or link.to_day >= cause.from_day, (cause.id, link.sign)
            assert cause.to_day is None or link.from_day <= cause.to_day, (cause.id, link.sign)


def test_styles_ripen_in_order(knowledge: Knowledge) -> None:
    for family in knowledge.families:
        for style in family.styles:
            assert 0 < style.shows_by_day < style.closed_by_day <= style.ready_day, style.id


def test_amounts_are_in_order_and_in_reason(knowledge: Knowledge) -> None:
    """Most that any page may ask for, per unit: judgement, no source. Far below it lies every printed figure."""
    most = {"kg of cheese": 40, "litre of wash": 100, "face": 50}
    for id, amount in amounts(knowledge):
        assert 0 <= amount.low <= amount.high <= most[amount.per], (id, amount)


def test_a_number_question_has_its_unit_and_limits(knowledge: Knowledge) -> None:
    for q in knowledge.questions:
        if q.kind == "number":
            assert q.unit, q.id
            assert q.minimum is not None, q.id
            assert q.maximum is not None, q.id
            assert q.minimum < q.maximum, q.id
        else:
            assert not q.unit, q.id


def test_the_first_rate_on_sound_rinds_holds_everywhere(knowledge: Knowledge) -> None:
    """It is what counts when no other fits, so it must not be bound to a rind or an age."""
    for sign in knowledge.signs:
        first = sign.on_sound_rinds[0]
        assert (first.rinds, first.from_day, first.to_day) == ((), 0, None), sign.id


def test_every_cause_and_row_names_its_rinds(knowledge: Knowledge) -> None:
    for cause in knowledge.causes:
        assert cause.rinds, cause.id
        assert cause.name.strip(), cause.id
    for row in knowledge.normal:
        assert row.rinds, row.id
        assert row.name.strip(), row.id
