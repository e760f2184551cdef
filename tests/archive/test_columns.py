"""Columns of conditions against one look at a time: every circumstance, sign and caution of the knowledge."""

from __future__ import annotations

import json

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rindwright.engine.archive.columns import Cohort, Reader
from rindwright.engine.conditions import truth
from rindwright.engine.diagnosis import Diagnoser

from ..strategies import answers_of


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_every_condition_is_as_for_one_look(diagnoser: Diagnoser, data: st.DataObject) -> None:
    catalog = diagnoser.catalog
    some = data.draw(st.lists(answers_of(catalog, max_size=60), min_size=1, max_size=6))
    kept = [json.loads(json.dumps([[q, v, None] for q, v in a])) for a in some]
    cohort = Cohort(catalog, Reader(catalog).read(kept, len(kept)), np.array([a.listed_all for a in some]))
    for row, answers in enumerate(some):
        case, chained, _ = diagnoser.prepare(answers)
        view = case.view
        for name in catalog.circumstances:
            so, not_so = (bool(flags[row]) for flags in cohort.holds(name))
            assert (so, not_so) == (chained.circumstance(name) is True, chained.circumstance(name) is False), name
        for name in catalog.signs:
            so, not_so = (bool(flags[row]) for flags in cohort.sign(name))
            assert (so, not_so) == (chained.sign(name) is True, chained.sign(name) is False), name
        for caution in catalog.cautions.values():
            so, not_so = (bool(flags[row]) for flags in cohort.truth(caution.when))
            known = truth(caution.when, view)
            assert (so, not_so) == (known is True, known is False), caution.id


def test_answers_that_no_longer_fit_are_passed_over(diagnoser: Diagnoser) -> None:
    kept = [[["gone", "yes", None], ["age_days", "soon", None], ["cracks", "clear", None], ["age_days", -4.0, None]]]
    found = Reader(diagnoser.catalog).read(kept, 1)
    assert set(found) == {"cracks"}
    assert found["cracks"].where(lambda v: v == "clear").tolist() == [True]
