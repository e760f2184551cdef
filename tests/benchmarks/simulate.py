"""Wheels drawn from the knowledge itself: invented cheeses whose true causes are known.

Order of drawing: style and age, the maker's process, the causes that the network gives for that
process, the signs those causes show, and last the answers, with the errors that makers make. So
the truth follows the same words as the engine, and what is measured on such wheels is the
reasoning and the asking, never whether the knowledge is right.

Where a draw and the engine part on purpose: answers of one question exclude each other (a pH is
low or high, never both), a sign that speaks against a cause is hidden by it, and each answer is
given before anything is known of the others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from rindwright.engine.answers import Answers, Value
from rindwright.engine.asking import representative
from rindwright.engine.belief import Network
from rindwright.engine.catalog import Catalog, Cheese
from rindwright.engine.chaining import Chainer
from rindwright.engine.conditions import View, leaves, truth
from rindwright.engine.gates import FIRST, makes_sense, screened
from rindwright.engine.model import Circumstance, Condition, Question, Sign
from rindwright.engine.network import UNKNOWN_CAUSE, Builder, CaseNetwork, reliability

Chance = np.random.Generator
NOTHING_GRAVE: dict[str, Value] = {
    **dict.fromkeys(("someone_ill", "ate_burning", "lab_found", "recalled", "handler_ill", "not_food_grade", "room_ill",
                     "airless_pack", "pack_swollen", "stood_warm", "odd_growth", "shared_wash", "milk_animal_ill",
                     "herd_disease", "bird_flu"), "no"),
    "contact": ("nothing",), "form": "whole", "eaters": ("others",), "for_sale": "home", "heat_log": "bought",
    "eyes_meant": "no", "starter": "fresh", "ph_meter": "yes", "brine_state": ("fine",),
}  # fmt: skip
"""Answers that bring no caution: wheels are drawn for faults, not for hazards."""
YOUNGEST = 2.0
OLDEST = 1.5
"""Ages run from day 2 to this many times the style's ready day, even on a log scale."""
NOTICED = ("look", "feel", "smell")
"""What a maker brings along unasked is seen, felt or smelt, not measured or remembered."""
ROUNDS = 60
"""Rounds of fitting a question's answers to how common its circumstances are."""


@dataclass(frozen=True, slots=True)
class Wheel:
    """One invented cheese: what is true of it, and the whole questionnaire answered."""

    answers: Answers
    causes: frozenset[str]
    """The causes that are there; empty for a sound wheel."""
    stranger: bool
    """Whether something outside the knowledge is there as well."""
    signs: frozenset[str]
    """The signs that are truly there, whatever was answered."""
    base: float
    """Chance that no cause was there at all, before any sign."""
    opened: frozenset[str]
    """What every questionnaire begins with: rind, age and the safety screen."""

    def opening(self) -> Answers:
        """The answers every questionnaire begins with."""
        return Answers.of(pair for pair in self.answers if pair[0] in self.opened)


def draw(catalog: Catalog, rng: Chance) -> Wheel:
    """A wheel drawn from the knowledge."""
    return _drawer(catalog).wheel(rng)


def volunteered(catalog: Catalog, wheel: Wheel, rng: Chance, most: int = 2) -> list[tuple[str, Value]]:
    """Answers a maker brings along unasked: signs that are there, and that they have noticed."""
    drawer = _drawer(catalog)
    opened = wheel.opened
    told: dict[str, Value] = {}
    for sign in catalog.signs.values():
        if sign.id in wheel.signs and not sign.healthy and (question := drawer.question_of(sign)) not in opened:
            value = wheel.answers.get(question)
            noticed = catalog.questions[question].about in NOTICED
            if noticed and value is not None and drawer.shows(sign, value, wheel):
                told[question] = value
    names = list(told)
    chosen = [names[int(k)] for k in rng.permutation(len(names))[:most]]
    return [(name, told[name]) for name in chosen]


@lru_cache(maxsize=4)
def _drawer(catalog: Catalog) -> _Drawer:
    return _Drawer(catalog)


