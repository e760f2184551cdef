"""What makes one look again at a rule that counts: it never fires, repeats, contradicts, or has no example."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property

from ..catalog import Catalog
from ..conditions import leaves
from ..model import Cause, Condition
from ..reading.nodes import Path_
from .firing import can_be, reads
from .reading import Entry
from .saying import statements
from .speaking import told

FAULTS_PER_CHEESE = 1.5
"""Above this, the causes of a style are said to be too common together."""
EXAMPLES = (("speaks", "speak"), ("silent", "stay silent"))
NEVER = "the rule can never fire."


class Eye:
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
        rule, never = entry.rule, f"This can never be so, whatever the answers: {NEVER}"
        for condition, path in _own_placed(entry):
            if not can_be(self.catalog, condition):
                yield path, never
        for n, link in enumerate(rule.link):
            yield from self._apart(("link", n), link.cause, link.sign, link)
        for n, against in enumerate(rule.against):
            if against.sign:
                yield from self._apart(("against", n), against.cause, against.sign)
        moves = [(("likelier", n), x.cause, x.when) for n, x in enumerate(rule.likelier)]
        moves += [(("against", n), x.cause, x.when) for n, x in enumerate(rule.against) if x.when]
        for path, cause_id, when in moves:
            if not self._holds_with(cause_id, when):
                yield path, f'Where "{when}" holds, "{cause_id}" cannot be: {NEVER}'
        for n, step in enumerate(rule.remedy):
            cause = self.catalog.causes.get(step.cause)
            if cause is not None and not self._styles(cause.rinds) & self._styles(step.rinds):
                yield ("remedy", n), f"Cause and step share no rind: {NEVER}"
            elif cause is not None and step.only_if is not None and not self._on(cause, step.only_if):
                yield ("remedy", n, "only_if"), never
        for n, cause in enumerate(rule.cause):
            now = self.catalog.causes[cause.id]
            seen = any(not list(self._apart((), cause.id, x.sign, x)) for x in now.signs)
            if not seen and not any(self._on(now, self.catalog.circumstances[s.when].when) for s in now.likelier):
                yield ("cause", n), f'Nothing points to "{cause.id}": {NEVER}'
        for kind in ("sign", "circumstance"):
            for n, record in enumerate(getattr(rule, kind)):
                if (kind, record.id) not in self._read:
                    yield (kind, n), f'Nothing looks at "{record.id}": no cause is tied to it, and no other fact.'

    def _apart(self, path: Path_, cause_id: str, sign_id: str, link: object = None) -> Iterator[tuple[Path_, str]]:
        """A cause and a sign (and the tie between them) that never meet on one cheese."""
        cause, sign = self.catalog.causes.get(cause_id), self.catalog.signs.get(sign_id)
        if cause is None or sign is None:
            return
        those = [x for x in (cause, sign, link) if x is not None]
        names = "Cause, sign and link" if link is not None else "Cause and sign"
        first = max(getattr(x, "from_day", 0) for x in those)
        last = min((day for x in those if (day := getattr(x, "to_day", None)) is not None), default=None)
        if not frozenset.intersection(*(self._styles(getattr(x, "rinds", ())) for x in those)):
            yield path, f"{names} share no rind: {NEVER}"
        elif last is not None and last < first:
            yield path, f"{names} share no day: {NEVER}"

    def _holds_with(self, cause: str, when: str) -> bool:
        """Whether a circumstance can hold on any rind that a cause can be on."""
        known, circumstance = self.catalog.causes.get(cause), self.catalog.circumstances.get(when)
        if known is None or circumstance is None or not can_be(self.catalog, circumstance.when):
            return True  # what can never hold is said where it is written
        return self._on(known, circumstance.when)

    def _on(self, cause: Cause, condition: Condition) -> bool:
        places = (Condition(rind=cause.rinds),) if cause.rinds else ()
        return can_be(self.catalog, Condition(all=(condition, *places)))

    @cached_property
    def _read(self) -> frozenset[tuple[str, str]]:
        """Every sign and circumstance that anything looks at."""
        c = self.catalog
        found = {("sign", s) for row in c.normal.values() for s in row.signs}
        conditions: list[Condition | None] = [s.when for s in c.signs.values()]
        conditions += [x.when for x in c.circumstances.values()]
        conditions += [q.ask_if for q in c.questions.values()] + [r.only_if for r in c.normal.values()]
        for cause in c.causes.values():
            found |= {("sign", x.sign) for x in cause.signs} | {("circumstance", x.when) for x in cause.likelier}
            found |= {(("sign", x.sign) if x.sign else ("circumstance", x.when)) for x in cause.against}
            conditions += [x for s in (*cause.today, *cause.next_make) for x in (s.only_if, s.unless)]
        for leaf in (leaf for condition in conditions if condition is not None for leaf in leaves(condition)):
            found |= {("sign", leaf.sign), ("circumstance", leaf.holds)}
        return frozenset(found)

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
        rule = entry.rule
        lacks = [f"it must {what} (examples, {part})" for part, what in EXAMPLES if not getattr(rule.examples, part)]
        if lacks:
            yield ("examples",), f"An example is missing: answers where {', and answers where '.join(lacks)}."
        for n, cause in enumerate(rule.cause):
            now = self.catalog.causes[cause.id]
            if not now.today:
                yield ("cause", n), f'"{cause.id}" does not say what to do today.'
            for style in sorted(self._styles(cause.rinds)):
                total = self._rates.get(style, 0.0)
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

    @cached_property
    def _rates(self) -> dict[str, float]:
        """Faults per cheese, all causes together, by style."""
        sums: dict[str, float] = {}
        for cause in self.catalog.causes.values():
            for style in self._styles(cause.rinds):
                sums[style] = sums.get(style, 0.0) + self.catalog.value("base_rate", cause.base_rate)
        return sums


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
