"""Many looks at once: from columns to posteriors, the same numbers as one look at a time.

What differs between looks goes into arrays: the odds of every cause moved by circumstances, the weight that answers
against signs put on every cause, and the few answers that speak for a sign, which ``lanes`` sums out. Looks with many
such answers, or where the signed sum would lose digits, are eliminated one by one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..asking import LEAD_THRESHOLD
from ..catalog import Catalog
from ..cautions import LEVELS
from ..diagnosis import NORMAL_CAUSE_CAP, NORMAL_LEAST
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
from ..odds import log_odds
from ..reasons import SHOWN
from .columns import Cohort, Flags, Numbers
from .lanes import LEAST_LEFT, For, Lanes, Places

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
    applies: Flags
    """Causes of the catalog that can be there."""
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

    def __init__(self, catalog: Catalog, local: Local = NONE, lanes: Lanes | None = None) -> None:
        self.catalog = catalog
        self.local = local
        self.builder = Builder(catalog, local)
        self.nodes = tuple(catalog.causes)
        self._index = {c: k for k, c in enumerate(self.nodes)}
        self._lanes = lanes or Lanes(catalog)

    def weigh(self, cohort: Cohort) -> Weighed:
        """Posteriors and verdicts of all looks of a cohort."""
        applies = self._applies(cohort)
        states = {sign.id: self._state(cohort, sign) for sign in self.catalog.signs.values()}
        base = self._base(cohort, applies, states)
        weight = np.ones((cohort.size, len(self.nodes) + 1))
        constant = np.zeros(cohort.size)
        healthy = np.log1p(-base).sum(axis=1) + math.log1p(-UNKNOWN_CAUSE_BASE)
        pieces: list[tuple[Places, Numbers, Numbers, Numbers]] = []
        for sign in self.catalog.signs.values():
            self._take(cohort, sign, states[sign.id], applies, weight, constant, healthy, pieces)
        for_ = For.of(pieces, len(self.nodes) + 1)
        families = list(dict.fromkeys(cheese.family for cheese in cohort.cheeses))
        kind = np.array([families.index(cheese.family) for cheese in cohort.cheeses], dtype=np.intp)[cohort.cheese_code]
        posterior, log_sum, left = self._lanes.weigh(families, kind, base, weight, applies, for_)
        evidence, hard = log_sum + constant, left < LEAST_LEFT
        for row in np.flatnonzero(hard).tolist():
            found_one = self._lanes.one(row, base[row], weight[row], applies[row], for_)
            if found_one is not None:
                posterior[row], evidence[row] = found_one[0], found_one[1] + constant[row]
                hard[row] = False
        normal = np.exp(np.minimum(0.0, np.where(hard, 0.0, healthy - np.nan_to_num(evidence))))
        verdict = self._verdict(cohort, states, posterior, normal)
        return Weighed(posterior, evidence, normal, verdict, applies, hard)

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
            column = np.full(cohort.size, log_odds(base))
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
        pieces: list[tuple[Places, Numbers, Numbers, Numbers]],
    ) -> None:
        """Put what is said of one sign where it belongs: against it into weights, for it into pieces."""
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
            adds = ((r0 - r1) * (1 - leak))[against][:, None]
            weight[at] *= (r1[against][:, None] + adds * (1 - q[against])) / none[against][:, None]
            constant[at] += np.log(none[against])
        if speaks_for.any():
            share = ((r0 - r1) * (1 - leak))[speaks_for]
            pieces.append((rows[speaks_for], r1[speaks_for], share, 1 - q[speaks_for]))

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
                places = self._leak(cohort, sign).codes
                usual = np.array([self.builder.usual((sign.id, k)) for k in range(len(sign.on_sound_rinds))])
                troubling = troubling | (there & ~state.normal & ~usual[places])
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
