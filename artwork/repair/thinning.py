"""Hatchings thinned out: strokes between gaps that are all too narrow are left out, every other one of them."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.repair.demands import Side, feet_of
from artwork.repair.flow import State
from artwork.repair.net import Ints
from artwork.shapes import filled

FEWEST = 4
"""So many islands in one part that are too small make a hatching: spokes, a lattice, the teeth of a comb."""


def walls_between(state: State) -> list[tuple[BaseGeometry, tuple[int, int]]]:
    """Strokes to leave out, and the two islands that each lies between: both are too small, and become one.

    Every island is in one pair at most, and as many of them as can be are: of a wheel every other spoke goes.
    """
    walls = _walls(state, _of_hatchings(state))
    return [(between_feet(state, state.lines, walls[pair]), pair) for pair in _paired(set(walls))]


def _of_hatchings(state: State) -> set[int]:
    """Islands that are lost, of parts that have many such."""
    owner, lost = state.anatomy.land_owner, state.lands.lost
    inside = lost[owner[lost] >= 0]
    parts, count = np.unique(owner[inside], return_counts=True)
    return set(inside[np.isin(owner[inside], parts[count >= FEWEST])].tolist())


def _walls(state: State, islands: set[int]) -> dict[tuple[int, int], Ints]:
    """The stretches of lines that have one foot on each of two islands, by the two islands."""
    if not islands:
        return {}
    anatomy, side = state.anatomy, state.lines
    land = anatomy.ring_land[anatomy.ring[side.feet]]
    between = np.flatnonzero(np.isin(land, list(islands)).all(axis=1) & (land[:, 0] != land[:, 1]))
    found: dict[tuple[int, int], list[int]] = defaultdict(list)
    for stretch in between.tolist():
        one, other = sorted(land[stretch].tolist())
        found[one, other].append(stretch)
    return {pair: np.array(members, np.int64) for pair, members in found.items()}


def _paired(pairs: set[tuple[int, int]]) -> list[tuple[int, int]]:
    """Pairs that share no island, as many as can be found by serving first who has the fewest neighbours."""
    chosen = []
    while pairs:
        beside: dict[int, set[int]] = defaultdict(set)
        for one, other in pairs:
            beside[one].add(other)
            beside[other].add(one)
        first = min(beside, key=lambda island: (len(beside[island]), island))
        second = min(beside[first], key=lambda island: (len(beside[island]), island))
        chosen.append((min(first, second), max(first, second)))
        pairs = {pair for pair in pairs if not {first, second} & set(pair)}
    return chosen


def between_feet(state: State, side: Side, members: Ints) -> BaseGeometry:
    """The region between the feet of some stretches of a side."""
    a, b = (feet_of(state.anatomy, side.strip.places[members, end], side.feet[members]) for end in (0, 1))
    quads: Floats = np.stack([a[:, 0], b[:, 0], b[:, 1], a[:, 1]], axis=1)
    return shapely.union_all([quad.convex_hull for quad in filled(quads)])
