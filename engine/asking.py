"""Which question next, and when to stop.

The worth of a question is how much the answer is expected to clear up (the fall in entropy
over all causes, exactly, in one batched pass over every open question), how much surer it is
expected to make the first cause, and how likely it is to change what should be done today;
divided by what it costs to answer. On simulated wheels the second part halves the questions
needed to name the first cause, against entropy alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .answers import Answers, Value
from .belief import Array, Finding, Lane
from .catalog import Catalog
from .cautions import Screen, doubtful
from .conditions import View, leaves, truth
from .gates import makes_sense, offered
from .model import Circumstance, Option, Question, Sign
from .network import Builder, CaseNetwork, reliability
from .worth import Outcomes, brought, of_signs, of_weights

LEAD_THRESHOLD = 0.35
"""A cause below this gives no advice of its own."""
SURER_WORTH = 3.0
"""Worth of a rise of the first cause from 0 to 1, in nats: tuned on simulated wheels."""
OPENED_WORTH = 0.5
"""Share of a circumstance's weight given to an answer that it needs beside others: judgement."""
IN_PLAY = 0.05
"""Below this a cause is not weighed against its look-alikes."""
TOLD_WORTH = 1.0
"""Worth of the question by which the trade tells two look-alikes apart, when each is as likely as not: judgement.
Not divided by effort: a measurement that settles it is worth the trouble."""
CHANGE_WORTH = 0.6
"""Worth of a sure change of today's advice, in nats."""


@dataclass(frozen=True, slots=True)
class Worth:
    """What a question is expected to bring."""

    question: str
    gain: float
    """Expected fall in entropy over all causes, nats."""
    change: float
    """Probability that the answer changes today's advice, 0 to 1."""
    score: float
    separates: tuple[str, ...] = ()
    """Causes whose probability the answer moves most."""


@dataclass(frozen=True, slots=True)
class _Hypothesis:
    """A supposed outcome of a question, as a lane of the network."""

    question: str
    sign: Sign | None
    """The sign that is supposed not to be there; None where a circumstance is supposed."""
    lane: Lane
    weight: float = 0.0
    """Its share before looking at the evidence; for a sign's "no", unused."""


@dataclass(frozen=True, slots=True)
class _Found:
    """The best that was found for a question so far."""

    worth: float
    gain: float
    change: float
    separates: tuple[str, ...]


