"""Many looks at once: answers as columns, and conditions worked out for all of them together.

A truth here is two columns, "known to be so" and "known not to be so"; both empty means not known. The rules
are those of ``conditions`` and ``chaining``, look by look; tests hold the two against each other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..answers import AGE, MADE, UNKNOWN, Answers, Unusable, Value, understand
from ..catalog import Catalog, Cheese
from ..conditions import describe, meets, question_in
from ..dating import FIRST_SEEN
from ..gates import FIRST
from ..model import Condition

Flags = NDArray[np.bool_]
Numbers = NDArray[np.float64]
Truth = tuple[Flags, Flags]
"""Known to be so, known not to be so."""


@dataclass(frozen=True, slots=True)
class Said:
    """The answers of many looks to one question: codes into ``values``, -1 where it was not asked."""

    values: tuple[Value, ...]
    codes: NDArray[np.int32]

    def where(self, test: Callable[[Value], bool]) -> Flags:
        """Looks whose answer passes a test."""
        passing = np.array([*(test(v) for v in self.values), False], dtype=bool)
        return passing[self.codes]


class Reader:
    """Turns kept answers into columns. Remembers how each answer was understood, for all looks to come."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self._codes: dict[str, dict[Any, int]] = {q: {} for q in catalog.questions}
        self._values: dict[str, list[Value]] = {q: [] for q in catalog.questions}
        self._places: dict[str, dict[Value, int]] = {q: {} for q in catalog.questions}

    def read(self, looks: Iterable[Sequence[Sequence[Any]]], size: int) -> dict[str, Said]:
        """Columns of so many looks, each a list of (question, raw value, date) as it was kept."""
        return self.adding({}, enumerate(looks), size)

    def adding(
        self, said: Mapping[str, Said], more: Iterable[tuple[int, Sequence[Sequence[Any]]]], size: int
    ) -> dict[str, Said]:
        """Columns with further answers of some of the looks, by row."""
        rows: defaultdict[tuple[str, Any], list[int]] = defaultdict(list)
        for row, kept in more:
            for question, raw, _ in kept:
                rows[question, tuple(raw) if raw.__class__ is list else raw].append(row)
        columns = {q: column.codes.copy() for q, column in said.items()}
        for (question, key), those in rows.items():
            codes = self._codes.get(question)
            if codes is None:
                continue
            code = codes.get(key)
            if code is None:
                code = codes[key] = self._understood(question, key)
            if code < 0:
                continue
            if question not in columns:
                columns[question] = np.full(size, -1, dtype=np.int32)
            columns[question][those] = code
        return {q: Said(tuple(self._values[q]), column) for q, column in columns.items()}

    def _understood(self, question: str, raw: Any) -> int:
        try:
            value = understand(self.catalog.questions[question], raw)
        except Unusable:
            return -1
        places = self._places[question]
        if value not in places:
            places[value] = len(places)
            self._values[question].append(value)
        return places[value]


def cohort_of(catalog: Catalog, looks: Sequence[Answers]) -> Cohort:
    """Many sets of answers side by side."""
    kept = [[(question, value, None) for question, value in answers] for answers in looks]
    listed = np.array([answers.listed_all for answers in looks], dtype=bool)
    return Cohort(catalog, Reader(catalog).read(kept, len(kept)), listed)


