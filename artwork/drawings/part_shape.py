"""The shape of one part as it lies on its board: grain along y, its rectangle's lower left corner at the origin."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Point, Polygon, box
from shapely.ops import substring

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.bed import Bed
from artwork.drawings.scene import rings
from artwork.furniture import DrilledHole, upright
from artwork.workpiece import Slat

CHORD_TOLERANCE = 0.01
"""How far a polyline's straight pieces may lie off the true curve on a bed, mm; half as many points as in an
art's own drawing."""
LEAST_SEGMENT = 0.05
"""No straight piece of a bed drawing is shorter, mm: machines stutter over shorter ones."""
_ROUND = 0.02
"""A ring whose points lie this near to one distance from its middle, as a share of it, is a circle."""
_HOLES = ("screw", "bolt", "hole")
"""Words of a keep-out's reason that say that it is drilled."""


@dataclass(frozen=True)
class Hole:
    """A hole that is drilled anyway: a screw may hold the board there."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, eq=False)
class PartShape:
    """What is drawn of a part.

    Attributes:
        outline: its edge; the slat's, or the part's rectangle.
        holes: of screws and bolts.
        keep_outs: places of other kinds that nothing may be carved in.
        art: curves to be carved, as they were proved.
        lines: the same as polylines within the tolerance of a DXF, shape (n, 2) each.
        bit: key of the bit that carves it; empty for none.
        tabs: stretches of the outline that are left standing.
        turn, shift: from slat millimetres to these: ``p → turn @ p + shift``, shapes (2, 2) and (2,).
    """

    outline: Polygon
    holes: tuple[Hole, ...] = ()
    keep_outs: tuple[Polygon, ...] = ()
    art: tuple[Contour, ...] = ()
    lines: tuple[Floats, ...] = ()
    bit: str = ""
    tabs: tuple[Floats, ...] = ()
    turn: Floats = field(default_factory=lambda: np.eye(2))
    shift: Floats = field(default_factory=lambda: np.zeros(2))


def part_shape(
    length: float,
    width: float,
    bed: Bed,
    slat: Slat | None = None,
    cut: Cut | None = None,
    *,
    drilled: Sequence[DrilledHole] = (),
) -> PartShape:
    """The shape of a part.

    Args:
        length, width: the rectangle it is cut from, mm; length along the grain.
        bed: says how tabs are.
        slat: its outline and holes; ``None`` for a plain rectangle.
        cut: what is carved on it.
        drilled: holes of a plain rectangle.
    """
    of = cut.slat if cut is not None else slat
    if of is None:
        outline = box(0.0, 0.0, width, length)
        holes = tuple(Hole(hole.across, hole.along, hole.diameter / 2) for hole in drilled)
        return PartShape(outline, holes, tabs=tuple(_tabs(outline, bed)))
    turn = upright(of)
    low, high = (f(np.asarray(of.outline.exterior.coords) @ turn.T, axis=0) for f in (np.min, np.max))
    shift = np.array([width, length]) / 2 - (low + high) / 2

    def moved(shape: Polygon) -> Polygon:
        shell, *holes = (ring @ turn.T + shift for ring in rings(shape))
        return Polygon(shell, holes)

    outline = moved(of.outline)
    screws, others = _holes_of(of, moved)
    art = () if cut is None else tuple(c.moved(turn, shift) for c in cut.placed().contours)
    return PartShape(
        outline,
        tuple(screws),
        tuple(others),
        art,
        tuple(without_short(contour.polyline(CHORD_TOLERANCE)) for contour in art),
        "" if cut is None else cut.bit.key,
        tuple(_tabs(outline, bed)),
        turn,
        shift,
    )


def without_short(points: Floats) -> Floats:
    """A ring without pieces shorter than ``LEAST_SEGMENT``; its points are of the same ring."""
    kept = [points[0]]
    for point in points[1:]:
        if np.hypot(*(point - kept[-1])) >= LEAST_SEGMENT:
            kept.append(point)
    while len(kept) > 1 and np.hypot(*(kept[-1] - kept[0])) < LEAST_SEGMENT:
        kept.pop()
    return np.array(kept)


def as_circle(shape: Polygon) -> Hole | None:
    """The circle that a polygon stands for; ``None`` for other shapes."""
    points = np.asarray(shape.exterior.coords)[:-1]
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    away = np.hypot(*(points - middle).T)
    radius = float(away.max())
    if shape.interiors or len(points) < 8 or away.min() < (1 - _ROUND) * radius:
        return None
    return Hole(float(middle[0]), float(middle[1]), radius)


def _holes_of(slat: Slat, moved: Callable[[Polygon], Polygon]) -> tuple[list[Hole], list[Polygon]]:
    holes, others = [], []
    for keep_out in slat.keep_outs:
        shape = moved(keep_out.shape)
        circle = as_circle(shape) if any(word in keep_out.reason for word in _HOLES) else None
        if circle is None:
            others.append(shape)
        else:
            holes.append(circle)
    return holes, others


def _tabs(outline: Polygon, bed: Bed) -> Iterator[Floats]:
    """Stretches of the edge: one at the middle of each end, and along both sides not farther apart than wished."""
    if bed.tab_width <= 0:
        return
    x0, y0, x1, y1 = outline.bounds
    middle, many = (x0 + x1) / 2, max(1, int(np.ceil((y1 - y0) / bed.tab_every)))
    heights = [y0 + (y1 - y0) * (k + 0.5) / many for k in range(many)]
    ring = LineString(outline.exterior.coords)
    for line in (
        LineString([(middle, y0 - 1), (middle, y1 + 1)]),
        *(LineString([(x0 - 1, y), (x1 + 1, y)]) for y in heights),
    ):
        met = np.asarray([point.coords[0] for point in getattr(ring.intersection(line), "geoms", [])])
        if len(met) < 2:
            continue
        across = met @ np.array([1.0, 1.0])
        for point in (met[across.argmin()], met[across.argmax()]):
            at = ring.project(Point(point))
            start = min(max(at - bed.tab_width / 2, 0.0), ring.length - bed.tab_width)
            yield np.asarray(substring(ring, start, start + bed.tab_width).coords)
