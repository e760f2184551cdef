"""What is settled about an elimination before any number is seen: variables, where they meet, how they go.

Variables are binary: the nodes, then one for each positive sign, then an auxiliary for each node with several parents.
They meet two by two: over a *link*, a table of ones but for its number where both are on, or over a *block* of four
numbers.

A call into numpy costs more than the few products it does here, so what can go in one call does. Variables that hang
on a single other are summed out in closed form, wave by wave. The rest goes one by one, in tables; a node stays in the
table that it would send to while that is small.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.intp]
Index = tuple[int | slice, ...]
Shape = tuple[int, ...]

KEPT_AS_ONE = 6
"""Variables a table may have before a node gets a table of its own, and ..."""
ROOMY = 1 << 13
"""... numbers it may hold, all lanes together. Both measured, from one lane to thousands."""
_ANY = slice(None)


@dataclass(frozen=True, slots=True)
class Wave:
    """Variables that each hang on one other, summed out at once."""

    going: Places
    onto: Places
    linked: tuple[Places, Places]
    """Which of them hang by a link, and by which."""
    joined: tuple[Places, Places]
    """Which of them hang by a block, and by which; turned-round blocks are counted on after the others."""


@dataclass(slots=True)
class Table:
    """One table: the variables that go in it, then those it shares with the table it sends to."""

    scope: list[int]
    """In elimination order."""
    going: int
    """How many variables of the scope are summed out here."""
    above: int
    """Number of the table it sends to; -1 for none."""
    told: list[bool] = field(default_factory=list)
    """Of each variable that goes, whether its chance of being on is wanted."""
    spread: Shape = ()
    """Its message's shape there."""
    gone: Shape = ()
    """Axes there that are summed out of what comes back."""
    beneath: list[int] = field(default_factory=list)
    """Numbers of the tables that send to it."""
    links: list[tuple[Index, int]] = field(default_factory=list)
    """Where both ends are on, and which link it is."""
    blocks: list[tuple[Shape, int]] = field(default_factory=list)
    """The shape to spread a block by, and which it is; turned-round blocks are counted on after the others."""


