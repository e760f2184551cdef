"""What the tool makes of very little: every case again, with two or three signs and nothing else.

A maker's first message holds about that much. Of each case only the cheese, its age and the most telling signs are
kept: no number, nothing of the process, nothing of the safety screen.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..answers import AGE, Answers, Value
from ..asking import LEAD_THRESHOLD
from ..catalog import Catalog, asked
from ..conditions import View, truth
from ..diagnosis import Diagnoser
from ..gates import FIRST, screened
from ..network import UNKNOWN_CAUSE
from ..reading.answers_file import read_answers
from ..reading.nodes import read_text, read_yaml
from .investigations import VERDICTS, WITHOUT_CAUSE
from .markdown import bullets, page, table

FOLDERS = {"worked": "Worked cases", "normal": "Nothing wrong", "published": "Published investigations"}
MOST_SIGNS = 3
MOST_WRONG_PCT = 5
"""A wrong cause may lead in at most this share of all cases; a test holds it."""
FIRST_OF_KIND = 3


@dataclass(frozen=True, slots=True)
class Sparse:
    """A case with little left of it."""

    id: str
    folder: str
    title: str
    answers: Answers
    signs: tuple[str, ...]
    """Ids of the signs that were kept, most telling first."""
    right: tuple[str, ...]
    """Causes any of which would be right; empty where none is."""
    not_this: str
    """A near miss: the cause that must not lead."""


@dataclass(frozen=True, slots=True)
class SparseOutcome:
    """What comes of it. ``question`` is the first one after the safety screen."""

    case: Sparse
    verdict: str
    first: str
    probability: float
    question: str
    near: tuple[str, ...]
    """The first three causes of either kind."""

    @property
    def names(self) -> bool:
        """Whether a cause is named."""
        return self.verdict == "causes"

    def wrong(self, catalog: Catalog) -> bool:
        """Whether a cause leads that is neither right nor one step before or after what is."""
        if not self.names:
            return False
        if not self.case.right:
            return self.case.not_this in ("", self.first)
        if self.first in self.case.right:
            return False
        after = {f.cause for f in catalog.causes[self.first].leads_to}
        before = {f.cause for id in self.case.right if id in catalog.causes for f in catalog.causes[id].leads_to}
        return not (after & set(self.case.right) or self.first in before)


def read_sparse(diagnoser: Diagnoser, folder: Path) -> list[Sparse]:
    """All cases below a folder that tell of a sign, each cut down. Raises ``AnswersError`` for a faulty file."""
    found = []
    for path in sorted(path for name in FOLDERS for path in (folder / name).glob("*.yaml")):
        case = _cut(diagnoser, path)
        if case.signs:
            found.append(case)
    return found


def _cut(diagnoser: Diagnoser, path: Path) -> Sparse:
    text = read_text(path)
    data = read_yaml(text, path.name).data
    answers = read_answers(diagnoser.catalog, text, path.name)
    expect = data.get("expect") if isinstance(data, dict) else None
    expect = expect if isinstance(expect, dict) else {}
    named = [expect.get("first"), expect.get("in_first_three"), expect.get("missed")]
    right = [id for thing in named if thing for id in (thing if isinstance(thing, list) else [thing])]
    signs = telling(diagnoser, answers)
    kept = {diagnoser.builder.question_of(diagnoser.catalog.signs[id]) for id in signs}
    given: list[tuple[str, Value]] = [(name, value) for name, value in answers if name in kept or name in FIRST]
    return Sparse(
        path.stem,
        path.parent.name,
        str(data.get("title")) if isinstance(data, dict) else path.stem,
        Answers.of(given),
        signs,
        tuple(str(id) for id in right if id not in WITHOUT_CAUSE),
        str(expect.get("not_first", "")),
    )


def telling(diagnoser: Diagnoser, answers: Answers) -> tuple[str, ...]:
    """The signs that are there and can be told without measuring: striking ones first, then the rarest on sound rinds.

    One for each question, three at most.
    """
    catalog, builder = diagnoser.catalog, diagnoser.builder
    bare = View(answers, answers.cheese(catalog), lambda _: None, lambda id: _told(catalog, answers, id))
    found = []
    for sign in catalog.signs.values():
        question = catalog.questions[builder.question_of(sign)]
        told = answers.get(question.id) is not None and question.kind != "number" and question.about != "measure"
        if told and builder.state(sign, bare) in ("there", "slight"):
            rate = builder.rate(builder.leak_key(sign, bare.cheese))
            found.append((sign.healthy, not sign.salient, rate, sign.id, question.id))
    first: dict[str, str] = {}
    for *_, id, name in sorted(found):
        first.setdefault(name, id)
    return tuple(first.values())[:MOST_SIGNS]


def _told(catalog: Catalog, answers: Answers, id: str) -> bool | None:
    """A sign by answers alone, nothing derived from them."""
    sign = catalog.signs[id]
    if sign.when is not None:
        return truth(sign.when, View(answers, answers.cheese(catalog), lambda _: None, lambda _: None))
    value = answers.get(id)
    return None if value is None else value in ("yes", "slight", "clear")


def sparse_outcomes(diagnoser: Diagnoser, cases: Sequence[Sparse]) -> list[SparseOutcome]:
    """Work each case out."""
    catalog = diagnoser.catalog
    through = frozenset((*FIRST, *screened(catalog)))
    found = []
    for case in cases:
        beliefs, _, verdict = diagnoser.verdict_of(case.answers)
        order = sorted((id for id in beliefs if id != UNKNOWN_CAUSE), key=lambda id: (-round(beliefs[id], 12), id))
        near = [
            id
            for kind in ("fault", "takeover")
            for id in [id for id in order if catalog.causes[id].kind == kind][:FIRST_OF_KIND]
        ]
        asks = diagnoser.next_questions(case.answers, through)
        found.append(
            SparseOutcome(case, verdict, order[0], beliefs[order[0]], asks[0].question if asks else "", tuple(near))
        )
    return found


def shares(catalog: Catalog, reached: Sequence[SparseOutcome]) -> str:
    """How often it names, keeps open, and is wrong, in a few sentences."""
    of = Counter(o.verdict for o in reached)
    wrong = [o for o in reached if o.wrong(catalog)]
    faults = [o for o in reached if o.case.folder == "worked"]
    called_normal = sum(o.verdict == "normal" for o in faults)
    sound = [o for o in reached if o.case.folder == "normal"]
    return (
        f"Of {len(reached)} cases, a cause is named in {of['causes']}, {of['undecided']} stay undecided, "
        f"{of['stop'] + of['hold']} end in a stop or a hold, and {of['normal']} are called normal. "
        f"A wrong cause leads in {len(wrong)}, which is {_pct(len(wrong), len(reached))} of all and "
        f"{_pct(len(wrong), of['causes'])} of those named; at most {MOST_WRONG_PCT} % of all is allowed. "
        f"Of {len(faults)} with a fault, {called_normal} are called normal: what was told of them is normal, and "
        f"what was not told was the fault. Of {len(sound)} with none, no cause is named in "
        f"{sum(not o.names for o in sound)}."
    )


def _pct(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "0 %"


def sparse_page(catalog: Catalog, reached: Sequence[SparseOutcome]) -> str:
    """The figures, the wrong ones by name, and a table for each folder of cases."""
    by_folder: dict[str, list[SparseOutcome]] = defaultdict(list)
    for o in reached:
        by_folder[o.case.folder].append(o)
    wrong = [o for o in reached if o.wrong(catalog)]
    parts = [
        "# Two or three signs and nothing else",
        "[Catalogue](README.md). Every case again with the cheese, its age and its most telling signs only: no "
        "number, nothing of the process. Striking signs come first, then those that sound rinds show least. Cases "
        "without a sign are left out. The tool names a cause from a probability of "
        f"{LEAD_THRESHOLD:g}; below it, it says undecided and asks on. The question is the first one after the safety "
        "screen, which always comes before.",
        shares(catalog, reached),
        "## Where a wrong cause leads" if wrong else "",
        "One step before or after the right cause does not count as wrong." if wrong else "",
        bullets(
            f"{o.case.title}: {_cause(catalog, o.first)} ({o.probability:.2f}) instead of "
            + (" or ".join(_cause(catalog, id) for id in o.case.right) or "none")
            for o in wrong
        ),
    ]
    for folder, title in FOLDERS.items():
        heads = ["case", "what is told", "first cause", "probability", "the tool says", "it asks next"]
        parts += [f"## {title}", table(heads, (_row(catalog, o) for o in by_folder[folder]))]
    return page(*parts)


def _row(catalog: Catalog, o: SparseOutcome) -> list[str]:
    cheese = o.case.answers.cheese(catalog)
    age = o.case.answers.get(AGE)
    style = cheese.style.name if cheese.style else catalog.families[cheese.family].name if cheese.family else "any"
    day = f", day {age:g}" if isinstance(age, float) else ""
    question = catalog.questions.get(o.question)
    return [
        o.case.title,
        f"{style}{day}: " + "; ".join(_sign(catalog, o, id) for id in o.case.signs),
        _cause(catalog, o.first),
        f"{o.probability:.2f}",
        VERDICTS[o.verdict],
        asked(question, catalog.noun(cheese)) if question else "",
    ]


def _sign(catalog: Catalog, o: SparseOutcome, id: str) -> str:
    return ("a little: " if o.case.answers.get(id) == "slight" else "") + catalog.signs[id].name


def _cause(catalog: Catalog, id: str) -> str:
    return f"[{catalog.causes[id].name}](causes/{id}.md)" if id in catalog.causes else id
