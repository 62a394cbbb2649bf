"""Hatchings: of strokes whose gaps are all too narrow every other one is left out."""

from __future__ import annotations

from math import cos, pi, sin

from numpy import arange
from shapely import LineString, Point, box, union_all

from artwork.repair.edits import edited, hatchings
from artwork.repair.state import Art, State, looked_at
from tests.artwork.drawn import cut
from tests.repairing.pieces import outline_of


def state_of(shape) -> State:
    placed = cut(outline_of(shape))
    return looked_at(placed, Art.new(placed.placed().contours))


def wheel(spokes: int, radius: float):
    """Ring and spokes 1.9 wide, as lines must be."""
    rim = Point(0, 0).buffer(radius + 0.95, 32).difference(Point(0, 0).buffer(radius - 0.95, 32))
    turns = arange(spokes) * 2 * pi / spokes
    return union_all(
        [rim, *(LineString([(0, 0), (radius * cos(a), radius * sin(a))]).buffer(0.95) for a in turns)]
    )


def holes(state: State) -> int:
    return sum(each.area < 0 for each in state.art.contours)


def test_every_other_spoke_of_a_wheel_goes():
    state = state_of(wheel(12, 8.0))
    assert holes(state) == 12 and len(state.lands.lost) == 12
    found = hatchings(state)
    assert len(found) == 6 and {each.kind for each in found} == {"hatch-thinned"}
    after = looked_at(state.cut, state.art.remade(edited(state.art.contours, found)))
    assert holes(after) == 6
    sizes = [-each.area for each in after.art.contours if each.area < 0]
    assert max(sizes) < 1.2 * min(sizes)


def test_gaps_that_are_wide_enough_or_nearly_so_stay():
    assert not hatchings(state_of(wheel(12, 20.0)))
    panes = box(-8, -8, 8, 8).difference(
        union_all([box(x, y, x + 2.5, y + 2.5) for x in (-6, 2) for y in (-6, 2)])
    )
    state = state_of(panes)
    assert len(state.lands.lost) == 4 and not hatchings(state)


def test_few_small_islands_are_no_hatching():
    """Three counters: a letter has as many."""
    bars = box(0, 0, 5, 14).difference(union_all([box(2, y, 3, y + 2) for y in (2, 6, 10)]))
    state = state_of(bars)
    assert len(state.lands.lost) == 3 and not hatchings(state)
