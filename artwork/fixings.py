"""Screws, joints and what is kept free around them, drawn into the picture of a slat."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.relief import Relief
from artwork.shapes import united

LARGEST_HOLE = 500.0
"""A keep-out up to this area, mm², is a hole that is seen in the wood; a larger one a joint, drawn as a line."""
HOLE = (58, 46, 38)
RIM = (28, 22, 18)
LINE = (70, 62, 54)
DASH, GAP = 2.2, 1.6
"""Of a dashed line, mm."""
SMOOTHER = 4
"""Holes are drawn so many times larger and made smaller again, so that their edges are smooth."""


def draw_fixings(picture: Image.Image, cut: Cut, face: Relief, *, margins: bool) -> None:
    """Draw holes at the face; with ``margins`` also joints, what lies below the face, and what is kept free."""
    line = max(1, round(0.3 * face.px_per_mm))
    pen = ImageDraw.Draw(picture)
    for keep_out in cut.slat.keep_outs:
        if keep_out.free_depth == 0 and keep_out.shape.area <= LARGEST_HOLE:
            _draw_hole(picture, face.pixels(np.asarray(keep_out.shape.exterior.coords)))
        elif margins:
            _dashed(pen, keep_out.shape.exterior, face, line)
    if margins:
        _dashed(pen, _kept_free(cut).boundary, face, line)


def _kept_free(cut: Cut) -> BaseGeometry:
    """The margins around screws and joints, as far as they lie on the slat."""
    closed = [each.shape for each in cut.slat.keep_outs if each.free_depth == 0]
    zones = united([shape.buffer(cut.allowances.keep_out_margin) for shape in closed])
    return shapely.intersection(zones, cut.slat.outline)


def _draw_hole(picture: Image.Image, ring: Floats) -> None:
    low, high = np.floor(ring.min(axis=0)).astype(int) - 2, np.ceil(ring.max(axis=0)).astype(int) + 2
    width, height = (high - low).tolist()
    mask = Image.new("L", (width * SMOOTHER, height * SMOOTHER), 0)
    points = [(float(x), float(y)) for x, y in (ring - low) * SMOOTHER]
    ImageDraw.Draw(mask).polygon(points, fill=200, outline=255, width=SMOOTHER)
    small = mask.resize((width, height), Image.Resampling.BOX)
    rim = small.point(lambda value: max(0, (value - 200) * 4))
    where = (int(low[0]), int(low[1]))
    picture.paste(HOLE, where, small)
    picture.paste(RIM, where, rim)


def _dashed(pen: ImageDraw.ImageDraw, line: BaseGeometry, face: Relief, width: int) -> None:
    for dash in _dashes(line):
        pen.line([float(v) for v in face.pixels(dash).ravel()], fill=LINE, width=width)


def _dashes(line: BaseGeometry) -> Iterator[Floats]:
    for part in shapely.get_parts(shapely.line_merge(line)):
        for start in np.arange(0.0, part.length, DASH + GAP):
            yield shapely.get_coordinates(substring(part, start, min(start + DASH, part.length)))