class Asker:
    """Chooses questions for one knowledge base."""

    def __init__(self, catalog: Catalog, builder: Builder) -> None:
        self.catalog = catalog
        self._builder = builder
        self._signs: dict[str, list[Sign]] = {}
        for sign in catalog.signs.values():
            self._signs.setdefault(builder.question_of(sign), []).append(sign)
        self._noise = {sign.id: self._heard(sign) for sign in catalog.signs.values()}
        """By sign: of each answer to its question, how often it comes when the sign is there, and when it is not."""
        self._circumstances: dict[str, list[Circumstance]] = {}
        for circumstance in catalog.circumstances.values():
            for leaf in leaves(circumstance.when):
                if leaf.ask:
                    found = self._circumstances.setdefault(leaf.ask, [])
                    if circumstance not in found:
                        found.append(circumstance)
        self._told: dict[str, list[tuple[str, str]]] = {}
        """By question: the pairs of look-alikes that it tells apart."""
        for cause in catalog.causes.values():
            for look in cause.mistaken_for:
                if look.question and look.cause in catalog.causes:
                    pairs = self._told.setdefault(look.question, [])
                    pair = (min(cause.id, look.cause), max(cause.id, look.cause))
                    if pair not in pairs:
                        pairs.append(pair)
        self._moves = {s.when for c in catalog.causes.values() for s in c.likelier} | {
            a.when for c in catalog.causes.values() for a in c.against if a.when
        }

    def _heard(self, sign: Sign) -> list[tuple[float, float]]:
        question = self.catalog.questions[self._builder.question_of(sign)]
        noise = self.catalog.noise[question.about]
        graded = question.kind == "scale" and sign.when is None
        states = ("there", "slight", "not there") if graded else ("there", "not there")
        return [reliability(noise, state, graded) for state in states]

    def open(self, answers: Answers, view: View, screen: Screen, skipped: frozenset[str]) -> list[Question]:
        """Questions that may be asked now."""
        tasting = screen.tasting_allowed and not doubtful(self.catalog, answers)
        return [
            q
            for q in self.catalog.questions.values()
            if answers.get(q.id) is None and q.id not in skipped and (tasting or not q.tasting) and makes_sense(q, view)
        ]

    def lanes(self, case: CaseNetwork, questions: list[Question]) -> list[_Hypothesis]:
        """Every supposed outcome worth working out, in one list for one pass."""
        index = {name: k for k, name in enumerate(case.nodes)}
        found: list[_Hypothesis] = []
        for question in questions:
            for sign in self._signs.get(question.id, ()):
                if self._builder.counts(sign, case.cheese):
                    finding = self._sure_no(case, sign, index)
                    if finding is not None:
                        found.append(_Hypothesis(question.id, sign, Lane(absent=(finding,))))
            found.extend(self._by_circumstance(case, question, index))
        return found

    def _sure_no(self, case: CaseNetwork, sign: Sign, index: dict[str, int]) -> Finding | None:
        normal = self._builder.normal_rows(sign.id, case.view)
        finding = self._builder.finding(sign, "there", index, case.view, normal)
        if len(finding.links) < 2 and not sign.healthy:
            return None
        return Finding(finding.leak, finding.links, 0.0, 1.0)

    def _by_circumstance(self, case: CaseNetwork, question: Question, index: dict[str, int]) -> Iterator[_Hypothesis]:
        touched = [
            c for c in self._circumstances.get(question.id, ())
            if c.id in self._moves and case.view.holds(c.id) is None
        ]  # fmt: skip
        if not touched:
            return
        rows: dict[tuple[bool | None, ...], None] = {}
        for value in representative(question, touched, offered(question, case.cheese)):
            supposed = case.view.answers.adding(question.id, value)
            view = View(supposed, case.view.cheese, case.view.holds, case.view.sign)
            rows[tuple(truth(c.when, view) for c in touched)] = None
        if len(rows) < 2:
            return
        # A circumstance that needs a further answer too is not settled by this one, but opened or closed by it.
        opened = [True not in seen and None in seen and False in seen for seen in zip(*rows, strict=True)]
        outcomes = {
            row: max(
                (
                    self.catalog.value("how_common", c.how_common)
                    for c, t, maybe in zip(touched, row, opened, strict=True)
                    if t or (t is None and maybe)
                ),
                default=0.0,
            )
            for row in rows
        }
        positive = sum(outcomes.values())
        shrink = min(1.0, 0.9 / positive) if positive else 1.0
        plain = sum(not share for share in outcomes.values())
        for row, share in outcomes.items():
            weight = share * shrink if share else (1 - min(positive, 0.9)) / plain
            moves: dict[int, float] = {}
            for c, t, maybe in zip(touched, row, opened, strict=True):
                if t is None and not maybe:
                    continue
                scale = OPENED_WORTH if t is None else 1.0
                for cause, delta in self._builder.moves(c.id, t is not False):
                    if cause in index:
                        moves[index[cause]] = moves.get(index[cause], 0.0) + scale * delta
            lane = Lane(log_odds=tuple(sorted(moves.items())))
            yield _Hypothesis(question.id, None, lane, weight)

    def rank(
        self,
        case: CaseNetwork,
        questions: list[Question],
        hypotheses: list[_Hypothesis],
        posterior: Array,
        log_evidence: Array,
    ) -> list[Worth]:
        """Open questions by worth, best first. Column 0 is the case as it stands, the rest the hypotheses."""
        now = posterior[:, 0]
        rows, ratio = np.ascontiguousarray(posterior.T), np.exp(log_evidence - log_evidence[0])
        best: dict[str, _Found] = {}
        outcomes = [self._of_signs(hypotheses, rows, ratio), _of_questions(hypotheses, rows, ratio)]
        for found in brought(outcomes, now, LEAD_THRESHOLD):
            worth = max(found.gain, 0.0) + SURER_WORTH * max(found.surer, 0.0) + CHANGE_WORTH * found.change
            before = best.get(found.question)
            if before is None or worth > before.worth:
                change = max(found.change, before.change if before else 0.0)
                best[found.question] = _Found(worth, found.gain, change, tuple(case.nodes[k] for k in found.moved))
        likely = {name: float(p) for name, p in zip(case.nodes, now, strict=True)}
        ranked = []
        for question in questions:
            pair, told = self._tells_apart(question.id, likely)
            most = best.get(question.id)
            if most is None and not told:
                continue
            most = most or _Found(0.0, 0.0, 0.0, pair)
            effort = self.catalog.value("effort", question.effort)
            separates = pair if told > most.worth else most.separates
            ranked.append(Worth(question.id, most.gain, most.change, most.worth / effort + told, separates))
        ranked.sort(key=lambda w: (-round(w.score, 9), w.question))
        return ranked

    def _tells_apart(self, question: str, likely: dict[str, float]) -> tuple[tuple[str, ...], float]:
        """The likeliest pair of look-alikes that a question tells apart, and what that is worth."""
        pairs = [(min(likely.get(a, 0.0), likely.get(b, 0.0)), (a, b)) for a, b in self._told.get(question, ())]
        least, pair = max(pairs, default=(0.0, ()))
        return (pair, 2 * TOLD_WORTH * least) if least >= IN_PLAY else ((), 0.0)

    def _of_signs(self, hypotheses: list[_Hypothesis], rows: Array, ratio: Array) -> Outcomes:
        """Outcomes of the questions after signs."""
        lanes = [k for k, h in enumerate(hypotheses) if h.sign is not None]
        columns = np.array(lanes, dtype=np.intp) + 1
        signs = [sign for h in hypotheses if (sign := h.sign) is not None]
        groups = [hypotheses[k].question for k in lanes]
        healthy = np.array([sign.healthy for sign in signs])
        noise = [self._noise[sign.id] for sign in signs]
        return of_signs(groups, ratio[columns], rows[columns], rows[0], healthy, noise)


