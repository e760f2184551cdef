"""Looks whose outcome is known, made ready to be learnt from."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..catalog import Catalog
from ..chaining import Chained
from ..figures import with_figures
from ..local import LeakKey, LinkKey
from ..network import Builder
from .columns import cohort_of
from .looks import fitting
from .store import Archive

WEIGHT = {"laboratory": 1.0, "lens": 1.0, "remedy worked": 1.0, "own view": 0.2}
"""What an outcome weighs, by how it is known."""


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A look whose outcome is known."""

    name: str
    answers: Answers
    causes: frozenset[str]
    weight: float
    complete: bool
    """Whether every other cause is excluded."""


@dataclass(frozen=True, slots=True)
class Finding_:
    """An answered sign, as far as learning looks at it."""

    if_there: float
    if_not: float
    leak: float
    leak_key: LeakKey | None
    links: tuple[tuple[LinkKey, float], ...]
    """Links of the causes that were there."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A confirmed look made ready: priors by circumstances, and what the causes that were there showed."""

    look: Confirmed
    chained: Chained
    base: dict[str, float]
    fed: dict[str, tuple[float, ...]]
    """For causes that were there: strengths of what fed them and was there too."""
    findings: tuple[Finding_, ...]


def confirmed(archive: Archive, catalog: Catalog) -> list[Confirmed]:
    """Every look with an outcome, in the order the outcomes came.

    An outcome that names a cause the knowledge does not have (any more) teaches nothing: what it was is not known here.
    """
    found = []
    for name, answers, listed_all, causes, known_by, complete in archive.db.execute(
        "SELECT name, answers, listed_all, causes, known_by, complete FROM outcome "
        "JOIN look ON look.id = outcome.look_id JOIN said ON said.look_id = look.id "
        "WHERE outcome.id IN (SELECT max(id) FROM outcome GROUP BY look_id) ORDER BY on_date, outcome.id"
    ):
        there = frozenset(json.loads(causes))
        if not there <= catalog.causes.keys():
            continue
        told = Answers.of(((q, v) for q, v, _ in fitting(catalog, json.loads(answers))), bool(listed_all))
        given = with_figures(catalog, told)
        found.append(Confirmed(name, given, there, WEIGHT[known_by], bool(complete)))
    return found


def prepare(catalog: Catalog, looks: Sequence[Confirmed]) -> list[Trial]:
    """Confirmed looks made ready, under the cited knowledge."""
    builder = Builder(catalog)
    settled = cohort_of(catalog, [look.answers for look in looks]).settled()
    return [_trial(catalog, builder, Chained(facts, ()), look) for look, facts in zip(looks, settled, strict=True)]


def _trial(catalog: Catalog, builder: Builder, chained: Chained, look: Confirmed) -> Trial:
    case = builder.build(look.answers, chained)
    index = {name: k for k, name in enumerate(case.nodes)}
    there = {index[c] for c in look.causes if c in index}
    fed: dict[str, list[float]] = {}
    for parent, child, q in case.network.feeds:
        if parent in there and child in there:
            fed.setdefault(case.nodes[child], []).append(q)
    findings = []
    for evidence in case.evidence if look.complete else ():
        if evidence.healthy:
            continue
        sign = catalog.signs[evidence.sign]
        finding = case.network.findings[evidence.finding]
        keys = dict(evidence.links)
        links = tuple((keys[n], q) for n, q in finding.links if n in there and n in keys)
        leak_key = None if evidence.normal else builder.leak_key(sign, case.cheese)
        findings.append(Finding_(finding.if_there, finding.if_not, finding.leak, leak_key, links))
    base = dict(zip(case.nodes[:-1], case.network.base[:-1], strict=True))
    return Trial(look, chained, base, {c: tuple(q) for c, q in fed.items()}, tuple(findings))
