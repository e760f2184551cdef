"""Every formula names where it holds and sources that are listed; every source serves some formula or table."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import fields, is_dataclass

import pytest
from rindwright.engine import amounts, sums
from rindwright.engine.sums.ground import Formula, OutOfRange, above_zero, sources, within

MODULES = [importlib.import_module(f"{sums.__name__}.{m.name}") for m in pkgutil.iter_modules(sums.__path__)]
FORMULAS = {f.id: f for module in (*MODULES, amounts) for f in vars(module).values() if isinstance(f, Formula)}


@pytest.mark.parametrize("id", FORMULAS)
def test_a_formula_is_whole(id: str) -> None:
    formula = FORMULAS[id]
    for source in (formula.source, *formula.also):
        assert source in sources(), f"{id} names {source}"
    assert formula.name
    assert formula.expression
    assert formula.valid
    assert not formula.valid.endswith(".")


def test_ids_are_given_once() -> None:
    seen: dict[str, Formula] = {}
    for module in (*MODULES, amounts):
        for thing in vars(module).values():
            if isinstance(thing, Formula):
                assert seen.setdefault(thing.id, thing) == thing


def test_records_are_frozen() -> None:
    for module in MODULES:
        for thing in vars(module).values():
            if isinstance(thing, type) and is_dataclass(thing):
                assert thing.__dataclass_params__.frozen, thing  # type: ignore[attr-defined]
                assert fields(thing)


def test_sources_say_how_far_they_were_checked() -> None:
    for source in sources().values():
        assert source.reference.strip()
        assert source.checked in ("seen", "seen second-hand", "title only", "memory")


def test_refusals_are_for_numbers() -> None:
    with pytest.raises(OutOfRange, match="expected 1 to 2 g: because"):
        within("It", 3, 1, 2, "g", "because")
    for wrong in (0.0, -1.0, float("inf"), float("nan")):
        with pytest.raises(OutOfRange, match="more than 0"):
            above_zero("It", wrong, "g")
