"""Learning from confirmed outcomes, kept apart from the cited knowledge.

- **Base rates** by a shrunken ratio: the log-odds of a cause move by ln((a + O) / (a + E)), where O is how often
  it was confirmed, E how often its cited base rate and the circumstances of the same looks would have it, and
  a = 4 pseudo-looks (a spread of 0.5 in log-odds). Where one cause was confirmed and the rest neither confirmed
  nor excluded, only relative rates are learnt: E is scaled to the sum of O.
- **Links and rates on sound rinds** by weighted counts (EM for a noisy OR with answer noise), from looks where
  everything was judged. A cited number weighs as many looks as its grade is worth, ten at least.
- An outcome known by laboratory, lens or a remedy that worked weighs 1, an own view 0.2. Nothing is ever filled
  in from the program's own probabilities.
- **Gate**: what is learnt is taken only when it does not worsen the log score on the newest fifth of the looks,
  which it was not learnt from. **Caps**: a base rate moves by a factor of 8 at most, a number stays within the
  98 % band of its cited word.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..answers import Answers
from ..catalog import Catalog
from ..chaining import Chained, Chainer
from ..dating import onset_day
from ..doubt import SPREAD
from ..fallback import weigh
from ..local import NONE, LeakKey, LinkKey, Local
from ..network import UNKNOWN_CAUSE, Builder
from .looks import fitting
from .store import Archive

WEIGHT = {"laboratory": 1.0, "lens": 1.0, "remedy worked": 1.0, "own view": 0.2}
"""What an outcome weighs, by how it is known."""
PSEUDO = 4.0
"""Pseudo-looks behind a base rate."""
LEAST_WEIGHT = 10.0
"""Looks that a cited link weighs at least: err on the stubborn side."""
BASE_CAP = math.log(8)
BAND = 2.326
"""Spreads on either side that hold 98 % of a word's band."""
ROUNDS = 15
FEWEST = 10
"""Confirmed looks below which nothing is learnt."""
HELD_OUT = 0.2
SHOWN_SHIFT = 0.05
"""Log-odds below which a base rate counts as unchanged."""
SHOWN_CHANGE = 0.01
_FLOOR = 1e-6


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


@dataclass(frozen=True, slots=True)
class Count:
    """What was counted for one number: of a base rate O and E, of a link activations and trials."""

    seen: float
    of: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """What confirmed looks would change, and whether it passed the gate."""

    local: Local
    counts: dict[str, Count]
    """By ``base CAUSE``, ``link CAUSE SIGN PLACE``, ``leak SIGN PLACE``."""
    looks: int
    complete: int
    before: float
    """Mean log score on the newest looks by the cited knowledge; lower is better."""
    after: float
    held_out: int


def confirmed(archive: Archive, catalog: Catalog) -> list[Confirmed]:
    """Every look with an outcome, in the order the outcomes came."""
    found = []
    for name, answers, listed_all, causes, known_by, complete in archive.db.execute(
        "SELECT name, answers, listed_all, causes, known_by, complete FROM outcome "
        "JOIN look ON look.id = outcome.look_id JOIN said ON said.look_id = look.id "
        "WHERE outcome.id IN (SELECT max(id) FROM outcome GROUP BY look_id) ORDER BY on_date, outcome.id"
    ):
        given = Answers.of(((q, v) for q, v, _ in fitting(catalog, json.loads(answers))), bool(listed_all))
        there = frozenset(c for c in json.loads(causes) if c in catalog.causes)
        found.append(Confirmed(name, given, there, WEIGHT[known_by], bool(complete)))
    return found


def prepare(
    catalog: Catalog, looks: Sequence[Confirmed], tell: Callable[[int, int], None] | None = None
) -> list[Trial]:
    """Confirmed looks made ready, under the cited knowledge."""
    chainer, builder = Chainer(catalog), Builder(catalog)
    trials = []
    for k, look in enumerate(looks):
        trials.append(_trial(catalog, builder, chainer, look))
        if tell:
            tell(k + 1, len(looks))
    return trials


