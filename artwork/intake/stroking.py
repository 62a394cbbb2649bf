"""Strokes → the areas they cover."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pathops

from artwork.intake.marks import Area
from artwork.intake.paths import IDENTITY, Matrix, Path, determinant, from_skia

CAPS = {
    "butt": pathops.LineCap.BUTT_CAP,
    "round": pathops.LineCap.ROUND_CAP,
    "square": pathops.LineCap.SQUARE_CAP,
}
JOINS = {
    "miter": pathops.LineJoin.MITER_JOIN,
    "round": pathops.LineJoin.ROUND_JOIN,
    "bevel": pathops.LineJoin.BEVEL_JOIN,
}
_SIZE = 2.0**14
"""Side of the drawing in skia's units: its stroker is exact to a quarter of one."""
_CONIC = 0.25
_COMPACT = 0.25
"""How far the compacted outline may leave the stroker's, skia's units."""


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn: lengths in the units of the path it is drawn along."""

    width: float
    cap: str = "butt"
    join: str = "miter"
    miter_limit: float = 4.0
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0


def stroked(path: Path, stroke: Stroke, matrix: Matrix = IDENTITY, drawing_side: float = 0.0) -> Area:
    """The area of the stroke under ``matrix`` (which also bends the pen), in many short pieces.

    ``drawing_side`` is the larger side of the drawing that ``matrix`` leads to: details are as fine as the
    whole drawing asks for.
    """
    left, low, right, high = path.box
    size = abs(determinant(matrix)) ** 0.5
    scale = _SIZE / max(right - left, high - low, stroke.width, drawing_side / size)
    skia = path.to_skia(scale, (-left, -low))
    dashes = [dash * scale for dash in stroke.dashes] * (1 + len(stroke.dashes) % 2)
    skia.stroke(
        stroke.width * scale,
        CAPS.get(stroke.cap, CAPS["butt"]),
        JOINS.get(stroke.join, JOINS["miter"]),
        max(stroke.miter_limit, 1.0),
        dashes or None,
        stroke.dash_offset * scale if dashes else 0.0,
    )
    skia.convertConicsToQuads(_CONIC)
    return Area(from_skia(skia, scale, (-left, -low)).moved(matrix), rough=_COMPACT / scale * size)


def dash_count(path: Path, stroke: Stroke) -> float:
    """About how many dashes the stroke has: the length along the path's points over that of one dash."""
    if not stroke.dashes or len(path.points) < 2:
        return 0.0
    return float(np.hypot(*np.diff(path.points, axis=0).T).sum() / sum(stroke.dashes) * len(stroke.dashes))
