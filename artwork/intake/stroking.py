"""Strokes → the areas they cover."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pathops

from artwork.curves import Floats
from artwork.intake.marks import Area
from artwork.intake.paths import (
    CLOSE,
    IDENTITY,
    LINE,
    MOVE,
    POINTS_OF,
    Matrix,
    Path,
    determinant,
    from_skia,
    joined,
    usable,
)  # fmt: skip

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
    usable(np.array([stroke.width, stroke.miter_limit, stroke.dash_offset, *stroke.dashes]))
    cap = stroke.cap
    if cap == "square" and not stroke.dashes:
        path, cap = _extended(path, stroke.width / 2), "butt"
    left, low, right, high = path.box
    size = abs(determinant(matrix)) ** 0.5
    scale = _SIZE / max(right - left, high - low, stroke.width, drawing_side / size)
    skia = path.to_skia(scale, (-left, -low))
    dashes = [dash * scale for dash in stroke.dashes] * (1 + len(stroke.dashes) % 2)
    skia.stroke(
        stroke.width * scale,
        CAPS.get(cap, CAPS["butt"]),
        JOINS.get(stroke.join, JOINS["miter"]),
        max(stroke.miter_limit, 1.0),
        dashes or None,
        stroke.dash_offset * scale if dashes else 0.0,
    )
    skia.convertConicsToQuads(_CONIC)
    return Area(from_skia(skia, scale, (-left, -low)).moved(matrix), rough=_COMPACT / scale * size)


def _extended(path: Path, length: float) -> Path:
    """Open subpaths drawn on by straight lines at both ends, which is what a square cap is.

    skia's own square cap bends the first curve of a path that ends in a line.
    """
    parts = []
    starts = np.flatnonzero(path.verbs == MOVE)
    ends = np.append(starts[1:], len(path.verbs))
    taken = np.concatenate([[0], np.cumsum(POINTS_OF[path.verbs])])
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        verbs, points = path.verbs[start:end], path.points[taken[start] : taken[end]]
        if len(verbs) > 1 and verbs[-1] != CLOSE:
            first = points[0] - length * _direction(points)
            last = points[-1] - length * _direction(points[::-1])
            verbs = np.concatenate([[MOVE, LINE], verbs[1:], [LINE]]).astype(np.uint8)
            points = np.vstack([first, points, last])
        parts.append(Path(verbs, points))
    return joined(parts)


def _direction(points: Floats) -> Floats:
    """Unit vector from the first point to the next that lies elsewhere; along x where none does."""
    away = points - points[0]
    far = np.flatnonzero(np.hypot(*away.T) > 0)
    return away[far[0]] / np.hypot(*away[far[0]]) if len(far) else np.array([1.0, 0.0])


def dash_count(path: Path, stroke: Stroke) -> float:
    """About how many dashes the stroke has: the length along the path's points over that of one dash."""
    if not stroke.dashes or len(path.points) < 2:
        return 0.0
    return float(np.hypot(*np.diff(path.points, axis=0).T).sum() / sum(stroke.dashes) * len(stroke.dashes))
