"""A cut with its outline's anatomy laid onto the slat: what every finding looks at."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from artwork import tooling
from artwork.as_judged import as_judged
from artwork.axis import Anatomy
from artwork.curves import Floats
from artwork.cut import Cut
from artwork.shapes import Ints, areas, filled, ring_shapes, surrounded

FEW_SIDES = 24
"""Corners of a convex slat up to which distances to its edge are taken from its sides' lines."""
NEGLIGIBLE = 1e-4
"""Errors below this, mm, are the grid's own and of no account."""


@dataclass(frozen=True, eq=False)
class Scene:
    """One cut, ready to be judged. Everything in slat mm.

    Attributes:
        cut: as it is judged (:func:`artwork.as_judged.as_judged`), whatever it was made of.
        anatomy: of its outline.
        held_within: unevenness that is left as the shop holds its boards, mm; ``cut`` has cup in it as well.
    """

    cut: Cut
    anatomy: Anatomy
    held_within: float = field(init=False)

    def __post_init__(self) -> None:
        """Bring finish, cup and wood into the figures that the judges look at."""
        object.__setattr__(self, "held_within", self.cut.allowances.unevenness)
        object.__setattr__(self, "cut", as_judged(self.cut, self.anatomy))

    @property
    def scale(self) -> float:
        """mm per outline unit."""
        return self.cut.placement.scale

    @property
    def error(self) -> float:
        """How far the flattened boundary may lie off the outline, mm; widths are judged twice that less."""
        return self.anatomy.error * self.scale

    @property
    def slack(self) -> float:
        """By how much every clearance is taken for less than measured, outline units.

        Where the error is only the grid's, some nanometres, it is taken for the same amount more, so that
        what is drawn exactly as wide as required passes.
        """
        return self.anatomy.error if self.error > NEGLIGIBLE else -self.anatomy.error

    @cached_property
    def limit(self) -> float:
        """``D``, the deepest the program may go."""
        return tooling.depth_limit(self.cut.slat, self.cut.bit, self.cut.allowances)

    def place(self, points: Floats) -> Floats:
        """Outline points, shape (…, 2), in slat mm."""
        return self.cut.placement.place(points, self.anatomy.centre)

    @cached_property
    def hull(self) -> Polygon:
        """Convex hull of the art, grown by the flattening error."""
        return Polygon(self.place(self.anatomy.hull)).buffer(self.error)

    @cached_property
    def art(self) -> MultiPolygon:
        """The art as polygons, one per piece."""
        return self.pieces(np.arange(len(self.anatomy.lines.peak)))

    @cached_property
    def _loops(self) -> list[Polygon]:
        points = self.place(self.anatomy.points)
        return filled(ring_shapes(points, self.anatomy.ring))

    def pieces(self, numbers: Ints) -> MultiPolygon:
        """The chosen pieces of art."""
        return self._regions(self.anatomy.ring_piece, numbers)

    def lands(self, numbers: Ints) -> MultiPolygon:
        """The chosen pieces of land; never the outer one, which has no edge of its own."""
        return self._regions(self.anatomy.ring_land, numbers)

    def _regions(self, ring_region: Ints, numbers: Ints) -> MultiPolygon:
        """Each region is its largest ring less the others that bound it; in several parts where they touch."""
        found: list[Polygon] = []
        for number in numbers:
            loops = sorted(
                (self._loops[ring] for ring in np.flatnonzero(ring_region == number)),
                key=lambda loop: -loop.area,
            )
            region = Polygon(loops[0].exterior, [loop.exterior for loop in loops[1:]])
            found += [region] if region.is_valid else areas(surrounded([loop.exterior for loop in loops]))
        return MultiPolygon(found)

    @cached_property
    def clear_of_edge(self) -> float:
        """Distance from the art's hull to the slat's edge; 0 where it reaches it or lies outside."""
        slat = self.cut.slat.outline
        if not slat.contains(self.hull):
            return 0.0
        return float(self.hull.distance(slat.exterior))

    @property
    def lowered_anywhere(self) -> bool:
        """Whether any of the art is where the round-over lowers the face."""
        return self.clear_of_edge < tooling.edge_radius(self.cut.slat)

    def lowered(self, inside: Floats) -> Floats:
        """How much the rounded edge lowers the face at so many mm inside the slat's edge."""
        return tooling.drop(inside, tooling.edge_radius(self.cut.slat))

    def inside(self, points: Floats) -> Floats:
        """Distance of each point, shape (n, 2), to the slat's edge; 0 outside the slat."""
        if self._sides is not None:
            normals, offsets = self._sides
            return np.asarray(np.maximum((points @ normals.T - offsets).min(axis=1), 0.0))
        slat = self.cut.slat.outline
        shapely.prepare(slat)
        where = shapely.points(points)
        return np.asarray(np.where(shapely.covers(slat, where), shapely.distance(slat.exterior, where), 0.0))

    @cached_property
    def _sides(self) -> tuple[Floats, Floats] | None:
        """Inward normals, shape (n, 2), and offsets of the sides of a convex slat; none where that saves nothing.

        Inside a convex polygon the edge is as far away as the nearest of its sides' lines.
        """
        corners = shapely.get_coordinates(shapely.orient_polygons(self.cut.slat.outline).exterior)
        if len(corners) > FEW_SIDES or not self.slat_is_convex:
            return None
        along = np.diff(corners, axis=0)
        along = along[np.hypot(*along.T) > 0]
        normals = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
        start = corners[:-1][np.hypot(*np.diff(corners, axis=0).T) > 0]
        return normals, (normals * start).sum(axis=1)

    @cached_property
    def slat_is_convex(self) -> bool:
        """On a convex slat the distance to the edge is smallest at the ends of any straight way."""
        slat = self.cut.slat.outline
        return bool(slat.convex_hull.area - slat.area <= 1e-9 * slat.area)
