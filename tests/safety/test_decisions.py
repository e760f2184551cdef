"""The decision table of the screen: every caution fires, is missed narrowly, and heeds what is not known."""

from __future__ import annotations

from itertools import combinations

from rindwright.engine.answers import UNKNOWN, Answers
from rindwright.engine.cautions import LEVELS, rests_on
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.gates import FIRST, screened

from .decisions import rows, screened_by


def standing(diagnoser: Diagnoser, answers: Answers) -> dict[str, str]:
    return {c.id: c.level for c in screened_by(diagnoser, answers).cautions}


def worst(levels: object) -> int:
    """Gravity of the gravest level: 3 for a stop, 0 for nothing."""
    found = [3 - LEVELS.index(level) for level in levels]  # type: ignore[attr-defined]
    return max(found, default=0)


def test_every_caution_has_its_rows(diagnoser: Diagnoser) -> None:
    table = rows(diagnoser.catalog)
    assert {r.caution for r in table if r.column == "fires"} == set(diagnoser.catalog.cautions)
    assert {r.caution for r in table if r.column == "near"} == set(diagnoser.catalog.cautions)
    assert sum(r.column == "unknown" for r in table) > 25


def test_each_trigger_fires(diagnoser: Diagnoser) -> None:
    for row in rows(diagnoser.catalog):
        if row.column == "fires":
            assert row.caution in standing(diagnoser, row.answers), row


def test_each_near_miss_does_not(diagnoser: Diagnoser) -> None:
    for row in rows(diagnoser.catalog):
        if row.column == "near":
            assert row.caution not in standing(diagnoser, row.answers), row


def test_what_is_not_known_counts(diagnoser: Diagnoser) -> None:
    for row in rows(diagnoser.catalog):
        if row.column == "unknown":
            assert worst(standing(diagnoser, row.answers).values()) >= worst([row.level]), row


def test_two_triggers_together_are_no_milder_than_either(diagnoser: Diagnoser) -> None:
    """Pairs of a stop and any other grave trigger, one case each, unless their answers contradict; every third one."""
    catalog = diagnoser.catalog
    first = {r.caution: r for r in reversed(rows(catalog)) if r.column == "fires"}
    grave = [r for r in first.values() if catalog.cautions[r.caution].level != "note"]
    pairs = 0
    for a, b in combinations(grave, 2):
        if "stop" not in (catalog.cautions[a.caution].level, catalog.cautions[b.caution].level):
            continue
        mine, theirs = dict(a.answers), dict(b.answers)
        told = {k: v for k, v in theirs.items() if k not in (*FIRST, *mine)}
        if set(told) & set(rests_on(catalog, catalog.cautions[a.caution].when)):
            continue  # more is known of the very same thing, which may settle it
        if any(k in mine and mine[k] != v for k, v in theirs.items() if k not in FIRST):
            continue
        pairs += 1
        if pairs % 3:
            continue
        both = standing(diagnoser, Answers.of({**mine, **told}))
        assert a.caution in both, (a, b)
    assert pairs > 500


def test_a_whole_screen_of_dont_know_is_a_hold_on_every_rind(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    for family in catalog.families.values():
        for style in family.styles[:1]:
            given = {"family": family.id, "style": style.id, "age_days": 20.0}
            for passed in (
                diagnoser.diagnose(Answers.of({**given, **dict.fromkeys(screened(catalog), UNKNOWN)})),
                diagnoser.diagnose(Answers.of(given), frozenset(screened(catalog))),
            ):
                assert passed.verdict in ("hold", "stop"), style.id
                assert not any(s.act in ("wash", "brush", "rub", "trim", "serve") for s in passed.plan.today)


def test_the_short_way_is_the_whole_way(diagnoser: Diagnoser) -> None:
    for row in rows(diagnoser.catalog)[::11]:
        assert screened_by(diagnoser, row.answers) == diagnoser.prepare(row.answers)[2]


def test_skipping_one_question_is_the_same_as_not_knowing(diagnoser: Diagnoser) -> None:
    given = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0})
    for id in screened(diagnoser.catalog):
        skipped = screened_by(diagnoser, given, frozenset({id}))
        unknown = screened_by(diagnoser, given.adding(id, UNKNOWN))
        assert skipped == unknown, id


def test_every_grid_point_of_swelling_acid_and_mould_has_a_class(diagnoser: Diagnoser) -> None:
    """No hole in the plane: high pH, early and late gas and mould inside are stop or hold for every style."""
    alike = {(diagnoser.catalog.home[s.id], s.group, s.hardness): s.id for s in diagnoser.catalog.styles.values()}
    assert len(alike) > 10
    for style in alike.values():
        for given in (
            *({"ph_24h": ph} for ph in (5.5, 5.9, 6.0, 7.0)),
            *({"swollen_early": "yes", "milk_heat": heat} for heat in ("raw", "heated", "pasteurised", UNKNOWN)),
            {"swelling_late": "yes"},
            *({"mould_in_paste": "yes", "mould_inside_where": where} for where in ("one_crack", "elsewhere", UNKNOWN)),
            *({"mould_in_paste": "yes", "form": form} for form in ("whole", "cut", "portions", "fresh")),
        ):
            answers = Answers.of({"age_days": 30.0, "style": style, **given})
            assert screened_by(diagnoser, answers).level in ("stop", "hold"), (style, given)
