"""The one path from answers to a diagnosis.

    answers -> cautions -> chaining -> network -> belief -> verdict -> plan, reasons, next question

``Diagnosis`` is a plain value: it can be kept, compared and laid out in any form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Literal

import numpy as np

from .answers import Answers
from .asking import LEAD_THRESHOLD, Asker, Worth
from .belief import Beliefs, Lane, log_joint
from .catalog import Catalog
from .cautions import Screen, counted, in_order, screen
from .chaining import Chained, Chainer
from .dating import Dated, date
from .doubt import doubt
from .fallback import weigh
from .figures import Figure, with_figures
from .figures import told as worked_out
from .gates import STOP_BELOW, must_ask
from .local import NONE, Local
from .model import Caution, Knowledge
from .network import UNKNOWN_CAUSE, Builder, CaseNetwork
from .planning import Plan, plan
from .reasons import RankedCause, Reason, left_out, likeliest
from .reasons import ranked as ranked_causes

Verdict = Literal["stop", "hold", "normal", "causes", "undecided"]

NORMAL_CAUSE_CAP = 0.20
"""Nothing is called normal while any one cause is likelier than this."""
NORMAL_LEAST = 0.30
"""Nor when "nothing is wrong" itself is less likely than this."""
DATED = 0.10
"""Causes below this are not dated."""
TOO_MANY_YES = 0.25
"""More of all signs there than this does not look like one cheese."""


@dataclass(frozen=True, slots=True)
class NormalView:
    """How likely it is that nothing is wrong, and which rows say so."""

    probability: float
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One complete story: exactly these causes, nothing else, with its exact probability."""

    causes: tuple[str, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class NextQuestion:
    """The most useful open question."""

    id: str
    gain: float
    change: float
    separates: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All that follows from a set of answers."""

    knowledge: str
    verdict: Verdict
    cautions: tuple[Caution, ...]
    causes: tuple[RankedCause, ...]
    normal: NormalView
    unknown_cause: float
    explanations: tuple[Explanation, ...]
    dated: tuple[Dated, ...]
    """When the causes that stand out began, as far as the day they were first seen tells."""
    plan: Plan
    next_question: NextQuestion | None
    settled: bool
    """No open question is likely to change today's advice."""
    fragile: bool
    approximate: bool
    odd_answers: bool
    """So many signs at once that they do not look like one cheese."""
    safety_open: tuple[str, ...]
    """Questions that a stop or hold turns on, not asked or not known."""
    screen_told: tuple[str, ...]
    """Questions of the safety screen that were answered."""
    screen_untold: tuple[str, ...]
    """Those that make sense for this cheese and were not asked, or not known."""
    chained: Chained
    figures: tuple[Figure, ...] = ()
    """What was worked out from weighings and sizes."""
    house: str = ""
    """Hash of the house rules in force; empty without any."""

    @property
    def lead(self) -> RankedCause | None:
        """The first cause, when it stands out enough to act on."""
        first = self.causes[0] if self.causes else None
        return first if first and first.probability >= LEAD_THRESHOLD else None


class Diagnoser:
    """Everything that can be prepared once for a knowledge base."""

    def __init__(self, knowledge: Knowledge, local: Local = NONE) -> None:
        self.knowledge = knowledge
        self.local = local
        self.catalog = Catalog(knowledge)
        self._alone = Diagnoser(knowledge.beneath) if isinstance(knowledge.beneath, Knowledge) else None
        """The packaged knowledge, where house rules lie over it."""
        self._latest: tuple[Answers, CaseNetwork, Chained, Screen] | None = None
        """What was prepared last: a questionnaire looks for a stop, a question and its block with the same answers."""

    @cached_property
    def chainer(self) -> Chainer:
        """Forward chaining, prepared on first use."""
        return Chainer(self.catalog)

    @cached_property
    def builder(self) -> Builder:
        """Case networks, prepared on first use."""
        return Builder(self.catalog, self.local)

    @cached_property
    def asker(self) -> Asker:
        """Choice of questions, prepared on first use."""
        return Asker(self.catalog, self.builder)

    def prepare(self, answers: Answers, skipped: frozenset[str] = frozenset()) -> tuple[CaseNetwork, Chained, Screen]:
        """Cautions and network of a set of answers, before any arithmetic."""
        answers = counted(self.catalog, with_figures(self.catalog, answers), skipped)
        latest = self._latest
        if latest is None or latest[0] != answers:
            chained = self.chainer.run(answers)
            case = self.builder.build(answers, chained)
            latest = self._latest = (answers, case, chained, screen(self.catalog, case.view))
        return latest[1:]

    def next_questions(self, answers: Answers, skipped: frozenset[str] = frozenset()) -> list[Worth]:
        """Open questions by worth, best first; the ones that must come first lead the list."""
        case, _, safety = self.prepare(answers, skipped)
        first = must_ask(self.catalog, case.view, skipped)
        if first is not None:
            return [Worth(first, 0.0, 1.0, math.inf)]
        _, ranked = self._believe(case, case.view.answers, safety, skipped, [])
        return ranked

    def diagnose(self, answers: Answers, skipped: frozenset[str] = frozenset()) -> Diagnosis:
        """The whole diagnosis of a set of answers."""
        case, chained, safety = self.prepare(answers, skipped)
        outs = left_out(case)
        found, ranked = self._believe(case, case.view.answers, safety, skipped, [lane for _, lane in outs])
        posterior = found.posterior[:, 0]
        spread = doubt(self.catalog, case, posterior)
        lanes = found.posterior[:, found.posterior.shape[1] - len(outs) :]
        causes = ranked_causes(self.catalog, case, posterior, spread.low, spread.high, outs, lanes)
        normal = self.normal(case, found)
        verdict = self.judged(case, safety, causes, normal, float(posterior[-1]))
        must = must_ask(self.catalog, case.view, skipped)
        following = NextQuestion(must, 0.0, 1.0, ()) if must else _next(ranked)
        settled = must is None and not any(w.change >= STOP_BELOW for w in ranked)
        steps = plan(
            self.catalog,
            case.view,
            [(c.id, c.probability) for c in causes] if verdict != "normal" else [],
            "stop" if verdict == "stop" else "hold" if verdict == "hold" else None,
        )
        there = sum(e.state == "there" and not e.healthy for e in case.evidence)
        return Diagnosis(
            knowledge=self.knowledge.version,
            verdict=verdict,
            cautions=self.told(safety, causes, answers),
            causes=causes,
            normal=normal,
            unknown_cause=float(posterior[-1]),
            explanations=self._explanations(case, found),
            dated=date(self.catalog, [c.id for c in causes if c.probability >= DATED], answers, case.cheese),
            plan=steps,
            next_question=following,
            settled=settled,
            fragile=spread.fragile,
            approximate=found.approximate,
            odd_answers=there > TOO_MANY_YES * len(self.catalog.signs),
            safety_open=safety.open_questions,
            screen_told=safety.told,
            screen_untold=safety.untold,
            chained=chained,
            figures=worked_out(self.catalog, answers, case.view.answers, case.cheese),
            house=self.knowledge.house_version,
        )

    def verdict_of(self, answers: Answers) -> tuple[dict[str, float], float, Verdict]:
        """Posteriors by node, the chance that nothing is wrong, and the verdict: what a replay looks at."""
        case, _, safety = self.prepare(answers)
        found = weigh(case.network)
        posterior = found.posterior[:, 0]
        normal = self.normal(case, found)
        verdict = self.judged(case, safety, likeliest(self.catalog, case, posterior), normal, float(posterior[-1]))
        return {name: float(p) for name, p in zip(case.nodes, posterior, strict=True)}, normal.probability, verdict

    def leading(self, answers: Answers) -> tuple[str, ...]:
        """Causes likely enough to bring their own notes, by the shortest way: one lane, nothing else."""
        case, _, _ = self.prepare(answers)
        posterior = weigh(case.network, [Lane()]).posterior[:-1, 0]
        return tuple(id for id, p in zip(case.nodes, posterior, strict=False) if p >= LEAD_THRESHOLD)

    def _believe(
        self,
        case: CaseNetwork,
        answers: Answers,
        safety: Screen,
        skipped: frozenset[str],
        extra: list[Lane],
    ) -> tuple[Beliefs, list[Worth]]:
        """One pass: the case itself, every supposed outcome of every open question, and extra lanes."""
        questions = self.asker.open(answers, case.view, safety, skipped)
        hypotheses = self.asker.lanes(case, questions)
        lanes = [Lane(), *(h.lane for h in hypotheses), *extra]
        found = weigh(case.network, lanes)
        return found, self.asker.rank(case, questions, hypotheses, found.posterior, found.log_evidence)

    def normal(self, case: CaseNetwork, found: Beliefs) -> NormalView:
        """How likely it is that nothing is wrong, and the rows that speak for it."""
        joint = log_joint(case.network, ())
        rows = dict.fromkeys(row for e in case.evidence if e.state in ("there", "slight") for row in e.normal)
        return NormalView(float(min(1.0, math.exp(joint - float(found.log_evidence[0])))), tuple(rows))

    def judged(
        self,
        case: CaseNetwork,
        safety: Screen,
        causes: Sequence[RankedCause],
        normal: NormalView,
        unknown: float,
    ) -> Verdict:
        """The verdict: cautions first, then what is normal, then what stands out."""
        if safety.level == "stop":
            return "stop"
        if safety.level == "hold":
            return "hold"
        first = causes[0].probability if causes else 0.0
        there = [e for e in case.evidence if e.state in ("there", "slight")]
        troubling = [e for e in there if not (e.healthy or e.normal or e.usual)]
        accounted = normal.rows or any(e.healthy and e.state == "there" for e in case.evidence)
        if accounted and not troubling and first < NORMAL_CAUSE_CAP and normal.probability >= NORMAL_LEAST:
            return "normal"
        if first >= LEAD_THRESHOLD and first > unknown:
            return "causes"
        return "undecided"

    def told(self, safety: Screen, causes: Sequence[RankedCause], answers: Answers) -> tuple[Caution, ...]:
        """What stands, with the notes of likely causes. No house rule takes away a note of the packaged knowledge."""
        standing = {c.id: c for c in safety.cautions}
        if self._alone is not None:
            for name in self._alone.leading(answers):
                for id in self._alone.catalog.causes[name].cautions:
                    standing.setdefault(id, self.catalog.cautions[id])
        for ranked in causes:
            if ranked.probability >= LEAD_THRESHOLD:
                for id in self.catalog.causes[ranked.id].cautions:
                    standing.setdefault(id, self.catalog.cautions[id])
        return in_order(self.catalog, standing.values())

    def _explanations(self, case: CaseNetwork, found: Beliefs, most: int = 3) -> tuple[Explanation, ...]:
        """The likeliest complete stories over the likeliest causes, each with its exact probability."""
        if found.approximate:
            return ()
        posterior = found.posterior[:, 0]
        order = [int(k) for k in np.argsort(-posterior, kind="stable") if posterior[k] > 0.03][:7]
        evidence = float(found.log_evidence[0])
        stories = []
        for size in range(min(4, len(order)) + 1):
            for chosen in combinations(sorted(order), size):
                p = math.exp(log_joint(case.network, chosen) - evidence)
                stories.append(Explanation(tuple(case.nodes[k] for k in chosen), min(1.0, p)))
        stories.sort(key=lambda s: (-round(s.probability, 12), s.causes))
        return tuple(stories[:most])


def _next(ranked: Sequence[Worth]) -> NextQuestion | None:
    if not ranked:
        return None
    best = ranked[0]
    return NextQuestion(best.question, best.gain, best.change, best.separates)


__all__ = ["UNKNOWN_CAUSE", "Diagnoser", "Diagnosis", "Explanation", "RankedCause", "Reason", "Verdict"]
