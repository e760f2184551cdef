"""Replies as they are typed, made out: nothing here asks or shows."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...engine.answers import UNKNOWN, Value
from ...engine.model import Question

ASIDES = frozenset({"back", "list", "guess", "help"})
"""Words that answer no question, and are known at every one."""


def block_answers(word: str, size: int) -> list[Value] | None:
    """A reply to a block: yes for each number, unknown for a number with a mark, no for the rest."""
    if word in ("none", "no", "n", "0"):
        return ["no"] * size
    if word in ("dk", "d", "skip"):
        return [UNKNOWN] * size
    if word == "all":
        return ["yes"] * size
    values: list[Value] = ["no"] * size
    parts = [part for part in re.split(r"[,;\s]+", word) if part]
    for part in parts:
        found = re.fullmatch(r"(\d{1,2})(\?)?", part)
        if found is None or not 1 <= int(found[1]) <= size:
            return None
        values[int(found[1]) - 1] = UNKNOWN if found[2] else "yes"
    return values if parts else None


def by_number(question: Question, typed: str, offered: list[tuple[str, str]]) -> str | list[str]:
    """Numbers, words or beginnings of words as option ids."""
    parts = re.split(r"[,;\s]+", typed) if re.fullmatch(r"[\d,;\s]+", typed) else [typed]
    found = []
    for part in parts:
        if part.isdigit() and 1 <= int(part) <= len(offered):
            found.append(offered[int(part) - 1][0])
            continue
        beginning = [
            id
            for id, text in offered
            if part and (text.casefold().startswith(part.casefold()) or id.startswith(part.casefold()))
        ]
        found.append(beginning[0] if len(beginning) == 1 else part)
    return found if question.kind == "some_of" else found[0] if len(found) == 1 else typed


def picked(reply: str, sure: int, unsure: int = 0) -> list[int] | None:
    """Which of some readings are right, from 0; None when it says none of these.

    "All" means those that are sure and never one that is unsure: that one wants its number.
    """
    if reply in ("all", "yes", "y") and sure:
        return list(range(sure))
    if reply in ("none", "no", "n", "", "dk", "d", "skip"):
        return []
    numbers = [int(n) for n in re.findall(r"\d+", reply)]
    return [n - 1 for n in numbers] if numbers and all(1 <= n <= sure + unsure for n in numbers) else None


def chosen(reply: str, offered: Sequence[str]) -> str | None:
    """One of a few texts, by its number or by how it begins; None when it is none of them, or not one alone."""
    if reply.isdigit() and 1 <= int(reply) <= len(offered):
        return offered[int(reply) - 1]
    fitting = [text for text in offered if reply and text.startswith(reply)]
    return fitting[0] if len(fitting) == 1 else None