def _trial(catalog: Catalog, builder: Builder, chainer: Chainer, look: Confirmed) -> Trial:
    chained = chainer.run(look.answers)
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
        onset = onset_day(look.answers, case.cheese) if evidence.state in ("there", "slight") else None
        keys = dict(builder.linked(sign, index, case.cheese, onset))
        links = tuple((keys[n], q) for n, q in finding.links if n in there and n in keys)
        leak_key = None if evidence.normal else builder.leak_key(sign, case.cheese)
        findings.append(Finding_(finding.if_there, finding.if_not, finding.leak, leak_key, links))
    base = dict(zip(case.nodes[:-1], case.network.base[:-1], strict=True))
    return Trial(look, chained, base, {c: tuple(q) for c, q in fed.items()}, tuple(findings))


def fit_bases(catalog: Catalog, trials: Sequence[Trial]) -> tuple[dict[str, float], dict[str, Count]]:
    """Shifts of base rates in log-odds, and the counts behind them."""
    shift = dict.fromkeys(catalog.causes, 0.0)
    seen, expected = dict.fromkeys(catalog.causes, 0.0), dict.fromkeys(catalog.causes, 0.0)
    for _ in range(3):  # what a cause brought about by itself depends a little on its own rate
        seen, expected = dict.fromkeys(catalog.causes, 0.0), dict.fromkeys(catalog.causes, 0.0)
        relative = dict.fromkeys(catalog.causes, 0.0)
        partial = 0.0
        for trial in trials:
            w = trial.look.weight
            for cause in trial.look.causes:
                if cause not in trial.base:
                    continue
                p = _moved(trial.base[cause], shift[cause])
                off = (1 - p) * math.prod(1 - q for q in trial.fed.get(cause, ()))
                own = p / max(1 - off, _FLOOR)
                seen[cause] += w * own
                partial += 0.0 if trial.look.complete else w * own
            for cause, p in trial.base.items():
                (expected if trial.look.complete else relative)[cause] += w * p
        total = math.fsum(sorted(relative.values()))
        for cause, e in relative.items():
            expected[cause] += e * partial / total if total > 0 else 0.0
        shift = {
            c: max(-BASE_CAP, min(BASE_CAP, math.log((PSEUDO + seen[c]) / (PSEUDO + expected[c]))))
            for c in catalog.causes
        }
    return shift, {f"base {c}": Count(seen[c], expected[c]) for c in catalog.causes}


def fit_links(
    catalog: Catalog, trials: Sequence[Trial]
) -> tuple[dict[LinkKey, float], dict[LeakKey, float], dict[str, Count]]:
    """Strengths of links and rates on sound rinds, and the counts behind them."""
    cited: dict[LinkKey | LeakKey, float] = {}
    for trial in trials:
        for finding in trial.findings:
            if finding.leak_key is not None:
                cited[finding.leak_key] = finding.leak
            cited.update(dict(finding.links))
    weight = {key: _weight(catalog, key, q) for key, q in cited.items()}
    value = dict(cited)
    active: dict[LinkKey | LeakKey, float] = {}
    tried: dict[LinkKey | LeakKey, float] = {}
    for _ in range(ROUNDS):
        active, tried = dict.fromkeys(cited, 0.0), dict.fromkeys(cited, 0.0)
        for trial in trials:
            w = trial.look.weight
            for f in trial.findings:
                leak = f.leak if f.leak_key is None else value[f.leak_key]
                quiet = (1 - leak) * math.prod(1 - value[key] for key, _ in f.links)
                said = f.if_there * (1 - quiet) + f.if_not * quiet
                if said <= 0:
                    continue
                share = w * f.if_there / said
                for key, _ in f.links:
                    active[key] += share * value[key]
                    tried[key] += w
                if f.leak_key is not None:
                    active[f.leak_key] += share * leak
                    tried[f.leak_key] += w
        value = {
            k: _banded(catalog, k, q, (weight[k] * q + active[k]) / (weight[k] + tried[k])) for k, q in cited.items()
        }
    links = {k: v for k, v in value.items() if len(k) == 3}
    leaks = {k: v for k, v in value.items() if len(k) == 2}
    counts = {("link " if len(k) == 3 else "leak ") + " ".join(map(str, k)): Count(active[k], tried[k]) for k in cited}
    return links, leaks, counts


