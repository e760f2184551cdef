"""A worse answer is never held against a cause that a milder one speaks for.

Two circumstances of one cause that hang on the same question are a ladder when one answer makes only the first hold and
another only the second. Each rung that fails then lowers the cause although the answer is on its side. The milder rung
has to hold at the worse answer too, unless the two answers are not more and less of one thing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, pairwise, product
from math import prod

from rindwright.engine.answers import Answers, Value
from rindwright.engine.catalog import Catalog, Cheese
from rindwright.engine.conditions import View, leaves, truth
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Cause, Condition

SIDE_BY_SIDE = {
    # Answers of one question that are different things, not more and less of one.
    ("bloom_culture_weak", "bloom_spray"),  # spraying one face only; a small dose and no spraying at all
    ("boards_wrong", "board_kind"),  # new wood; resin or paint
    ("carrier_rub", "rub"),  # leaves, oil, ash
    ("cheese_mites", "brush_how"),  # not brushed; brushed dry
    ("uneven_salting", "salt_spread"),  # one face; clumps
    ("unpigmented_strain_or_dark", "culture_colour"),  # sold as pale; one species
    ("wrap_too_early", "wrap_state"),  # wet; pale
    ("wrap_too_late", "wrap_state"),
    # Dry air with a rind already above pH 7, and the middling air that mould likes, are two ways to the same mould.
    ("dusty_flat_mould", "humidity_pct"),
}
FRAME = ("family", "style", "age_days")
MOST = 20_000


def test_no_worse_answer_speaks_against(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    found = {
        (cause.id, question, *pair)
        for cause in catalog.causes.values()
        for some in (tuple(s.when for s in cause.likelier), tuple(a.when for a in cause.against if a.when))
        for pair in combinations(some, 2)
        for question in _laddered(catalog, cause, *pair)
    }
    assert {f for f in found if f[:2] not in SIDE_BY_SIDE} == set()
    assert {f[:2] for f in found} == SIDE_BY_SIDE, "take what no longer applies off the list"


def test_a_fuller_box_says_no_less_than_a_half_full_one(diagnoser: Diagnoser) -> None:
    """More than half full was once shown with "not so: a third to half"."""
    chances = [
        _chance(diagnoser, "box_too_wet", box_fill=fill, slimy_wet="clear") for fill in ("third", "half", "full")
    ]
    assert chances == sorted(set(chances))


def test_a_stronger_wash_says_no_less_than_a_strong_one(diagnoser: Diagnoser) -> None:
    """200 g/L was once held against "Wash too salty" for not being 50 to 80."""
    washes = [
        _chance(diagnoser, "wash_brine_too_strong", wash_salt_g_per_l=g, wash_interval_days=1.0, dry_leather="clear")
        for g in (40.0, 60.0, 90.0)
    ]
    assert washes == sorted(set(washes))


def _chance(diagnoser: Diagnoser, cause: str, **said: Value) -> float:
    """How likely a cause is on a monastery cheese, when no answer that speaks of it is held against it."""
    frame: dict[str, Value] = {"family": "washed", "style": "monastery", "age_days": 18.0}
    answers = Answers.of([*frame.items(), *said.items()])
    case, _, _ = diagnoser.prepare(answers)
    so = {s.so for s in case.shifts if s.cause == cause}
    assert len(so) == 1 or said.get("box_fill") == "half" or said.get("wash_salt_g_per_l") == 60
    return diagnoser.verdict_of(answers)[0][cause]


def _laddered(catalog: Catalog, cause: Cause, first: str, second: str) -> Iterator[str]:
    asked = [_asked(catalog, catalog.circumstances[id].when) for id in (first, second)]
    shared = sorted(set(asked[0]) & set(asked[1]) - set(FRAME))
    for question in shared:
        if catalog.questions[question].kind == "some_of":
            continue  # each option is a yes or no of its own
        points = {q: _points(catalog, q, asked[0].get(q, []) + asked[1].get(q, [])) for q in {**asked[0], **asked[1]}}
        others = sorted(set(points) - {question})
        assert prod(len(points[q]) for q in others) <= MOST
        if _apart(catalog, cause, (first, second), question, points, others):
            yield question


def _apart(
    catalog: Catalog,
    cause: Cause,
    pair: tuple[str, str],
    question: str,
    points: dict[str, list[Value]],
    others: list[str],
) -> bool:
    """Whether on some cheese one answer makes only the one hold, and another only the other."""
    for family in catalog.families.values():
        for style in family.styles:
            frame: list[tuple[str, Value]] = [("family", family.id), ("style", style.id)]
            bare = Answers.of(frame)
            cheese = bare.cheese(catalog)
            if not cheese.is_one_of(cause.rinds) or False in _both(catalog, pair, bare, cheese):
                continue  # one of them can never hold on this rind
            for chosen in product(*(points[q] for q in others)):
                only = set()
                for value in points[question]:
                    answers = Answers.of([*frame, *zip(others, chosen, strict=True), (question, value)])
                    only.add(_both(catalog, pair, answers, answers.cheese(catalog)))
                if {(True, False), (False, True)} <= only:
                    return True
    return False


def _both(catalog: Catalog, pair: tuple[str, str], answers: Answers, cheese: Cheese) -> tuple[bool | None, ...]:
    return tuple(_holds(catalog, id, answers, cheese) for id in pair)


def _holds(catalog: Catalog, id: str, answers: Answers, cheese: Cheese) -> bool | None:
    def sign(name: str) -> bool | None:
        return truth(catalog.signs[name].when or Condition(ask=name), view)

    view = View(answers, cheese, lambda name: _holds(catalog, name, answers, cheese), sign)
    return truth(catalog.circumstances[id].when, view)


def _asked(catalog: Catalog, condition: Condition) -> dict[str, list[Condition]]:
    """The questions a condition hangs on in the end, each with the tests on it."""
    asked: dict[str, list[Condition]] = {}
    for leaf in _bottom(catalog, condition):
        if leaf.ask:
            asked.setdefault(leaf.ask, []).append(leaf)
    return asked


def _bottom(catalog: Catalog, condition: Condition) -> Iterator[Condition]:
    for leaf in leaves(condition):
        if leaf.holds:
            yield from _bottom(catalog, catalog.circumstances[leaf.holds].when)
        elif leaf.sign:
            yield from _bottom(catalog, catalog.signs[leaf.sign].when or Condition(ask=leaf.sign))
        else:
            yield leaf


def _points(catalog: Catalog, question: str, tests: Iterable[Condition]) -> list[Value]:
    """Answers that stand for all others: every option, or each limit and a place on either side of it."""
    asked = catalog.questions[question]
    if asked.kind == "scale":
        return ["no", "slight", "clear"]
    if asked.kind == "yes_no":
        return ["no", "yes"]
    if asked.kind == "one_of":
        return [o.id for o in asked.options]
    if asked.kind == "some_of":
        return [(o.id,) for o in asked.options]
    limits = sorted({x for t in tests for x in (t.below, t.at_most, t.above, t.at_least) if x is not None})
    between = [(a + b) / 2 for a, b in pairwise(limits)]
    places = sorted({limits[0] - 0.5, *limits, *between, limits[-1] + 0.5})
    low = -1e9 if asked.minimum is None else asked.minimum
    high = 1e9 if asked.maximum is None else asked.maximum
    return [p for p in places if low <= p <= high]
