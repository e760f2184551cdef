"""What a replay found: looks that would be told differently today, why, and how often the first cause was right."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..diagnosis import Diagnoser
from .cohort import VERDICTS
from .daybook import Record
from .replay import Table
from .store import Archive


@dataclass(frozen=True, slots=True)
class Changed:
    """A look that would be told differently today."""

    id: int
    then_first: str | None
    first: str | None
    then_probability: float
    probability: float
    then_verdict: str | None
    verdict: str


def changed(table: Table, nodes: Sequence[str]) -> list[Changed]:
    """Looks whose first cause or verdict is another one today, the largest moves first."""
    differs = (table["first"] != table["then_first"]) | (table["verdict"] != table["then_verdict"])
    differs &= table["then_verdict"] >= 0

    def name(place: int) -> str | None:
        return None if place == -1 else "gone" if place == -2 else nodes[place]

    found = [
        Changed(
            int(row["id"]),
            name(int(row["then_first"])),
            name(int(row["first"])),
            float(row["then_probability"]),
            float(row["probability"]),
            VERDICTS[int(row["then_verdict"])],
            VERDICTS[int(row["verdict"])],
        )
        for row in table[differs]
    ]
    return sorted(found, key=lambda c: (-round(abs(c.probability - c.then_probability), 9), c.id))


@dataclass(frozen=True, slots=True)
class Why:
    """One reason that weighs differently today."""

    cause: str
    says: str
    then: float
    """Log-odds for the cause; 0 where it was no reason."""
    now: float


def why(diagnoser: Diagnoser, answers: Answers, weighed: Record, causes: Sequence[str], most: int = 3) -> list[Why]:
    """Which reasons for some causes changed most between a kept diagnosis and today's."""
    today = {c.id: c for c in diagnoser.diagnose(answers).causes}
    then = {c["id"]: c for c in weighed["causes"]}
    found = []
    for cause in causes:
        old = {r["by"]: r for r in (*then[cause]["for"], *then[cause]["against"])} if cause in then else {}
        new = {r.by: r for r in (*today[cause].reasons_for, *today[cause].reasons_against)} if cause in today else {}
        for by in sorted({*old, *new}):
            before = float(old[by]["log_odds"]) if by in old else 0.0
            now = new[by].log_odds if by in new else 0.0
            if abs(now - before) >= 0.1:
                found.append(Why(cause, new[by].says if by in new else str(old[by]["says"]), before, now))
    return sorted(found, key=lambda w: (-round(abs(w.now - w.then), 6), w.cause, w.says))[:most]


def right_first(archive: Archive, table: Table, nodes: Sequence[str]) -> tuple[int, int, int]:
    """Confirmed looks with a cause, and in how many of them the first cause was right then and is today."""
    outcomes = {
        look_id: (frozenset(json.loads(causes)), told)
        for look_id, causes, told in archive.db.execute(
            "SELECT look_id, causes, first_cause FROM outcome JOIN look ON look.id = look_id "
            "WHERE outcome.id IN (SELECT max(id) FROM outcome GROUP BY look_id)"
        )
    }
    total = then = now = 0
    for row in table:
        causes, told = outcomes.get(int(row["id"]), (frozenset(), None))
        if causes:
            total += 1
            then += told in causes  # by name: a cause that is gone now was right all the same
            now += row["first"] >= 0 and nodes[row["first"]] in causes
    return total, int(then), int(now)