def learn(catalog: Catalog, trials: Sequence[Trial]) -> Learnt | None:
    """What the confirmed looks teach, as far as it passes the gate; None when there are too few of them.

    Three things are tried on the newest fifth: nothing, base rates alone, base rates with links.
    """
    if len(trials) < FEWEST:
        return None
    cut = len(trials) - max(2, round(len(trials) * HELD_OUT))
    older, newest = trials[:cut], trials[cut:]
    before = score(catalog, NONE, newest)
    best, after = (False, False), before
    for parts in ((True, False), (True, True)):
        tried = score(catalog, _fitted(catalog, older, parts)[0], newest)
        if tried < after - 1e-12:
            best, after = parts, tried
    local, counts = _fitted(catalog, trials, best)
    return Learnt(local, counts, len(trials), sum(t.look.complete for t in trials), before, after, len(newest))


def _fitted(catalog: Catalog, trials: Sequence[Trial], parts: tuple[bool, bool]) -> tuple[Local, dict[str, Count]]:
    bases, links, leaks = dict[str, float](), dict[LinkKey, float](), dict[LeakKey, float]()
    counts: dict[str, Count] = {}
    if parts[0]:
        bases, counts = fit_bases(catalog, trials)
    if parts[1]:
        links, leaks, more = fit_links(catalog, trials)
        counts |= more
    kept = Local(
        {c: round(s, 6) for c, s in bases.items() if abs(s) >= SHOWN_SHIFT},
        {k: round(q, 6) for k, q in links.items() if abs(q - _cited(catalog, k)) >= SHOWN_CHANGE},
        {k: round(q, 6) for k, q in leaks.items() if abs(q - _cited(catalog, k)) >= SHOWN_CHANGE},
    )
    return kept, counts


def score(catalog: Catalog, local: Local, trials: Sequence[Trial]) -> float:
    """Mean log score of confirmed looks, weighted; lower is better.

    Where everything was judged: over all causes. Where one cause was confirmed: of that cause among all.
    """
    builder = Builder(catalog, local)
    total = weights = 0.0
    for trial in trials:
        case = builder.build(trial.look.answers, trial.chained)
        found = weigh(case.network).posterior[:, 0]
        p = {name: min(max(float(x), _FLOOR), 1 - _FLOOR) for name, x in zip(case.nodes, found, strict=True)}
        p.pop(UNKNOWN_CAUSE)
        if trial.look.complete:
            loss = -math.fsum(math.log(x if c in trial.look.causes else 1 - x) for c, x in p.items())
        else:
            whole = math.fsum(p.values())
            loss = -math.fsum(math.log(p[c] / whole) for c in sorted(trial.look.causes) if c in p)
        total += trial.look.weight * loss
        weights += trial.look.weight
    return total / weights if weights else 0.0


def _cited(catalog: Catalog, key: LinkKey | LeakKey) -> float:
    if len(key) == 3:
        return catalog.value("frequency", catalog.causes[key[0]].signs[key[2]].seen)
    return catalog.value("frequency", catalog.signs[key[0]].on_sound_rinds[key[1]].seen)


def _spread(catalog: Catalog, key: LinkKey | LeakKey) -> float:
    if len(key) == 3:
        return SPREAD[catalog.grade(catalog.causes[key[0]].signs[key[2]].sources)]
    return SPREAD[catalog.grade(catalog.signs[key[0]].on_sound_rinds[key[1]].sources)]


def _weight(catalog: Catalog, key: LinkKey | LeakKey, q: float) -> float:
    return max(LEAST_WEIGHT, 1 / (q * (1 - q) * _spread(catalog, key) ** 2) - 1)


def _banded(catalog: Catalog, key: LinkKey | LeakKey, cited: float, q: float) -> float:
    room = BAND * _spread(catalog, key)
    middle = math.log(cited / (1 - cited))
    logit = math.log(max(q, 1e-9) / max(1 - q, 1e-9))
    return 1 / (1 + math.exp(-max(middle - room, min(middle + room, logit))))


def _moved(p: float, shift: float) -> float:
    odds = p / (1 - p) * math.exp(shift)
    return odds / (1 + odds)
