"""The canonical facts of a cut, and the digest that names a proof.

The facts hold everything that decides what is carved and how it is judged, and nothing else. Lengths become
whole micrometres by sums and products alone, which every machine rounds alike (no sines, no matrix products);
the turn stays a number. The digest is SHA-256 over RFC 8785 canonical JSON.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from functools import lru_cache
from itertools import islice
from typing import Any

import numpy as np
import rfc8785
import shapely
from shapely import Polygon

from artwork import ENGINE_VERSION
from artwork.curves import Floats
from artwork.cut import Cut
from artwork.workpiece import BARE, Slat

MICROMETRES = 1000.0
"""Grid steps per mm."""
SLATS = 16
"""Slats whose facts are kept as written: a run, a search and an order come back to the same few."""


def facts(cut: Cut, engine: str = ENGINE_VERSION) -> dict[str, Any]:
    """All that decides the cut, as JSON values; geometry as whole micrometres. ``engine``: who judged it."""
    return {**_beside(cut, engine), "outline": _outline(cut), "slat": _slat(cut.slat)}


def _beside(cut: Cut, engine: str) -> dict[str, Any]:
    """All but what is drawn and what it is drawn on."""
    placement = cut.placement
    pixel = cut.outline.pixel
    return {
        "engine": engine,
        "pixel": None if pixel is None else _whole(pixel * placement.scale),
        "placement": {
            "x": _whole(placement.x),
            "y": _whole(placement.y),
            "scale": placement.scale,
            "rotation_deg": placement.rotation_deg,
            "mirrored": placement.mirrored,
        },
        "bit": asdict(cut.bit),
        "allowances": asdict(cut.allowances),
    }


def canonical(cut: Cut) -> bytes:
    """The facts as RFC 8785 canonical JSON: what the digest is of, and what is kept of a proof."""
    written = {name: rfc8785.dumps(value) for name, value in _beside(cut, ENGINE_VERSION).items()}
    written |= {"outline": _of_whole_numbers(_outline(cut)), "slat": _canonical_slat(cut.slat)}
    return b"{%s}" % b",".join(b'"%s":%s' % (name.encode(), written[name]) for name in sorted(written))


def digest(cut: Cut) -> str:
    """64 hex digits; equal for equal facts on any machine."""
    return digest_of(canonical(cut))


def digest_of(told: bytes) -> str:
    """The name of canonical facts: 64 hex digits."""
    return hashlib.sha256(told).hexdigest()


def _outline(cut: Cut) -> list[list[list[int]]]:
    """Per segment its start, and for a cubic its two control points: [x, y] or [x, y, x1, y1, x2, y2]."""
    contours, scale = cut.outline.contours, cut.placement.scale
    if not contours:
        return []
    centre = cut.centre
    knots = _grid((np.concatenate([contour.knots for contour in contours]) - centre) * scale)
    drawn = np.concatenate([contour.controls for contour in contours])
    bent = ~np.isnan(drawn[:, 0, 0])
    controls = np.zeros((len(knots), 4), np.int64)
    controls[bent] = _grid((drawn[bent] - centre) * scale).reshape(-1, 4)
    segments = [
        [*knot, *control] if curved else knot
        for knot, control, curved in zip(knots.tolist(), controls.tolist(), bent.tolist(), strict=True)
    ]
    rest = iter(segments)
    return [list(islice(rest, len(contour.knots))) for contour in contours]


@lru_cache(maxsize=SLATS)
def _canonical_slat(slat: Slat) -> bytes:
    return rfc8785.dumps(_slat(slat))


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


def _of_whole_numbers(value: Any) -> bytes:
    """Lists of whole numbers, which Python's own writer writes as RFC 8785 asks, many times as fast."""
    return json.dumps(value, separators=(",", ":")).encode("ascii")
