"""Two looks, or two makes, side by side: what differed, and which differences moved the ranking.

A difference is weighed by putting it back: the second set of answers with this one answer as in the first.
What the log-odds of a cause change by is that answer's part, all else as it is now.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..answers import Answers, Value
from ..catalog import Catalog
from ..fallback import weigh
from ..odds import log_odds
from .looks import fitting
from .makes import full
from .store import Archive

if TYPE_CHECKING:
    from ..diagnosis import Diagnoser

LEAST = 0.10
"""Log-odds below which a difference is not said to have moved a cause."""
FOLLOWED = 4
"""Causes that are followed from one side to the other."""
_FLOOR = 1e-6


@dataclass(frozen=True, slots=True)
class Difference:
    """One question answered in two ways, and how far that moved each followed cause (log-odds)."""

    question: str
    before: Value | None
    after: Value | None
    moved: tuple[tuple[str, float], ...]

    @property
    def weight(self) -> float:
        """The largest move."""
        return max((abs(by) for _, by in self.moved), default=0.0)


@dataclass(frozen=True, slots=True)
class Compared:
    """All differences, those that moved most first, and the causes on both sides."""

    differences: tuple[Difference, ...]
    causes: tuple[tuple[str, float | None, float | None], ...]
    """Cause, probability before and after, 0 to 1; None where it does not apply to that cheese."""


def posteriors(diagnoser: Diagnoser, answers: Answers) -> dict[str, float]:
    """The probability of every cause that may be there."""
    case, _, _ = diagnoser.prepare(answers)
    found = weigh(case.network).posterior[:, 0]
    return {name: float(p) for name, p in zip(case.nodes[:-1], found[:-1], strict=True)}


def compare(diagnoser: Diagnoser, before: Answers, after: Answers) -> Compared:
    """How the second set of answers differs from the first."""
    first, second = posteriors(diagnoser, before), posteriors(diagnoser, after)
    ranked = sorted({*first, *second}, key=lambda c: (-max(first.get(c, 0), second.get(c, 0)), c))
    followed = ranked[:FOLLOWED]
    found = []
    order = {name: k for k, name in enumerate(diagnoser.catalog.questions)}
    names = sorted({q for q, _ in before} | {q for q, _ in after}, key=lambda q: order.get(q, 0))
    for question in names:
        a, b = before.get(question), after.get(question)
        if a == b:
            continue
        back = after.without(question) if a is None else after.adding(question, a)
        put_back = posteriors(diagnoser, back)
        moved = [(c, log_odds(second.get(c, 0), _FLOOR) - log_odds(put_back.get(c, 0), _FLOOR)) for c in followed]
        told = sorted(((c, by) for c, by in moved if abs(by) >= LEAST), key=lambda m: (-abs(m[1]), m[0]))
        found.append(Difference(question, a, b, tuple(told)))
    found.sort(key=lambda d: (-round(d.weight, 9), order.get(d.question, 0)))
    return Compared(tuple(found), tuple((c, first.get(c), second.get(c)) for c in followed))


def make_answers(archive: Archive, catalog: Catalog, make_id: int) -> Answers:
    """Everything known of a make as one set of answers: its facts, then its looks, the later word standing."""
    make = full(archive, make_id)
    kept = [[key, make[key], None] for key in ("family", "style") if make[key]]
    kept += [[f["question"], f["value"], None] for f in make["facts"] if not f["planned"]]
    for (body,) in archive.db.execute(
        "SELECT answers FROM said JOIN look ON look.id = look_id JOIN wheel ON wheel.id = wheel_id WHERE make_id = ? "
        "ORDER BY looked_on, look.id",
        (make_id,),
    ):
        kept += [answer for answer in json.loads(body) if answer[1] != "unknown"]
    return Answers.of((q, v) for q, v, _ in fitting(catalog, kept))
