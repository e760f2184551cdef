"""A reviewer's eye on house rules: what keeps a rule from counting, and what makes one doubt it.

``check`` gives remarks of three kinds. A *fault*: the rule does not count. An *example*: it counts,
but does not do what its own examples say. A *doubt*: it counts; look at it once more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from ..catalog import Catalog
from ..errors import Fault
from ..model import Condition, Knowledge
from ..reading.nodes import Path_
from .firing import can_be, reads
from .layering import Layered, layer
from .reach import Reach, Ruler
from .reading import Entry, Shelf, named
from .saying import statements
from .speaking import speaks, told

Kind = Literal["fault", "example", "doubt"]

FAULTS_PER_CHEESE = 1.5
"""Above this, the causes of a style are said to be too common together."""
HOUSE_SHARE = 2.0
"""All house rules together outweigh the strongest packaged statement this many times: a doubt."""


@dataclass(frozen=True, slots=True, order=True)
class Remark:
    """One thing to say about a rule."""

    fault: Fault
    kind: Kind


@dataclass(frozen=True, slots=True)
class Report:
    """Everything there is to say about a folder of rules."""

    remarks: tuple[Remark, ...]
    layered: Layered
    reach: dict[str, tuple[Reach, ...]]
    """By rule: how far it can move each cause."""

    def of(self, *kinds: Kind) -> tuple[Fault, ...]:
        """The remarks of some kinds."""
        return tuple(r.fault for r in self.remarks if r.kind in kinds)


def check(packaged: Knowledge, shelf: Shelf, only: frozenset[str] | None = None) -> Report:
    """Check rules against the packaged knowledge and each other; ``only`` limits the doubts to some rules."""
    layered = layer(packaged, shelf.entries)
    remarks = {Remark(f, "fault") for f in (*shelf.faults, *layered.faults)}
    catalog, below = Catalog(layered.knowledge), Catalog(packaged)
    entries = {n: e for n, e in named(shelf.entries).items() if n in layered.in_force}
    eye = _Eye(catalog, below, entries)
    ruler = Ruler(catalog, below)
    reach: dict[str, tuple[Reach, ...]] = {}
    for name, entry in entries.items():
        reach[name] = tuple(ruler.reach(entry.rule))
        if only is not None and name not in only:
            continue
        remarks |= {Remark(entry.fault(path, sentence), "doubt") for path, sentence in eye.doubts(entry)}
        remarks |= {
            Remark(entry.fault(path, sentence), "doubt") for path, sentence in _weight(entry, reach[name], catalog)
        }
        remarks |= {
            Remark(entry.fault(path, sentence), "example") for path, sentence in _examples(entry, catalog, below)
        }
    remarks |= {Remark(f, "doubt") for f in _together(entries, reach, catalog)}
    return Report(tuple(sorted(remarks)), layered, reach)


def _examples(entry: Entry, catalog: Catalog, below: Catalog) -> Iterator[tuple[Path_, str]]:
    for part, must in (("speaks", True), ("silent", False)):
        for n, raw in enumerate(getattr(entry.rule.examples, part)):
            at: Path_ = ("examples", part, n)
            answers, wrong = told(catalog, raw)
            for key, sentence in wrong:
                yield (*at, key), sentence
            if not wrong and speaks(catalog, entry.rule, answers, below) is not must:
                now, wanted = ("stays silent", "speak") if must else ("speaks", "stay silent")
                yield at, f"The rule {now} here, and should {wanted}."


class _Eye:
    """Looks at rules one by one, with all the others in view."""

    def __init__(self, catalog: Catalog, below: Catalog, entries: dict[str, Entry]) -> None:
        self.catalog = catalog
        self.below = below
        self.said: dict[tuple[str, ...], list[str]] = {}
        self.written: dict[str, list[str]] = {}
        self.names: dict[str, list[str]] = {}
        self.denied: dict[tuple[str, str], list[str]] = {}
        for c in below.circumstances.values():
            self.written.setdefault(reads(c.when), []).append(f'the packaged "{c.id}"')
        for s in below.signs.values():
            if s.when is not None:
                self.written.setdefault(reads(s.when), []).append(f'the packaged "{s.id}"')
            self.names.setdefault(s.name.casefold(), []).append(f'the packaged "{s.id}"')
        for cause in below.causes.values():
            for a in cause.against:
                self.denied.setdefault((cause.id, a.sign or a.when), []).append("the packaged knowledge")
        for name, entry in entries.items():
            whom = f"house rule {name}"
            for key, value, _ in statements(entry.rule):
                self.said.setdefault((*key, "says", *value), []).append(whom)
            for condition in _own(entry):
                self.written.setdefault(reads(condition), []).append(whom)
            for s in entry.rule.sign:
                self.names.setdefault(s.name.casefold(), []).append(whom)
            for x in entry.rule.against:
                self.denied.setdefault((x.cause, x.sign or x.when), []).append(whom)

    def doubts(self, entry: Entry) -> Iterator[tuple[Path_, str]]:
        """Everything that makes one doubt a rule."""
        yield from self._never(entry)
        yield from self._again(entry)
        yield from self._against(entry)
        yield from self._bare(entry)

    def _never(self, entry: Entry) -> Iterator[tuple[Path_, str]]:
        rule, never = entry.rule, "This can never be so, whatever the answers: the rule can never fire."
        conditions = [(("circumstance", n, "when"), c.when) for n, c in enumerate(rule.circumstance)]
        conditions += [(("derive", n, "when"), d.when) for n, d in enumerate(rule.derive)]
        conditions += [(("sign", n, "when"), s.when) for n, s in enumerate(rule.sign) if s.when]
        conditions += [(("remedy", n, "only_if"), r.only_if) for n, r in enumerate(rule.remedy) if r.only_if]
        for path, condition in conditions:
            if not can_be(self.catalog, condition):
                yield path, never
        for n, link in enumerate(rule.link):
            cause, sign = self.catalog.causes.get(link.cause), self.catalog.signs.get(link.sign)
            if cause is None or sign is None:
                continue
            places = [self._styles(x.rinds) for x in (cause, sign, link)]
            first = max(x.from_day for x in (cause, sign, link))
            last = min((x.to_day for x in (cause, sign, link) if x.to_day is not None), default=None)
            if not places[0] & places[1] & places[2]:
                yield ("link", n), "Cause, sign and link share no rind: the rule can never fire."
            elif last is not None and last < first:
                yield ("link", n), "Cause, sign and link share no day: the rule can never fire."
        for n, cause in enumerate(rule.cause):
            now = self.catalog.causes[cause.id]
            if not now.signs and not now.likelier:
                yield ("cause", n), f'Nothing points to "{cause.id}": the rule can never fire.'

    def _again(self, entry: Entry) -> Iterator[tuple[Path_, str]]:
        me = f"house rule {entry.name}"
        for key, value, path in statements(entry.rule):
            others = [w for w in self.said.get((*key, "says", *value), ()) if w != me]
            if others and key[0] != "id":
                yield path, f"This repeats {others[0]}."
        for n, s in enumerate(entry.rule.sign):
            others = [w for w in self.names.get(s.name.casefold(), ()) if w != me]
            if others:
                yield ("sign", n, "name"), f"This repeats {others[0]}: the same name."
        for condition, path in _own_placed(entry):
            others = [w for w in self.written.get(reads(condition), ()) if w != me]
            if others:
                yield path, f"This repeats {others[0]}: the same condition."
        for n, change in enumerate(entry.rule.change):
            cause = self.below.causes.get(change.cause)
            if cause is not None and change.sign:
                if any(x.sign == change.sign and x.seen == change.to for x in cause.signs):
                    yield ("change", n), f'The packaged word is "{change.to}" already: this repeats it.'
            elif cause is not None and change.when:
                if any(x.when == change.when and x.strength == change.to for x in cause.likelier):
                    yield ("change", n), f'The packaged word is "{change.to}" already: this repeats it.'
            elif cause is not None and not change.leads_to and cause.base_rate == change.to:
                yield ("change", n), f'The packaged word is "{change.to}" already: this repeats it.'

    def _against(self, entry: Entry) -> Iterator[tuple[Path_, str]]:
        me = f"house rule {entry.name}"
        for n, link in enumerate(entry.rule.link):
            if link.seen == "almost never":
                continue
            for whom in self.denied.get((link.cause, link.sign), ()):
                who = "itself" if whom == me else whom
                yield ("link", n), f'This contradicts {who}, where "{link.sign}" speaks against "{link.cause}".'
                break
        for n, x in enumerate(entry.rule.against):
            cause = self.below.causes.get(x.cause)
            if cause is not None and x.sign and any(k.sign == x.sign and k.seen != "almost never" for k in cause.signs):
                yield (
                    ("against", n),
                    f'This contradicts the packaged knowledge, where "{x.sign}" goes with "{x.cause}".',
                )
        silent = [told(self.catalog, raw)[0] for raw in entry.rule.examples.silent]
        for n, raw in enumerate(entry.rule.examples.speaks):
            if told(self.catalog, raw)[0] in silent:
                yield (
                    ("examples", "speaks", n),
                    "This contradicts itself: the same answers stand under speaks and silent.",
                )

    def _bare(self, entry: Entry) -> Iterator[tuple[Path_, str]]:
        for part, what in (("speaks", "must speak"), ("silent", "must stay silent")):
            if not getattr(entry.rule.examples, part):
                yield ("examples",), f"An example is missing: answers where the rule {what} (examples, {part})."
        for n, cause in enumerate(entry.rule.cause):
            now = self.catalog.causes[cause.id]
            if not now.today:
                yield ("cause", n), f'"{cause.id}" does not say what to do today.'
            for style in sorted(self._styles(cause.rinds)):
                total = self._rates().get(style, 0.0)
                if total > FAULTS_PER_CHEESE:
                    yield (
                        ("cause", n, "base_rate"),
                        (
                            f"All causes of {style} come to {total:.1f} faults per cheese now; "
                            f"more than {FAULTS_PER_CHEESE:g} cannot be right. Make this one rarer."
                        ),
                    )
                    break

    def _styles(self, rinds: Iterable[str]) -> frozenset[str]:
        names = set(rinds)
        return frozenset(
            s.id
            for f in self.catalog.families.values()
            for s in f.styles
            if not names or not {f.id, s.group, s.id}.isdisjoint(names)
        )

    def _rates(self) -> dict[str, float]:
        if not hasattr(self, "_sums"):
            self._sums: dict[str, float] = {}
            for cause in self.catalog.causes.values():
                for style in self._styles(cause.rinds):
                    rate = self.catalog.value("base_rate", cause.base_rate)
                    self._sums[style] = self._sums.get(style, 0.0) + rate
        return self._sums


def _own(entry: Entry) -> list[Condition]:
    return [condition for condition, _ in _own_placed(entry)]


def _own_placed(entry: Entry) -> list[tuple[Condition, Path_]]:
    rule = entry.rule
    found: list[tuple[Condition, Path_]] = [
        (c.when, ("circumstance", n, "when")) for n, c in enumerate(rule.circumstance)
    ]
    found += [(d.when, ("derive", n, "when")) for n, d in enumerate(rule.derive)]
    found += [(s.when, ("sign", n, "when")) for n, s in enumerate(rule.sign) if s.when is not None]
    return found


def _weight(entry: Entry, reach: Iterable[Reach], catalog: Catalog) -> Iterator[tuple[Path_, str]]:
    for r in reach:
        if r.overwhelms:
            yield (
                (),
                f"This rule alone moves {catalog.causes[r.cause].name.lower()} from {r.base:.1%} to {r.moved:.1%}, "
                f"further than anything packaged ({math.exp(abs(r.log_odds)):.0f} times the odds, against "
                f"{math.exp(r.cited):.0f}). Use a weaker word.",
            )


def _together(entries: dict[str, Entry], reach: dict[str, tuple[Reach, ...]], catalog: Catalog) -> Iterator[Fault]:
    """Rules that are modest one by one and overwhelming all at once."""
    up: dict[tuple[str, bool], list[tuple[str, Reach]]] = {}
    for name, each in reach.items():
        for r in each:
            up.setdefault((r.cause, r.log_odds > 0), []).append((name, r))
    for (cause, _), those in sorted(up.items()):
        total = math.fsum(r.log_odds for _, r in those)
        cited = those[0][1].cited
        if len(those) > 1 and cited > 0 and abs(total) > HOUSE_SHARE * cited:
            first = entries[those[0][0]]
            most = math.exp(math.copysign(cited, total))
            yield first.fault(
                (),
                f"{len(those)} house rules together multiply the odds of {catalog.causes[cause].name.lower()} by "
                f"{math.exp(total):.2g}; the strongest packaged statement does so by {most:.2g}.",
            )


__all__ = ["Remark", "Report", "check"]
