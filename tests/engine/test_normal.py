"""What is called normal: each row on its own case, and not at another age, on another rind or against its condition."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import files
from itertools import islice
from pathlib import Path

import pytest
from rindwright.engine.answers import UNKNOWN, Answers, Value
from rindwright.engine.archive.cohort import VERDICTS
from rindwright.engine.archive.replay import Worker
from rindwright.engine.conditions import leaves
from rindwright.engine.diagnosis import NORMAL_CAUSE_CAP, NORMAL_LEAST, Diagnoser
from rindwright.engine.gates import plain_view
from rindwright.engine.model import Normal
from rindwright.engine.network import CaseNetwork
from rindwright.engine.reading.answers_file import read_answers
from rindwright.engine.reading.nodes import read_yaml

FOLDER = Path(str(files("rindwright.cases"))) / "normal"
PATHS = sorted(FOLDER.glob("*.yaml"))
SEEN = ("there", "slight")


def case_of(diagnoser: Diagnoser, path: Path) -> tuple[Normal, Answers]:
    text = path.read_text(encoding="utf-8")
    data = read_yaml(text, path.name).data
    assert isinstance(data, dict)
    expect = data["expect"]
    assert isinstance(expect, dict)
    return diagnoser.catalog.normal[str(expect["row"])], read_answers(diagnoser.catalog, text, path.name)


def rows_of(case: CaseNetwork) -> set[str]:
    """The rows that account for anything that is there."""
    return {row for e in case.evidence if e.state in SEEN for row in e.normal}


@dataclass(frozen=True)
class Tried:
    """A case with one thing changed, and the row that then must account for nothing."""

    row: Normal
    answers: Answers
    changed: str


def silent(diagnoser: Diagnoser, tried: Sequence[Tried]) -> None:
    """The row accounts for nothing; if all is normal all the same, another row or a sign of health says so."""
    verdicts = verdicts_of(diagnoser, [t.answers for t in tried])
    for one, verdict in zip(tried, verdicts, strict=True):
        if one.row.only_if is None:
            assert not diagnoser.builder.row_fits(one.row.id, plain_view(diagnoser.catalog, one.answers))
        if verdict == "normal":
            case, _, _ = diagnoser.prepare(one.answers)
            rows = rows_of(case)
            assert one.row.id not in rows, (one.row.id, one.changed)
            assert rows or any(e.healthy and e.state in SEEN for e in case.evidence), (one.row.id, one.changed)


def verdicts_of(diagnoser: Diagnoser, some: Sequence[Answers]) -> list[str]:
    """All verdicts in one pass of the replay, which gives what one look at a time gives."""
    found = Worker(diagnoser.knowledge).weigh(
        [([[q, list(v) if isinstance(v, tuple) else v, None] for q, v in a], a.listed_all) for a in some]
    )
    assert not found.hard.any()
    return [VERDICTS[k] for k in found.verdict]


@pytest.fixture(scope="module")
def cases(diagnoser: Diagnoser) -> list[tuple[Normal, Answers]]:
    return [case_of(diagnoser, path) for path in PATHS]


def test_each_row_has_a_case_that_is_normal(diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]) -> None:
    """No cause above the cap and nothing held: ``tests/test_cases.py`` looks at each in full."""
    assert {row.id for row, _ in cases} == set(diagnoser.catalog.normal)
    verdicts = verdicts_of(diagnoser, [answers for _, answers in cases])
    for (row, answers), verdict in zip(cases, verdicts, strict=True):
        assert verdict == "normal", row.id
        assert row.id in rows_of(diagnoser.prepare(answers)[0])


def other_ages(diagnoser: Diagnoser, row: Normal, answers: Answers) -> Iterator[float]:
    if row.from_day:
        yield row.from_day - 1.0
    if row.to_day is not None:
        yield row.to_day + 1.0
    if row.until_due_day:
        yield float(diagnoser.catalog.styles[str(answers.get("style"))].shows_by_day)


def test_one_day_outside_its_window_a_row_says_nothing(
    diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]
) -> None:
    tried = [
        Tried(row, answers.adding("age_days", age), f"day {age:g}")
        for row, answers in cases
        for age in other_ages(diagnoser, row, answers)
    ]
    assert len(tried) > len(cases)
    silent(diagnoser, tried)


def test_without_an_age_no_row_with_a_window_speaks(diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]) -> None:
    silent(
        diagnoser,
        [
            Tried(row, answers.without("age_days"), "no age")
            for row, answers in cases
            if row.from_day or row.to_day is not None or row.until_due_day
        ],
    )


def test_on_another_rind_a_row_says_nothing(diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]) -> None:
    """Once for each other family, on a style that the row does not name."""
    tried = []
    for row, answers in cases:
        for family in diagnoser.catalog.families.values():
            other = next((s for s in family.styles if not {s.id, s.group, family.id} & set(row.rinds)), None)
            if row.rinds and other is not None:
                moved = answers.adding("family", family.id).adding("style", other.id)
                tried.append(Tried(row, moved, other.id))
    assert len(tried) > 4 * len(cases)
    silent(diagnoser, tried)


def against(diagnoser: Diagnoser, row: Normal, answers: Answers) -> Iterator[Answers]:
    """The answers with one thing changed or taken back that the row's condition looks at."""
    assert row.only_if is not None
    catalog = diagnoser.catalog
    for leaf in leaves(row.only_if):
        name = leaf.ask or leaf.sign or leaf.unanswered
        question = catalog.questions.get(name)
        if question is None:
            continue
        values: tuple[Value, ...] = {
            "yes_no": ("yes", "no"), "scale": ("clear", "no"), "one_of": tuple(o.id for o in question.options),
            "some_of": tuple((o.id,) for o in question.options),
            "number": (question.minimum or 0.0, question.maximum or 1000.0),
        }[question.kind]  # fmt: skip
        yield from (answers.adding(name, value) for value in (*values, UNKNOWN))


