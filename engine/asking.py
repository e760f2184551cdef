"""Which question next, and when to stop.

The worth of a question is how much the answer is expected to clear up (the fall in entropy
over all causes, exactly, in one batched pass over every open question), how much surer it is
expected to make the first cause, and how likely it is to change what should be done today;
divided by what it costs to answer. On simulated wheels the second part halves the questions
needed to name the first cause, against entropy alone.
"""

from __future__ import annotations

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
    group: str
    """Outcomes of one sign or one question belong together."""
    lane: Lane
    weight: float
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

    def moved_by(self, question: str) -> frozenset[str]:
        """Causes whose probability an answer to a question can move at once."""
        found: set[str] = {id for pair in self._told.get(question, ()) for id in pair}
        signs = self._signs.get(question, [])
        facts = {c.id for c in self._circumstances.get(question, ())}
        for cause in self.catalog.causes.values():
            seen = {link.sign for link in cause.signs} | {a.sign for a in cause.against}
            turns = {s.when for s in cause.likelier} | {a.when for a in cause.against}
            healthy = any(s.healthy and cause.id not in s.spared_by for s in signs)
            if healthy or facts & turns or any(s.id in seen for s in signs):
                found.add(cause.id)
        return frozenset(found)

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
                        found.append(_Hypothesis(question.id, "sign " + sign.id, Lane(absent=(finding,)), 0.0))
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
                for node, delta in self._moved(c.id, t is not False, index):
                    moves[node] = moves.get(node, 0.0) + scale * delta
            lane = Lane(log_odds=tuple(sorted(moves.items())))
            yield _Hypothesis(question.id, "question " + question.id, lane, weight)

    def _moved(self, circumstance: str, so: bool, index: dict[str, int]) -> Iterator[tuple[int, float]]:
        for cause, strength in self._builder.movers(circumstance):
            if cause in index:
                yield index[cause], self._builder.move(circumstance, strength, so)

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
        groups: dict[tuple[str, str], list[int]] = {}
        for k, h in enumerate(hypotheses):
            groups.setdefault((h.question, h.group), []).append(k)
        best: dict[str, _Found] = {}
        for (name, group), members in groups.items():
            columns = [k + 1 for k in members]
            ratio = np.exp(log_evidence[columns] - log_evidence[0])
            if group.startswith("sign "):
                outcome = self._sign_outcomes(case, group[5:], now, posterior[:, columns[0]], float(ratio[0]))
            else:
                shares = np.array([hypotheses[k].weight for k in members]) * ratio
                if shares.sum() <= 0:
                    continue
                outcome = [(float(s), posterior[:, c]) for s, c in zip(shares / shares.sum(), columns, strict=True)]
            gain = _entropy(now) - sum(share * _entropy(p) for share, p in outcome)
            surer = sum(share * _highest(p) for share, p in outcome) - _highest(now)
            lead = _lead(case, now)
            change = sum(share for share, p in outcome if _lead(case, p) != lead)
            swing = sum(share * np.abs(p - now) for share, p in outcome)
            top = tuple(case.nodes[int(i)] for i in np.argsort(-swing, kind="stable")[:2])
            worth = max(gain, 0.0) + SURER_WORTH * max(surer, 0.0) + CHANGE_WORTH * change
            if name not in best or worth > best[name].worth:
                best[name] = _Found(worth, gain, max(change, best[name].change if name in best else 0.0), top)
        likely = {name: float(p) for name, p in zip(case.nodes, now, strict=True)}
        ranked = []
        for question in questions:
            pair, told = self._tells_apart(question.id, likely)
            found = best.get(question.id)
            if found is None and not told:
                continue
            found = found or _Found(0.0, 0.0, 0.0, pair)
            effort = self.catalog.value("effort", question.effort)
            separates = pair if told > found.worth else found.separates
            ranked.append(Worth(question.id, found.gain, found.change, found.worth / effort + told, separates))
        ranked.sort(key=lambda w: (-round(w.score, 9), w.question))
        return ranked

    def _tells_apart(self, question: str, likely: dict[str, float]) -> tuple[tuple[str, ...], float]:
        """The likeliest pair of look-alikes that a question tells apart, and what that is worth."""
        pairs = [(min(likely.get(a, 0.0), likely.get(b, 0.0)), (a, b)) for a, b in self._told.get(question, ())]
        least, pair = max(pairs, default=(0.0, ()))
        return (pair, 2 * TOLD_WORTH * least) if least >= IN_PLAY else ((), 0.0)

    def _sign_outcomes(
        self, case: CaseNetwork, sign_id: str, now: Array, if_no: Array, no: float
    ) -> list[tuple[float, Array]]:
        """Shares and posteriors of the answers a sign's question may get, noise and all."""
        no = min(max(no, 1e-12), 1 - 1e-12)
        yes = 1 - no
        if_yes = np.clip((now - no * if_no) / yes, 0.0, 1.0)
        sign = self.catalog.signs[sign_id]
        if sign.healthy:  # entered as its lack
            yes, no, if_yes, if_no = no, yes, if_no, if_yes
        question = self.catalog.questions[self._builder.question_of(sign)]
        noise = self.catalog.noise[question.about]
        graded = question.kind == "scale" and sign.when is None
        outcome = []
        for state in ("there", "slight", "not there") if graded else ("there", "not there"):
            there, absent = reliability(noise, state, graded)
            share = yes * there + no * absent
            if share > 0:
                outcome.append((share, (yes * there * if_yes + no * absent * if_no) / share))
        return outcome


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


def _entropy(p: Array) -> float:
    q = np.clip(p, 1e-12, 1 - 1e-12)
    return float(-(q * np.log(q) + (1 - q) * np.log1p(-q)).sum())


def _highest(p: Array) -> float:
    return float(p[:-1].max(initial=0.0))


def _lead(case: CaseNetwork, p: Array) -> str:
    """The cause that today's advice follows, or nothing when none stands out."""
    k = int(np.argmax(p[:-1])) if len(p) > 1 else -1
    if k < 0 or p[k] < LEAD_THRESHOLD:
        return ""
    return case.nodes[k]