class _Drawer:
    def __init__(self, catalog: Catalog) -> None:
        self._catalog = catalog
        self._chainer = Chainer(catalog)
        self._builder = Builder(catalog)
        self._signs: dict[str, list[Sign]] = {}
        for sign in catalog.signs.values():
            self._signs.setdefault(self.question_of(sign), []).append(sign)
        self._turning: dict[str, list[Circumstance]] = {}
        assumed: set[str] = set()
        for circumstance in catalog.circumstances.values():
            for leaf in leaves(circumstance.when):
                if leaf.ask:
                    touched = self._turning.setdefault(leaf.ask, [])
                    if circumstance not in touched:
                        touched.append(circumstance)
                if leaf.unanswered:
                    assumed.add(leaf.unanswered)
        self._assumed = [q for q in catalog.questions if q in assumed]
        self._process = [q for q in catalog.questions.values() if q.id not in (*FIRST, *self._signs, *NOTHING_GRAVE)]
        self._makers: dict[str, int] = {}
        """For how many questions one answer alone can make a circumstance hold."""
        self._fitted: dict[tuple[str, tuple[tuple[float, tuple[bool, ...]], ...]], list[float]] = {}

    def question_of(self, sign: Sign) -> str:
        return self._builder.question_of(sign)

    def shows(self, sign: Sign, value: Value, wheel: Wheel) -> bool:
        """Whether an answer says that a sign is there."""
        return self._says(sign, value, wheel.answers.cheese(self._catalog))

    def _says(self, sign: Sign, value: Value, cheese: Cheese) -> bool:
        condition = sign.when or Condition(ask=sign.id)
        return truth(condition, _bare(Answers.of([(self.question_of(sign), value)]), cheese)) is True

    def wheel(self, rng: Chance) -> Wheel:
        frame, cheese = self._frame(rng)
        process = self._draw_process(frame, cheese, rng)
        case = self._builder.build(process, self._chainer.run(process, cheese))
        on = _causes(case.network, rng)
        causes = frozenset(case.nodes[k] for k in on)
        answers, signs = self._draw_signs(process, case, on, rng)
        sound = math.prod(1 - b for b in case.network.base[:-1])
        opened = frozenset((*FIRST, *screened(self._catalog)))
        known = self._sensible(answers, cheese)
        return Wheel(known, causes - {UNKNOWN_CAUSE}, UNKNOWN_CAUSE in causes, signs, sound, opened)

    def _frame(self, rng: Chance) -> tuple[Answers, Cheese]:
        family = list(self._catalog.families.values())[int(rng.integers(len(self._catalog.families)))]
        style = family.styles[int(rng.integers(len(family.styles)))]
        age = round(math.exp(rng.uniform(math.log(YOUNGEST), math.log(OLDEST * style.ready_day))))
        given: dict[str, Value] = {"family": family.id, "style": style.id, "age_days": float(age)}
        answers = Answers.of(given)
        return answers, answers.cheese(self._catalog)

    def _draw_process(self, frame: Answers, cheese: Cheese, rng: Chance) -> Answers:
        given: dict[str, Value] = dict(frame)
        given |= NOTHING_GRAVE
        open_ = [q for q in self._process if makes_sense(q, _bare(frame, cheese)) or q.ask_if is not None]
        for question in open_:
            values = self._values(question)
            if values:
                shares = self._shares(question, values, frame, cheese)
                given[question.id] = values[int(rng.choice(len(values), p=shares))]
        for name in self._assumed:
            self._heed_what_is_assumed(name, given, frame, cheese, rng)
        return self._sensible(Answers.of(given), cheese)

    def _values(self, question: Question) -> list[Value]:
        values = representative(question, self._turning.get(question.id, []), question.options)
        if question.kind != "number":
            return values
        low = -math.inf if question.minimum is None else question.minimum
        high = math.inf if question.maximum is None else question.maximum
        return [min(max(v, low), high) for v in values if isinstance(v, float)]

    def _shares(self, question: Question, values: list[Value], frame: Answers, cheese: Cheese) -> list[float]:
        """Shares of a question's answers under which its circumstances are about as common as they say."""
        wanted: list[tuple[float, tuple[bool, ...]]] = []
        for circumstance in self._turning.get(question.id, []):
            so = tuple(truth(circumstance.when, _bare(frame.adding(question.id, v), cheese)) is True for v in values)
            if any(so) and not all(so):
                common = self._catalog.value("how_common", circumstance.how_common)
                ways = self._ways(circumstance, frame, cheese)
                wanted.append((1 - (1 - common) ** (1 / ways), so))
        key = (question.id, tuple(wanted))
        if key not in self._fitted:
            self._fitted[key] = _fit(len(values), wanted)
        return self._fitted[key]

    def _ways(self, circumstance: Circumstance, frame: Answers, cheese: Cheese) -> int:
        names = {leaf.ask for leaf in leaves(circumstance.when) if leaf.ask and leaf.ask not in FIRST}
        ways = 0
        for name in names - set(self._signs):
            values = self._values(self._catalog.questions[name])
            ways += any(truth(circumstance.when, _bare(frame.adding(name, v), cheese)) is True for v in values)
        return max(ways, 1)

    def _heed_what_is_assumed(
        self, name: str, given: dict[str, Value], frame: Answers, cheese: Cheese, rng: Chance
    ) -> None:
        """Where the knowledge takes something for granted as long as a question is open, make it so."""
        question = self._catalog.questions[name]
        touched = [
            c for c in self._catalog.circumstances.values()
            if any(leaf.unanswered == name for leaf in leaves(c.when))
        ]  # fmt: skip
        if name not in given:
            return
        without = _bare(Answers.of({k: v for k, v in given.items() if k != name}), cheese)
        assumed = [(c, t) for c in touched if (t := truth(c.when, without)) is not None]
        values = self._values(question)
        shares = self._shares(question, values, frame, cheese)
        fitting = [
            share if all(truth(c.when, _bare(Answers.of({**given, name: v}), cheese)) is t for c, t in assumed) else 0.0
            for v, share in zip(values, shares, strict=True)
        ]
        total = sum(fitting)
        if total > 0:
            given[name] = values[int(rng.choice(len(values), p=[f / total for f in fitting]))]

    def _draw_signs(
        self, process: Answers, case: CaseNetwork, on: set[int], rng: Chance
    ) -> tuple[Answers, frozenset[str]]:
        given: dict[str, Value] = dict(process)
        there: set[str] = set()
        for name, signs in self._signs.items():
            question = self._catalog.questions[name]
            chances = {s.id: self._chance(s, case, on) for s in signs}
            value, true_signs = self._answer(question, signs, chances, case.cheese, rng)
            if value != ():  # none of the options, where none of them says so: the question is passed over
                given[name] = value
            there |= true_signs
        return Answers.of(given), frozenset(there)

    def _chance(self, sign: Sign, case: CaseNetwork, on: set[int]) -> float | None:
        """Chance that a sign is there, given the causes; None when it says nothing at this age."""
        if not self._builder.counts(sign, case.cheese):
            return None
        index = {name: k for k, name in enumerate(case.nodes)}
        normal = self._builder.normal_rows(sign.id, case.view)
        finding = self._builder.finding(sign, "there", index, case.view, normal)
        quiet = 1 - finding.leak
        for node, q in finding.links:
            if node in on:
                quiet *= 1 - q
        chance = quiet if sign.healthy else 1 - quiet
        for node in on - {index[UNKNOWN_CAUSE]}:
            for against in self._catalog.causes[case.nodes[node]].against:
                if against.sign == sign.id:
                    chance /= self._catalog.value("strength", against.strength)
        return chance

    def _answer(
        self, question: Question, signs: list[Sign], chances: dict[str, float | None], cheese: Cheese, rng: Chance
    ) -> tuple[Value, set[str]]:
        """What is so, and what the maker says of it."""
        counting = [(s, p) for s in signs if (p := chances[s.id]) is not None]
        noise = self._catalog.noise[question.about]
        if question.kind in ("scale", "yes_no"):
            yes = math.prod(p for _, p in counting) if counting else 0.0
            no = math.prod(1 - p for _, p in counting)
            so = bool(rng.random() < yes / (yes + no))
            graded = question.kind == "scale"
            said = ("clear" if graded else "yes", "slight", "no")
            odds = [reliability(noise, state, graded)[0 if so else 1] for state in ("there", "slight", "not there")]
            return said[int(rng.choice(3, p=odds))], {s.id for s, _ in counting} if so else set()
        if question.kind == "some_of":
            true_signs = {s.id for s, p in counting if rng.random() < p}
            named = []
            for s, _ in counting:
                yes = reliability(noise, "there", False)[0 if s.id in true_signs else 1]
                if rng.random() < yes and s.when is not None:
                    named.append(s.when.one_of[-1])
            nothing = [o.id for o in question.options if o.id == "none"]
            return tuple(sorted(named or nothing)), true_signs
        values = self._sign_values(question, signs)
        kinds: dict[tuple[bool, ...], list[Value]] = {}
        for value in values:
            kinds.setdefault(tuple(self._says(s, value, cheese) for s, _ in counting), []).append(value)
        truths = list(kinds)
        odds = [math.prod(p if t else 1 - p for t, (_, p) in zip(row, counting, strict=True)) for row in truths]
        real = truths[_pick(odds, rng)]
        odds = [
            math.prod(
                reliability(noise, "there" if said else "not there", False)[0 if so else 1]
                for said, so in zip(row, real, strict=True)
            )
            for row in truths
        ]
        answered = kinds[truths[_pick(odds, rng)]]
        true_signs = {s.id for (s, _), so in zip(counting, real, strict=True) if so}
        return answered[int(rng.integers(len(answered)))], true_signs

    def _sign_values(self, question: Question, signs: list[Sign]) -> list[Value]:
        # ``representative`` looks at conditions alone, so signs may stand in for circumstances.
        as_circumstances = [Circumstance(s.id, "", s.when, "some makers", ()) for s in signs if s.when]
        return representative(question, [*as_circumstances, *self._turning.get(question.id, [])], question.options)

    def _sensible(self, answers: Answers, cheese: Cheese) -> Answers:
        """Answers without those to questions that would never have been put."""
        while True:
            view = self._view(answers, cheese)
            kept = Answers.of(pair for pair in answers if makes_sense(self._catalog.questions[pair[0]], view))
            if kept == answers:
                return answers
            answers = kept

    def _view(self, answers: Answers, cheese: Cheese) -> View:
        """Answers with whatever a condition asks of them worked out on the spot: few conditions are looked at."""

        def holds(name: str) -> bool | None:
            return truth(self._catalog.circumstances[name].when, view)

        def sign(name: str) -> bool | None:
            return truth(self._catalog.signs[name].when or Condition(ask=name), view)

        view = View(answers, cheese, holds, sign)
        return view


def _bare(answers: Answers, cheese: Cheese) -> View:
    return View(answers, cheese, lambda _: None, lambda _: None)


def _pick(odds: list[float], rng: Chance) -> int:
    total = sum(odds)
    return int(rng.choice(len(odds), p=[o / total for o in odds]))


def _fit(size: int, wanted: list[tuple[float, tuple[bool, ...]]]) -> list[float]:
    """Even shares, scaled by turns until each wanted set of answers has its wanted share, or nearly."""
    shares = np.full(size, 1 / size)
    for _ in range(ROUNDS):
        for common, so in wanted:
            inside = np.array(so)
            now = float(shares[inside].sum())
            if 0 < now < 1:
                shares = np.where(inside, shares * common / now, shares * (1 - common) / (1 - now))
    total = float(shares.sum())
    return [float(s) / total for s in shares]


def _causes(network: Network, rng: Chance) -> set[int]:
    """The nodes that are on: by themselves, or brought on by one that feeds them."""
    on = {k for k, b in enumerate(network.base) if rng.random() < b}
    carries = [(parent, child) for parent, child, q in network.feeds if rng.random() < q]
    while True:
        more = {child for parent, child in carries if parent in on} - on
        if not more:
            return on
        on |= more
