"""The canonical facts of a cut, and the digest that names a proof.

The facts hold everything that decides what is carved and how it is judged, and nothing else. Lengths become
whole micrometres by sums and products alone, which every machine rounds alike (no sines, no matrix products);
the turn stays a number. The digest is SHA-256 over RFC 8785 canonical JSON.
"""

from __future__ import annotations

import hashlib
from dataclasses import asdict
from typing import Any

import numpy as np
import rfc8785
import shapely
from shapely import Polygon

from artwork import ENGINE_VERSION
from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.workpiece import BARE, Slat

MICROMETRES = 1000.0
"""Grid steps per mm."""


def facts(cut: Cut, engine: str = ENGINE_VERSION) -> dict[str, Any]:
    """All that decides the cut, as JSON values; geometry as whole micrometres. ``engine``: who judged it."""
    placement = cut.placement
    pixel = cut.outline.pixel
    return {
        "engine": engine,
        "outline": [_contour(contour, cut.centre, placement.scale) for contour in cut.outline.contours],
        "pixel": None if pixel is None else _whole(pixel * placement.scale),
        "placement": {
            "x": _whole(placement.x),
            "y": _whole(placement.y),
            "scale": placement.scale,
            "rotation_deg": placement.rotation_deg,
            "mirrored": placement.mirrored,
        },
        "slat": _slat(cut.slat),
        "bit": asdict(cut.bit),
        "allowances": asdict(cut.allowances),
    }


def digest(cut: Cut) -> str:
    """64 hex digits; equal for equal facts on any machine."""
    return hashlib.sha256(rfc8785.dumps(facts(cut))).hexdigest()


def _contour(contour: Contour, centre: Floats, scale: float) -> list[list[int]]:
    """Per segment its start, and for a cubic its two control points: [x, y] or [x, y, x1, y1, x2, y2]."""
    knots = _grid((contour.knots - centre) * scale)
    bent = ~contour.straight
    controls = np.zeros((len(knots), 4), np.int64)
    controls[bent] = _grid((contour.controls[bent] - centre) * scale).reshape(-1, 4)
    return [
        [*knot, *control] if curved else knot
        for knot, control, curved in zip(knots.tolist(), controls.tolist(), bent.tolist(), strict=True)
    ]


def _slat(slat: Slat) -> dict[str, Any]:
    return {
        "key": slat.key,
        "outline": _rings(slat.outline),
        "thickness": slat.thickness,
        "grain_deg": slat.grain_deg,
        "round_over": slat.round_over,
        "mill_radius": slat.mill_radius,
        "species": slat.species,
        "keep_outs": [
            {
                "shape": _rings(keep_out.shape),
                "reason": keep_out.reason,
                "free_depth": keep_out.free_depth,
            }
            for keep_out in slat.keep_outs
        ],
        **(
            {} if slat.finish == BARE else {"finish": slat.finish}
        ),  # bare wood has the digests that it always had
    }


def _rings(shape: Polygon) -> list[list[list[int]]]:
    return [_grid(shapely.get_coordinates(ring)).tolist() for ring in (shape.exterior, *shape.interiors)]


def _grid(millimetres: Floats) -> np.typing.NDArray[np.int64]:
    return np.rint(millimetres * MICROMETRES).astype(np.int64)


def _whole(millimetres: float) -> int:
    return round(millimetres * MICROMETRES)
