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
from .belief import Array, Beliefs, Lane, log_joint
from .catalog import Catalog
from .cautions import Screen, counted, in_order, screen
from .chaining import Chained, Chainer
from .dating import Dated, date
from .doubt import doubt
from .fallback import weigh
from .figures import Figure, told, with_figures
from .gates import STOP_BELOW, must_ask
from .local import NONE, Local
from .model import CauseKind, Caution, Knowledge
from .network import UNKNOWN_CAUSE, Builder, CaseNetwork, Evidence, without_circumstance, without_evidence
from .planning import Plan, plan

Verdict = Literal["stop", "hold", "normal", "causes", "undecided"]

NORMAL_CAUSE_CAP = 0.20
"""Nothing is called normal while any one cause is likelier than this."""
NORMAL_LEAST = 0.30
"""Nor when "nothing is wrong" itself is less likely than this."""
SHOWN = 0.02
"""Causes below this are not listed."""
DATED = 0.10
"""Causes below this are not dated."""
REASON_LEAST = 0.10
"""Log-odds below which an answer is no reason."""
TOO_MANY_YES = 0.25
"""More of all signs there than this does not look like one cheese."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One answer that speaks for or against a cause: by how much, and on what ground."""

    by: str
    """Id of a sign or circumstance."""
    says: str
    """The answer in words."""
    log_odds: float
    """Change of the cause's log-odds that this answer makes, all else as answered."""
    word: str
    """The word of the link or the strength; empty when it works through other causes."""
    grade: str
    sources: tuple[str, ...]
    also: tuple[str, ...] = ()
    """Other causes that would explain it."""


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A cause with its probability, interval, word and reasons."""

    id: str
    kind: CauseKind
    title: str
    probability: float
    low: float
    high: float
    word: str
    reasons_for: tuple[Reason, ...] = ()
    reasons_against: tuple[Reason, ...] = ()

    @property
    def weak(self) -> bool:
        """Whether the sources leave it wide open."""
        return self.high - self.low > 0.3


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
        chained = self.chainer.run(answers)
        case = self.builder.build(answers, chained)
        return case, chained, screen(self.catalog, case.view)

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
        outs = _left_out(case)
        found, ranked = self._believe(case, case.view.answers, safety, skipped, [lane for _, lane in outs])
        posterior = found.posterior[:, 0]
        spread = doubt(self.catalog, case, posterior)
        lanes = found.posterior[:, found.posterior.shape[1] - len(outs) :]
        causes = self._ranked(case, posterior, spread.low, spread.high, outs, lanes)
        normal = self._normal(case, found)
        verdict = self._verdict(case, safety, causes, normal, float(posterior[-1]))
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
            cautions=self._cautions(safety, causes, self._alone.leading(answers) if self._alone else ()),
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
            figures=told(self.catalog, answers, case.view.answers, case.cheese),
            house=self.knowledge.house_version,
        )

    def verdict_of(self, answers: Answers) -> tuple[dict[str, float], float, Verdict]:
        """Posteriors by node, the chance that nothing is wrong, and the verdict: what a replay looks at."""
        case, _, safety = self.prepare(answers)
        found = weigh(case.network)
        posterior = found.posterior[:, 0]
        normal = self._normal(case, found)
        order = sorted(range(len(case.nodes) - 1), key=lambda k: (-round(float(posterior[k]), 12), case.nodes[k]))
        first = [
            RankedCause(case.nodes[k], "fault", "", float(posterior[k]), 0.0, 1.0, "")
            for k in order[:1]
            if posterior[k] >= SHOWN
        ]
        verdict = self._verdict(case, safety, first, normal, float(posterior[-1]))
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

    def _ranked(
        self,
        case: CaseNetwork,
        posterior: Array,
        low: Array,
        high: Array,
        outs: Sequence[tuple[Evidence | str, Lane]],
        lanes: Array,
    ) -> tuple[RankedCause, ...]:
        order = sorted(range(len(case.nodes) - 1), key=lambda k: (-round(float(posterior[k]), 12), case.nodes[k]))
        ranked = []
        for k in order:
            p = float(posterior[k])
            if p < SHOWN:
                break
            cause = self.catalog.causes[case.nodes[k]]
            reasons = self._reasons(case, k, posterior, outs, lanes)
            ranked.append(
                RankedCause(
                    cause.id,
                    cause.kind,
                    cause.name,
                    p,
                    float(low[k]),
                    float(high[k]),
                    self.catalog.likely_word(p),
                    tuple(r for r in reasons if r.log_odds > 0),
                    tuple(r for r in reasons if r.log_odds < 0),
                )
            )
        return tuple(ranked)

    def _reasons(
        self,
        case: CaseNetwork,
        node: int,
        posterior: Array,
        outs: Sequence[tuple[Evidence | str, Lane]],
        lanes: Array,
    ) -> list[Reason]:
        """Each answer's part in one cause: the posterior with it against the posterior without."""
        cause = self.catalog.causes[case.nodes[node]]
        reasons = []
        for column, (thing, _) in enumerate(outs):
            part = _logit(float(posterior[node])) - _logit(float(lanes[node, column]))
            if abs(part) < REASON_LEAST:
                continue
            drop = posterior[:-1] - lanes[:-1, column]
            also = tuple(
                case.nodes[int(k)]
                for k in np.argsort(-drop, kind="stable")[:3]
                if int(k) != node and drop[int(k)] > 0.05
            )
            reasons.append(self._reason(case, cause.id, thing, part, also if part > 0 else ()))
        return sorted(reasons, key=lambda r: (-round(abs(r.log_odds), 9), r.by))

    def _reason(
        self, case: CaseNetwork, cause_id: str, thing: Evidence | str, part: float, also: tuple[str, ...]
    ) -> Reason:
        cause = self.catalog.causes[cause_id]
        if isinstance(thing, str):
            circumstance = self.catalog.circumstances[thing]
            so = case.view.holds(thing)
            says = circumstance.means if so else f"not so: {circumstance.means}"
            for shift in cause.likelier:
                if shift.when == thing:
                    return Reason(
                        thing, says, part, shift.strength, self.catalog.grade(shift.sources), shift.sources, also
                    )
            for against in cause.against:
                if against.when == thing:
                    return Reason(
                        thing, says, part, against.strength, self.catalog.grade(against.sources), against.sources, also
                    )
            return Reason(thing, says, part, "", self.catalog.grade(circumstance.sources), circumstance.sources, also)
        sign = self.catalog.signs[thing.sign]
        says = {"there": sign.name, "slight": f"a little: {sign.name}", "not there": f"no {sign.name}"}.get(
            thing.state, f"not named: {sign.name}"
        )
        for link in cause.signs:
            if link.sign == sign.id and case.cheese.is_one_of(link.rinds) is not False:
                return Reason(sign.id, says, part, link.seen, self.catalog.grade(link.sources), link.sources, also)
        for against in cause.against:
            if against.sign == sign.id:
                return Reason(
                    sign.id, says, part, against.strength, self.catalog.grade(against.sources), against.sources, also
                )
        return Reason(sign.id, says, part, "", "memory", ("judgement",), also)

    def _normal(self, case: CaseNetwork, found: Beliefs) -> NormalView:
        joint = log_joint(case.network, ())
        rows = dict.fromkeys(row for e in case.evidence if e.state in ("there", "slight") for row in e.normal)
        return NormalView(float(min(1.0, math.exp(joint - float(found.log_evidence[0])))), tuple(rows))

    def _verdict(
        self,
        case: CaseNetwork,
        safety: Screen,
        causes: Sequence[RankedCause],
        normal: NormalView,
        unknown: float,
    ) -> Verdict:
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

    def _cautions(
        self, safety: Screen, causes: Sequence[RankedCause], alone: Sequence[str] = ()
    ) -> tuple[Caution, ...]:
        """What stands, with the notes of likely causes; no house rule takes away a note of those in ``alone``."""
        standing = {c.id: c for c in safety.cautions}
        if self._alone is not None:
            for name in alone:
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


def _left_out(case: CaseNetwork) -> list[tuple[Evidence | str, Lane]]:
    """Every answer that counts, with the lane that leaves it out."""
    outs: list[tuple[Evidence | str, Lane]] = [(e, without_evidence(case, e)) for e in case.evidence]
    moved = sorted({s.by for s in case.shifts if not s.is_sign})
    outs.extend((name, without_circumstance(case, name)) for name in moved)
    return outs


def _next(ranked: Sequence[Worth]) -> NextQuestion | None:
    if not ranked:
        return None
    best = ranked[0]
    return NextQuestion(best.question, best.gain, best.change, best.separates)


def _logit(p: float) -> float:
    p = min(max(p, 1e-12), 1 - 1e-12)
    return math.log(p / (1 - p))


__all__ = ["UNKNOWN_CAUSE", "Diagnoser", "Diagnosis", "Explanation", "RankedCause", "Reason", "Verdict"]