class Structure:
    """The plan for one network: ``pairs`` of node and positive sign, ``feeds`` of parent and child.

    Strengths are numbered pairs first, then feeds. A node with one parent meets it directly, one with several has an
    auxiliary that meets each of them.
    """

    def __init__(self, nodes: int, signs: int, pairs: Sequence[tuple[int, int]], feeds: Sequence[tuple[int, int]]):
        self.nodes = nodes
        self.signs = signs
        self.links = [(node, nodes + sign, k) for k, (node, sign) in enumerate(pairs)]
        """(node, other variable, number of its strength)."""
        parents: dict[int, list[tuple[int, int]]] = {}
        for k, (parent, child) in enumerate(feeds, len(pairs)):
            parents.setdefault(child, []).append((parent, k))
        self.several: list[int] = sorted(child for child, those in parents.items() if len(those) > 1)
        """Nodes with several parents."""
        self.fed = [(child, *those[0]) for child, those in sorted(parents.items()) if len(those) == 1]
        """(node, its only parent, number of the strength)."""
        self.blocks = [(node, nodes + signs + k) for k, node in enumerate(self.several)]
        for node, auxiliary in self.blocks:
            self.links.extend((parent, auxiliary, k) for parent, k in parents[node])
        self.blocks.extend((child, parent) for child, parent, _ in self.fed)
        self.variables = nodes + signs + len(self.several)

        near: list[set[int]] = [set() for _ in range(self.variables)]
        for a, b, *_ in (*self.links, *self.blocks):
            near[a].add(b)
            near[b].add(a)
        self.waves = self._waves(near)
        self.loose = [v for v in range(self.variables) if not near[v] and v not in self._onto]
        """Variables that nothing is joined to, or nothing that has not gone before."""
        self.order, width = order(near, [v for v in range(self.variables) if near[v]])
        """All other variables, in the order they go."""
        self.width = max(width, 2 if self.waves else 1)
        """Variables in the largest table."""
        self._near = near
        self.tables: list[Table] = []
        """Each after the one it sends to."""
        self.homes: list[int] = []
        """Numbers of the tables in which the variables go, in the order they go."""

    def _waves(self, near: list[set[int]]) -> list[Wave]:
        """Take away whatever hangs on one other variable, until nothing does.

        Not a node from its own auxiliary: it may send nought there, and how likely it is could not be told afterwards.
        """
        auxiliary = dict(self.blocks[: len(self.several)])

        def hangs(v: int) -> bool:
            return len(near[v]) == 1 and auxiliary.get(v) not in near[v]

        self._onto: dict[int, int] = {}
        waves: list[list[int]] = []
        hanging = [v for v in range(self.variables) if hangs(v)]
        while hanging:
            going = []
            for v in hanging:
                if near[v]:  # else it carries the one that it hung on
                    onto = self._onto[v] = near[v].pop()
                    near[onto].remove(v)
                    going.append(v)
            waves.append(going)
            hanging = sorted({self._onto[v] for v in going if hangs(self._onto[v])})
        at = {v: (number, row) for number, going in enumerate(waves) for row, v in enumerate(going)}
        linked: list[list[tuple[int, int]]] = [[] for _ in waves]
        joined: list[list[tuple[int, int]]] = [[] for _ in waves]
        for a, b, k in self.links:
            v = a if self._onto.get(a) == b else b if self._onto.get(b) == a else -1
            if v >= 0:
                linked[at[v][0]].append((at[v][1], k))
        for k, (a, b) in enumerate(self.blocks):
            if self._onto.get(a) == b:
                joined[at[a][0]].append((at[a][1], k))
            elif self._onto.get(b) == a:
                joined[at[b][0]].append((at[b][1], k + len(self.blocks)))
        return [
            Wave(_places(going), _places([self._onto[v] for v in going]), _two(linked[k]), _two(joined[k]))
            for k, going in enumerate(waves)
        ]

    def lay_out(self, lanes: int) -> None:
        """Settle the tables, for runs of some lanes.

        A variable goes in the table that it sends to when a table of its own would be no smaller; and a node as long
        as that table stays roomy. An auxiliary's signed numbers are better summed out alone: rounding costs least then.
        """
        place = {v: k for k, v in enumerate(self.order)}
        room = min(KEPT_AS_ONE, max(ROOMY // lanes, 1).bit_length() - 1)
        home: dict[int, int] = {}
        self.tables = []
        for v in reversed(self.order):
            around = sorted(self._near[v], key=place.__getitem__)
            above = home[around[0]] if around else -1
            most = max(room, len(around) + 1) if v < self.nodes else len(around) + 1
            if around and len(self.tables[above].scope) < most:
                home[v] = above
                self.tables[above].scope.insert(0, v)
                self.tables[above].going += 1
            else:
                home[v] = len(self.tables)
                self.tables.append(Table([v, *around], 1, above))
        self.homes = [home[v] for v in self.order]
        carrying = set(self._onto.values())
        for k, table in enumerate(self.tables):
            table.told = [v < self.nodes or v in carrying for v in table.scope[: table.going]]
            if table.above >= 0:
                over = self.tables[table.above]
                shared = set(table.scope[table.going :])
                table.spread = tuple([2 if u in shared else 1 for u in over.scope])
                table.gone = tuple([axis for axis, u in enumerate(over.scope) if u not in shared])
                over.beneath.append(k)
        for a, b, k in self.links:
            if a in place and b in place:
                table = self.tables[home[a if place[a] < place[b] else b]]
                table.links.append((tuple([1 if u in (a, b) else _ANY for u in table.scope]), k))
        for k, (a, b) in enumerate(self.blocks):
            if a in place and b in place:
                turned = place[b] < place[a]
                table = self.tables[home[b if turned else a]]
                shape = tuple([2 if u in (a, b) else 1 for u in table.scope])
                table.blocks.append((shape, k + len(self.blocks) if turned else k))


def order(near: list[set[int]], left: Iterable[int]) -> tuple[list[int], int]:
    """Smallest neighbourhood first; near ties go to the fewest new edges, then to the lower number.

    ``near`` holds the neighbours of each variable; it is left with those that each had when it went. Returned are the
    order and the most variables in one table.
    """
    degree = {v: len(near[v]) for v in left}
    fills: dict[int, int] = {}  # edges that a variable would add, for as long as nothing changes around it
    found: list[int] = []
    width = 0
    while degree:
        smallest = min(degree.values())
        most = smallest + (1 if smallest > 2 else 0)
        best = fewest = -1
        for v, size in degree.items():  # from the lowest number up
            if size <= most:
                fill = fills.get(v, -1)
                if fill < 0:
                    fill = fills[v] = _fill(near, v)
                if best < 0 or fill < fewest:
                    best, fewest = v, fill
                if not fill:
                    break
        around = near[best]
        del degree[best]
        touched = set(around)
        for u in around:
            near[u] |= around
            near[u] -= {u, best}
            degree[u] = len(near[u])
            touched |= near[u]
        for u in touched:
            fills.pop(u, None)
        width = max(width, len(around) + 1)
        found.append(best)
    return found, width


def _fill(near: Sequence[set[int]], v: int) -> int:
    around = near[v]
    if len(around) == 2:  # the most frequent case, told at a glance
        a, b = around
        return 0 if b in near[a] else 1
    return (sum([len(around - near[u]) for u in around]) - len(around)) // 2


def _places(numbers: Iterable[int]) -> Places:
    return np.array(list(numbers), dtype=np.intp)


def _two(rows: Sequence[tuple[int, int]]) -> tuple[Places, Places]:
    return _places(row for row, _ in rows), _places(k for _, k in rows)
