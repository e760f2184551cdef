"""What a replay found: looks that would be told differently today, why, and how often the first cause was right."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..diagnosis import Diagnoser
from ..reasons import REASON_LEAST, Reason
from .cohort import VERDICTS
from .daybook import Record
from .replay import Table
from .store import Archive
from .weighed import REASONS_KEPT


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


@dataclass(frozen=True, slots=True)
class Because:
    """Why a look would be told differently today, as far as what was kept of it can say."""

    stands: tuple[str, ...]
    """Titles of stops and holds that stand today and did not then."""
    fell: tuple[str, ...]
    """Titles of those that stood then and do not today."""
    reasons: tuple[Why, ...]
    """Largest changes first."""


def why(diagnoser: Diagnoser, answers: Answers, weighed: Record, causes: Sequence[str], most: int = 3) -> Because:
    """What changed for some causes between a kept diagnosis and today's."""
    d = diagnoser.diagnose(answers)
    today = {c.id: c for c in d.causes}
    then = {c["id"]: c for c in weighed["causes"]}
    found: list[Why] = []
    for cause in causes:
        if cause not in then:  # nothing was kept of it
            continue
        now = today.get(cause)
        for side, new in (("for", now.reasons_for if now else ()), ("against", now.reasons_against if now else ())):
            found += _moved(cause, then[cause][side], {r.by: r for r in new})
    graver = {c["id"]: c["title"] for c in weighed["cautions"] if c["level"] != "note"}
    grave = {c.id: c.title for c in d.cautions if c.level != "note"}
    return Because(
        tuple(title for id, title in grave.items() if id not in graver),
        tuple(title for id, title in graver.items() if id not in grave),
        tuple(sorted(found, key=lambda w: (-round(abs(w.now - w.then), 6), w.cause, w.says))[:most]),
    )


def _moved(cause: str, kept: Sequence[Record], new: Mapping[str, Reason]) -> Iterator[Why]:
    """Reasons on one side that weigh differently."""
    old = {r["by"]: r for r in kept}
    whole = len(kept) < REASONS_KEPT  # otherwise a reason that is not there may only have been left out
    for by in sorted({*old, *(new if whole else ())}):
        before, now = float(old[by]["log_odds"]) if by in old else 0.0, new[by].log_odds if by in new else 0.0
        if abs(now - before) >= REASON_LEAST:
            yield Why(cause, new[by].says if by in new else str(old[by]["says"]), before, now)


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
