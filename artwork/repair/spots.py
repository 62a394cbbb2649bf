"""What is at a place that somebody points at: the stroke and the gap there, how wide they are and must be."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.axis import study
from artwork.curves import Contour, Floats
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.repair.demands import Side, feet_of, land_side, line_side
from artwork.repair.net import Ints
from artwork.repair.tracing_back import traced_back
from artwork.repair.values import ChangeKind
from artwork.scene import Scene
from artwork.shapes import filled, united

REACH = 4.0
"""What is farther off than this, mm, is not meant."""
ALIKE = (0.55, 1.8)
"""A stroke goes on along its axis while its width stays within these shares of that at the place."""


NARROW = 6.0
"""Wood wider than this, mm, is ground, no gap."""
MOST_OF_ALL = 0.5
"""A part that has more than this share of what is carved is the drawing, not a part of it."""


@dataclass(frozen=True, eq=False)
class Spot:
    """A stroke or a gap near a place.

    Attributes:
        width, needed: mm; how wide it is at its narrowest place nearby, and must be there.
        x, y: the place on its middle line, slat mm.
        members: its stretches of the axis, from junction to junction.
        region: number of the part, or of the piece of wood, that it belongs to.
    """

    width: float
    needed: float
    x: float
    y: float
    members: Ints
    region: int

    @property
    def short(self) -> float:
        """What it lacks, mm; 0 where it is wide enough."""
        return max(self.needed - self.width, 0.0)


@dataclass(frozen=True, eq=False)
class Sight:
    """A drawing in mm of the slat, studied.

    Attributes:
        cut: its outline is in slat mm, its placement changes nothing.
        scene, lines, lands: of it.
    """

    cut: Cut
    scene: Scene
    lines: Side
    lands: Side

    @classmethod
    def of(cls, cut: Cut) -> Sight:
        """A cut in any units."""
        return cls._of(cut, cut.placed())

    def with_contours(self, contours: Sequence[Contour]) -> Sight:
        """The same with other contours, in slat mm."""
        return self._of(self.cut, replace(self.cut.outline, contours=tuple(contours)))

    @classmethod
    def _of(cls, cut: Cut, outline: Outline) -> Sight:
        left, low, right, high = outline.bounds
        there = replace(cut, outline=outline, placement=Placement((left + right) / 2, (low + high) / 2, 1.0))
        anatomy = traced_back(study(outline), outline.contours)
        scene = Scene(there, anatomy)
        return cls(there, scene, line_side(scene), land_side(scene))

    def stroke_at(self, x: float, y: float) -> Spot | None:
        """The carved line nearest to a place; ``None`` where none is near."""
        return self._spot(self.lines, x, y)

    def gap_at(self, x: float, y: float) -> Spot | None:
        """The wood between grooves nearest to a place; ``None`` where none is near."""
        return self._spot(self.lands, x, y)

    def to_fill(self, x: float, y: float) -> tuple[ChangeKind, BaseGeometry] | None:
        """What carving the wood at a place as well would take: an island of it, or a gap between two strokes."""
        island = self._island_at(x, y)
        if island is not None and 2 * float(self.scene.anatomy.lands.peak[island]) < NARROW:
            return "counter-filled", self.scene.lands(np.array([island]))
        gap = self.gap_at(x, y)
        return None if gap is None else ("gap-filled", self.strip(self.lands, gap.members))

    def to_leave_out(self, x: float, y: float) -> tuple[ChangeKind, BaseGeometry] | None:
        """What not carving at a place would leave out: a part of the drawing, or a stroke of its largest part."""
        part = self._part_at(x, y)
        if part is None:
            return None
        shape = self.scene.pieces(np.array([part]))
        if shape.area <= MOST_OF_ALL * self.scene.art.area:
            return "left-out", shape
        stroke = self.stroke_at(x, y)
        return None if stroke is None else ("stroke-cut", self.strip(self.lines, stroke.members))

    def _part_at(self, x: float, y: float) -> int | None:
        """Number of the carved part nearest to a place; ``None`` where none is near."""
        return _nearest([self.scene.pieces(np.array([k])) for k in range(len(self.lines.needs))], x, y)

    def _island_at(self, x: float, y: float) -> int | None:
        """Number of the piece of wood that grooves surround at a place; ``None`` for the wood around everything."""
        numbers = [k for k in range(len(self.lands.needs)) if k != self.scene.anatomy.outer_land]
        found = _nearest([self.scene.lands(np.array([k])) for k in numbers], x, y)
        return None if found is None else numbers[found]

    def strip(self, side: Side, members: Ints) -> BaseGeometry:
        """The region between the feet of stretches of an axis."""
        a, b = (
            feet_of(self.scene.anatomy, side.strip.places[members, end], side.feet[members]) for end in (0, 1)
        )
        quads: Floats = np.stack([a[:, 0], b[:, 0], b[:, 1], a[:, 1]], axis=1)
        return united([quad.convex_hull for quad in filled(quads)])

    def _spot(self, side: Side, x: float, y: float) -> Spot | None:
        strip = side.strip
        if not len(strip.region):
            return None
        a, way = strip.places[:, 0], strip.places[:, 1] - strip.places[:, 0]
        here = np.array([x, y])
        share = ((here - a) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-18)
        share = np.clip(share, 0.0, 1.0)
        nearest = a + share[:, None] * way
        off = np.hypot(*(nearest - here).T) - strip.least
        if side is self.lands:
            off = np.where(2 * strip.least < NARROW, off, np.inf)
        at = int(off.argmin())
        if off[at] > REACH:
            return None
        members = _stretch(side, at)
        worst = int(members[(strip.least[members] * 2 - strip.required[members]).argmin()])
        width = 2 * (float(strip.least[worst]) - self.scene.slack)
        place = nearest[at]
        needed = float(strip.required[worst])
        return Spot(width, needed, float(place[0]), float(place[1]), members, int(strip.region[at]))


def _stretch(side: Side, at: int) -> Ints:
    """Stretches that hang together with one, up to junctions and to where the width is quite another."""
    strip = side.strip
    mean = strip.clearance.mean(axis=1)
    like = (mean >= ALIKE[0] * mean[at]) & (mean <= ALIKE[1] * mean[at])
    of_vertex: dict[int, list[int]] = {}
    for number, ends in enumerate(strip.ends.tolist()):
        for vertex in ends:
            of_vertex.setdefault(vertex, []).append(number)
    found, waiting = {at}, deque([at])
    while waiting:
        for vertex in strip.ends[waiting.popleft()].tolist():
            beside = of_vertex[vertex]
            if len(beside) != 2:
                continue
            for number in beside:
                if number not in found and like[number]:
                    found.add(number)
                    waiting.append(number)
    return np.array(sorted(found), np.int64)


def _nearest(shapes: list[shapely.MultiPolygon], x: float, y: float) -> int | None:
    """Number of the shape at a place, or of the nearest one within reach."""
    if not shapes:
        return None
    far = shapely.distance(np.array(shapes, dtype=object), shapely.Point(x, y))
    best = int(far.argmin())
    return best if far[best] <= REACH else None
