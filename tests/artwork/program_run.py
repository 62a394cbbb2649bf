"""A program for a V-carving, and how long a machine with limited acceleration takes to run it, event by event.

Written apart from ``artwork.machining``: the moves are laid out one by one on the whole Voronoi graph of the art
(branches into corners too), looked ahead along each trail with the trapezoid profile, and added up. Where two
moves meet, the speed is what a deviation of ``DEVIATION`` from the corner allows: ``√(a·δ·s / (1 − s))``,
s = sin(half the angle between them); common practice of motion planners.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from dataclasses import dataclass
from math import ceil, hypot, radians, sin, sqrt

import numpy as np
import shapely
from shapely import LineString

from artwork import tooling
from artwork.axis.flattening import flattened
from artwork.axis.voronoi import voronoi
from artwork.cut import Cut
from artwork.floors import clearing
from artwork.workpiece import Allowances

DEVIATION = 0.02
JOINT = sin(radians(75.0))
DOT = 0.1


@dataclass
class Machine:
    """Speeds in mm and seconds, and the time that has passed."""

    feed: float
    plunge: float
    rapid: float
    acceleration: float
    lift: float
    seconds: float = 0.0

    @classmethod
    def of(cls, shop: Allowances) -> Machine:
        return cls(shop.feed / 60, shop.plunge / 60, shop.rapid / 60, shop.acceleration, shop.lift)

    def straight(self, way: float, speed: float) -> None:
        """From rest to rest."""
        self._along(way, speed, 0.0, 0.0)

    def run(self, points: list[tuple[float, float, float]]) -> None:
        """Along a chain of places in space without stopping: looked ahead, then driven."""
        at = np.array(points)
        ways = np.diff(at, axis=0)
        lengths = np.linalg.norm(ways, axis=1)
        keep = lengths > 1e-9
        ways, lengths = ways[keep], lengths[keep]
        if not len(ways):
            return
        heading = ways / lengths[:, None]
        limit = np.full(len(ways), self.feed)
        down = heading[:, 2] < 0
        limit[down] = np.minimum(self.feed, self.plunge / -heading[down, 2])
        joint = np.zeros(len(ways) + 1)
        for i in range(1, len(ways)):
            joint[i] = min(self._joint(heading[i - 1], heading[i]), limit[i - 1], limit[i])
        for i in range(len(ways) - 1, 0, -1):
            joint[i] = min(joint[i], sqrt(joint[i + 1] ** 2 + 2 * self.acceleration * lengths[i]))
        for i in range(len(ways)):
            joint[i + 1] = min(joint[i + 1], sqrt(joint[i] ** 2 + 2 * self.acceleration * lengths[i]))
            self._along(lengths[i], limit[i], joint[i], joint[i + 1])

    def _joint(self, before: np.ndarray, after: np.ndarray) -> float:
        s = sqrt(max((1 - float(-before @ after)) / 2, 0.0))
        return 1e9 if s > 1 - 1e-9 else sqrt(self.acceleration * DEVIATION * s / (1 - s))

    def _along(self, way: float, speed: float, first: float, last: float) -> None:
        if way <= 0:
            return
        a = self.acceleration
        peak = min(speed, sqrt((2 * a * way + first**2 + last**2) / 2))
        ramps = (2 * peak**2 - first**2 - last**2) / (2 * a)
        self.seconds += (2 * peak - first - last) / a + max(way - ramps, 0.0) / peak


def minutes(cut: Cut, floor: shapely.MultiPolygon) -> float:
    """Minutes for the whole program of a cut."""
    shop = cut.allowances
    machine = Machine.of(shop)
    graph = _Graph(cut)
    deepest = max(graph.depth.values(), default=0.0)
    layers = max(ceil((deepest - shop.last_pass) / shop.pass_depth - 1e-6), 1)
    bounds = [(n * shop.pass_depth, (n + 1) * shop.pass_depth) for n in range(layers)]
    if 0 < shop.last_pass < deepest:
        bounds.append((0.0, deepest))
    for top, bottom in bounds:
        _drive(machine, graph.trails(top, bottom), shop.lift)
    cleared = clearing(floor, cut.bit, shop)
    limit = tooling.depth_limit(cut.slat, cut.bit, shop)
    for part, step in ((cleared.rest, cleared.rest_step), (cleared.flat, cleared.flat_step)):
        if part.is_empty:
            continue
        for _ in range(max(ceil(limit / shop.pass_depth - 1e-6), 1)):
            _drive(machine, [line for piece in part.geoms for line in _raster(piece, step, limit)], shop.lift)
    change = 0.0 if cleared.flat.is_empty else shop.tool_change
    return machine.seconds / 60 + change


def _raster(piece: shapely.Polygon, step: float, depth: float) -> list[list[tuple[float, float, float]]]:
    """Lines across a floor, joined there and back where the next one lies beside."""
    left, low, right, high = piece.bounds
    chains: list[list[tuple[float, float, float]]] = []
    for y in np.arange(low + step / 2, high, step):
        found = shapely.get_parts(shapely.intersection(piece, LineString([(left - 1, y), (right + 1, y)])))
        for line in sorted((f for f in found if f.length > 0), key=lambda f: f.bounds[0]):
            a, b = ((float(x), float(y), -depth) for x in (line.bounds[0], line.bounds[2]))
            for chain in chains:
                ends = [(a, b), (b, a)]
                start, stop = min(ends, key=lambda e: hypot(e[0][0] - chain[-1][0], e[0][1] - chain[-1][1]))
                if abs(chain[-1][1] - y) < 1.5 * step and abs(start[0] - chain[-1][0]) < 4 * step:
                    chain += [start, stop]
                    break
            else:
                chains.append([a, b])
    return chains


def _drive(machine: Machine, trails: list[list[tuple[float, float, float]]], lift: float) -> None:
    """Trail after trail, always the nearest next: over, down, along, up."""
    here, left = np.zeros(2) + (trails[0][0][:2] if trails else 0.0), list(trails)
    while left:
        way, number, flip = min(
            (hypot(trail[end][0] - here[0], trail[end][1] - here[1]), index, end)
            for index, trail in enumerate(left)
            for end in (0, -1)
        )
        trail = left.pop(number)
        if flip:
            trail = trail[::-1]
        machine.straight(way, machine.rapid)
        machine.straight(lift - trail[0][2], machine.plunge)
        machine.run(trail)
        machine.straight(lift - trail[-1][2], machine.rapid)
        here = np.array(trail[-1][:2])


class _Graph:
    """The carved side's Voronoi graph on the slat: every branch the bit can follow."""

    def __init__(self, cut: Cut) -> None:
        boundary = flattened(cut.outline)
        diagram = voronoi(boundary)
        step = boundary.step * cut.placement.scale
        limit = tooling.depth_limit(cut.slat, cut.bit, cut.allowances)
        places = cut.placement.place(boundary.in_units(diagram.vertices), cut.centre)
        room = diagram.clearance * step
        depth = np.minimum(tooling.groove_depth(2 * room, cut.bit), limit)
        self.places, self.depth, self.edges = {}, {}, []
        for edge in np.flatnonzero(diagram.carved):
            a, b = int(diagram.start[edge]), int(diagram.end[edge])
            way = float(np.hypot(*(places[a] - places[b])))
            if way <= 1e-9 or abs(room[a] - room[b]) > JOINT * way:
                continue  # nothing, or from the joint of two chords of a curve
            self.edges.append((a, b))
            for vertex in (a, b):
                self.places[vertex] = (float(places[vertex][0]), float(places[vertex][1]))
                self.depth[vertex] = float(depth[vertex])

    def trails(self, top: float, bottom: float) -> list[list[tuple[float, float, float]]]:
        """Chains of places in space over all that is deeper than ``top``, each edge once."""
        beside: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for number, (a, b) in enumerate(self.edges):
            if max(self.depth[a], self.depth[b]) > top + 1e-6 or top == 0:
                beside[a].append((number, b))
                beside[b].append((number, a))
        used: set[int] = set()
        odd = [vertex for vertex, ways in beside.items() if len(ways) % 2]
        found = []
        for start in [*odd, *beside]:
            while any(number not in used for number, _ in beside[start]):
                chain = self._walk(start, beside, used)
                found += self._clipped(chain, top, bottom)
        return _without_dots(found)

    def _walk(self, start: int, beside: dict[int, list[tuple[int, int]]], used: set[int]) -> list[int]:
        """On along whatever turns least, until nothing is left."""
        chain = [start]
        while True:
            ways = [(number, to) for number, to in beside[chain[-1]] if number not in used]
            if not ways:
                return chain
            number, to = min(ways, key=lambda way: self._turn(chain, way[1]))
            used.add(number)
            chain.append(to)

    def _turn(self, chain: list[int], to: int) -> float:
        if len(chain) < 2:
            return 0.0
        (x0, y0), (x1, y1), (x2, y2) = (self.places[v] for v in (chain[-2], chain[-1], to))
        a, b = np.array([x1 - x0, y1 - y0]), np.array([x2 - x1, y2 - y1])
        return -float(a @ b / max(np.linalg.norm(a) * np.linalg.norm(b), 1e-12))

    def _clipped(self, chain: list[int], top: float, bottom: float) -> list[list[tuple[float, float, float]]]:
        """The parts of a chain below ``top``, cut no deeper than ``bottom``."""
        parts: list[list[tuple[float, float, float]]] = [[]]
        for a, b in itertools.pairwise(chain):
            (xa, ya), (xb, yb), da, db = self.places[a], self.places[b], self.depth[a], self.depth[b]
            if top > 0 and max(da, db) <= top:
                parts.append([])
                continue
            for share in _shares(da, db, top, bottom):
                depth = da + share * (db - da)
                if depth < top - 1e-9:
                    continue
                if not parts[-1] or share > 0 or da < top:
                    parts[-1].append((xa + share * (xb - xa), ya + share * (yb - ya), -min(depth, bottom)))
            if db < top:
                parts.append([])
        return [part for part in parts if len(part) > 1]


def _without_dots(trails: list[list[tuple[float, float, float]]]) -> list[list[tuple[float, float, float]]]:
    """Less trails of no length: where many edges meet in one spot, the bit goes down there once."""
    long = [trail for trail in trails if LineString([place[:2] for place in trail]).length >= DOT]
    driven = shapely.MultiLineString([[place[:2] for place in trail] for trail in long])
    for trail in trails:
        spot = shapely.Point(trail[0][:2])
        if LineString([place[:2] for place in trail]).length < DOT and not shapely.dwithin(
            driven, spot, 2 * DOT
        ):
            long.append(trail)
            driven = shapely.union(driven, spot.buffer(DOT).boundary)
    return long


def _shares(da: float, db: float, top: float, bottom: float) -> list[float]:
    """Ends of an edge and where it crosses the pass's depths."""
    crossings = [(level - da) / (db - da) for level in (top, bottom) if (da - level) * (db - level) < 0]
    return [0.0, *sorted(crossings), 1.0]
