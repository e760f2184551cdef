"""Many looks at once give the numbers of one look at a time."""

from __future__ import annotations

import importlib.util
import json
import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rindwright.engine.answers import Answers
from rindwright.engine.archive import listing, looks
from rindwright.engine.archive.changes import changed, why
from rindwright.engine.archive.cohort import VERDICTS
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.problems import ArchiveProblem
from rindwright.engine.archive.replay import Worker, replay, replay_on
from rindwright.engine.archive.store import Archive
from rindwright.engine.archive.weighed import REASONS_KEPT, weighed_of
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.local import Local

from ..strategies import answers_of
from .faults import AT

ROUNDING = 1e-8
"""The sum over "explained or not" may leave a millionth of its largest term, and lose digits so (2e-9 was seen)."""


def kept(answers: Answers) -> list[list[object]]:
    return json.loads(json.dumps([[q, list(v) if isinstance(v, tuple) else v, None] for q, v in answers]))


@pytest.fixture(scope="module")
def local(diagnoser: Diagnoser) -> Local:
    rng = random.Random(3)
    links = {
        (c.id, link.sign, k): rng.uniform(0.05, 0.95)
        for c in diagnoser.catalog.causes.values()
        for k, link in enumerate(c.signs)
    }
    return Local(
        {c: rng.gauss(0, 1) for c in diagnoser.catalog.causes}, links, {("slimy_wet", 0): 0.3, ("cracks", 0): 0.2}
    )


@pytest.fixture(scope="module")
def workers(diagnoser: Diagnoser, local: Local) -> list[tuple[Worker, Diagnoser]]:
    knowledge = diagnoser.knowledge
    return [(Worker(knowledge), diagnoser), (Worker(knowledge, local), Diagnoser(knowledge, local))]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_columns_equal_one_look_at_a_time(workers: list[tuple[Worker, Diagnoser]], data: st.DataObject) -> None:
    worker, single = workers[data.draw(st.integers(0, 1))]
    some = data.draw(st.lists(answers_of(single.catalog, max_size=40), min_size=1, max_size=8))
    found = worker.weigh([(kept(a), a.listed_all) for a in some])
    for row, answers in enumerate(some):
        beliefs, normal, verdict = single.verdict_of(answers)
        names = (*worker.nodes, "something else")
        ours = dict(zip(names, found.posterior[row], strict=True))
        for name in names:
            assert ours[name] == pytest.approx(beliefs.get(name, 0.0), abs=ROUNDING), (name, answers)
        assert found.normal[row] == pytest.approx(normal, abs=ROUNDING)
        assert VERDICTS[found.verdict[row]] == verdict


@pytest.mark.parametrize(
    "told",
    [
        {"made_days_ago": 40.0},
        {"made_days_ago": 3.0, "age_days": "unknown"},
        {"made_days_ago": 90.0, "first_seen_day": 60.0, "blue_green_spot": "clear"},
        {"made_days_ago": 40.0, "age_days": 30.0},
        {"weight_g": 900.0, "weight_earlier_g": 1000.0, "weight_earlier_days": 5.0},
        {"made_days_ago": 70.0, "for_sale": "sold", "sale_country": "us", "milk_heat": "raw"},
    ],
)
def test_what_is_worked_out_first_is_worked_out_in_columns_too(
    workers: list[tuple[Worker, Diagnoser]], told: dict[str, float | str]
) -> None:
    """The age from the day of making, and the loss from weighings."""
    worker, single = workers[0]
    for style in ("small_soft", "blue_moist", "hard_bare", "tomme_grey"):
        answers = Answers.of({"family": single.catalog.home[style], "style": style, "cracks": "clear", **told})
        found = worker.weigh([(kept(answers), False)])
        beliefs, normal, verdict = single.verdict_of(answers)
        ours = dict(zip((*worker.nodes, "something else"), found.posterior[0], strict=True))
        assert ours == pytest.approx({name: beliefs.get(name, 0.0) for name in ours}, abs=1e-9)
        assert found.normal[0] == pytest.approx(normal, abs=1e-9)
        assert VERDICTS[found.verdict[0]] == verdict


def test_the_verdict_is_that_of_a_whole_diagnosis(diagnoser: Diagnoser) -> None:
    for answers in some_answers(diagnoser, 12, 5):
        d = diagnoser.diagnose(answers)
        beliefs, normal, verdict = diagnoser.verdict_of(answers)
        assert verdict == d.verdict
        assert normal == pytest.approx(d.normal.probability, abs=1e-9)
        for cause in d.causes:
            assert beliefs[cause.id] == pytest.approx(cause.probability, abs=1e-9)


def some_answers(diagnoser: Diagnoser, number: int, seed: int) -> list[Answers]:
    """Answers drawn without hypothesis: a spread of ages, styles and questions."""
    rng = random.Random(seed)
    catalog = diagnoser.catalog
    found = []
    for _ in range(number):
        given_: dict[str, object] = {"family": "washed", "style": rng.choice(sorted(catalog.styles))}
        given_["age_days"] = float(rng.randint(1, 80))
        for question in rng.sample(list(catalog.questions.values()), 25):
            if question.kind == "scale":
                given_[question.id] = rng.choice(["no", "no", "slight", "clear"])
            elif question.kind == "yes_no":
                given_[question.id] = rng.choice(["yes", "no", "no"])
            elif question.kind == "one_of" and question.id not in ("family", "style"):
                given_[question.id] = rng.choice(question.options).id
        found.append(Answers.of(given_.items()))  # type: ignore[arg-type]
    return found