def _of_questions(hypotheses: list[_Hypothesis], rows: Array, ratio: Array) -> Outcomes:
    """Outcomes of the questions that settle circumstances; those of one question stand together."""
    lanes = [k for k, h in enumerate(hypotheses) if h.sign is None]
    columns = np.array(lanes, dtype=np.intp) + 1
    sizes = Counter(hypotheses[k].question for k in lanes)
    weights = np.array([hypotheses[k].weight for k in lanes]) * ratio[columns]
    return of_weights(list(sizes), list(sizes.values()), weights, rows[columns])


def representative(question: Question, touched: list[Circumstance], options: tuple[Option, ...]) -> list[Value]:
    """Answers that between them bring out every outcome of the circumstances a question touches."""
    if question.kind == "number":
        cuts = sorted(
            {
                x
                for c in touched
                for leaf in leaves(c.when)
                if leaf.ask == question.id
                for x in (leaf.below, leaf.at_most, leaf.above, leaf.at_least)
                if x is not None
            }
        )
        if not cuts:
            return []
        between = [(a + b) / 2 for a, b in pairwise(cuts)]
        return [cuts[0] - 0.5 * abs(cuts[0]) - 0.5, *between, cuts[-1] + 0.5 * abs(cuts[-1]) + 0.5]
    if question.kind == "yes_no":
        return ["yes", "no"]
    if question.kind == "scale":
        return ["clear", "no"]
    if question.kind == "some_of":
        return [(o.id,) for o in options]
    return [o.id for o in options]
