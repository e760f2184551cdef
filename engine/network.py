"""A cheese's answers as a belief network: which causes can be there, and what each answer says.

Order of work: causes that do not fit this rind or age are left out; circumstances and signs
that speak against a cause move its odds; every answered sign that counts at this age becomes
a finding. One more node stands for *something that is not in the knowledge*: it explains any
sign a little, so that answers nobody knows raise it instead of a wrong cause.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .answers import Answers
from .belief import Finding, Lane, Network
from .catalog import Catalog, Cheese
from .chaining import Chained
from .conditions import View, leaves, truth
from .dating import began_in_time, can_be_there, link_counts, onset_day
from .gates import FIRST
from .local import NONE, LeakKey, LinkKey, Local, base_of, link_at
from .model import AnswerNoise, Cause, Link, Sign
from .odds import moved

UNKNOWN_CAUSE = "something else"
UNKNOWN_CAUSE_BASE = 0.01
UNKNOWN_CAUSE_LINK = 0.30
"""How often a cause outside the knowledge shows any one sign: judgement, no source."""
LACKS_HEALTH = 0.45
"""How often a cause takes away a healthy sign it is not linked to: judgement, no source."""
NORMAL_LEAK = 0.55
"""How often a sign that is normal at this age shows on a sound rind: the word "often"."""
USUAL = "often"
"""A sign that a sound rind shows this often does not stand in the way of "normal"."""
UNSAID = (0.35, 0.97)
"""A striking sign left out by a maker who has listed everything: how often when it is there,
and when it is not. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One answer as evidence: where it stands in the network and what it is called."""

    sign: str
    state: str
    """there, slight, not there, or not named."""
    finding: int
    links: tuple[tuple[int, LinkKey], ...] = ()
    """The link that counts here, of each node that has one."""
    normal: tuple[str, ...] = ()
    """Normal rows that account for it at this age."""
    healthy: bool = False
    usual: bool = False
    """Whether a sound rind of this kind and age shows it often, or more than often."""


@dataclass(frozen=True, slots=True)
class Shifted:
    """A circumstance or sign that moved the odds of a cause: log-odds, natural."""

    cause: str
    by: str
    """Id of the circumstance or sign."""
    is_sign: bool
    log_odds: float
    so: bool
    """Whether it holds (or is there), as opposed to known not to."""


@dataclass(frozen=True, slots=True)
class CaseNetwork:
    """The network of one case, with the names of its nodes and where each number came from."""

    network: Network
    nodes: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    shifts: tuple[Shifted, ...]
    cheese: Cheese
    view: View

    def node(self, cause: str) -> int | None:
        """The index of a cause, or None when it cannot be there."""
        return self.nodes.index(cause) if cause in self.nodes else None


class Builder:
    """Makes case networks from one knowledge base, and from local corrections where there are any."""

    def __init__(self, catalog: Catalog, local: Local = NONE) -> None:
        self.catalog = catalog
        self.local = local
        self._base = {c: base_of(catalog, local, c) for c in catalog.causes}
        self._links: dict[str, list[tuple[Cause, Link, LinkKey]]] = {sign: [] for sign in catalog.signs}
        for cause in catalog.causes.values():
            for place, link in enumerate(cause.signs):
                self._links[link.sign].append((cause, link, (cause.id, link.sign, place)))
        self._movers: dict[str, list[tuple[str, float]]] = {}
        for cause in catalog.causes.values():
            for circumstance, strength in self.circumstances_of(cause):
                self._movers.setdefault(circumstance, []).append((cause.id, strength))
        self._moves: dict[tuple[str, bool], list[tuple[str, float]]] = {}

    def build(self, answers: Answers, chained: Chained) -> CaseNetwork:
        """The network for a set of answers and what follows from them."""
        cheese = answers.cheese(self.catalog)
        view = View(answers, cheese, chained.circumstance, chained.sign)
        onset = onset_day(answers, cheese)
        causes = [
            c for c in self.catalog.causes.values()
            if cheese.is_one_of(c.rinds) is not False and can_be_there(c, cheese, onset)
        ]  # fmt: skip
        nodes = (*(c.id for c in causes), UNKNOWN_CAUSE)
        index = {id: k for k, id in enumerate(nodes)}
        shifts = tuple(s for cause in causes for s in self._shifts(cause, view))
        # Sorted, so that the order of the knowledge does not matter to the last digit.
        by = {c.id: math.fsum(sorted(s.log_odds for s in shifts if s.cause == c.id)) for c in causes}
        base = [moved(self._base[c.id], by[c.id]) for c in causes]
        feeds = tuple(
            (index[c.id], index[f.cause], self.catalog.value("feeding", f.strength))
            for c in causes
            for f in c.leads_to
            if f.cause in index
        )
        findings: list[Finding] = []
        evidence: list[Evidence] = []
        for sign in self.catalog.signs.values():
            state = self.state(sign, view, answers.listed_all)
            if state is None:
                continue
            normal = self.normal_rows(sign.id, view)
            links = self.counting(sign, state, index, view)
            usual = self.usual(self.leak_key(sign, cheese))
            evidence.append(Evidence(sign.id, state, len(findings), tuple(links.items()), normal, sign.healthy, usual))
            findings.append(self._finding(sign, state, index, view, normal, links))
        network = Network((*base, UNKNOWN_CAUSE_BASE), feeds, tuple(findings))
        return CaseNetwork(network, nodes, tuple(evidence), shifts, cheese, view)

    def state(self, sign: Sign, view: View, listed_all: bool = False) -> str | None:
        """What the answers say of a sign, or None when they say nothing that counts now."""
        if not self.counts(sign, view.cheese):
            return None
        there = view.sign(sign.id)
        if there is None:
            if listed_all and sign.salient and view.answers.get(self.question_of(sign)) is None:
                return "not named"
            return None
        if not there:
            return "not there"
        return "slight" if view.answers.get(sign.id) == "slight" and sign.when is None else "there"

    def counts(self, sign: Sign, cheese: Cheese) -> bool:
        """Whether a sign says anything on this rind at this age."""
        if cheese.is_one_of(sign.rinds) is False:
            return False
        if sign.from_due_day:
            if cheese.age_days is None:
                return False
            styles = [cheese.style] if cheese.style else [
                s for s in self.catalog.styles.values() if s.id in cheese.possible
            ]  # fmt: skip
            return cheese.age_days >= max(s.shows_by_day for s in styles)
        return cheese.in_window(sign.from_day, sign.to_day) is not False

    def question_of(self, sign: Sign) -> str:
        """The question that settles a sign first of all."""
        if sign.when is None:
            return sign.id
        return next(leaf.ask for leaf in leaves(sign.when) if leaf.ask)

    def normal_rows(self, sign: str, view: View) -> tuple[str, ...]:
        """The rows under which a sign is normal on this rind at this age."""
        return tuple(
            row.id for row in self.catalog.normal.values() if sign in row.signs and self.row_fits(row.id, view)
        )

    def row_fits(self, row_id: str, view: View) -> bool:
        """Whether a normal row speaks of this rind at this age, for sure."""
        row, cheese = self.catalog.normal[row_id], view.cheese
        if not cheese.is_one_of(row.rinds):
            return False
        to_day = row.to_day
        if row.until_due_day:
            if cheese.age_days is None:
                return False
            due = min(s.shows_by_day for s in self.catalog.styles.values() if s.id in cheese.possible)
            to_day = due - 1
        return bool(cheese.in_window(row.from_day, to_day)) and (
            row.only_if is None or truth(row.only_if, view) is True
        )

    def finding(self, sign: Sign, state: str, index: dict[str, int], view: View, normal: tuple[str, ...]) -> Finding:
        """An answered sign as a finding of the network."""
        return self._finding(sign, state, index, view, normal, self.counting(sign, state, index, view))

    def _finding(
        self,
        sign: Sign,
        state: str,
        index: dict[str, int],
        view: View,
        normal: tuple[str, ...],
        counting: Mapping[int, LinkKey],
    ) -> Finding:
        leak = self._leak(sign, view.cheese, bool(normal))
        if_there, if_not = self._reliability(sign, state)
        links = {node: self.strength(key) for node, key in counting.items()}
        links.setdefault(index[UNKNOWN_CAUSE], UNKNOWN_CAUSE_LINK)
        if not sign.healthy:
            return Finding(leak, tuple(sorted(links.items())), if_there, if_not)
        # A healthy sign enters as its lack: causes bring the lack about.
        lack = {node: 1 - q for node, q in links.items() if node != index[UNKNOWN_CAUSE]}
        for name, node in index.items():
            if node not in lack and name not in sign.spared_by:
                lack[node] = LACKS_HEALTH
        return Finding(1 - leak, tuple(sorted(lack.items())), if_not, if_there)

    def counting(self, sign: Sign, state: str, index: dict[str, int], view: View) -> dict[int, LinkKey]:
        """The link to a sign that counts for each node, given what the answers say of the sign."""
        onset = onset_day(view.answers, view.cheese) if state in ("there", "slight") else None
        return dict(self.linked(sign, index, view.cheese, onset))

    def linked(
        self, sign: Sign, index: dict[str, int], cheese: Cheese, onset: float | None
    ) -> Iterator[tuple[int, LinkKey]]:
        """Nodes linked to a sign on this cheese, each with the key of the link; of one node the last counts.

        ``onset``: the day it was first seen, where the sign is there and the day is known.
        """
        for cause, link, key in self._links[sign.id]:
            if cause.id not in index or cheese.is_one_of(link.rinds) is False:
                continue
            if not link_counts(link, sign, cheese, onset) or not began_in_time(cause, link, sign, onset):
                continue
            yield index[cause.id], key

    def strength(self, key: LinkKey) -> float:
        """How often a link shows, corrected."""
        found = self.local.links.get(key)
        return self.catalog.value("frequency", link_at(self.catalog, key).seen) if found is None else found

    def links_of(self, sign: str) -> list[tuple[Cause, Link, LinkKey]]:
        """Every link to a sign, gates not looked at."""
        return self._links[sign]

    def base(self, cause: str) -> float:
        """The base rate of a cause, corrected."""
        return self._base[cause]

    def rate(self, key: LeakKey) -> float:
        """How often a sign shows on a sound rind, corrected."""
        found = self.local.leaks.get(key)
        return (
            self.catalog.value("frequency", self.catalog.signs[key[0]].on_sound_rinds[key[1]].seen)
            if found is None
            else found
        )

    def usual(self, key: LeakKey) -> bool:
        """Whether a sign says nothing against a sound rind. By the word of the knowledge: no correction makes it so."""
        seen = self.catalog.signs[key[0]].on_sound_rinds[key[1]].seen
        return self.catalog.value("frequency", seen) >= self.catalog.value("frequency", USUAL)

    def leak_key(self, sign: Sign, cheese: Cheese) -> LeakKey:
        """Which of a sign's rates on sound rinds fits this cheese: the last that does."""
        fitting = 0
        for place, rate in enumerate(sign.on_sound_rinds[1:], 1):
            if cheese.is_one_of(rate.rinds) and cheese.in_window(rate.from_day, rate.to_day):
                fitting = place
        return sign.id, fitting

    def _leak(self, sign: Sign, cheese: Cheese, normal: bool) -> float:
        leak = self.rate(self.leak_key(sign, cheese))
        return max(leak, NORMAL_LEAK) if normal else leak

    def _reliability(self, sign: Sign, state: str) -> tuple[float, float]:
        """P(this answer | sign there), P(this answer | sign not there)."""
        if state == "not named":
            return UNSAID
        question = self.catalog.questions[self.question_of(sign)]
        noise = self.catalog.noise[question.about]
        return reliability(noise, state, question.kind == "scale" and sign.when is None)

    def moves(self, circumstance: str, so: bool) -> list[tuple[str, float]]:
        """Causes a circumstance moves, with the log-odds it adds once it is known to hold, or not to."""
        if (circumstance, so) not in self._moves:
            movers = self._movers.get(circumstance, [])
            self._moves[(circumstance, so)] = [(cause, self.move(circumstance, by, so)) for cause, by in movers]
        return self._moves[(circumstance, so)]

    def move(self, circumstance: str, strength: float, so: bool) -> float:
        """How far a circumstance moves the odds once known, in log-odds."""
        common = self.catalog.value("how_common", self.catalog.circumstances[circumstance].how_common)
        return balanced(strength, common, so)

    def _shifts(self, cause: Cause, view: View) -> Iterator[Shifted]:
        for circumstance, strength in self.circumstances_of(cause):
            so = view.holds(circumstance)
            if so is not None and (so or self._could_hold(circumstance, view)):
                yield Shifted(cause.id, circumstance, False, self.move(circumstance, strength, so), so)
        for against in cause.against:
            sign = self.catalog.signs.get(against.sign)
            # The absence of a rare sign says next to nothing: only its presence counts.
            if sign is not None and self.counts(sign, view.cheese) and view.sign(sign.id):
                strength = -math.log(self.catalog.value("strength", against.strength))
                leak = self._leak(sign, view.cheese, False)
                yield Shifted(cause.id, sign.id, True, balanced(strength, leak, True), True)

    def _could_hold(self, circumstance: str, view: View) -> bool:
        """Whether a circumstance is about this rind and age at all; if not, its failing says nothing."""
        frame = Answers.of((pair for pair in view.answers if pair[0] in FIRST), view.answers.listed_all)

        def could(id: str) -> bool | None:
            return truth(self.catalog.circumstances[id].when, bare)

        bare = View(frame, view.cheese, could, lambda _: None)
        return could(circumstance) is not False

    def circumstances_of(self, cause: Cause) -> Iterator[tuple[str, float]]:
        """Circumstances that move a cause, each with the log-odds it adds when it holds."""
        for shift in cause.likelier:
            yield shift.when, math.log(self.catalog.value("strength", shift.strength))
        for against in cause.against:
            if against.when:
                yield against.when, -math.log(self.catalog.value("strength", against.strength))