class Cohort:
    """Many looks: their answers, their cheeses, and every condition on them, worked out when asked for."""

    def __init__(self, catalog: Catalog, said: Mapping[str, Said], listed_all: Flags) -> None:
        self.catalog = catalog
        self.said = said
        self.listed_all = listed_all
        self.size = len(listed_all)
        self.nowhere = np.zeros(self.size, dtype=bool)
        self.everywhere = np.ones(self.size, dtype=bool)
        self.cheeses, self.cheese_code = self._cheeses()
        self.age = self._ages()
        seen = self._numbers(FIRST_SEEN)
        self.onset = np.where(np.isnan(seen), np.nan, np.fmin(seen, self.age))
        self._memory: dict[tuple[str, str, bool], Truth] = {}
        self._rinds: dict[tuple[str, ...], Truth] = {}
        self._windows: dict[tuple[int, int | None], Truth] = {}
        self._onsets: dict[tuple[int, int | None], Flags] = {}

    def _numbers(self, question: str) -> Numbers:
        """A number answered, or NaN."""
        column = self.said.get(question)
        if column is None:
            return np.full(self.size, np.nan)
        numbers = np.array([v if isinstance(v, float) else np.nan for v in column.values] + [np.nan])
        found: Numbers = numbers[column.codes]
        return found

    def _ages(self) -> Numbers:
        """Days since salting ended: as answered, or else counted from the day of making."""
        age, made = self._numbers(AGE), self._numbers(MADE)
        salting = self.per_cheese(lambda cheese: float(self.catalog.salting_ends_day(cheese)))
        found: Numbers = np.where(np.isnan(age), np.maximum(0.0, made - salting), age)
        return found

    def _cheeses(self) -> tuple[list[Cheese], NDArray[np.int64]]:
        empty = np.full(self.size, -1, dtype=np.int32)
        pair = [self.said[q].codes if q in self.said else empty for q in ("family", "style")]
        joined = pair[0].astype(np.int64) * 100_000 + pair[1]
        kinds, code = np.unique(joined, return_inverse=True)
        cheeses = []
        for kind in kinds:
            row = int(np.flatnonzero(joined == kind)[0])
            given = {
                q: self.said[q].values[self.said[q].codes[row]]
                for q in ("family", "style")
                if q in self.said and self.said[q].codes[row] >= 0
            }
            cheeses.append(Answers.of(given).cheese(self.catalog))
        return cheeses, code

    def per_cheese(self, of: Callable[[Cheese], float]) -> Numbers:
        """A number that depends on family and style alone."""
        found: Numbers = np.array([of(c) for c in self.cheeses], dtype=np.float64)[self.cheese_code]
        return found

    def rind(self, rinds: tuple[str, ...]) -> Truth:
        """Whether each cheese is one of some rinds."""
        if rinds not in self._rinds:
            truths = [c.is_one_of(rinds) for c in self.cheeses]
            so = np.array([t is True for t in truths], dtype=bool)[self.cheese_code]
            not_so = np.array([t is False for t in truths], dtype=bool)[self.cheese_code]
            self._rinds[rinds] = (so, not_so)
        return self._rinds[rinds]

    def window(self, from_day: int | Numbers, to_day: int | Numbers | None) -> Truth:
        """Whether each age lies in a window of days."""
        if isinstance(from_day, np.ndarray) or isinstance(to_day, np.ndarray):
            return self._window(from_day, to_day)
        key = (from_day, to_day)
        if key not in self._windows:
            self._windows[key] = self._window(from_day, to_day)
        return self._windows[key]

    def _window(self, from_day: int | Numbers, to_day: int | Numbers | None) -> Truth:
        known = ~np.isnan(self.age)
        with np.errstate(invalid="ignore"):
            inside = (self.age >= from_day) & (self.everywhere if to_day is None else self.age <= to_day)
        so, not_so = known & inside, known & ~inside
        if to_day is None and not isinstance(from_day, np.ndarray) and from_day == 0:
            so = so | ~known
        return so, not_so

    def seen_in(self, from_day: int, to_day: int | None) -> Flags:
        """Whether the day it was first seen is known to lie in a window of days."""
        key = (from_day, to_day)
        if key not in self._onsets:
            with np.errstate(invalid="ignore"):
                late = self.everywhere if to_day is None else self.onset <= to_day
                self._onsets[key] = (self.onset >= from_day) & late
        return self._onsets[key]

    def holds(self, circumstance: str) -> Truth:
        """Whether a circumstance holds."""
        return self._named("circumstance", circumstance, False)

    def sign(self, sign: str) -> Truth:
        """Whether a sign is there."""
        return self._named("sign", sign, False)

    def settled(self) -> list[dict[str, bool]]:
        """What is known of each look's signs and circumstances, named as a chainer names it."""
        found: list[dict[str, bool]] = [{} for _ in range(self.size)]
        for kind, names in (("sign", self.catalog.signs), ("circumstance", self.catalog.circumstances)):
            for name in names:
                so, not_so = self._named(kind, name, False)
                for row in np.flatnonzero(so | not_so).tolist():
                    found[row][f"{kind} {name}"] = bool(so[row])
        return found

    def _named(self, kind: str, name: str, bare: bool) -> Truth:
        key = (kind, name, bare)
        if key not in self._memory:
            if kind == "circumstance":
                condition = self.catalog.circumstances[name].when
            else:
                condition = self.catalog.signs[name].when or Condition(ask=name)
            self._memory[key] = self.truth(condition, bare)
        return self._memory[key]

    def truth(self, condition: Condition, bare: bool = False) -> Truth:
        """A condition for every look. ``bare``: with nothing but family, style and age answered or derived."""
        parts = condition.all or condition.any or condition.none
        if parts:
            truths = [self.truth(part, bare) for part in parts]
            if condition.all:
                return _every(truths)
            if condition.any:
                not_so, so = _every([(b, a) for a, b in truths])
                return so, not_so
            return _every([(b, a) for a, b in truths])
        if condition.holds:
            return self._named("circumstance", condition.holds, bare)
        if condition.sign:
            return (self.nowhere, self.nowhere) if bare else self._named("sign", condition.sign, False)
        if condition.rind:
            return self.rind(condition.rind)
        if condition.may_be:
            not_so = self.rind(condition.may_be)[1]
            return ~not_so, not_so
        if condition.paste:
            open_ = np.array([not c.paste.isdisjoint(condition.paste) for c in self.cheeses], dtype=bool)[
                self.cheese_code
            ]
            return open_, ~open_
        key = ("leaf", describe(condition), bare)
        if key not in self._memory:
            self._memory[key] = self._leaf(condition, bare)
        return self._memory[key]

    def _leaf(self, condition: Condition, bare: bool) -> Truth:
        name = question_in(condition)
        column = None if bare and name not in FIRST else self.said.get(name)
        if condition.dont_know:
            unknown = self.nowhere if column is None else column.where(lambda v: v == UNKNOWN)
            return unknown, ~unknown
        if name == AGE:  # it may be worked out from the day of making
            numbers, codes = np.unique(self.age, return_inverse=True)
            passing = np.array([not np.isnan(x) and meets(condition, float(x)) for x in numbers], dtype=bool)
            known = ~np.isnan(self.age)
            return (~known, known) if condition.unanswered else (passing[codes], known & ~passing[codes])
        known = self.nowhere if column is None else column.where(lambda v: v != UNKNOWN)
        if condition.unanswered:
            return ~known, known
        if column is None:
            return self.nowhere, self.nowhere
        so = column.where(lambda v: v != UNKNOWN and meets(condition, v))
        return so, known & ~so


def _every(truths: Sequence[Truth]) -> Truth:
    so, not_so = truths[0]
    for a, b in truths[1:]:
        so, not_so = so & a, not_so | b
    return so, not_so
