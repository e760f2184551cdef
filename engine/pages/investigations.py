"""Published investigations held against the tool: what was found then, and what it says now, misses included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ..catalog import Catalog
from ..conditions import leaves
from ..diagnosis import Diagnoser, Diagnosis
from ..errors import AnswersError
from ..reading.answers_file import read_answers
from ..reading.nodes import Data, read_text, read_yaml
from .markdown import bullets, page, reference, table

STRENGTHS = {
    "reproduced": "made again on purpose, on cheese or in culture",
    "traced": "the source was typed and found",
    "analysed": "the substance was identified",
    "experimental": "seen in a trial",
    "associated": "found together, not proved",
    "field study": "seen on farms",
    "handbook": "told in a handbook of the time",
    "unresolved": "no cause was found",
}
"""How an investigation established its cause."""

VERDICTS = {
    "causes": "names causes",
    "undecided": "undecided",
    "normal": "normal at this age",
    "hold": "hold",
    "stop": "stop",
}

WITHOUT_CAUSE = ("undecided", "normal")
"""What is right where no cause of the knowledge stands for what was found, or where nothing was wrong."""


@dataclass(frozen=True, slots=True)
class Investigation:
    """One published case: what was reported, and which cause of ours it established."""

    id: str
    title: str
    source: tuple[str, ...]
    strength: str
    story: str
    established: tuple[str, ...]
    """Causes of the knowledge, any of which would be right; empty: none stands for it, or nothing was wrong."""
    row: str
    """Where what was found belongs to the normal course: the row that names it."""
    verdict: str
    """Where no cause is: ``normal``, or ``undecided``, which a hold or a stop may go with."""
    answers: str
    """What was entered, as text."""
    text: str = field(repr=False)
    note: str = ""
    asked: tuple[str, ...] = ()
    """Questions that were answered."""

    @property
    def explained(self) -> bool:
        """Whether the investigation established something that the knowledge has a name for."""
        return bool(self.established or self.row)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the tool makes of an investigation."""

    case: Investigation
    verdict: str
    place: int | None
    """Best place of an established cause among causes of its kind, from 1; None: not in the list."""
    right: bool
    """An established cause among the first three of its kind, the row that names it, or the right verdict."""
    leads: str
    """Id of the first cause in the list; empty when there is none."""
    signless: bool = False
    """No sign was reported, so that the place rests on how common causes are, and proves nothing."""


def read_investigation(path: Path) -> Investigation:
    """A case file of a published investigation. Raises ``AnswersError`` when it is not one."""
    text = read_text(path)
    read = read_yaml(text, path.name)
    if read.faults or not isinstance(read.data, dict):
        raise AnswersError(
            read.faults or [read.fault((), "Expected a map with title, source, strength, story, answers.")]
        )
    data = read.data
    expect = data.get("expect")
    wanted = expect if isinstance(expect, dict) else {}
    named = _list(wanted.get("in_first_three")) + _list(wanted.get("missed")) + _list(wanted.get("verdict"))
    answers = data.get("answers")
    return Investigation(
        id=path.stem,
        title=_words(data.get("title")),
        source=_list(data.get("source")),
        strength=_words(data.get("strength")),
        story=_words(data.get("story")),
        established=tuple(name for name in named if name not in WITHOUT_CAUSE),
        row=_words(wanted.get("row")),
        verdict=next((name for name in named if name in WITHOUT_CAUSE), ""),
        answers=", ".join(f"{k}: {_said(v)}" for k, v in answers.items())
        if answers and isinstance(answers, dict)
        else "nothing",
        text=text,
        note=_words(data.get("note")),
        asked=tuple(answers) if answers and isinstance(answers, dict) else (),
    )


def _words(value: Data) -> str:
    return " ".join(value.split()) if isinstance(value, str) else ""


def _list(value: Data) -> tuple[str, ...]:
    if isinstance(value, str):
        return (value,)
    return tuple(v for v in value if isinstance(v, str)) if isinstance(value, list) else ()


def _said(value: Data) -> str:
    return " and ".join(_list(value))


def read_all(folder: Path) -> list[Investigation]:
    """Every investigation of a folder, by name of its file."""
    return [read_investigation(path) for path in sorted(folder.glob("*.yaml"))]


def outcomes(diagnoser: Diagnoser, cases: Sequence[Investigation]) -> list[Outcome]:
    """Work each case out."""
    catalog = diagnoser.catalog
    return [outcome(c, catalog, diagnoser.diagnose(read_answers(catalog, c.text, c.id))) for c in cases]


