"""The day something was first seen: it opens causes that are over by now, and closes those that came later."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers, Value
from rindwright.engine.dating import Dated
from rindwright.engine.diagnosis import Diagnoser, Diagnosis
from rindwright.engine.model import Knowledge


def weighed(diagnoser: Diagnoser, **given_answers: Value) -> Diagnosis:
    return diagnoser.diagnose(Answers.of({"family": "washed", "style": "small_soft", **given_answers}))


def chance(d: Diagnosis, cause: str) -> float:
    return next((c.probability for c in d.causes if c.id == cause), 0.0)


def test_a_cause_whose_days_are_over_is_back_when_it_was_seen_in_time(diagnoser: Diagnoser) -> None:
    """Acid holds the face until day 25; looking at it on day 40 must not hide what began on day 20."""
    assert diagnoser.catalog.causes["acid_locked_surface"].to_day == 25
    late = weighed(diagnoser, age_days=40.0, tint="none", sour="clear")
    told = weighed(diagnoser, age_days=40.0, tint="none", sour="clear", first_seen_day=20.0)
    assert chance(late, "acid_locked_surface") == 0
    assert chance(told, "acid_locked_surface") > 0.2


def test_a_cause_cannot_have_shown_a_striking_sign_before_it_began(knowledge: Knowledge) -> None:
    """The same mould on the same day, once the cause is taken to start later than the mould was seen."""
    causes = tuple(replace(c, from_day=21, to_day=None) if c.id == "mucor_cat_hair" else c for c in knowledge.causes)
    late = Diagnoser(replace(knowledge, causes=causes, version="late"))
    assert late.catalog.signs["long_hairs"].salient
    without = chance(weighed(late, age_days=30.0, long_hairs="clear"), "mucor_cat_hair")
    seen_before = chance(weighed(late, age_days=30.0, long_hairs="clear", first_seen_day=9.0), "mucor_cat_hair")
    seen_after = chance(weighed(late, age_days=30.0, long_hairs="clear", first_seen_day=25.0), "mucor_cat_hair")
    assert seen_before < without / 2
    assert abs(seen_after - without) < 0.05


def test_a_mould_is_dated(diagnoser: Diagnoser) -> None:
    d = weighed(diagnoser, age_days=12.0, long_hairs="clear", first_seen_day=9.0)
    lead = diagnoser.catalog.causes["mucor_cat_hair"].shows_after
    assert lead is not None
    (found,) = [t for t in d.dated if t.cause == "mucor_cat_hair"]
    assert found == Dated("mucor_cat_hair", 9.0, lead.days, diagnoser.catalog.grade(lead.sources), lead.sources)
    assert found.by_day == 9.0 - lead.days
    assert weighed(diagnoser, age_days=12.0, long_hairs="clear").dated == ()


def test_a_day_that_has_not_come_yet_counts_as_today(diagnoser: Diagnoser) -> None:
    d = weighed(diagnoser, age_days=5.0, long_hairs="clear", first_seen_day=90.0)
    assert {t.first_seen_day for t in d.dated} <= {5.0}
    assert d.dated


@cache
def signs_of(diagnoser: Diagnoser) -> list[str]:
    return [s.id for s in diagnoser.catalog.signs.values() if s.when is None]


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_seen_first_today_opens_and_closes_nothing(diagnoser: Diagnoser, data: st.DataObject) -> None:
    age = float(data.draw(st.integers(0, 200)))
    chosen = data.draw(st.lists(st.sampled_from(signs_of(diagnoser)), max_size=5, unique=True))
    kinds = {s: diagnoser.catalog.questions[s].kind for s in chosen}
    answers = Answers.of({"style": data.draw(st.sampled_from(sorted(diagnoser.catalog.styles))), "age_days": age,
                          **{s: "clear" if kind == "scale" else "yes" for s, kind in kinds.items()}})  # fmt: skip
    plain, _, _ = diagnoser.prepare(answers)
    today, _, _ = diagnoser.prepare(answers.adding("first_seen_day", age))
    assert today.nodes == plain.nodes
    # The day is a sign of its own besides: whether it came in the first three days.
    findings = {e.sign: today.network.findings[e.finding] for e in today.evidence if e.sign in chosen}
    assert findings == {e.sign: plain.network.findings[e.finding] for e in plain.evidence if e.sign in chosen}
