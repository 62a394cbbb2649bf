"""The outline: artwork as closed regions to be carved."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely import MultiPolygon, Polygon

from artwork.curves import Contour, Floats, bounds_of
from artwork.shapes import surrounded

FLATNESS = 1e-4
"""Default tolerance of flattening, as a share of the outline's larger side: 0.01 mm on art of 100 mm."""


@dataclass(frozen=True, eq=False)
class Outline:
    """Regions to be carved, in the artwork's own units, y upwards.

    The contours never cross or touch along a length; outer ones run counter-clockwise, holes clockwise, so
    the even-odd and the non-zero rule give the same regions.

    Attributes:
        contours: the closed curves.
        pixel: size of one source pixel in outline units for traced art, ``None`` for vector art.
        stated_mm: millimetres per outline unit where the file truly states its size, else ``None``.
    """

    contours: tuple[Contour, ...]
    pixel: float | None = None
    stated_mm: float | None = None

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the curves themselves (not of their control points)."""
        return bounds_of(self.contours)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of :attr:`bounds`."""
        left, low, right, high = self.bounds
        return right - left, high - low

    @property
    def nodes(self) -> int:
        """How many segments all contours have together."""
        return sum(len(contour.knots) for contour in self.contours)

    def region(self, tolerance: float | None = None) -> Polygon | MultiPolygon:
        """The regions as valid polygons whose edges lie within ``tolerance`` (outline units) of the curves.

        ``None`` stands for :data:`FLATNESS` of the larger side.
        """
        if tolerance is None:
            tolerance = FLATNESS * max(self.size)
        rings = [contour.polyline(tolerance) for contour in self.contours]
        return polygons(rings)


def polygons(rings: list[Floats]) -> Polygon | MultiPolygon:
    """Valid polygons from rings that do not cross: what an odd number of rings surrounds is inside."""
    return surrounded([shapely.LinearRing(ring) for ring in rings if len(ring) >= 3])
