"""Hatchings thinned out: strokes between gaps that are all too narrow are left out, every other one of them."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.repair.demands import Side, feet_of
from artwork.repair.net import Ints
from artwork.repair.state import State
from artwork.shapes import filled

FEWEST = 4
"""So many islands in one part that are too small make a hatching: spokes, a lattice, the teeth of a comb."""


WIDEST, LEAST_LONG = 1.5, 0.4
"""A stroke of a hatching is narrower than this times what a line needs, and longer than this share of the shorter gap
beside it: what lies between an eye and a mouth is none."""
NARROW = 0.75
"""Islands that are at least this share as wide as they must be are opened instead."""


def walls_between(state: State) -> list[BaseGeometry]:
    """Strokes to leave out: each lies between two islands that are too small, and become one.

    Every island is in one pair at most, and as many of them as can be are: of a wheel every other spoke goes.
    """
    walls = _walls(state)
    crowded = _crowded(state, walls)
    pairs = _paired({pair for pair in walls if crowded.issuperset(pair)})
    return [between_feet(state, state.lines, walls[pair]) for pair in pairs]


def _walls(state: State) -> dict[tuple[int, int], Ints]:
    """The stretches of lines that have one foot on each of two islands of one part, by the two islands."""
    anatomy, side = state.anatomy, state.lines
    land = anatomy.ring_land[anatomy.ring[side.feet]]
    within = (anatomy.land_owner[land] >= 0).all(axis=1)
    between = np.flatnonzero(within & (land[:, 0] != land[:, 1]))
    found: dict[tuple[int, int], list[int]] = defaultdict(list)
    for stretch in between.tolist():
        one, other = sorted(land[stretch].tolist())
        found[one, other].append(stretch)
    walls = {pair: np.array(members, np.int64) for pair, members in found.items()}
    return {pair: members for pair, members in walls.items() if _is_stroke(state, pair, members)}


def _is_stroke(state: State, pair: tuple[int, int], members: Ints) -> bool:
    """Whether what lies between two islands is a stroke of a hatching: no wider than a line, and as long as they."""
    strip, scale = state.lines.strip, state.scene.scale
    wide = 2 * scale * float(np.median(strip.clearance[members]))
    long = scale * float(strip.lengths[members].sum())
    beside = scale * float(state.anatomy.land_span[list(pair)].min())
    return wide < WIDEST * float(strip.required[members].max()) and long > LEAST_LONG * beside


def _crowded(state: State, walls: dict[tuple[int, int], Ints]) -> set[int]:
    """Islands that will be narrow once the strokes around them are as wide as they must be, where a part has many."""
    lines, lands, scale = state.lines, state.lands, state.scene.scale
    lack: dict[int, list[float]] = defaultdict(list)
    for pair, members in walls.items():
        wide = 2 * scale * float(np.median(lines.strip.clearance[members]))
        for island in pair:
            lack[island].append(max(float(lines.strip.required[members].max()) - wide, 0.0))
    islands = np.array(sorted(lack), np.int64)
    taken = np.array([np.mean(lack[island]) for island in islands.tolist()])
    width = 2 * scale * lands.axis.peak[islands] - taken
    narrow = width < NARROW * lands.needs[islands]
    part = state.anatomy.land_owner[islands]
    parts, count = np.unique(part[narrow], return_counts=True)
    hatched = np.isin(part, parts[count >= FEWEST])
    return set(islands[hatched & (width < lands.needs[islands])].tolist())


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