def test_against_its_condition_a_row_says_nothing(diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]) -> None:
    tried, conditioned = [], 0
    for row, answers in cases:
        if row.only_if is None:
            continue
        without = (a for a in against(diagnoser, row, answers) if row.id not in rows_of(diagnoser.prepare(a)[0]))
        some = list(islice(without, 2))
        assert some, row.id
        tried += [Tried(row, changed, "its condition") for changed in some]
        conditioned += 1
    assert conditioned > 15
    silent(diagnoser, tried)


# --- signs that a sound rind shows often --------------------------------------------------------


def usual_signs(diagnoser: Diagnoser, answers: Answers) -> list[str]:
    """Signs not answered yet that a sound rind of this kind and age shows often, and no row accounts for."""
    catalog = diagnoser.catalog
    case, _, _ = diagnoser.prepare(answers)
    return [
        s.id for s in catalog.signs.values()
        if s.when is None and not s.healthy and answers.get(s.id) is None
        and diagnoser.builder.counts(s, case.cheese) and not diagnoser.builder.normal_rows(s.id, case.view)
        and diagnoser.builder.usual(diagnoser.builder.leak_key(s, case.cheese))
    ]  # fmt: skip


def test_what_a_sound_rind_shows_often_does_not_trouble(
    diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]
) -> None:
    """It may raise a cause above the cap, but it is no trouble by itself."""
    catalog = diagnoser.catalog
    more = [
        (sign, answers.adding(sign, "clear" if catalog.questions[sign].kind == "scale" else "yes"))
        for _, answers in cases
        for sign in usual_signs(diagnoser, answers)[:2]
    ]
    assert len(more) > 15
    verdicts = verdicts_of(diagnoser, [answers for _, answers in more])
    assert verdicts.count("normal") > len(more) / 2
    for (sign, answers), verdict in zip(more, verdicts, strict=True):
        case, _, _ = diagnoser.prepare(answers)
        assert next(e for e in case.evidence if e.sign == sign).usual
        if verdict == "undecided":
            beliefs, chance, _ = diagnoser.verdict_of(answers)
            highest = max(p for name, p in beliefs.items() if name in catalog.causes)
            assert highest >= NORMAL_CAUSE_CAP or chance < NORMAL_LEAST, sign


def test_a_print_that_stays_dry_and_an_even_paste_leave_normal_as_it_is(diagnoser: Diagnoser) -> None:
    rind: dict[str, Value] = {"family": "natural", "style": "tomme_brushed", "age_days": 50.0, "dusty_felt": "clear"}
    assert diagnoser.diagnose(Answers.of(rind)).verdict == "normal"
    assert diagnoser.diagnose(Answers.of({**rind, "wet_print": "dry"})).verdict == "normal"
    assert diagnoser.diagnose(Answers.of({**rind, "wet_print": "wet"})).verdict != "normal"
    bloom: dict[str, Value] = {
        "family": "bloomy",
        "style": "bloomy_small",
        "age_days": 30.0,
        "mushroom_smell": "slight",
    }
    assert diagnoser.diagnose(Answers.of({**bloom, "surface_ph": 7.0})).verdict == "normal"


def test_a_usual_sign_alone_proves_nothing_normal(diagnoser: Diagnoser) -> None:
    rind: dict[str, Value] = {"family": "natural", "style": "tomme_brushed", "age_days": 50.0, "wet_print": "dry"}
    case, _, _ = diagnoser.prepare(Answers.of(rind))
    assert [(e.sign, e.usual) for e in case.evidence if e.state == "there"] == [("print_dry", True)]
    assert diagnoser.diagnose(Answers.of(rind)).verdict == "undecided"


def test_columns_judge_usual_signs_as_one_look_does(diagnoser: Diagnoser, cases: list[tuple[Normal, Answers]]) -> None:
    some = [answers.adding(sign, "yes") for _, answers in cases for sign in usual_signs(diagnoser, answers)[:1]][::3]
    verdicts = verdicts_of(diagnoser, some)
    assert verdicts == [diagnoser.verdict_of(answers)[2] for answers in some]
    assert "normal" in verdicts


@pytest.mark.parametrize(
    ("style", "age", "pierced", "verdict"),
    [
        ("blue_coated", 30, None, "normal"),
        ("blue_coated", 100, None, "not normal"),
        ("blue_coated", 55, 50, "normal"),
        ("blue_coated", 100, 40, "not normal"),
        ("blue_moist", 12, None, "normal"),
        ("blue_moist", 40, None, "not normal"),
    ],
)
def test_no_veins_are_normal_only_until_air_had_its_time(
    diagnoser: Diagnoser, style: str, age: int, pierced: int | None, verdict: str
) -> None:
    holes: dict[str, Value] = {"pierced": "no"} if pierced is None else {"pierced": "yes", "pierce_day": float(pierced)}
    found = diagnoser.diagnose(Answers.of({"style": style, "age_days": float(age), "vein_state": "none", **holes}))
    assert (found.verdict == "normal") is (verdict == "normal")