def reliability(noise: AnswerNoise, state: str, graded: bool) -> tuple[float, float]:
    """P(answer | sign there), P(answer | sign not there) for a kind of answer."""
    slight_there = noise.slight_if_there if graded else 0.0
    slight_not = noise.slight_if_not if graded else 0.0
    if state == "slight":
        return slight_there, slight_not
    if state == "there":
        return 1 - noise.missed - slight_there, noise.imagined
    return noise.missed, 1 - noise.imagined - slight_not


def balanced(strength: float, common: float, so: bool) -> float:
    """The move of a fact once known, such that the base rate stays the average over makers."""
    return (strength if so else 0.0) - math.log1p(common * math.expm1(strength))


def without_evidence(case: CaseNetwork, evidence: Evidence) -> Lane:
    """The case with one answer left out, as a lane: its finding and the odds it moved."""
    back = tuple((case.nodes.index(s.cause), -s.log_odds) for s in case.shifts if s.is_sign and s.by == evidence.sign)
    return Lane(log_odds=back, without=frozenset({evidence.finding}))


def without_circumstance(case: CaseNetwork, circumstance: str) -> Lane:
    """The case with one circumstance left out."""
    return Lane(
        log_odds=tuple(
            (case.nodes.index(s.cause), -s.log_odds) for s in case.shifts if not s.is_sign and s.by == circumstance
        )
    )
