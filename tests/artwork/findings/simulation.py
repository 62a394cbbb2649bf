"""A plain simulation of one carving: height fields on a fine grid, nothing of the engine but its figures.

The board lies at its worst, the bit's cone follows the distance to the art's edge, the edge is rounded over
and the face sanded. What counts as gone is decided on the pixels alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import shapely
from scipy import ndimage

from artwork.cut import Cut

GRAIN = 0.02
"""Pixel of the height field, mm."""
BENEFIT = 0.75
"""Pixels by which distances on the grid may be off; the simulation gives the art the benefit of it."""
CORNER = 4.0
"""A point may end early by this many times the clearance that is needed, two widths, untold: none misses it."""
OCTAGON = 1.1
"""Steps of the growing region overrate distances by up to 8 %."""


@dataclass(frozen=True)
class Outcome:
    """What the simulation shows.

    Attributes:
        lines: what happened to a line: ``""``, ``"vanished"``, ``"interrupted"`` or ``"shortened"``.
        lands: the same for the wood between.
    """

    lines: str
    lands: str

    @property
    def harmed(self) -> bool:
        return bool(self.lines or self.lands)


def carved(cut: Cut) -> Outcome:
    """Carves on the low board for the lines, on the high one for the lands."""
    art, origin = _drawn(cut)
    allowances, bit = cut.allowances, cut.bit
    tan = np.tan(np.radians(bit.angle_deg / 2))
    below = allowances.sanding if allowances.sanding_made_up else 0.0
    limit = min(
        cut.slat.thickness * allowances.depth_limit_share - below,
        bit.height - below - allowances.unevenness,
        (bit.diameter - bit.tip_flat) / 2 / tan - below - allowances.unevenness,
        cut.slat.thickness - allowances.least_wood - below - allowances.unevenness,
    )
    inside = (_distance(art) + BENEFIT) * GRAIN
    program = np.clip((inside - bit.tip_flat / 2) / tan, 0, max(limit, 0))
    left = program + below - allowances.unevenness - allowances.sanding - _lowered(cut, art.shape, origin)
    deep = art & (left >= allowances.least_depth)
    needed = bit.tip_flat / 2 + tan * (
        allowances.least_depth + allowances.sanding - below + allowances.unevenness
    )

    outside = (_distance(~art) + BENEFIT) * GRAIN
    worst = tan * (allowances.unevenness + below) + min(allowances.land_along, allowances.land_across) / 2
    thick = ~art & (outside >= worst)
    return Outcome(_fate(art, deep, needed), _fate(~art, thick, worst))


def _drawn(cut: Cut) -> tuple[np.ndarray, np.ndarray]:
    """The placed art on the grid, with room around it, and where pixel (0, 0) lies on the slat."""
    placed = cut.placed()
    left, low, right, high = placed.bounds
    room = 3 * (cut.allowances.land_across + 2.0)
    origin = np.array([left - room, low - room])
    width, height = (np.ceil(np.array([right + room, high + room] - origin) / GRAIN)).astype(int).tolist()
    rings = [(contour.polyline(GRAIN / 20) - origin) / GRAIN - 0.5 for contour in placed.contours]
    # filled four times as fine, then a pixel counts if its middle does
    fine = np.zeros((2 * height, 2 * width), np.uint8)
    corners = [np.rint((ring * 2 + 0.5) * 256).astype(np.int32) for ring in rings]
    cv2.fillPoly(fine, corners, 1, shift=8)
    art = cv2.resize(fine * 255, (width, height), interpolation=cv2.INTER_AREA) > 127
    return art, origin


def _distance(mask: np.ndarray) -> np.ndarray:
    """To the edge of the mask, pixels: half a pixel less than to the first pixel outside."""
    field = cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.maximum(field - 0.5, 0)


def _lowered(cut: Cut, shape: tuple[int, int], origin: np.ndarray) -> np.ndarray:
    """How much the rounded edge takes off the face at every pixel."""
    radius = max(cut.slat.round_over, cut.slat.mill_radius)
    if cut.slat.outline.exterior.distance(shapely.box(*cut.placed().bounds)) > radius:
        return np.zeros(shape)
    corners = np.asarray(cut.slat.outline.exterior.coords)
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]] * GRAIN + GRAIN / 2
    x, y = x + origin[0], y + origin[1]
    off = np.full(shape, np.inf)
    for start, end in pairwise(corners):
        along = end - start
        share = np.clip(((x - start[0]) * along[0] + (y - start[1]) * along[1]) / (along @ along), 0, 1)
        off = np.minimum(off, np.hypot(x - start[0] - share * along[0], y - start[1] - share * along[1]))
    reach = np.clip(radius - off, 0, radius)
    return radius - np.sqrt(radius**2 - reach**2)


def _fate(whole: np.ndarray, sound: np.ndarray, needed: float) -> str:
    """What happened to a region of which only ``sound`` is left as it should be."""
    number, count = ndimage.label(whole, np.ones((3, 3)))
    pieces, parts = ndimage.label(sound, np.ones((3, 3)))
    owners = np.zeros(parts + 1, int)
    owners[pieces[sound]] = number[sound]
    survivors = np.bincount(owners[1:], minlength=count + 1)[1:]
    if (survivors == 0).any():
        return "vanished"
    if (survivors > 1).any() or _gaps(sound) != _gaps(whole):
        return "interrupted"
    return "shortened" if _far(whole, sound, CORNER * needed) else ""


def _gaps(region: np.ndarray) -> int:
    """How many separate parts its surroundings have: a ring that is cut open has one fewer."""
    return int(ndimage.label(~np.pad(region, 1))[1])


def _far(whole: np.ndarray, sound: np.ndarray, reach: float) -> bool:
    """Whether any of the region lies farther than ``reach`` mm from what is sound, by ways inside it."""
    coarse = 3  # less work; a step of the growing region is three pixels
    whole, near = whole[::coarse, ::coarse], sound[::coarse, ::coarse]
    square, cross = np.ones((3, 3), bool), ndimage.generate_binary_structure(2, 1)
    for step in range(int(np.ceil(reach * OCTAGON / (GRAIN * coarse))) + 2):
        near = ndimage.binary_dilation(near, square if step % 2 else cross, mask=whole)
    return bool((whole & ~near).any())
