"""What every drawing shows, in the machine's frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import MultiPolygon, Polygon, transform

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.frame import MachineFrame
from artwork.placing import safe_area


@dataclass(frozen=True, eq=False)
class Scene:
    """One placed cut, mm.

    Attributes:
        name: of the slat.
        art: the curves to be carved, outer ones counter-clockwise.
        slat: the finished edge.
        keep_outs: the places themselves, without their margins.
        safe: where art may lie; what is left after every margin.
    """

    name: str
    art: tuple[Contour, ...]
    slat: Polygon
    keep_outs: tuple[Polygon, ...]
    safe: tuple[Polygon, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the slat."""
        x0, y0, x1, y1 = self.slat.bounds
        return x0, y0, x1, y1


def scene(cut: Cut, frame: MachineFrame) -> Scene:
    """The cut as it lies in that frame."""
    matrix, shift = frame.affine(cut.slat.outline)

    def laid(shape: Polygon) -> Polygon:
        return transform(shape, lambda points: points @ matrix.T + shift)

    art = (contour.moved(matrix, shift) for contour in cut.placed().contours)
    return Scene(
        name=cut.slat.name,
        art=tuple(contour.reversed() for contour in art) if frame.mirrored else tuple(art),
        slat=laid(cut.slat.outline),
        keep_outs=tuple(laid(keep_out.shape) for keep_out in cut.slat.keep_outs),
        safe=tuple(laid(part) for part in _parts(safe_area(cut.slat, cut.allowances))),
    )


def rings(shape: Polygon) -> list[Floats]:
    """The rings of a polygon, shape (n, 2) each, the first point not repeated."""
    return [np.asarray(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors)]


def _parts(shape: Polygon | MultiPolygon) -> list[Polygon]:
    return [part for part in getattr(shape, "geoms", [shape]) if not part.is_empty]
