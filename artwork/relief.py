"""What is left of the face after carving, round-over and sanding, as a height field."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.raster import inside, near_edge
from artwork.tooling import depth_limit, drop, edge_radius, slope, zero_below_face
from artwork.workpiece import Slat

Heights = NDArray[np.float32]

CURVE_TOLERANCE = 0.01
"""How far a flattened curve may lie off the true one in a picture, mm."""
FINEST_SAMPLE = 1 / 12
"""Distances to the art's edge are measured on a grid at least this fine, mm."""
MOST_SAMPLES = 12_000_000
"""Largest grid for that; very large art at a high density is measured on the picture's own grid instead."""


@dataclass(frozen=True, eq=False)
class Relief:
    """The finished face as a height field. Row 0 is the top, column 0 the left of the slat as it stands.

    Attributes:
        height: shape (h, w), how far the wood lies below the finished flat face, mm, at each pixel's centre;
            0 where nothing was taken off, meaningless outside the slat.
        to_edge: shape (h, w), distance of each pixel centre to the slat's edge, mm; negative outside; worked
            out only as far as the round-over (at least 2 px) reaches.
        px_per_mm: pixels per millimetre.
        left, top: slat mm of the outer corner of pixel (0, 0).
        art: rows and columns outside which nothing is carved; ``None`` where nothing is at all.
    """

    height: Heights
    to_edge: Heights
    px_per_mm: float
    left: float
    top: float
    art: tuple[slice, slice] | None = None

    def pixels(self, points: Floats) -> Floats:
        """Slat mm → pixel coordinates (x right, y down, the first pixel's centre at 0.5, 0.5)."""
        return (points - [self.left, self.top]) * [self.px_per_mm, -self.px_per_mm]


def relief(cut: Cut, px_per_mm: float, border: float = 0.0) -> Relief:
    """The face of the slat as it will be: carved, then rounded over, then sanded.

    Carving leaves ``h = min(r / tan φ, (R − t/2) / tan φ, D)``: ``r`` the distance to the art's edge, ``R``
    that of the nearest place of the axis (the tip, ``t`` wide, leaves a flat), ``D`` the depth limit.
    Round-over and sanding then take ``L = s + drop(x)`` off the face; what lies deeper than that stays. The
    board is taken as even: that is what the picture shows; the worst board is what the check judges.

    Args:
        cut: what is cut.
        px_per_mm: pixels per millimetre.
        border: kept around the slat, mm.

    Distances to the art's edge are good to half a sample of the measuring grid along an edge and to
    √2 − ½ of one at a corner (``FINEST_SAMPLE``: 0.042 and 0.076 mm), so depths to that over tan φ.
    """
    face = bare(cut.slat, px_per_mm, border)
    return replace(face, art=_carve(cut, face))


def bare(slat: Slat, px_per_mm: float, border: float = 0.0) -> Relief:
    """A slat that carries no art: rounded over and sanded. Arguments as for :func:`relief`."""
    radius = edge_radius(slat)
    x0, y0, x1, y1 = slat.outline.bounds
    left, top = x0 - border, y1 + border
    width = int(np.ceil((x1 - x0 + 2 * border) * px_per_mm))
    height = int(np.ceil((y1 - y0 + 2 * border) * px_per_mm))
    ring = (np.asarray(slat.outline.exterior.coords)[:-1] - [left, top]) * [px_per_mm, -px_per_mm]
    to_edge = near_edge(ring, width, height, max(radius * px_per_mm, 2.0))
    to_edge *= np.where(inside([ring], width, height), np.float32(1 / px_per_mm), np.float32(-1 / px_per_mm))
    return Relief(_lowered(to_edge, radius), to_edge, px_per_mm, left, top)


def _lowered(to_edge: Heights, radius: float) -> Heights:
    """How far the round-over leaves the face below its flat part; sanding takes the same off both."""
    lowered = np.zeros_like(to_edge)
    if radius > 0:
        near = to_edge < radius
        lowered[near] = drop(to_edge[near].astype(np.float64), radius)
    return lowered


def _carve(cut: Cut, face: Relief) -> tuple[slice, slice] | None:
    """Lower the face, in place, to the grooves' depths where they lie deeper; returns where that may be."""
    rings = [face.pixels(contour.polyline(CURVE_TOLERANCE)) for contour in cut.placed().contours]
    points = np.concatenate(rings)
    c0, r0 = np.maximum(np.floor(points.min(axis=0)).astype(int) - 1, 0)
    c1, r1 = np.minimum(np.ceil(points.max(axis=0)).astype(int) + 1, face.height.shape[::-1])
    if c0 >= c1 or r0 >= r1:
        return None
    finer = _finer((c1 - c0) * (r1 - r0), face.px_per_mm)
    mask = inside([(ring - [c0, r0]) * finer for ring in rings], (c1 - c0) * finer, (r1 - r0) * finer)
    block = face.height[r0:r1, c0:c1]
    np.maximum(block, _depths(cut, mask, finer, face.px_per_mm), out=block)
    return slice(int(r0), int(r1)), slice(int(c0), int(c1))


def _depths(cut: Cut, mask: NDArray[np.uint8], finer: int, px_per_mm: float) -> Heights:
    """Depths below the finished flat face at the picture's pixel centres; below 0 where sanding takes all.

    Args:
        cut: what is cut.
        mask: 1 inside the art, ``finer`` samples a pixel across and down.
        finer: odd, so that one sample is the pixel's centre.
        px_per_mm: pixels per millimetre.
    """
    sample = 1 / (finer * px_per_mm)
    # the art's edge lies on average half a sample nearer than the next sample outside
    reach = (_distance(mask) - np.float32(0.5)) * np.float32(sample)
    half_flat = cut.bit.tip_flat / 2
    axis = reach - np.float32(half_flat)
    if half_flat > 0:
        # Any reach of the cap as wide as the flat or wider gives the same: beyond the flat the wall is lower.
        size = 2 * int(np.ceil(half_flat / sample)) + 1
        axis = np.asarray(cv2.dilate(axis, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))))
    centres = slice(finer // 2, None, finer)
    depth = np.minimum(reach[centres, centres], axis[centres, centres]) / np.float32(slope(cut.bit))
    depth = np.minimum(depth, np.float32(depth_limit(cut.slat, cut.bit, cut.allowances)))
    depth += np.float32(zero_below_face(cut.allowances) - cut.allowances.sanding)
    return np.where(mask[centres, centres] == 1, depth, np.float32(0)).astype(np.float32, copy=False)


def _distance(mask: NDArray[np.uint8]) -> Heights:
    """Distance of each inside sample to the next one outside; beyond the grid is outside."""
    padded = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    return np.asarray(cv2.distanceTransform(padded, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[1:-1, 1:-1])


def _finer(pixels: int, px_per_mm: float) -> int:
    """How many samples a pixel is measured with, across and down: odd, so that one is its centre."""
    wanted = int(np.ceil(1 / (FINEST_SAMPLE * px_per_mm))) | 1
    while wanted > 1 and pixels * wanted**2 > MOST_SAMPLES:
        wanted -= 2
    return wanted
