"""Archives with everything in them, drawn at random but the same each time. All of it is invented."""

from __future__ import annotations

import random

from rindwright.engine.answers import Answers, Value
from rindwright.engine.archive import looks, makes
from rindwright.engine.archive.learn import Learnt
from rindwright.engine.archive.learnt import take
from rindwright.engine.archive.looks import KNOWN_BY, TASTES, Given
from rindwright.engine.archive.makes import Fact
from rindwright.engine.archive.rates import Count
from rindwright.engine.archive.store import Archive
from rindwright.engine.archive.weighed import weighed_of
from rindwright.engine.days import later
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.local import Local

TEXTS = ("plain", "ünïcode – 乳酪 🧀", 'quotes " and \\ back', "two\nlines", "=SUM(A1)", "", "  blanks  ")


def random_answers(diagnoser: Diagnoser, rng: random.Random, most: int = 20) -> dict[str, Value]:
    catalog = diagnoser.catalog
    given: dict[str, Value] = {"family": "washed", "style": rng.choice(sorted(catalog.styles))}
    given["age_days"] = float(rng.randint(1, 80))
    for question in rng.sample(list(catalog.questions.values()), most):
        if question.id in given:
            continue
        if rng.random() < 0.1:
            given[question.id] = "unknown"
        elif question.kind == "scale":
            given[question.id] = rng.choice(["no", "no", "slight", "clear"])
        elif question.kind == "yes_no":
            given[question.id] = rng.choice(["yes", "no", "no"])
        elif question.kind == "one_of":
            given[question.id] = rng.choice(question.options).id
        elif question.kind == "some_of":
            given[question.id] = tuple(sorted(o.id for o in rng.sample(question.options, 2)))
        else:
            low, high = question.minimum or 0.0, question.maximum or 100.0
            given[question.id] = round(rng.uniform(low, high), 2)
    return given


def stock(archive: Archive, diagnoser: Diagnoser, number: int, seed: int, learnt: bool = True) -> None:
    """Makes, wheels, looks with all that can follow them, and a lesson learnt."""
    rng = random.Random(seed)
    wheels: list[int] = []
    causes = list(diagnoser.catalog.causes)
    for k in range(max(1, number // 4)):
        at = f"2026-09-{k % 28 + 1:02}T08:00:{k % 60:02}"
        make_id = makes.open_make(archive, f"make {k}", at, ("a", "b"))
        makes.change_make(
            archive, make_id, at,
            columns={"family": "washed", "style": "small_soft", "salting_ended_on": "2026-09-01", "milk": TEXTS[k % 4]},
            cultures=[("Invented culture", "1 dose")], wheels=["c"] if rng.random() < 0.5 else (),
            facts=[Fact("milk_heat", "raw", "2026-09-01")], planned=[Fact("humidity_pct", 92.0, "2026-09-01")],
            note=("2026-09-02", rng.choice(TEXTS)),
        )  # fmt: skip
        wheels += [row[0] for row in archive.db.execute("SELECT id FROM wheel WHERE make_id = ?", (make_id,))]
    for k in range(number):
        day = later("2026-09-03", rng.randint(0, 60))
        at = f"{day}T09:00:{k % 60:02}.{k:06}"
        look_id, _ = looks.begin(archive, None, day, at, rng.choice([None, *wheels]))
        given = random_answers(diagnoser, rng)
        since = {q: "2026-09-02" for q in given if rng.random() < 0.2}
        looks.save(
            archive, look_id,
            Given(
                tuple((q, v, since.get(q)) for q, v in given.items()), ("cracks",), (rng.choice(TEXTS),),
                listed_all=k % 2 == 0,
            ),
            at,
        )  # fmt: skip
        if rng.random() < 0.8:
            d = diagnoser.diagnose(Answers.of(given, k % 2 == 0))
            body = weighed_of(d, "washed", str(given["style"]), float(str(given["age_days"])))
            looks.finish(archive, look_id, body, later(day, 3), at)
        if rng.random() < 0.5:
            looks.add_deeds(archive, look_id, day, [(rng.choice(TEXTS), rng.choice(["", "wash"]))], at)
        if rng.random() < 0.5:
            looks.add_note(archive, look_id, day, rng.choice(TEXTS), at)
        if rng.random() < 0.6:
            chosen = rng.sample(causes, rng.randint(0, 2))
            known = rng.choice(KNOWN_BY)
            looks.add_outcome(archive, look_id, day, chosen, known, rng.random() < 0.5, rng.choice(TASTES), at)
        if rng.random() < 0.3:
            looks.close_follow_up(archive, look_id, later(day, 3), "better", at)
    if learnt:
        lesson = Learnt(Local({causes[0]: 0.5}), {f"base {causes[0]}": Count(9.0, 4.0)}, number, 3, 2.0, 1.9, 0.05, 4)
        take(archive, diagnoser.catalog, lesson, "2026-11-01T09:00:00")
