"""YAML to plain data: nothing turned silently, every trouble one clear fault with its place."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.reading.nodes import read_yaml


def test_every_scalar_stays_the_text_that_was_written() -> None:
    read = read_yaml("a: no\nb: 12:30\nc: 1.10\nd: 2026-01-02\ne: 'x'\nf: ~\ng:\n", "f")
    assert read.data == {"a": "no", "b": "12:30", "c": "1.10", "d": "2026-01-02", "e": "x", "f": None, "g": None}


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, "second time; first at line 1, column 1"),
        ("a: &x 1\n", 1, 4, "Anchors"),
        ("a: 1\nb: *a\n", 2, 4, "Aliases"),
        ("a: !!python/object:os.system x\n", 1, 4, "Tags"),
        ("[" * 60, 1, 41, "Nested"),
        ("a: 1\n---\nb: 2\n", 2, 1, "second document"),
        ("? [a]\n: b\n", 1, 3, "A key must be a word"),
        ("a: 'open\n", 2, 1, "not YAML"),
        ("a:\n\t- b\n", 2, 1, "not YAML"),
    ],
)
def test_one_fault_with_its_place(text: str, line: int, column: int, words: str) -> None:
    faults = read_yaml(text, "f").faults
    assert len(faults) == 1
    assert (faults[0].line, faults[0].column) == (line, column)
    assert words in faults[0].sentence


def test_a_hundred_thousand_open_lists_do_not_exhaust_anything() -> None:
    assert read_yaml("- " * 100_000, "f").faults


@given(st.text(max_size=300))
@settings(max_examples=300)
def test_any_text_gives_data_or_faults_inside_it(text: str) -> None:
    read = read_yaml(text, "f")
    for fault in read.faults:
        assert (
            1
            <= fault.line
            <= text.count("\n")
            + text.count("\r")
            + text.count("\x85")
            + text.count("\u2028")
            + text.count("\u2029")
            + 2
        )
