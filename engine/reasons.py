"""Why a cause: each answer left out in turn, and what that does to its probability."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .belief import Array, Lane
from .catalog import Catalog
from .local import link_at
from .model import CauseKind
from .network import CaseNetwork, Evidence, without_circumstance, without_evidence
from .odds import log_odds

SHOWN = 0.02
"""Causes below this are not listed."""
REASON_LEAST = 0.10
"""Log-odds below which an answer is no reason."""
_FLOOR = 1e-12
"""How near to nought or certain a probability is told apart."""


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


def left_out(case: CaseNetwork) -> list[tuple[Evidence | str, Lane]]:
    """Every answer that counts, with the lane that leaves it out."""
    outs: list[tuple[Evidence | str, Lane]] = [(e, without_evidence(case, e)) for e in case.evidence]
    moved = sorted({s.by for s in case.shifts if not s.is_sign})
    outs.extend((name, without_circumstance(case, name)) for name in moved)
    return outs


def likeliest(catalog: Catalog, case: CaseNetwork, posterior: Array) -> list[RankedCause]:
    """The causes that are shown, likeliest first, as yet without interval or reasons. ``posterior``: one per node."""
    order = sorted(range(len(case.nodes) - 1), key=lambda k: (-round(float(posterior[k]), 12), case.nodes[k]))
    shown = [(catalog.causes[case.nodes[k]], float(posterior[k])) for k in order if float(posterior[k]) >= SHOWN]
    return [RankedCause(c.id, c.kind, c.name, p, 0.0, 1.0, catalog.likely_word(p)) for c, p in shown]


def ranked(
    catalog: Catalog,
    case: CaseNetwork,
    posterior: Array,
    low: Array,
    high: Array,
    outs: Sequence[tuple[Evidence | str, Lane]],
    lanes: Array,
) -> tuple[RankedCause, ...]:
    """The causes that are shown, likeliest first, each with its interval and reasons."""
    node = {name: k for k, name in enumerate(case.nodes)}
    found = []
    for cause in likeliest(catalog, case, posterior):
        k = node[cause.id]
        reasons = _reasons(catalog, case, k, posterior, outs, lanes)
        found.append(
            replace(
                cause,
                low=float(low[k]),
                high=float(high[k]),
                reasons_for=tuple(r for r in reasons if r.log_odds > 0),
                reasons_against=tuple(r for r in reasons if r.log_odds < 0),
            )
        )
    return tuple(found)


def _reasons(
    catalog: Catalog,
    case: CaseNetwork,
    node: int,
    posterior: Array,
    outs: Sequence[tuple[Evidence | str, Lane]],
    lanes: Array,
) -> list[Reason]:
    """Each answer's part in one cause: the posterior with it against the posterior without."""
    cause = catalog.causes[case.nodes[node]]
    reasons = []
    for column, (thing, _) in enumerate(outs):
        part = log_odds(float(posterior[node]), _FLOOR) - log_odds(float(lanes[node, column]), _FLOOR)
        if abs(part) < REASON_LEAST:
            continue
        drop = posterior[:-1] - lanes[:-1, column]
        # Rounded, so that causes level with each other stand in their own order and not in that of the last digit.
        first = np.argsort(-drop.round(12), kind="stable")[:3]
        also = tuple(case.nodes[int(k)] for k in first if int(k) != node and drop[int(k)] > 0.05)
        reasons.append(_reason(catalog, case, cause.id, thing, part, also if part > 0 else ()))
    return sorted(reasons, key=lambda r: (-round(abs(r.log_odds), 9), r.by))


def _reason(
    catalog: Catalog, case: CaseNetwork, cause_id: str, thing: Evidence | str, part: float, also: tuple[str, ...]
) -> Reason:
    cause = catalog.causes[cause_id]
    if isinstance(thing, str):
        circumstance = catalog.circumstances[thing]
        so = case.view.holds(thing)
        says = circumstance.means if so else f"not so: {circumstance.means}"
        for shift in cause.likelier:
            if shift.when == thing:
                return Reason(thing, says, part, shift.strength, catalog.grade(shift.sources), shift.sources, also)
        for against in cause.against:
            if against.when == thing:
                return Reason(
                    thing, says, part, against.strength, catalog.grade(against.sources), against.sources, also
                )
        return Reason(thing, says, part, "", catalog.grade(circumstance.sources), circumstance.sources, also)
    sign = catalog.signs[thing.sign]
    says = {"there": sign.name, "slight": f"a little: {sign.name}", "not there": f"not there: {sign.name}"}.get(
        thing.state, f"not named: {sign.name}"
    )
    key = dict(thing.links).get(case.nodes.index(cause_id))
    if key is not None:
        link = link_at(catalog, key)
        return Reason(sign.id, says, part, link.seen, catalog.grade(link.sources), link.sources, also)
    for against in cause.against:
        if against.sign == sign.id:
            return Reason(sign.id, says, part, against.strength, catalog.grade(against.sources), against.sources, also)
    return Reason(sign.id, says, part, "", "memory", ("judgement",), also)
