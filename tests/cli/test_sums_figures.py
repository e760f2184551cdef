"""Figures on every screen of the sums: digits a maker can use, no power of ten, no minus nought; US units beside."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.sums.kitchen import plainly

from .test_sums_absurd import SOUND, call, run, variants

UGLY = re.compile(
    r"\d[eE][+-]?\d|(?<![\w.])-0(?:\.0+)?(?![\d.])|(?<![\d.])[1-9]\d*\.\d{4}|(?<![\d.])0\.0*[1-9]\d{4}|\d\.\d{8}"
)
"""A power of ten, a minus nought, more than three digits after the point, or more than four that count below one."""
MORE = ("0", "0.001", "-0.04", "3.33333", "12.34567", "99.9", "12345.678", "9999999")
METRIC = re.compile(r".{0,30}\d (?:°C|kg)(?![\w/]| \()")
"""A temperature or kilograms without their US unit behind."""


def swept(name: str, *flags: str) -> Iterator[tuple[tuple[str, ...], str]]:
    for options in variants(name):
        for change in [{}, *({option: text} for option in options for text in MORE)]:
            told = call(name, options | change)
            code, out, err, problem = run(*told, *flags)
            yield tuple(told), out if code == 0 else f"{err} {problem}"


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", SOUND)
def test_every_figure_can_be_read(name: str) -> None:
    for told, text in swept(name):
        typed = " ".join(told)
        for found in UGLY.finditer(joined(text)):
            near = joined(text)[max(0, found.start() - 30) : found.end() + 10]
            # What was typed is said again as it was typed.
            assert any(found[0] in word for word in typed.split()), (told, near)


@pytest.mark.parametrize("name", SOUND)
def test_us_units_stand_beside_temperatures_and_weights(name: str) -> None:
    for options in variants(name):
        code, out, _, _ = run(*call(name, options), "--us")
        assert code == 0
        assert [m[0] for m in METRIC.finditer(joined(out))] == []
        assert not UGLY.search(joined(out)), UGLY.search(joined(out))


def test_said_before_and_after() -> None:
    assert "- 0 °Bé" in run("brine", "strength", "--strength", "0")[1]
    out = run(*call("air opening", SOUND["air opening"] | {"--volume": "9000000", "--outside-humidity": "10"}))[1]
    assert re.search(r"carries out \d{5} g of water", out), out
    out = joined(run("air", "state", "--temperature", "2.05", "--humidity", "86.1", "--us")[1])
    assert "Frost point: 0 °C (32.0 °F)" in out
    us = joined(run(*call("salt dry", SOUND["salt dry"] | {"--temperature": "54F"}), "--us")[1])
    assert "a semi-hard paste at 12.22 °C (54.0 °F)" in us
    us = joined(run(*call("air sweat", SOUND["air sweat"] | {"--weight": "4lb"}), "--us")[1])
    assert "a cheese of 1.814 kg (4.00 lb) follows" in us


@given(st.floats(-1e15, 1e15), st.integers(1, 6))
def test_a_plain_figure_is_the_figure(number: float, digits: int) -> None:
    text = plainly(number, digits)
    assert re.fullmatch(r"-?\d+(\.\d+)?", text), text
    assert text != "-0"
    assert float(text) == pytest.approx(float(f"{number:.{digits}g}"), rel=1e-9, abs=0.0005)


def test_figures_by_hand() -> None:
    for number, digits, text in (
        (-2.842e-14, 4, "0"), (15_000.0, 2, "15000"), (-0.0, 4, "0"), (12.2222222, 6, "12.222"),
        (0.00123, 6, "0.00123"),
        (100_000, 6, "100000"), (-0.04, 4, "-0.04"), (1.81437, 4, "1.814"), (1e9, 6, "1000000000"),
    ):  # fmt: skip
        assert plainly(number, digits) == text