@pytest.fixture
def stocked(archive: Archive, diagnoser: Diagnoser) -> Archive:
    for answers in some_answers(diagnoser, 14, 6):
        look_id, _ = looks.begin(archive, None, "2026-10-01", AT)
        looks.save(archive, look_id, Given(tuple((q, v, None) for q, v in answers)), AT)
        d = diagnoser.diagnose(answers)
        looks.finish(archive, look_id, weighed_of(d, "washed", None, None), None, AT)
    return archive


def test_nothing_changes_under_the_same_knowledge(stocked: Archive, diagnoser: Diagnoser) -> None:
    table = replay(stocked, diagnoser.knowledge)
    assert len(table) == 14
    assert changed(table, tuple(diagnoser.catalog.causes)) == []
    assert np.abs(table["probability"] - table["then_probability"]).max() < 1e-5


def test_other_numbers_change_looks_and_say_which(stocked: Archive, diagnoser: Diagnoser) -> None:
    row = next(r for r in listing.listed(stocked) if r.first_cause and (r.first_probability or 0) > 0.05)
    local = Local({row.first_cause or "": -2.0})
    found = changed(replay(stocked, diagnoser.knowledge, local), tuple(diagnoser.catalog.causes))
    mine = next(c for c in found if c.id == row.id)
    assert mine.then_first == row.first_cause
    assert mine.probability != mine.then_probability


def test_why_says_only_what_was_kept(diagnoser: Diagnoser) -> None:
    answers = Answers.of(
        {"family": "washed", "style": "small_soft", "age_days": 20.0, "slimy_wet": "clear", "never_dries": "yes",
         "lid_drops": "clear", "box_fill": "full", "box_lid": "sealed", "humidity_pct": 97.0, "someone_ill": "yes"}
    )  # fmt: skip
    kept_then = weighed_of(diagnoser.diagnose(answers), "washed", "small_soft", 20.0)
    causes = [c["id"] for c in kept_then["causes"][:2]]
    same = why(diagnoser, answers, kept_then, causes)
    assert (same.stands, same.fell, same.reasons) == ((), (), ())
    first = kept_then["causes"][0]
    assert len(first["for"]) == REASONS_KEPT
    # A reason that fell off the end of a full list is not called new; one that is missing from a short list is.
    cut = [{**first, "for": [*first["for"][:-1], {**first["for"][0], "by": "gone", "says": "gone"}]}]
    told = why(diagnoser, answers, {**kept_then, "causes": cut}, causes)
    assert {w.says for w in told.reasons} == {"gone"}
    short = [{**first, "for": first["for"][:2]}]
    told = why(diagnoser, answers, {**kept_then, "causes": short}, causes, most=9)
    assert {r["says"] for r in first["for"][2:]} <= {w.says for w in told.reasons}
    assert all(w.then == 0 for w in told.reasons)
    assert not why(diagnoser, answers, {**kept_then, "causes": []}, causes).reasons
    bare = why(diagnoser, answers, {**kept_then, "cautions": [{"id": "x", "level": "hold", "title": "X"}]}, causes)
    grave = tuple(c["title"] for c in kept_then["cautions"] if c["level"] != "note")
    assert grave
    assert (bare.stands, bare.fell) == (grave, ("X",))


def test_a_pool_gives_the_same_table(stocked: Archive, diagnoser: Diagnoser) -> None:
    told: list[tuple[int, int]] = []
    alone = replay(stocked, diagnoser.knowledge, size=5)
    pooled = replay(stocked, diagnoser.knowledge, processes=2, size=5, tell=lambda a, b: told.append((a, b)))
    assert alone.tobytes() == pooled.tobytes()
    assert told == [(5, 14), (10, 14), (14, 14)]


@pytest.mark.skipif(importlib.util.find_spec("distributed") is None, reason="dask is not installed")
@pytest.mark.filterwarnings("ignore")
def test_a_dask_cluster_gives_the_same_table(stocked: Archive, diagnoser: Diagnoser, tmp_path: Path) -> None:
    from distributed import Client, LocalCluster

    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, local_directory=str(tmp_path / "dask")
        ) as cluster,
        Client(cluster) as client,
    ):
        told: list[tuple[int, int]] = []
        found = replay_on(client, stocked, diagnoser.knowledge, tell=lambda a, b: told.append((a, b)), size=5)
        moved = stocked.path.with_name("elsewhere.db")
        kept_path, stocked.path = stocked.path, moved
        with pytest.raises(ArchiveProblem, match="where every worker finds it"):
            replay_on(client, stocked, diagnoser.knowledge, size=5)
        stocked.path = kept_path
    assert told[-1] == (14, 14)
    assert len(told) == 3
    assert found.tobytes() == replay(stocked, diagnoser.knowledge, size=5).tobytes()


@pytest.mark.parametrize("wide", [False, True])
def test_looks_that_cannot_be_written_out_come_out_the_same(
    diagnoser: Diagnoser, monkeypatch: pytest.MonkeyPatch, wide: bool
) -> None:
    from rindwright.engine.belief import TooWide

    def too_wide(*_: object) -> None:
        raise TooWide(99)

    some = [(kept(a), a.listed_all) for a in some_answers(diagnoser, 8, 7)]
    plain = Worker(diagnoser.knowledge).weigh(some)
    monkeypatch.setattr("rindwright.engine.archive.lanes.MOST_FOR", 0)
    if wide:
        monkeypatch.setattr("rindwright.engine.archive.lanes.beliefs", too_wide)
    other = Worker(diagnoser.knowledge).weigh(some)
    assert np.abs(plain.posterior - other.posterior).max() < 1e-9
    assert plain.verdict.tolist() == other.verdict.tolist()
    assert other.hard.any() == wide
