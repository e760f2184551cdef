"""Every row of ``check_values.csv`` is held somewhere; rows from memory are told apart and are few."""

from __future__ import annotations

from . import test_air_published, test_growth_published, test_logger_facts, test_published_brine
from .published import ROWS, from_memory

WORKED = {
    **test_published_brine.WORKED,
    **test_air_published.WORKED,
    **test_growth_published.WORKED,
    **test_logger_facts.WORKED,
}
HELD_BY_A_TEST_OF_THEIR_OWN = {
    "geo_3mm_10", "geo_3mm_14", "geo_3mm_19", "geo_3mm_23", "geo_3mm_27", "geo_Q10_10_19",  # a trend, not a value
    "lactose_Q10", "lactate_k10",  # the course of acid
    "h_nat_1K",  # still air lies between a box and a cave
}  # fmt: skip


def test_no_row_is_left_out_and_none_is_held_twice() -> None:
    assert set(WORKED) | HELD_BY_A_TEST_OF_THEIR_OWN == set(ROWS)
    assert not set(WORKED) & HELD_BY_A_TEST_OF_THEIR_OWN


def test_every_row_names_a_source_and_how_far_it_was_checked() -> None:
    for id, row in ROWS.items():
        assert row["source"].strip(), id
        assert row["verification"].replace(";", "").split()[0] in {"seen", "ran", "definition", "memory", "formula"}, id


def test_few_rows_are_from_memory() -> None:
    """They run in tests of their own, named ``..._from_memory``, and are no oracle."""
    remembered = {id for id in ROWS if from_memory(id)}
    assert remembered == {"baume_def_10", "codex_class_71", "codex_class_60", "codex_class_45"}