def outcome(case: Investigation, catalog: Catalog, d: Diagnosis) -> Outcome:
    """What a diagnosis is worth for a case."""
    places = [place for id in case.established if (place := place_of(catalog, d, id)) is not None]
    place = min(places, default=None)
    if case.established:
        right = place is not None and place <= 3
    elif case.verdict == "normal":
        right = d.verdict == "normal" and (not case.row or case.row in d.normal.rows)
    else:
        right = d.lead is None and d.verdict not in ("normal", "causes")
    shown_by = {leaf.ask for s in catalog.signs.values() if s.when for leaf in leaves(s.when)} | set(catalog.signs)
    return Outcome(
        case, d.verdict, place, right, d.causes[0].id if d.causes else "", signless=shown_by.isdisjoint(case.asked)
    )


def place_of(catalog: Catalog, d: Diagnosis, id: str) -> int | None:
    """Place of a cause among those of its kind, from 1; None when it is not in the list."""
    if id not in catalog.causes:
        return None
    kind = catalog.causes[id].kind
    ranked = [c.id for c in d.causes if c.kind == kind]
    return ranked.index(id) + 1 if id in ranked else None


def tally(reached: Sequence[Outcome]) -> str:
    """The outcome of all in a few sentences."""
    explained = [o for o in reached if o.case.explained]
    others = [o for o in reached if not o.case.explained]
    named = [o for o in explained if o.case.established]
    rows = [o for o in explained if not o.case.established]
    missed = sum(not o.right for o in explained)
    signless = [o for o in named if o.signless]
    left = [o for o in named if not o.signless]
    proof = (
        f"{len(signless)} of these report no sign, so that their place only says how common the cause is; of the "
        f"other {len(left)} it came first in {sum(o.place == 1 for o in left)} and among the first three in "
        f"{sum(o.right for o in left)}. "
        if signless
        else ""
    )
    return (
        f"Of {len(reached)} investigations {len(explained)} established what it was, and {len(explained) - missed} of "
        f"these are told so here; {missed} missed it. In {len(named)} it was a cause: that came first in "
        f"{sum(o.place == 1 for o in named)} and among the first three of its kind in {sum(o.right for o in named)}. "
        f"{proof}In {len(rows)} it belonged to the normal course: {sum(o.right for o in rows)} are called so. "
        f"Of {len(others)} that established nothing, {sum(o.right for o in others)} ended undecided, as it should."
    )


def investigations_page(catalog: Catalog, reached: Sequence[Outcome]) -> str:
    """The table of all, then each in short."""
    rows = [
        [o.case.title, o.case.strength, _found(catalog, o.case), VERDICTS.get(o.verdict, o.verdict), _place(o)]
        for o in reached
    ]
    parts = [
        "# Published investigations",
        "[Catalogue](README.md). What others found out about faulty cheese, entered as they reported it and no "
        "further, and what the tool makes of those answers. The place is that among causes of the same kind: faults "
        "of the process, or what has grown or formed. A miss stays in the table.",
        tally(reached),
        table(["investigation", "how established", "what was found", "the tool says", "place"], rows),
        "## How a cause was established",
        table(["word", "meaning"], STRENGTHS.items()),
    ]
    for o in reached:
        c = o.case
        parts += [
            f"## {c.title}",
            c.story,
            bullets(
                [
                    f"Entered: {c.answers}",
                    f"Found: {_found(catalog, c)} ({c.strength})",
                    f"The tool: {VERDICTS.get(o.verdict, o.verdict)}; {_place_said(o)}{_lead(catalog, o)}",
                    "Source: " + "; ".join(reference(catalog.sources[s]) for s in c.source),
                    *([f"Note: {c.note}"] if c.note else []),
                ]
            ),
        ]
    return page(*parts)


def _found(catalog: Catalog, case: Investigation) -> str:
    if case.established:
        return " or ".join(
            f"[{catalog.causes[id].name}](causes/{id}.md)" if id in catalog.causes else id for id in case.established
        )
    if case.row:
        return f"{catalog.normal[case.row].name}, which is normal at that age"
    return "nothing that anything here stands for"


def _place(o: Outcome) -> str:
    if not o.case.established:
        return "as it should be" if o.right else "**missed**"
    where = f"{o.place}" if o.place is not None else "not in the list"
    where += ", no sign reported" if o.signless else ""
    return where if o.right else f"**missed** ({where})"


def _place_said(o: Outcome) -> str:
    return f"place {_place(o)}" if o.right and o.place is not None else _place(o)


def _lead(catalog: Catalog, o: Outcome) -> str:
    if o.right or not o.leads:
        return ""
    return f", first in its list is {catalog.causes[o.leads].name}"
