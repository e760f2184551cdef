"""One thing said in one line: a figure, a cause, a reason, a date, a question, the ground of a claim."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..engine.catalog import Catalog
from ..engine.house.voices import behind
from ..engine.model import Caution
from .house_words import cause_named, grounds, question_put, whose

if TYPE_CHECKING:
    from ..engine.chaining import Chained
    from ..engine.dating import Dated
    from ..engine.diagnosis import RankedCause, Reason

GRADE_WORDS = {
    "published": "published",
    "handbook": "handbook",
    "trade": "trade page",
    "practice": "common practice, no source",
    "memory": "judgement or memory",
    "house": "house rule",
}


def counted(n: int, what: str) -> str:
    """A count with its noun: "1 look", "2 looks"."""
    return f"{n} {what}{'' if n == 1 else 's'}"


def details(c: Caution) -> list[tuple[str, str]]:
    """What else a caution says, with its label, in the order of need."""
    parts = [
        ("What it touched", c.touched),
        ("Test", c.test),
        ("Sample", c.sample),
        ("While you wait", c.while_waiting),
        ("Advice differs", c.differs),
    ]
    return [(label, text) for label, text in parts if text]


def question_line(catalog: Catalog, id: str, noun: str) -> str:
    """A question as it is put, how to find out, and its id for an answers file."""
    question = catalog.questions[id]
    return " ".join(
        part for part in (question_put(catalog, question, noun), question.how, f"(answers file: {id})") if part
    )


def dating_line(t: Dated) -> str:
    """When a cause began, as far as the day it was first seen tells."""
    began = f"by day {t.by_day:.0f}" if t.by_day >= 0 else "before salting ended"
    days = f"{t.shows_after_days} day{'' if t.shows_after_days == 1 else 's'}"
    return (
        f"When: first seen on day {t.first_seen_day:.0f}, and it commonly needs {days} or more to show. So it began "
        f"{began}: think back to what was done then ({GRADE_WORDS[t.grade]})."
    )


def ranked_line(c: RankedCause) -> str:
    """One cause in a list: word, figure, interval."""
    return f"{c.title}: {c.word}, {percent(c.probability)} (between {percent(c.low)} and {percent(c.high)})"


def reason_line(catalog: Catalog, r: Reason, chained: Chained | None = None, learnt: str = "") -> str:
    """One reason: what was answered, how strong the link is, what was learnt of that, and on what ground."""
    word = (
        f"; seen with it: {r.word}"
        if r.word in ("almost never", "rarely", "sometimes", "often", "usually", "nearly always")
        else f"; weight: {r.word}"
        if r.word
        else ""
    )
    also = f" Would also come from: {', '.join(cause_named(catalog, a, True) for a in r.also)}." if r.also else ""
    marks = behind(catalog, chained, r.by, r.sources) if chained is not None else catalog.marks(r.sources)
    said = "; ".join(whose(m) for m in marks)
    ground = said if r.grade == "house" and said else "; ".join(s for s in (GRADE_WORDS[r.grade], said) if s)
    return f"{capital(r.says)}{word}{learnt} ({ground}).{also}"


def ground(catalog: Catalog, sources: Sequence[str]) -> str:
    """On what a claim stands: its grade and its sources."""
    grade = grounds(catalog, GRADE_WORDS[catalog.grade(sources)], sources)
    named = [s for s in sources if s not in ("judgement", "practice") and s not in catalog.house]
    if named and grade == GRADE_WORDS["practice"]:
        return f"common practice, no source of its own; it leans on {', '.join(named)}"
    return grade + (": " + ", ".join(named) if named else "")


def percent(p: float) -> str:
    """A probability as a maker reads it."""
    if p < 0.01:
        return "under 1%"
    if p > 0.99:
        return "over 99%"
    return f"{p * 100:.0f}%"


def capital(text: str) -> str:
    """A text with a great first letter."""
    return text[:1].upper() + text[1:]
