"""Learning on simulated worlds: how much of the way to the truth confirmed looks lead, and what harm they do.

World A: the knowledge is right up to its author's errors in the links. World B: besides, local base rates differ
by a factor exp(N(0, 1)) and one answer in twenty more is wrong than the knowledge believes. The truth of a world
is drawn around the packaged knowledge; log loss is over all causes, on looks with a cause.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from rindwright.engine.answers import Answers, Value
from rindwright.engine.archive.confirmed import Confirmed, Trial, prepare
from rindwright.engine.archive.learn import learn, score
from rindwright.engine.catalog import Catalog
from rindwright.engine.gates import FIRST, screened
from rindwright.engine.local import BASE_CAP, NONE, Local
from rindwright.engine.network import Builder
from simulate import NOTHING_GRAVE, Wheel, _Drawer

ANSWERED = 0.7
ERRORS = ((0.3, 0.30), (0.6, 0.45), (1.0, 0.25))
"""Author's errors in log-odds, and the share of links that have them."""


@dataclass(frozen=True, slots=True)
class World:
    """A truth near the knowledge, with looks drawn from it."""

    truth: Local
    train: list[Trial]
    test: list[Trial]
    first: list[str]
    """What the cited knowledge names first for each training look."""


def world(catalog: Catalog, seed: int, different: bool, train: int, test: int) -> World:
    """Draw a world and its looks."""
    rng = np.random.default_rng(seed)
    links = {}
    for cause in catalog.causes.values():
        for place, link in enumerate(cause.signs):
            spread = ERRORS[int(rng.choice(3, p=[share for _, share in ERRORS]))][0]
            q = catalog.value("frequency", link.seen)
            logit = math.log(q / (1 - q)) + spread * rng.standard_normal()
            links[(cause.id, link.sign, place)] = 1 / (1 + math.exp(-logit))
    shifts = {c: float(np.clip(rng.standard_normal(), -BASE_CAP, BASE_CAP)) for c in catalog.causes}
    truth = Local(shifts if different else {}, links)
    drawer = _Drawer(catalog)
    drawer._builder = Builder(catalog, truth)
    looks: list[Confirmed] = []
    while len(looks) < train + test:
        wheel = drawer.wheel(rng)
        if len(looks) >= train and not wheel.causes:
            continue
        answers = told(catalog, wheel, rng, 0.05 if different else 0.0)
        looks.append(Confirmed(str(len(looks)), answers, wheel.causes, 1.0, True))
    trials = prepare(catalog, looks)
    return World(truth, trials[:train], trials[train:], [first_of(catalog, t) for t in trials[:train]])


def told(catalog: Catalog, wheel: Wheel, rng: np.random.Generator, wrong: float) -> Answers:
    """What a maker tells of a wheel: part of the questionnaire, some of it wrong."""
    kept: dict[str, Value] = {}
    first = {*FIRST, *screened(catalog), *NOTHING_GRAVE}
    for question, value in wheel.answers:
        if question in first:
            kept[question] = value
        elif rng.random() < ANSWERED and value != ():  # which no one can type
            kind = catalog.questions[question].kind
            if kind in ("yes_no", "scale") and question in catalog.signs and rng.random() < wrong:
                value = "no" if value != "no" else "yes" if kind == "yes_no" else "clear"
            kept[question] = value
    return Answers.of(kept)


def first_of(catalog: Catalog, trial: Trial) -> str:
    """The first cause by the cited knowledge."""
    from rindwright.engine.fallback import weigh

    case = Builder(catalog).build(trial.look.answers, trial.chained)
    posterior = weigh(case.network).posterior[:-1, 0]
    return case.nodes[int(np.argmax(posterior))]


def gap_closed(catalog: Catalog, worlds: list[World], sizes: tuple[int, ...]) -> dict[int, tuple[float, float, float]]:
    """By number of confirmed looks: share of the gap closed, mean change of log loss, worst change in one world."""
    found = {}
    base = [score(catalog, NONE, w.test) for w in worlds]
    true = [score(catalog, w.truth, w.test) for w in worlds]
    for size in sizes:
        changes = []
        for w, before in zip(worlds, base, strict=True):
            lesson = learn(catalog, w.train[:size])
            changes.append(score(catalog, lesson.local if lesson else NONE, w.test) - before)
        gap = sum(t - b for t, b in zip(true, base, strict=True))
        found[size] = (sum(changes) / gap, sum(changes) / len(changes), max(changes))
    return found


def echoed(worlds: list[World], share: float, weight: float, seed: int = 9) -> list[World]:
    """The same worlds, where some outcomes only echo what the program named first, at a given weight."""
    rng = np.random.default_rng(seed)
    changed = []
    for w in worlds:
        train = []
        for trial, first in zip(w.train, w.first, strict=True):
            if rng.random() < share:
                look = replace(trial.look, causes=frozenset({first}), weight=weight)
                trial = prepare_again(trial, look)
            train.append(trial)
        changed.append(replace(w, train=train))
    return changed


def partial(worlds: list[World], seed: int = 10) -> list[World]:
    """The same worlds, where one true cause is confirmed and nothing else is judged."""
    rng = np.random.default_rng(seed)
    changed = []
    for w in worlds:
        train = []
        for trial in w.train:
            causes = sorted(trial.look.causes)
            if causes:
                one = frozenset({causes[int(rng.integers(len(causes)))]})
                train.append(prepare_again(trial, replace(trial.look, causes=one, complete=False)))
        changed.append(replace(w, train=train))
    return changed


def prepare_again(trial: Trial, look: Confirmed) -> Trial:
    """A trial with another outcome."""
    from rindwright.engine.archive.confirmed import _trial

    return _trial(CATALOG[0], BUILDER[0], trial.chained, look)


CATALOG: list[Catalog] = []
BUILDER: list[Builder] = []


def set_up(catalog: Catalog) -> None:
    """What ``prepare_again`` leans on."""
    CATALOG[:] = [catalog]
    BUILDER[:] = [Builder(catalog)]


if __name__ == "__main__":
    import sys
    import time
    from importlib.resources import files
    from pathlib import Path

    from rindwright.engine.reading import load_checked

    number = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    catalog = Catalog(load_checked(Path(str(files("rindwright.knowledge")))))
    set_up(catalog)
    for name, different in (("A", False), ("B", True)):
        began = time.time()
        worlds = [world(catalog, 100 + k, different, 500, 200) for k in range(number)]
        print(f"world {name}: {number} worlds drawn in {time.time() - began:.0f} s")
        base = np.mean([score(catalog, NONE, w.test) for w in worlds])
        true = np.mean([score(catalog, w.truth, w.test) for w in worlds])
        print(f"  log loss by knowledge {base:.3f}, by truth {true:.3f}")
        for size, (share, change, worst) in gap_closed(catalog, worlds, (20, 100, 500)).items():
            print(f"  {size:>4} looks: gap closed {share:.2f}, log loss {change:+.3f}, worst world {worst:+.3f}")
        for title, changed in (
            ("30 % echo, weight 1", echoed(worlds, 0.3, 1.0)),
            ("30 % echo, weight 0.2", echoed(worlds, 0.3, 0.2)),
            ("one cause confirmed", partial(worlds)),
        ):
            for size, (share, change, worst) in gap_closed(catalog, changed, (100, 500)).items():
                print(f"  {title}, {size:>4} looks: {share:.2f}, {change:+.3f}, worst {worst:+.3f}")
