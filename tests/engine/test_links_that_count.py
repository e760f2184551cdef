"""A reason shows the link that was reckoned with, and an interval is as wide as its grade: on every rind and age."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest
from rindwright.engine.answers import Answers
from rindwright.engine.catalog import Catalog, Cheese
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.doubt import SPREAD, _spreads
from rindwright.engine.model import Cause, Link, Sign, Style
from rindwright.engine.network import UNKNOWN_CAUSE, CaseNetwork, Evidence
from rindwright.engine.reasons import _reason

AGES = (0.0, 7.0, 16.0, 30.0, 60.0)
"""One between every two days on which a link of two begins or ends."""


@cache
def cases(diagnoser: Diagnoser, style: Style, age: float) -> tuple[CaseNetwork, ...]:
    """Networks of a cheese that shows every sign which counts there, with whatever was said about it."""
    catalog, builder = diagnoser.catalog, diagnoser.builder
    answers = Answers.of({"family": catalog.home[style.id], "style": style.id, "age_days": age})
    bare = diagnoser.prepare(answers)[0]
    index = {name: k for k, name in enumerate(bare.nodes)}
    found = []
    for state in ("there", "slight", "not there"):
        evidence, findings = [], []
        for sign in catalog.signs.values():
            if builder.counts(sign, bare.cheese):
                links = tuple(builder.counting(sign, state, index, bare.view).items())
                evidence.append(Evidence(sign.id, state, len(findings), links, healthy=sign.healthy))
                findings.append(builder.finding(sign, state, index, bare.view, ()))
        found.append(replace(bare, network=replace(bare.network, findings=tuple(findings)), evidence=tuple(evidence)))
    return tuple(found)


def every(diagnoser: Diagnoser) -> Iterator[tuple[CaseNetwork, Evidence]]:
    for style in diagnoser.catalog.styles.values():
        for age in AGES:
            for case in cases(diagnoser, style, age):
                for evidence in case.evidence:
                    yield case, evidence


def reckoned(cause: Cause, sign: Sign, cheese: Cheese) -> Link | None:
    """The last of a cause's links that fits rind and age, told anew."""
    fitting = [
        link
        for link in cause.signs
        if link.sign == sign.id
        and cheese.is_one_of(link.rinds) is not False
        and cheese.in_window(link.from_day, link.to_day) is not False
    ]
    return fitting[-1] if fitting else None


def test_the_word_and_the_sources_are_those_of_the_number(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    told, several = 0, 0
    for case, evidence in every(diagnoser):
        sign = catalog.signs[evidence.sign]
        numbers = dict(case.network.findings[evidence.finding].links)
        for node, name in enumerate(case.nodes[:-1]):
            cause = catalog.causes[name]
            link = reckoned(cause, sign, case.cheese)
            reason = _reason(catalog, case, name, evidence, 1.0, ())
            if link is None:
                assert reason.word in {a.strength for a in cause.against if a.sign == sign.id} or reason.sources == (
                    "judgement",
                ), (name, sign.id)
                continue
            assert (reason.word, reason.sources) == (link.seen, link.sources), (name, sign.id, case.cheese)
            assert reason.grade == catalog.grade(link.sources)
            used = 1 - numbers[node] if sign.healthy else numbers[node]
            assert used == pytest.approx(catalog.value("frequency", reason.word)), (name, sign.id, case.cheese)
            told += 1
            several += sum(x.sign == sign.id for x in cause.signs) > 1
    assert told > 60_000
    assert several > 4_000


def test_the_interval_is_as_wide_as_the_grade_of_that_link(diagnoser: Diagnoser) -> None:
    catalog = diagnoser.catalog
    for style in catalog.styles.values():
        for age in AGES:
            for case in cases(diagnoser, style, age):
                assert _spreads(catalog, case).tolist() == list(_expected(catalog, case))


def _expected(catalog: Catalog, case: CaseNetwork) -> Iterator[float]:
    for evidence in case.evidence:
        for node, _ in case.network.findings[evidence.finding].links:
            name = case.nodes[node]
            sign = catalog.signs[evidence.sign]
            link = None if name == UNKNOWN_CAUSE else reckoned(catalog.causes[name], sign, case.cheese)
            yield SPREAD["memory" if link is None else catalog.grade(link.sources)]


def test_what_a_maker_reads_of_a_mushy_bloomy_rind(diagnoser: Diagnoser) -> None:
    """Two links of one cause fit a bloomy rind; the one for bloomy rinds stands."""
    answers = Answers.of({"family": "bloomy", "style": "bloomy_small", "age_days": 12.0, "mushy_rind": "clear",
                          "not_turned": "yes"})  # fmt: skip
    case = diagnoser.prepare(answers)[0]
    evidence = next(e for e in case.evidence if e.sign == "mushy_rind")
    assert _reason(diagnoser.catalog, case, "not_turned", evidence, 1.0, ()).word == "usually"


def test_every_answer_brings_its_links_along(diagnoser: Diagnoser) -> None:
    """Also where they come from answers, with a day on which it was first seen."""
    catalog, builder = diagnoser.catalog, diagnoser.builder
    for family in catalog.families:
        for first in ({}, {"first_seen_day": 9.0}):
            answers = Answers.of({"family": family, "age_days": 20.0, "slimy_wet": "clear", "black_spot": "slight",
                                  "long_hairs": "no", **first}, listed_all=True)  # fmt: skip
            case = diagnoser.prepare(answers)[0]
            for evidence in case.evidence:
                finding = case.network.findings[evidence.finding]
                numbers = {node: 1 - q if evidence.healthy else q for node, q in finding.links}
                for node, key in evidence.links:
                    assert key[:2] == (case.nodes[node], evidence.sign)
                    assert numbers[node] == pytest.approx(builder.strength(key))
