"""``check_values.csv``: published and worked values, each with its source and how far it was checked.

``expected`` holds within ``tolerance``, or exactly where that says so. A row whose check is "memory"
is no oracle: tests that use one are kept apart, in functions named ``..._from_memory``.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

with (Path(__file__).parent / "check_values.csv").open(encoding="utf-8") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}

Worked = Callable[[], float | str]


def from_memory(id: str) -> bool:
    """Whether nobody looked the value up."""
    return ROWS[id]["verification"].startswith(("memory", "formula memory"))


def seen(worked: Mapping[str, Worked]) -> list[str]:
    """Ids of values that were looked up, run or follow by definition."""
    return [id for id in worked if not from_memory(id)]


def remembered(worked: Mapping[str, Worked]) -> list[str]:
    """Ids of values from memory."""
    return [id for id in worked if from_memory(id)]


def agrees(id: str, found: float | str) -> None:
    """Hold a result against its row."""
    row = ROWS[id]
    ground = f"{id}: {row['quantity']} ({row['inputs']}); source: {row['source']}, {row['verification']}"
    assert row["source"].strip(), ground
    if isinstance(found, str):
        assert found == row["expected"], ground
    elif row["tolerance"] == "exact":
        assert found == float(row["expected"]), ground
    else:
        assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]), rel=0), ground
