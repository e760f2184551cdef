"""The published schema of the exchange format is the one the checker uses."""

from __future__ import annotations

import json
import os
from pathlib import Path

import jsonschema
import pytest
from rindwright.engine.archive import exchange
from rindwright.engine.archive.shapes import LINE
from rindwright.engine.archive.store import Archive
from rindwright.engine.diagnosis import Diagnoser

from .stock import stock

PLACE = Path(__file__).resolve().parents[2] / "cli" / "shapes" / "archive-line.schema.json"


def test_the_schema_is_fresh() -> None:
    text = json.dumps(LINE.json_schema(by_alias=True), indent=1, sort_keys=True, ensure_ascii=False) + "\n"
    if os.environ.get("RENEW"):
        PLACE.write_text(text, encoding="utf-8")
    assert PLACE.read_text(encoding="utf-8") == text


def test_every_exported_line_fits_it(archive: Archive, diagnoser: Diagnoser) -> None:
    stock(archive, diagnoser, 4, 8)
    validator = jsonschema.Draft202012Validator(json.loads(PLACE.read_text(encoding="utf-8")))
    lines = list(exchange.lines(archive))
    assert len(lines) > 5
    for line in lines[1:]:
        validator.validate(json.loads(line))
    with pytest.raises(jsonschema.ValidationError):
        validator.validate({**json.loads(lines[-2]), "surprise": 1})
