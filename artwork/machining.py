"""How long the machine runs: an estimate, with everything it assumes.

The program is taken to follow the axis in trails that never come back on themselves: as few as the axis
allows, which is half the number of its ends and odd junctions (Euler). Between trails the bit is lifted.
Every move starts and stops with the machine's acceleration: ``d / v + v / a``, or ``2·√(d / a)`` where the
speed is not reached (the trapezoid profile).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely import MultiPolygon

from artwork import tooling
from artwork.axis.anatomy import Axis
from artwork.curves import Floats
from artwork.floors import Clearing, clearing
from artwork.scene import Scene
from artwork.workpiece import Allowances

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

HOP = 0.5
"""Way from one trail to the next, in roots of the area that each has; scattered places would have 0.7 to 0.9, but
many trails end where another begins (common practice, no source)."""
MORE_TRAILS = 13 / 12
"""A program that goes straight on where lines meet leaves some rounds over: so many trails as there must be at least
(seen on the arts of the bench; common practice, no source)."""
FLAT_CORNER = np.sin(np.radians(75.0))
"""Slope of the clearance along a branch into a corner of 150°: flatter ones are joints of chords, no corners."""
CORNER_SPEED = 0.2
"""Share of the feed that is kept where a trail turns from a corner into a line."""
DEVIATION = 0.02
"""A machine goes through a corner this far off it, mm, rather than stop (common practice of motion planners)."""
DOT = 0.1
"""Branches shorter than this, mm, are no trails of their own."""
SHALLOW = 1e-6
"""Depths that differ by less, mm, are the same."""


@dataclass(frozen=True)
class Carving:
    """An estimate.

    Attributes:
        minutes: of machine time.
        path_length: along axis, corners and floors, once, mm.
        assumptions: sentences.
    """

    minutes: float
    path_length: float
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class _Pace:
    """Speeds, mm and seconds."""

    feed: float
    plunge: float
    rapid: float
    acceleration: float
    lift: float

    @classmethod
    def of(cls, allowances: Allowances) -> _Pace:
        return cls(
            allowances.feed / 60,
            allowances.plunge / 60,
            allowances.rapid / 60,
            allowances.acceleration,
            allowances.lift,
        )

    def move(self, way: float, speed: float) -> float:
        """Seconds for a way from rest to rest."""
        if way >= speed**2 / self.acceleration:
            return way / speed + speed / self.acceleration
        return 2 * sqrt(max(way, 0.0) / self.acceleration)

    def between(self, hop: float, depth: float) -> float:
        """Seconds to lift the bit out, move on and come down to the same depth again."""
        return (
            self.move(self.lift + depth, self.rapid)
            + self.move(hop, self.rapid)
            + self.move(self.lift + depth, self.plunge)
        )

    @property
    def start_and_stop(self) -> float:
        """Seconds that a trail loses at its ends."""
        return self.feed / self.acceleration


def carving_time(scene: Scene, floor: MultiPolygon) -> Carving:
    """Time for one cut: along the axis and into corners, in passes of the shop's depth, and over floors.

    Args:
        scene: the cut.
        floor: where the bottom is flat.
    """
    allowances, pace = scene.cut.allowances, _Pace.of(scene.cut.allowances)
    branches = _Branches.of(scene)
    seconds = sum(_pass(scene, branches, pace, *layer) for layer in _layers(scene, branches))
    cleared = clearing(floor, scene.cut.bit, allowances)
    seconds += _floor(scene, cleared.rest, cleared.rest_step, pace)
    minutes = seconds / 60
    if not cleared.flat.is_empty:
        minutes += _floor(scene, cleared.flat, cleared.flat_step, pace) / 60 + allowances.tool_change
    floors = cleared.rest.area / cleared.rest_step
    if not cleared.flat.is_empty:
        floors += cleared.flat.area / cleared.flat_step
    return Carving(
        minutes * allowances.time_scale,
        float(branches.length.sum()) + floors,
        _assumptions(scene, cleared),
    )


@dataclass(frozen=True, eq=False)
class _Branches:
    """All that a program follows: stretches of the axis, then branches into corners; mm.

    Attributes:
        length: shape (n,).
        depth: shape (n, 2), at both ends.
        speed: shape (n,), mm per second, what the curve allows.
        links: shape (m, 2), the same as a graph: which vertices each joins.
        reached: shape (v,), depth at each vertex.
        piece: shape (v,), the piece of art each vertex is in; −1 where none is known.
        deepest: shape (pieces,), greatest depth of each piece of art.
    """

    length: Floats
    depth: Floats
    speed: Floats
    links: Ints
    reached: Floats
    piece: Ints
    deepest: Floats

    @classmethod
    def of(cls, scene: Scene) -> _Branches:
        axis = scene.anatomy.lines

        def reached(clearance: Floats) -> Floats:
            return np.minimum(tooling.groove_depth(2 * scene.scale * clearance, scene.cut.bit), scene.limit)

        depth = reached(np.concatenate([axis.clearance, axis.corner_clearance]))
        length = np.concatenate([axis.lengths, axis.corner_lengths]) * scene.scale
        speed = np.full(len(length), scene.cut.allowances.feed / 60)
        speed[: len(axis.ends)] = _curve_speed(axis, scene.scale, scene.cut.allowances)
        links, piece = _graph(axis, DOT / scene.scale)
        return cls(length, depth, speed, links, reached(axis.climb.clearance), piece, reached(axis.peak))


def _graph(axis: Axis, dot: float) -> tuple[Ints, Ints]:
    """The axis with its branches into corners as links between vertices, and the piece of art of each vertex.

    Links shorter than ``dot``, outline units, that end blind or join two junctions are none: the bit goes
    down once where many branches meet.
    """
    climb = axis.climb
    piece = np.full(len(climb.up), -1)
    piece[axis.ends.ravel()] = np.repeat(axis.region, 2)
    corner = np.flatnonzero(climb.leaves & (climb.up >= 0))
    rise = climb.clearance[climb.up[corner]] - climb.clearance[corner]
    corner = corner[rise < FLAT_CORNER * np.maximum(climb.length[corner], 1e-12)]
    ways = np.stack([corner, climb.up[corner]], axis=1)
    found, lengths = [axis.ends], [axis.lengths]
    while len(ways):  # outwards from the axis: the other side's corners are never reached
        near = (piece[ways] >= 0).any(axis=1)
        if not near.any():
            break
        found.append(ways[near])
        lengths.append(climb.length[ways[near, 0]])
        piece[ways[near]] = piece[ways[near]].max(axis=1)[:, None]
        ways = ways[~near]
    links = np.concatenate(found)
    kept, lengths_kept = _without_blind(links, np.concatenate(lengths), dot, len(piece))
    return _without_dots(kept, lengths_kept < dot, len(piece)), piece


def _without_blind(links: Ints, lengths: Floats, dot: float, vertices: int) -> tuple[Ints, Floats]:
    """Links less the first ``dot`` of every blind way: at a round end many short ones lead nowhere."""
    gone = np.zeros(vertices)  # length that is left out already, by where it began
    while True:
        degree = np.bincount(links.ravel(), minlength=vertices)[links]
        before = np.where(degree == 1, gone[links], 0.0).max(axis=1, initial=0.0)
        blind = (degree == 1).any(axis=1) & (before + lengths < dot)
        if not blind.any():
            return links, lengths
        way = before + lengths
        for side in (0, 1):
            np.maximum.at(gone, links[blind, side], way[blind])
        links, lengths = links[~blind], lengths[~blind]


def _without_dots(links: Ints, short: Bools, vertices: int) -> Ints:
    """Links less short ones between two junctions, which become one."""
    degree = np.bincount(links.ravel(), minlength=vertices)[links]
    joined = short & (degree >= 3).all(axis=1)
    tied = coo_array((np.ones(int(joined.sum())), tuple(links[joined].T)), shape=(vertices, vertices))
    label = connected_components(tied, directed=False)[1]
    first = np.zeros(int(label.max(initial=-1)) + 1, np.int64)
    first[label[::-1]] = np.arange(vertices)[::-1]
    return np.asarray(first[label[links[~joined]]])


def _curve_speed(axis: Axis, scale: float, allowances: Allowances) -> Floats:
    """What a curve allows, from the turn between stretches that follow each other.

    ``√(a·R)``, or where the stretches are so short that their corner may be cut by :data:`DEVIATION`, what that
    allows: ``√(a·δ·s / (1 − s))``, s = cos(half the turn).
    """
    feed = allowances.feed / 60
    speed = np.full(len(axis.ends), feed)
    vertex, heading = axis.ends.ravel(), axis.headings.ravel()
    stretch = np.repeat(np.arange(len(axis.ends)), 2)
    order = np.argsort(vertex, kind="stable")
    first = np.flatnonzero(np.append(True, np.diff(vertex[order]) > 0))
    pairs = first[np.diff(np.append(first, len(order))) == 2]
    one, other = order[pairs], order[pairs + 1]
    turn = np.abs((heading[one] - heading[other] + np.pi / 2) % np.pi - np.pi / 2)
    way = (axis.lengths[stretch[one]] + axis.lengths[stretch[other]]) / 2 * scale
    half = np.cos(turn / 2)
    radius = np.maximum(way / np.maximum(turn, 1e-9), DEVIATION * half / np.maximum(1 - half, 1e-12))
    allowed = np.sqrt(allowances.acceleration * radius)
    for side in (one, other):
        np.minimum.at(speed, stretch[side], np.maximum(allowed, CORNER_SPEED * feed))
    return speed


def _layers(scene: Scene, branches: _Branches) -> list[tuple[float, float]]:
    """Depths between which each pass works, mm; a light last pass goes along everything once more."""
    allowances = scene.cut.allowances
    deepest = float(branches.depth.max(initial=0.0))
    rough = deepest - allowances.last_pass
    count = max(ceil(rough / allowances.pass_depth - SHALLOW), 1)
    layers = [
        (number * allowances.pass_depth, (number + 1) * allowances.pass_depth) for number in range(count)
    ]
    if 0 < allowances.last_pass < deepest:
        layers.append((0.0, deepest))
    return layers


def _pass(scene: Scene, branches: _Branches, pace: _Pace, top: float, bottom: float) -> float:
    """Seconds of one pass along all that is deeper than ``top``, no deeper than ``bottom``."""
    low, high = branches.depth.min(axis=1), branches.depth.max(axis=1)
    active = (high > top + SHALLOW) if top > 0 else np.ones(len(high), bool)
    share = np.ones(len(high))
    crossing = active & (low < top)
    share[crossing] = (high[crossing] - top) / (high[crossing] - low[crossing])
    length = branches.length * share * active
    climb = (np.minimum(high, bottom) - np.minimum(np.maximum(low, top), bottom)) * active
    way = np.hypot(length, climb)
    up = way / branches.speed
    down = np.maximum(up, climb / pace.plunge)  # half of all branches are followed downwards
    trails = _Trails.of(branches, top, bottom)
    count = MORE_TRAILS * trails.count
    hop = HOP * sqrt(scene.hull.area / max(count, 1))
    turning = trails.corners * pace.start_and_stop * (1 - CORNER_SPEED) ** 2
    return (
        float((up + down).sum()) / 2
        + count * (pace.between(hop, trails.depth) + pace.start_and_stop)
        + turning
    )


@dataclass(frozen=True)
class _Trails:
    """How many trails a pass has, the mean depth at their ends, and how many corners they turn into."""

    count: int
    depth: float
    corners: int

    @classmethod
    def of(cls, branches: _Branches, top: float, bottom: float) -> _Trails:
        reached = branches.reached[branches.links]
        low, high = reached.min(axis=1), reached.max(axis=1)
        active = (high > top + SHALLOW) if top > 0 else np.ones(len(high), bool)
        loose = active & (low < top)  # it leaves the pass on its way, and ends there
        links = branches.links[active]
        inside = branches.reached[links] >= top
        degree = np.bincount(links[inside], minlength=len(branches.reached))
        odd = np.flatnonzero(degree % 2)
        pieces = (branches.deepest > top) | (top == 0)
        ends = np.concatenate([branches.piece[odd], branches.piece[branches.links[loose, 0]]])
        per_piece = np.bincount(ends, minlength=len(pieces)) / 2
        at_ends = np.concatenate([np.minimum(branches.reached[odd], bottom), np.full(int(loose.sum()), top)])
        alone = np.minimum(branches.deepest[pieces & (per_piece == 0)], bottom)
        depth = np.concatenate([at_ends, alone])
        return cls(
            int(np.ceil(np.maximum(per_piece, 1.0)[pieces]).sum()),
            float(depth.mean()) if len(depth) else bottom,
            int((loose | ((low <= SHALLOW) & (high > SHALLOW)))[active].sum()),
        )


def _floor(scene: Scene, floor: MultiPolygon, step: float, pace: _Pace) -> float:
    """Seconds to clear a floor in lines ``step`` apart, there and back, layer by layer.

    The mean chord of a region is ``π·A / P`` (Crofton), so it takes ``P / (π·step)`` lines.
    """
    if floor.is_empty:
        return 0.0
    layers = max(ceil(scene.limit / scene.cut.allowances.pass_depth - SHALLOW), 1)
    lines = floor.length / (pi * step)
    chord = floor.area / step / lines
    once = lines * (pace.move(chord, pace.feed) + pace.move(step, pace.feed))
    parts = len(floor.geoms)
    hop = HOP * sqrt(scene.hull.area / parts)
    return layers * (once + parts * pace.between(hop, scene.limit))


def _assumptions(scene: Scene, cleared: Clearing) -> tuple[str, ...]:
    allowances = scene.cut.allowances
    found = [
        f"Feed {allowances.feed:.0f} mm/min, less in curves and at the ends of every move: the machine "
        f"accelerates by {allowances.acceleration:.0f} mm/s²; downwards at most {allowances.plunge:.0f} mm/min; "
        f"{allowances.rapid:.0f} mm/min between cuts, {allowances.lift:g} mm above the face.",
        f"Passes of {allowances.pass_depth:.1f} mm, each over all places that are deeper; every branch once, "
        "the bit lifted where the line does not go on.",
        "Clamping and zeroing are not counted.",
    ]
    if allowances.last_pass > 0:
        found.append(f"A light last pass of {allowances.last_pass:.2f} mm along everything.")
    if not cleared.rest.is_empty:
        found.append(
            f"Flat bottoms cleared with the V-bit in lines {cleared.rest_step:.2f} mm apart, which leave ridges "
            f"{allowances.floor_ridge:.2f} mm high."
        )
    if not cleared.flat.is_empty:
        found.append(
            f"Flat bottoms cleared with a flat bit {allowances.flat_bit:.2f} mm across in lines "
            f"{cleared.flat_step:.2f} mm apart, what it cannot reach with the V-bit; the change of tools takes "
            f"{allowances.tool_change:g} min."
        )
    if allowances.time_scale != 1:
        found.append(f"Times {allowances.time_scale:.2f}, as the workshop has measured.")
    return tuple(found)
