"""Dates as text, and figures as they are kept."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.cli.sentences import counted
from rindwright.engine.days import between, is_day, later
from rindwright.engine.rounding import six_places


@given(st.dates(date(1920, 1, 1), date(2180, 1, 1)), st.integers(-5000, 5000))
def test_days_are_counted_and_moved(start: date, days: int) -> None:
    text = start.isoformat()
    assert is_day(text)
    if 1 <= start.toordinal() + days <= date.max.toordinal():
        assert between(text, later(text, days)) == days


@pytest.mark.parametrize(
    "text", ["2026-02-30", "2026-2-3", "20260203", "2026-W48-5", " 2026-02-03", "today", "", None, 3]
)
def test_what_is_no_day(text: object) -> None:
    assert not is_day(text)


def test_a_figure_of_any_kind_comes_out_plain_and_never_minus_nought() -> None:
    for x in (np.float64(0.12345649), np.float64(1), 0.5, 1):
        assert type(six_places(x)) is float
    assert six_places(0.12345649) == 0.123456
    assert math.copysign(1, six_places(-1e-9)) == 1


def test_a_count_and_its_noun() -> None:
    assert [counted(n, "look") for n in (0, 1, 2)] == ["0 looks", "1 look", "2 looks"]
