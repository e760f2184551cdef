"""What a diagnosis comes to, in short: enough to compare two, for a third of the work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .fallback import weigh
from .planning import plan
from .reasons import likeliest

if TYPE_CHECKING:
    from .answers import Answers
    from .diagnosis import Diagnoser, Diagnosis, Verdict


@dataclass(frozen=True, slots=True)
class Short:
    """Verdict, causes, steps and cautions, without intervals, reasons or a next question."""

    verdict: Verdict
    causes: tuple[tuple[str, str, float], ...]
    """Id, title and probability of each that is shown, likeliest first."""
    steps: tuple[str, ...]
    """Today's, then those of the next make."""
    cautions: tuple[tuple[str, str], ...]
    """Id and title."""


def in_short(diagnoser: Diagnoser, answers: Answers, skipped: frozenset[str] = frozenset()) -> Short:
    """What ``Diagnoser.diagnose`` says of these answers, in short."""
    case, _, safety = diagnoser.prepare(answers, skipped)
    found = weigh(case.network)
    causes = likeliest(diagnoser.catalog, case, found.posterior[:, 0])
    verdict = diagnoser.judged(case, safety, causes, diagnoser.normal(case, found), float(found.posterior[-1, 0]))
    steps = plan(
        diagnoser.catalog,
        case.view,
        [(c.id, c.probability) for c in causes] if verdict != "normal" else [],
        verdict if verdict in ("stop", "hold") else None,
    )
    return Short(
        verdict,
        tuple((c.id, c.title, c.probability) for c in causes),
        tuple(s.do for s in (*steps.today, *steps.next_make)),
        tuple((c.id, c.title) for c in diagnoser.told(safety, causes, answers)),
    )


def short_of(d: Diagnosis) -> Short:
    """A whole diagnosis, in short."""
    return Short(
        d.verdict,
        tuple((c.id, c.title, c.probability) for c in d.causes),
        tuple(s.do for s in (*d.plan.today, *d.plan.next_make)),
        tuple((c.id, c.title) for c in d.cautions),
    )


def said_then(weighed: Mapping[str, Any]) -> Short:
    """A diagnosis as the archive keeps it, in short."""
    return Short(
        weighed["verdict"],
        tuple((c["id"], c["title"], c["probability"]) for c in weighed["causes"]),
        tuple(s["do"] for s in (*weighed["today"], *weighed["next_make"])),
        tuple((c["id"], c["title"]) for c in weighed["cautions"]),
    )
