"""How large a picture can lie over several slats without running into screws, joints or the slats' ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.furniture import PlacedSlat
from artwork.outline import Outline
from artwork.placing import LEAST_SIZE, safe_area
from artwork.shapes import areas, polygonal
from artwork.workpiece import Allowances

SHAPE_SHARE = 1 / 400
"""Tolerance of the shape that is tried, as a share of the picture's larger side; it is grown by as much."""
GRIDS = (13, 7, 7)
"""Places tried each way, ever closer around the best one."""
ROUNDS = 9
"""Halvings of the size at each place."""
CLEAR = 0.1
"""Kept on top of the margins, mm."""


def largest_across(
    outline: Outline, chosen: Sequence[PlacedSlat], allowances: Allowances, rotation_deg: float = 0.0
) -> Placement:
    """The largest placement over these slats that keeps off everything but their long edges, piece frame.

    Gaps and rounded edges are not kept off: the picture runs over them. Of places as good as each other the
    one nearest the middle of the slats is taken.

    Raises:
        EngineError: ``"no-room"``.
    """
    found = [_rooms(placed, allowances) for placed in chosen]
    rooms = [room for _, room in found if not room.is_empty]
    if not rooms:
        raise _no_room()
    hull = shapely.convex_hull(shapely.union_all(rooms))
    taken = shapely.union_all([each for each, _ in found])
    search = _Search(_shape(outline, rotation_deg), hull, taken)
    best = search.best()
    if best is None or best.scale * max(outline.size) < LEAST_SIZE:
        raise _no_room()
    scale = float(np.floor(best.scale * 1e6) / 1e6)
    return Placement(round(best.x, 3), round(best.y, 3), scale, rotation_deg)


def _no_room() -> EngineError:
    return EngineError(
        "no-room", "These slats have no room for art.", "Choose others, or reduce the margins."
    )


def _rooms(placed: PlacedSlat, allowances: Allowances) -> tuple[BaseGeometry, BaseGeometry]:
    """What of a slat must stay free of the picture, and where it may lie; piece frame."""
    core = placed.slat.outline.buffer(-placed.slat.round_over - allowances.edge_margin)
    ends_and_screws = core.difference(safe_area(placed.slat, replace(allowances, edge_margin=0.0)))
    room = [placed.into_piece(part) for part in areas(core.difference(ends_and_screws))]
    taken = [placed.into_piece(part).buffer(CLEAR) for part in areas(polygonal(ends_and_screws))]
    return shapely.union_all(taken), shapely.union_all(room)


def _shape(outline: Outline, rotation_deg: float) -> Polygon | MultiPolygon:
    """The picture about its centre, turned, at scale 1; a little larger than it is."""
    left, low, right, high = outline.bounds
    tolerance = SHAPE_SHARE * max(outline.size)
    region = outline.region(tolerance / 4).simplify(tolerance / 2)
    unit = Placement(0.0, 0.0, 1.0, rotation_deg)
    middle = np.array([(left + right) / 2, (low + high) / 2])
    return polygonal(shapely.transform(region.buffer(tolerance), lambda points: unit.place(points, middle)))


@dataclass(frozen=True)
class _Found:
    x: float
    y: float
    scale: float


@dataclass(frozen=True, eq=False)
class _Search:
    """The shape that is tried, where it must lie, and what it must not touch."""

    shape: Polygon | MultiPolygon
    hull: BaseGeometry
    taken: BaseGeometry

    def best(self) -> _Found | None:
        """Sought on a grid over the hull, then closer around the best place."""
        shapely.prepare(self.hull)
        shapely.prepare(self.taken)
        left, low, right, high = self.hull.bounds
        centre, span = np.array([(left + right) / 2, (low + high) / 2]), np.array([right - left, high - low])
        middle, found = centre, None
        for count in GRIDS:
            tried = list(self._on_grid(centre, span, count, 0.0 if found is None else found.scale))
            if tried:
                most = max(each.scale for each in tried) * 0.999
                equal = [each for each in tried if each.scale >= most]
                found = min(equal, key=lambda each: np.hypot(each.x - middle[0], each.y - middle[1]))
                centre = np.array([found.x, found.y])
            span = span * 2 / (count - 1)
        return found

    def _on_grid(self, centre: Floats, span: Floats, count: int, least: float) -> Iterator[_Found]:
        """Every place of the grid where the shape fits at more than ``least``, with its largest scale."""
        width, height = np.ptp(np.array(self.shape.bounds).reshape(2, 2), axis=0)
        left, low, right, high = self.hull.bounds
        for x in np.linspace(centre[0] - span[0] / 2, centre[0] + span[0] / 2, count):
            for y in np.linspace(centre[1] - span[1] / 2, centre[1] + span[1] / 2, count):
                bad = float(min(min(x - left, right - x) * 2 / width, min(y - low, high - y) * 2 / height))
                good = max(least, bad / 2**ROUNDS)
                if bad <= good or not self._fits(x, y, good):
                    continue
                for _ in range(ROUNDS):
                    between = (good + bad) / 2
                    good, bad = (between, bad) if self._fits(x, y, between) else (good, between)
                yield _Found(float(x), float(y), good)

    def _fits(self, x: float, y: float, scale: float) -> bool:
        laid = shapely.transform(self.shape, lambda points: points * scale + (x, y))
        return bool(shapely.contains(self.hull, laid)) and not shapely.intersects(self.taken, laid)
