"""What goes round in a circle, held against following every way there is."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rindwright.engine.rings import deep, each_ring, rings, way_round

GRAPHS = st.dictionaries(st.integers(0, 6), st.sets(st.integers(0, 7), max_size=3), max_size=7)


def _ways_round(graph: dict[int, set[int]], key: int) -> list[list[int]]:
    """Every way from a key back to itself that meets nothing twice."""
    found, waiting = [], [[key]]
    while waiting:
        way = waiting.pop()
        for there in graph.get(way[-1], ()):
            if there == key:
                found.append(way)
            elif there not in way:
                waiting.append([*way, there])
    return found


@given(GRAPHS)
def test_the_way_round_is_a_shortest_one(graph: dict[int, set[int]]) -> None:
    for key in graph:
        every = _ways_round(graph, key)
        way = way_round(graph, key)
        assert bool(way) is bool(every)
        if every:
            assert way in every
            assert len(way) == min(map(len, every))
            assert key in rings(graph)


@given(GRAPHS)
def test_each_ring_is_told_once_and_none_of_its_members_is_left_out(graph: dict[int, set[int]]) -> None:
    found = each_ring(graph)
    assert {key for ring in found for key in ring} == {key for key in graph if _ways_round(graph, key)}
    assert len({tuple(ring) for ring in found}) == len(found)
    assert all(ring[0] == min(ring) and ring in _ways_round(graph, ring[0]) for ring in found)


def test_a_ring_within_a_ring_is_told_too() -> None:
    assert each_ring({"a": {"b"}, "b": {"a", "b"}, "c": {"a"}}) == [["a", "b"], ["b"]]


def test_between_two_circles_there_is_no_way_round() -> None:
    graph = {"a": {"a", "b"}, "b": {"c"}, "c": {"c"}}
    assert rings(graph) == {"a", "b", "c"}
    assert way_round(graph, "b") == []
    assert each_ring(graph) == [["a"], ["c"]]


def test_a_row_of_thousands_exhausts_nothing() -> None:
    row = {n: {n + 1} for n in range(20_000)}
    assert rings(row) == set()
    assert len(deep(row, 19_990)) == 10
    row[19_999] = {0}
    assert len(way_round(row, 0)) == 20_000
