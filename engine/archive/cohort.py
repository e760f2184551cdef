"""Many looks at once: from columns to posteriors, the same numbers as one look at a time.

What differs between looks goes into arrays: the odds of every cause moved by circumstances, the weight that
answers against signs put on every cause, and the few answers that speak for a sign. For those, the sum over
"explained or not" is written out: with k of them a look becomes 2^k *lanes* of one network that has no findings
left, only causes feeding causes, and whose elimination order is the same for every look. Looks with more than
``MOST_FOR`` such answers, or where the signed sum would lose digits, go through the one-look path.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..asking import LEAD_THRESHOLD
from ..belief import Finding, Network, TooWide, beliefs, weighted
from ..catalog import Catalog
from ..cautions import LEVELS
from ..diagnosis import NORMAL_CAUSE_CAP, NORMAL_LEAST, SHOWN
from ..local import NONE, Local
from ..model import Sign
from ..network import (
    LACKS_HEALTH,
    NORMAL_LEAK,
    UNKNOWN_CAUSE_BASE,
    UNKNOWN_CAUSE_LINK,
    UNSAID,
    Builder,
    balanced,
    reliability,
)
from .columns import Cohort, Flags, Numbers

MOST_FOR = 8
"""Answers for signs that are written out; more go one by one."""
LEAST_LEFT = 1e-6
"""Share of the largest term that must be left of the signed sum: below it, digits would be lost."""
_LANES = 1 << 13
VERDICTS = ("stop", "hold", "normal", "causes", "undecided")


@dataclass(frozen=True, slots=True)
class Weighed:
    """Posteriors of many looks. Rows are looks; columns are the causes of the catalog, then the unknown one."""

    posterior: Numbers
    """0 for a cause that cannot be there."""
    log_evidence: Numbers
    normal: Numbers
    """Chance that nothing is wrong."""
    verdict: NDArray[np.int8]
    """Places in ``VERDICTS``."""
    hard: Flags
    """Looks whose posterior, evidence and verdict are left to the one-look path."""


@dataclass(frozen=True, slots=True)
class _State:
    """What the answers of all looks say of one sign."""

    there: Flags
    slight: Flags
    not_there: Flags
    unsaid: Flags
    normal: Flags


class Weigher:
    """Weighs cohorts under one knowledge base and one set of corrections."""

    def __init__(self, catalog: Catalog, local: Local = NONE) -> None:
        self.catalog = catalog
        self.local = local
        self.builder = Builder(catalog, local)
        self.nodes = tuple(catalog.causes)
        self._index = {c: k for k, c in enumerate(self.nodes)}
        feeds = [
            (self._index[c.id], self._index[f.cause], catalog.value("feeding", f.strength))
            for c in catalog.causes.values()
            for f in c.leads_to
            if f.cause in self._index
        ]
        self._feeds = feeds
        joined = sorted({node for parent, child, _ in feeds for node in (parent, child)})
        self._joined = np.array(joined, dtype=np.intp)
        self._alone = np.array([k for k in range(len(self.nodes)) if k not in set(joined)], dtype=np.intp)
        place = {node: k for k, node in enumerate(joined)}
        inner = tuple((place[p], place[c], q) for p, c, q in feeds)
        self._network = Network(tuple(0.1 for _ in joined), inner)
        self._fed = np.array([q for *_, q in feeds])
        self._children = np.array([c for _, c, _ in feeds], dtype=np.intp)
        self._signs_of: dict[str, int] = {s: k for k, s in enumerate(catalog.signs)}

    def weigh(self, cohort: Cohort) -> Weighed:
        """Posteriors and verdicts of all looks of a cohort."""
        applies = self._applies(cohort)
        states = {sign.id: self._state(cohort, sign) for sign in self.catalog.signs.values()}
        base = self._base(cohort, applies, states)
        weight = np.ones((cohort.size, len(self.nodes) + 1))
        constant = np.zeros(cohort.size)
        healthy = np.log1p(-base).sum(axis=1) + math.log1p(-UNKNOWN_CAUSE_BASE)
        for_: list[list[tuple[float, float, Numbers]]] = [[] for _ in range(cohort.size)]
        for sign in self.catalog.signs.values():
            self._take(cohort, sign, states[sign.id], applies, weight, constant, healthy, for_)
        counts = np.array([len(f) for f in for_])
        posterior = np.zeros((cohort.size, len(self.nodes) + 1))
        evidence = np.full(cohort.size, np.nan)
        hard = counts > MOST_FOR
        for k in range(MOST_FOR + 1):
            rows = np.flatnonzero(counts == k)
            step = max(1, _LANES >> k)
            for start in range(0, len(rows), step):
                part = rows[start : start + step]
                found, log_sum, left = self._lanes(base[part], weight[part], applies[part], [for_[r] for r in part], k)
                posterior[part], evidence[part] = found, log_sum + constant[part]
                hard[part] = left < LEAST_LEFT
        for row in np.flatnonzero(hard).tolist():
            found_one = self._one(base[row], weight[row], applies[row], for_[row])
            if found_one is not None:
                posterior[row], evidence[row] = found_one[0], found_one[1] + constant[row]
                hard[row] = False
        normal = np.exp(np.minimum(0.0, np.where(hard, 0.0, healthy - np.nan_to_num(evidence))))
        verdict = self._verdict(cohort, states, posterior, normal)
        return Weighed(posterior, evidence, normal, verdict, hard)

    def _applies(self, cohort: Cohort) -> Flags:
        columns = []
        for cause in self.catalog.causes.values():
            now = ~cohort.window(cause.from_day, cause.to_day)[1]
            columns.append(~cohort.rind(cause.rinds)[1] & (now | cohort.seen_in(cause.from_day, cause.to_day)))
        return np.stack(columns, axis=1)

    def _state(self, cohort: Cohort, sign: Sign) -> _State:
        counts = self._counts(cohort, sign)
        so, not_so = cohort.sign(sign.id)
        slight = cohort.nowhere
        if sign.when is None and sign.id in cohort.said:
            slight = counts & so & cohort.said[sign.id].where(lambda v: v == "slight")
        unsaid = cohort.nowhere
        if sign.salient:
            asked = self.builder.question_of(sign)
            open_ = cohort.said[asked].codes < 0 if asked in cohort.said else cohort.everywhere
            unsaid = counts & ~so & ~not_so & cohort.listed_all & open_
        normal = cohort.nowhere
        for row in self.catalog.normal.values():
            if sign.id in row.signs:
                normal = normal | self._row_fits(cohort, row.id)
        return _State(counts & so & ~slight, slight, counts & not_so, unsaid, normal)

    def _counts(self, cohort: Cohort, sign: Sign) -> Flags:
        fits = ~cohort.rind(sign.rinds)[1]
        if not sign.from_due_day:
            return fits & ~cohort.window(sign.from_day, sign.to_day)[1]
        styles = self.catalog.styles.values()
        due = cohort.per_cheese(
            lambda c: max(s.shows_by_day for s in ([c.style] if c.style else [s for s in styles if s.id in c.possible]))
        )
        with np.errstate(invalid="ignore"):
            return fits & (cohort.age >= due)

    def _row_fits(self, cohort: Cohort, row_id: str) -> Flags:
        row = self.catalog.normal[row_id]
        fits = cohort.rind(row.rinds)[0]
        to_day: int | Numbers | None = row.to_day
        if row.until_due_day:
            styles = self.catalog.styles.values()
            to_day = cohort.per_cheese(lambda c: min(s.shows_by_day for s in styles if s.id in c.possible) - 1)
            fits = fits & ~np.isnan(cohort.age)
        fits = fits & cohort.window(row.from_day, to_day)[0]
        return fits if row.only_if is None else fits & cohort.truth(row.only_if)[0]

    def _base(self, cohort: Cohort, applies: Flags, states: dict[str, _State]) -> Numbers:
        logit = np.zeros((cohort.size, len(self.nodes)))
        for k, cause in enumerate(self.catalog.causes.values()):
            base = self.builder.base(cause.id)
            column = np.full(cohort.size, math.log(base / (1 - base)))
            for circumstance, strength in self.builder.circumstances_of(cause):
                so, not_so = cohort.holds(circumstance)
                could = ~cohort.truth(self.catalog.circumstances[circumstance].when, bare=True)[1]
                column += np.where(so, self.builder.move(circumstance, strength, True), 0.0)
                column += np.where(not_so & could, self.builder.move(circumstance, strength, False), 0.0)
            for against in cause.against:
                sign = self.catalog.signs.get(against.sign)
                if sign is None:
                    continue
                strength = -math.log(self.catalog.value("strength", against.strength))
                state = states[sign.id]
                leak = self._leak(cohort, sign)
                moves = np.array([balanced(strength, float(x), True) for x in leak.values])
                column += np.where(state.there | state.slight, moves[leak.codes], 0.0)
            logit[:, k] = column
        return np.where(applies, 1 / (1 + np.exp(-logit)), 0.0)

    def _leak(self, cohort: Cohort, sign: Sign) -> _Choice:
        codes = np.zeros(cohort.size, dtype=np.intp)
        for place, rate in enumerate(sign.on_sound_rinds[1:], 1):
            fits = cohort.rind(rate.rinds)[0] & cohort.window(rate.from_day, rate.to_day)[0]
            codes[fits] = place
        values = [self.builder.rate((sign.id, place)) for place in range(len(sign.on_sound_rinds))]
        return _Choice(np.array(values), codes)

    def _take(
        self,
        cohort: Cohort,
        sign: Sign,
        state: _State,
        applies: Flags,
        weight: Numbers,
        constant: Numbers,
        healthy: Numbers,
        for_: list[list[tuple[float, float, Numbers]]],
    ) -> None:
        """Put what is said of one sign where it belongs: against it into weights, for it into a list."""
        answered = state.there | state.slight | state.not_there | state.unsaid
        rows = np.flatnonzero(answered)
        if not len(rows):
            return
        leak_of = self._leak(cohort, sign)
        leak = leak_of.values[leak_of.codes[rows]]
        leak = np.where(state.normal[rows], np.maximum(leak, NORMAL_LEAK), leak)
        r1, r0 = self._reliability(sign, state, rows)
        q = self._strengths(cohort, sign, rows, applies, state.there | state.slight)
        if sign.healthy:  # as its lack
            leak, r1, r0 = 1 - leak, r0, r1
        speaks_for = r1 > r0
        none = r1 + (r0 - r1) * (1 - leak)
        healthy[rows] += np.log(none)
        against = ~speaks_for
        at = rows[against]
        if len(at):
            share = ((r0 - r1) * (1 - leak))[against][:, None]
            quiet = none[against][:, None]
            weight[at] *= (r1[against][:, None] + share * (1 - q[against])) / quiet
            constant[at] += np.log(none[against])
        for k in np.flatnonzero(speaks_for):
            for_[rows[k]].append((float(r1[k]), float((r0[k] - r1[k]) * (1 - leak[k])), 1 - q[k]))

    def _reliability(self, sign: Sign, state: _State, rows: NDArray[np.intp]) -> tuple[Numbers, Numbers]:
        question = self.catalog.questions[self.builder.question_of(sign)]
        noise = self.catalog.noise[question.about]
        graded = question.kind == "scale" and sign.when is None
        r1, r0 = np.empty(len(rows)), np.empty(len(rows))
        for flags, pair in (
            (state.there, reliability(noise, "there", graded)),
            (state.slight, reliability(noise, "slight", graded)),
            (state.not_there, reliability(noise, "not there", graded)),
            (state.unsaid, UNSAID),
        ):
            chosen = flags[rows]
            r1[chosen], r0[chosen] = pair
        return r1, r0

    def _strengths(self, cohort: Cohort, sign: Sign, rows: NDArray[np.intp], applies: Flags, there: Flags) -> Numbers:
        """Link strengths (looks, causes and the unknown one); for a healthy sign those of its lack."""
        q = np.zeros((len(rows), len(self.nodes) + 1))
        linked = np.zeros(q.shape, dtype=bool)
        dated = there & ~np.isnan(cohort.onset) if sign.salient else cohort.nowhere
        for cause, link, key in self.builder.links_of(sign.id):
            node = self._index[key[0]]
            fits = ~cohort.window(link.from_day, link.to_day)[1] | (dated & cohort.seen_in(link.from_day, link.to_day))
            in_time = ~dated | cohort.seen_in(max(cause.from_day, link.from_day), None)
            here = (fits & in_time & ~cohort.rind(link.rinds)[1])[rows] & applies[rows, node]
            q[here, node] = self.builder.strength(key)
            linked[here, node] = True
        if not sign.healthy:
            q[:, -1] = UNKNOWN_CAUSE_LINK
            return q
        q[linked] = 1 - q[linked]
        bare = applies[rows] & ~linked[:, :-1]
        spared = np.array([name in sign.spared_by for name in self.nodes])
        q[:, :-1] = np.where(bare & ~spared, LACKS_HEALTH, q[:, :-1])
        # The unknown cause takes away a healthy sign as any other does.
        q[:, -1] = LACKS_HEALTH
        return q

    def _lanes(
        self,
        base: Numbers,
        weight: Numbers,
        applies: Flags,
        for_: Sequence[list[tuple[float, float, Numbers]]],
        k: int,
    ) -> tuple[Numbers, Numbers, Numbers]:
        """Posteriors, log of the sum, and how much of the largest term was left of it, for looks with k findings."""
        looks, subsets = len(base), 1 << k
        lanes = np.repeat(weight[:, None, :], subsets, axis=1)
        factor = np.ones((looks, subsets))
        bits = (np.arange(subsets)[:, None] >> np.arange(k)) & 1
        for slot in range(k):
            there = np.array([f[slot][0] for f in for_])[:, None]
            share = np.array([f[slot][1] for f in for_])[:, None]
            keep = np.stack([f[slot][2] for f in for_])[:, None, :]
            on = bits[:, slot].astype(bool)
            factor = factor * np.where(on, share, there)
            lanes[:, on, :] *= keep
        alone = np.concatenate([self._alone, [len(self.nodes)]])
        all_base = np.concatenate([base, np.full((looks, 1), UNKNOWN_CAUSE_BASE)], axis=1)
        b = all_base[:, None, alone]
        on_part = b * lanes[:, :, alone]
        total = 1 - b + on_part
        log_sum = np.log(total).sum(axis=2)
        share_on = np.empty((looks, subsets, len(self.nodes) + 1))
        share_on[:, :, alone] = on_part / total
        if len(self._joined):
            flat = looks * subsets
            joined_base = np.repeat(base[:, None, self._joined], subsets, axis=1).reshape(flat, -1).T
            joined_weight = lanes[:, :, self._joined].reshape(flat, -1).T
            fed = np.where(applies[:, self._children], self._fed, 0.0)
            fed = np.repeat(fed[:, None, :], subsets, axis=1).reshape(flat, -1).T
            found, log_joined = weighted(self._network, joined_base, joined_weight, fed)
            share_on[:, :, self._joined] = found.T.reshape(looks, subsets, -1)
            log_sum = log_sum + log_joined.reshape(looks, subsets)
        top = log_sum.max(axis=1)
        terms = factor * np.exp(log_sum - top[:, None])
        whole = terms.sum(axis=1)
        left = whole / np.abs(terms).max(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            posterior = np.einsum("ls,lsc->lc", terms, share_on) / whole[:, None]
            log_whole = np.log(whole) + top
        return np.clip(np.nan_to_num(posterior), 0.0, 1.0), log_whole, np.where(np.isfinite(log_whole), left, 0.0)

    def _one(
        self, base: Numbers, weight: Numbers, applies: Flags, for_: list[tuple[float, float, Numbers]]
    ) -> tuple[Numbers, float] | None:
        """One look by elimination over its own findings; None when that is too wide."""
        nodes = [*np.flatnonzero(applies).tolist(), len(self.nodes)]
        place = {node: k for k, node in enumerate(nodes)}
        against = Finding(0.0, tuple((place[n], 1 - float(weight[n])) for n in nodes if weight[n] != 1.0), 0.0, 1.0)
        findings = [against]
        for there, share, keep in for_:
            links = tuple((place[n], 1 - float(keep[n])) for n in nodes if keep[n] != 1.0)
            findings.append(Finding(0.0, links, there, there + share))
        feeds = tuple((place[p], place[c], q) for p, c, q in self._feeds if p in place and c in place)
        network = Network((*(float(base[n]) for n in nodes[:-1]), UNKNOWN_CAUSE_BASE), feeds, tuple(findings))
        try:
            found = beliefs(network)
        except TooWide:
            return None
        posterior = np.zeros(len(self.nodes) + 1)
        posterior[nodes] = found.posterior[:, 0]
        return posterior, float(found.log_evidence[0])

    def _verdict(
        self, cohort: Cohort, states: dict[str, _State], posterior: Numbers, normal: Numbers
    ) -> NDArray[np.int8]:
        worst = np.full(cohort.size, len(LEVELS))
        for caution in self.catalog.cautions.values():
            stands = cohort.truth(caution.when)[0]
            worst = np.where(stands, np.minimum(worst, LEVELS.index(caution.level)), worst)
        named = posterior[:, :-1]
        first = named.max(axis=1, initial=0.0)
        first = np.where(first < SHOWN, 0.0, first)
        troubling, accounted = cohort.nowhere, cohort.nowhere
        for sign in self.catalog.signs.values():
            state = states[sign.id]
            there = state.there | state.slight
            if sign.healthy:
                accounted = accounted | state.there
            else:
                troubling = troubling | (there & ~state.normal)
            accounted = accounted | (there & state.normal)
        is_normal = accounted & ~troubling & (first < NORMAL_CAUSE_CAP) & (normal >= NORMAL_LEAST)
        leads = (first >= LEAD_THRESHOLD) & (first > posterior[:, -1])
        rest = np.where(is_normal, 2, np.where(leads, 3, 4))
        return np.where(worst == 0, 0, np.where(worst == 1, 1, rest)).astype(np.int8)


@dataclass(frozen=True, slots=True)
class _Choice:
    """One of a few numbers for every look."""

    values: Numbers
    codes: NDArray[np.intp]
