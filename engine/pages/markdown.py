"""Plain Markdown: headings, tables and the few phrases that every page uses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..catalog import Catalog
from ..model import Source

UNPRINTED = ("judgement", "practice")
"""Sources that are a word for having none."""


def page(*parts: str) -> str:
    """Parts with one empty line between them; parts without text fall away."""
    return "\n\n".join(part.strip("\n") for part in parts if part.strip()) + "\n"


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table, or nothing when it has no rows."""
    lines = ["| " + " | ".join(_cell(x) for x in row) + " |" for row in rows]
    if not lines:
        return ""
    return "\n".join(["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads), *lines])


def _cell(x: object) -> str:
    return " ".join(str(x).split()).replace("|", "/") or "-"


def bullets(lines: Iterable[str]) -> str:
    """A list."""
    return "\n".join("- " + " ".join(line.split()) for line in lines)


def capital(text: str) -> str:
    """With a capital first letter."""
    return text[:1].upper() + text[1:]


def counted(n: int, one: str, many: str = "") -> str:
    """A number and its noun: ``1 cause``, ``3 causes``."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def rind_names(names: Sequence[str]) -> str:
    """Families, groups and styles as a reader says them: ``tomme grey, blue``."""
    return ", ".join(name.replace("_", " ") for name in names) if names else "any rind"


def window(from_day: int, to_day: int | None) -> str:
    """An age in whole days after salting ended."""
    if to_day is None:
        return f"from day {from_day}" if from_day else "any age"
    return f"day {from_day} to {to_day}"


def ground(catalog: Catalog, sources: Sequence[str]) -> str:
    """What a claim stands on: the grade of its first source, and the ids of all that can be looked up."""
    named = [s for s in sources if s not in UNPRINTED]
    grade = grade_name(catalog.grade(sources))
    if not named:
        return grade
    return f"{grade}, leaning on {', '.join(named)}" if sources[0] in UNPRINTED else f"{grade}: {', '.join(named)}"


def grade_name(grade: str) -> str:
    """A grade in a word. What is from memory is nearly always the authors' judgement, and is called so."""
    return "judgement" if grade == "memory" else grade


def reference(source: Source) -> str:
    """Author, work, place and year on one line."""
    return " ".join(source.reference.split()) + (f", {source.year}" if source.year else "")
