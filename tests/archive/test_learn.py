"""Learning: the formulas by hand, the gate, the caps, and that the cited knowledge stays what it is."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from dataclasses import replace

import pytest
from rindwright.engine.answers import Answers, Value
from rindwright.engine.archive import learnt as kept
from rindwright.engine.archive import looks
from rindwright.engine.archive.confirmed import WEIGHT, Confirmed, confirmed, prepare
from rindwright.engine.archive.learn import FEWEST, SURE, Learnt, fit_bases, fit_links, learn, losses_of, score
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.rates import shifts
from rindwright.engine.archive.store import Archive
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.local import BASE_CAP, NONE, Local, base_of
from rindwright.engine.network import Builder

from .faults import AT, weighed

FRAME: dict[str, Value] = {"family": "washed", "style": "small_soft", "age_days": 20.0}


def some(
    number: int, causes: frozenset[str], complete: bool = True, weight: float = 1.0, **more: Value
) -> list[Confirmed]:
    answers = Answers.of({**FRAME, **more})
    return [Confirmed(f"look {k}", answers, causes, weight, complete) for k in range(number)]


def test_base_rates_by_the_formula(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    trials = prepare(catalog, some(12, frozenset({"box_too_wet"})) + some(8, frozenset()))
    shift, counts = fit_bases(catalog, trials)
    expected = 20 * trials[0].base["box_too_wet"]
    assert counts["base box_too_wet"].of == pytest.approx(expected)
    assert counts["base box_too_wet"].seen == pytest.approx(12)
    named = {key.removeprefix("base "): count for key, count in counts.items()}
    assert shift == pytest.approx(shifts(named, BASE_CAP))
    assert shift["box_too_wet"] > shift["stale_air"]


def test_one_confirmed_cause_teaches_relative_rates_only(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    trials = prepare(catalog, some(10, frozenset({"box_too_wet"}), complete=False))
    _, counts = fit_bases(catalog, trials)
    seen = sum(c.seen for c in counts.values())
    assert sum(c.of for c in counts.values()) == pytest.approx(seen) == pytest.approx(10)


def test_an_own_view_weighs_a_fifth(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    _, counts = fit_bases(catalog, prepare(catalog, some(10, frozenset({"box_too_wet"}), weight=WEIGHT["own view"])))
    assert counts["base box_too_wet"].seen == pytest.approx(2)


def test_a_link_is_a_weighted_count(diagnoser: Diagnoser) -> None:
    """One cause, one sign, an answer that is never wrong: EM must be counting."""
    catalog = diagnoser.catalog
    trials = prepare(catalog, some(30, frozenset({"box_too_wet"}), slimy_wet="clear"))
    sure = [
        replace(t, findings=tuple(replace(f, if_there=1.0, if_not=0.0, leak=1e-9, leak_key=None) for f in t.findings))
        for t in trials
    ]
    links, _, counts = fit_links(catalog, sure)
    key = next(k for k in links if k[0] == "box_too_wet" and k[1] == "slimy_wet")
    count = counts[f"link {key[0]} {key[1]} {key[2]}"]
    assert count.seen == pytest.approx(30, abs=1e-3)
    assert count.of == pytest.approx(30)
    cited = catalog.value("frequency", catalog.causes[key[0]].signs[key[2]].seen)
    assert cited < links[key] < 1


def test_nothing_moves_beyond_its_cap(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    trials = prepare(catalog, some(400, frozenset({"stale_air"}), slimy_wet="no"))
    shift, _ = fit_bases(catalog, trials)
    assert shift["stale_air"] == pytest.approx(BASE_CAP)
    links, leaks, _ = fit_links(catalog, trials)
    for key, q in links.items():
        cited = catalog.value("frequency", catalog.causes[key[0]].signs[key[2]].seen)
        assert abs(math.log(q / (1 - q)) - math.log(cited / (1 - cited))) <= 2.326 * 0.77 + 1e-9
    assert all(0 < q < 1 for q in leaks.values())


def test_too_few_looks_teach_nothing(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    assert learn(catalog, prepare(catalog, some(FEWEST - 1, frozenset({"box_too_wet"})))) is None


def test_a_clear_lesson_passes_the_gate_and_a_turned_one_does_not(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    always = prepare(catalog, some(40, frozenset({"box_too_wet"})))
    good = learn(catalog, always)
    assert good is not None
    assert good.local.base["box_too_wet"] > 1
    assert good.after < good.before
    others = sorted(set(always[0].base) - {"box_too_wet"})
    turned = prepare(
        catalog,
        some(20, frozenset({"box_too_wet"}))
        + [look for k in range(20) for look in some(1, frozenset(others[2 * k : 2 * k + 2]))],
    )
    bad = learn(catalog, turned)
    assert bad is not None
    assert not bad.local
    assert bad.after == bad.before
    assert not bad.clear


def test_base_rates_need_not_be_proven_and_links_must_be(diagnoser: Diagnoser, monkeypatch: pytest.MonkeyPatch) -> None:
    """Scores that the gate sees are set by hand: by what was learnt, and by chance as large as said."""
    catalog, trials = diagnoser.catalog, prepare(diagnoser.catalog, some(64, frozenset({"box_too_wet"})))
    base = Local({"box_too_wet": 1.0})
    link = Local({}, {("box_too_wet", "slimy_wet", 0): 0.5})
    both = Local(base.base, link.links)

    def taken(bases: float, links: float, together: float) -> Local:
        """Gains of each over the cited knowledge, in standard errors of their own."""
        gains = {NONE.stamp: 0.0, base.stamp: bases, link.stamp: links, both.stamp: together}

        def losses(_: object, local: Local, some: list[object], __: object = None) -> list[float]:
            # Of the newest 32 looks, each lesson has a standard error of one, and no two go up and down together.
            if not local:
                return [5.0] * len(some)
            beat = [base.stamp, link.stamp, both.stamp].index(local.stamp)
            return [5 - gains[local.stamp] + math.sqrt(32) * (2 * (k >> beat & 1) - 1) for k in range(len(some))]

        def fitted(_: object, __: object, parts: tuple[bool, bool]) -> tuple[Local, dict[str, object]]:
            return {(True, False): base, (False, True): link, (True, True): both}.get(parts, NONE), {}

        monkeypatch.setattr("rindwright.engine.archive.learn.losses_of", losses)
        monkeypatch.setattr("rindwright.engine.archive.learn._fitted", fitted)
        found = learn(catalog, trials)
        assert found is not None
        assert found.after == pytest.approx(5 - gains[found.local.stamp])
        assert found.clear == (gains[found.local.stamp] > SURE)
        return found.local

    assert taken(0.9, 0.0, 0.0) == base
    assert taken(-0.9, 0.0, 0.0) == base
    assert taken(-1.1, 0.9, 0.9) == NONE
    assert taken(-1.1, 1.1, 0.0) == link
    assert taken(-0.9, 0.8, 0.8) == base  # links must be ahead of the cited knowledge as well
    assert taken(1.5, 0.0, 2.8) == base  # the two differ by the chance of both
    assert taken(1.5, 0.0, 3.0) == both


def test_corrections_change_the_network_and_nothing_else(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    local = Local({"box_too_wet": math.log(2)})
    cited = catalog.value("base_rate", catalog.causes["box_too_wet"].base_rate)
    found = base_of(catalog, local, "box_too_wet")
    assert found / (1 - found) == pytest.approx(2 * cited / (1 - cited))
    answers = Answers.of({**FRAME, "someone_ill": "yes"})
    with_it = Diagnoser(diagnoser.knowledge, local).diagnose(answers)
    assert with_it.verdict == diagnoser.diagnose(answers).verdict == "stop"
    assert [c.id for c in with_it.cautions if c.level != "note"] == [
        c.id for c in diagnoser.diagnose(answers).cautions if c.level != "note"
    ]
    chained = diagnoser.chainer.run(answers)
    assert Builder(catalog, NONE).build(answers, chained).network == diagnoser.builder.build(answers, chained).network


def test_a_lesson_is_kept_beside_the_cited_value_and_taken_back(archive: Archive, diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    lesson = learn(catalog, prepare(catalog, some(40, frozenset({"box_too_wet"}), slimy_wet="clear")))
    assert lesson is not None
    kept.take(archive, catalog, lesson, AT)
    now = kept.standing(archive, catalog)
    assert now is not None
    assert now.local == lesson.local
    assert now.looks == 40
    first = next(c for c in now.corrections if c.kind == "base" and c.cause == "box_too_wet")
    assert first.cited == pytest.approx(catalog.value("base_rate", catalog.causes["box_too_wet"].base_rate))
    assert first.local > first.cited
    assert kept.reset(archive, AT)
    assert kept.standing(archive, catalog) is None
    assert not kept.reset(archive, AT)


def test_corrections_the_knowledge_has_outgrown_are_not_applied(archive: Archive, diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    lesson = learn(catalog, prepare(catalog, some(40, frozenset({"box_too_wet"}))))
    assert isinstance(lesson, Learnt)
    kept.take(archive, catalog, lesson, AT)
    cause = replace(catalog.causes["box_too_wet"], base_rate="rare")
    causes = tuple(cause if c.id == cause.id else c for c in diagnoser.knowledge.causes)
    other = Diagnoser(replace(diagnoser.knowledge, causes=causes)).catalog
    now = kept.standing(archive, other)
    assert now is not None
    assert "box_too_wet" not in now.local.base
    assert now.outgrown == 1


def test_an_outcome_of_other_knowledge_teaches_nothing(archive: Archive, diagnoser: Diagnoser) -> None:
    for name, causes in (("gone", ["house_cause"]), ("half", ["house_cause", "box_too_wet"]), ("sound", [])):
        look_id, _ = looks.begin(archive, name, "2026-10-01", AT)
        looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in FRAME.items())), AT)
        looks.add_outcome(archive, look_id, "2026-10-09", causes, "lens", True, "not tasted", AT)
    assert [(c.name, set(c.causes)) for c in confirmed(archive, diagnoser.catalog)] == [("sound", set())]


def test_learning_weighs_what_a_diagnosis_weighs(archive: Archive, diagnoser: Diagnoser) -> None:
    """Also what follows from weighings, which nobody answers."""
    more: dict[str, Value] = {
        "weight_g": 2050.0, "weight_earlier_g": 2165.0, "weight_earlier_days": 11.0, "cheese_width_cm": 20.0,
        "cheese_height_cm": 7.0, "style": "monastery",
    }  # fmt: skip
    look_id, _ = looks.begin(archive, "weighed", "2026-10-01", AT)
    looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in {**FRAME, **more}.items())), AT)
    looks.add_outcome(archive, look_id, "2026-10-09", ["box_too_dry"], "lens", True, "not tasted", AT)
    trials = prepare(diagnoser.catalog, confirmed(archive, diagnoser.catalog))
    told, _, _ = diagnoser.verdict_of(Answers.of({**FRAME, **more}))
    told.pop("something else")
    by_hand = -sum(math.log(p if c == "box_too_dry" else 1 - p) for c, p in told.items())
    assert score(diagnoser.catalog, NONE, trials) == pytest.approx(by_hand, rel=1e-6)
    assert "rind_loss_g_m2_day" in dict(trials[0].look.answers)


@pytest.mark.parametrize("seed", ["1", "2", "3"])
def test_the_order_of_a_set_decides_no_digit(seed: str) -> None:
    """Run in processes whose sets are ordered otherwise (PYTHONHASHSEED)."""
    told = subprocess.run(
        [sys.executable, "-c", IN_ANY_ORDER], env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    once = subprocess.run(
        [sys.executable, "-c", IN_ANY_ORDER], env={**os.environ, "PYTHONHASHSEED": "4"}, capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    assert told.stdout == once.stdout
    assert len(told.stdout) > 100


IN_ANY_ORDER = """
from importlib.resources import files
from pathlib import Path
from rindwright.engine.answers import Answers
from rindwright.engine.archive.confirmed import Confirmed, prepare
from rindwright.engine.archive.learn import fit_bases
from rindwright.engine.catalog import Catalog
from rindwright.engine.reading import load_checked
catalog = Catalog(load_checked(Path(str(files("rindwright.knowledge")))))
frame = Answers.of({"family": "washed", "style": "small_soft", "age_days": 20.0})
causes = [c.id for c in catalog.causes.values() if "washed" in c.rinds]
looks = [Confirmed(str(k), frame, frozenset(causes[k : k + 7]), 0.2 + k / 30, k % 2 > 0) for k in range(20)]
print([repr(s) for s in fit_bases(catalog, prepare(catalog, looks))[0].values()])
"""


def test_only_the_latest_outcome_counts_and_order_is_that_of_outcomes(archive: Archive, diagnoser: Diagnoser) -> None:
    for name in ("first", "second"):
        look_id, _ = looks.begin(archive, name, "2026-10-01", AT)
        looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in FRAME.items())), AT)
        looks.finish(archive, look_id, weighed(), None, AT)
    looks.add_outcome(archive, 1, "2026-10-09", ["cheese_mites"], "own view", False, "not tasted", AT)
    looks.add_outcome(archive, 2, "2026-10-10", [], "lens", True, "good", AT)
    looks.add_outcome(archive, 1, "2026-10-11", ["box_too_wet"], "laboratory", True, "not tasted", AT)
    found = confirmed(archive, diagnoser.catalog)
    assert [(c.name, set(c.causes), c.weight, c.complete) for c in found] == [
        ("second", set(), 1.0, True),
        ("first", {"box_too_wet"}, 1.0, True),
    ]


def test_the_score_is_the_log_loss(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    trials = prepare(catalog, some(1, frozenset({"box_too_wet"})))
    beliefs, _, _ = diagnoser.verdict_of(trials[0].look.answers)
    beliefs.pop("something else")
    by_hand = -sum(math.log(p if c == "box_too_wet" else 1 - p) for c, p in beliefs.items())
    assert score(catalog, NONE, trials) == pytest.approx(by_hand, rel=1e-6)


def test_looks_that_cannot_be_written_out_score_the_same(diagnoser: Diagnoser, monkeypatch: pytest.MonkeyPatch) -> None:
    from rindwright.engine.belief import TooWide

    def too_wide(*_: object) -> None:
        raise TooWide(99)

    catalog = diagnoser.catalog
    looks_ = some(3, frozenset({"box_too_wet"}), slimy_wet="clear") + some(3, frozenset({"stale_air"}), complete=False)
    trials = prepare(catalog, looks_)
    local = Local({"box_too_wet": 0.7})
    plain = losses_of(catalog, local, trials)
    monkeypatch.setattr("rindwright.engine.archive.lanes.MOST_FOR", -1)
    monkeypatch.setattr("rindwright.engine.archive.lanes.beliefs", too_wide)
    assert losses_of(catalog, local, trials) == pytest.approx(plain, rel=1e-6)
    assert len(set(plain)) > 1
