"""Stands in for the software with which a maker makes programs: contours of the art, one below the other.

Slatproof makes no programs; something has to be checked in the demo. Not for any machine: it knows no holding tabs, no
clamps, no feeds that suit a wood.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from math import radians, tan
from typing import Any

import ezdxf
import numpy as np
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.shapes import areas

LEVEL = 0.15
FLOOR_STEP = 0.15
CHORD = 0.01


def program(dxf: bytes, angle_deg: float, tip_flat: float, limit: float, *, mirrored: bool = False) -> bytes:
    """A program for the art of a proof's DXF, mm; ``mirrored``: with a slip that happens, left and right swapped."""
    lines = ["G17 G21 G90 G40 G49 G80 G54", "T1 M6", "S16000 M3", "G0 Z5.000"]
    for points in _contours(_art(dxf), tan(radians(angle_deg) / 2), tip_flat, limit):
        flipped = points * np.array([-1.0 if mirrored else 1.0, 1.0, 1.0])
        (x, y, z), *rest = flipped.tolist()
        lines += [f"G0 X{x:.3f} Y{y:.3f}", f"G1 Z{z:.3f} F700", "F2000"]
        lines += [f"G1 X{x:.3f} Y{y:.3f}" for x, y, _ in rest]
        lines.append("G0 Z5.000")
    return "\n".join([*lines, "M5", "M30", ""]).encode()


def _art(dxf: bytes) -> BaseGeometry:
    drawing = ezdxf.read(io.StringIO(dxf.decode()))  # type: ignore[attr-defined]
    lines: Any = drawing.modelspace().query('LWPOLYLINE[layer=="ART"]')
    rings = [Polygon(np.array([point[:2] for point in line.get_points()])).buffer(0) for line in lines]
    shape: BaseGeometry = rings[0]
    for ring in rings[1:]:
        shape = shape.symmetric_difference(ring)
    return shape


def _contours(art: BaseGeometry, slope: float, tip_flat: float, limit: float) -> Iterator[Floats]:
    depth = LEVEL
    while depth < limit:
        yield from _rings(art.buffer(-(tip_flat / 2 + depth * slope), quad_segs=12), depth)
        depth += LEVEL
    inset = tip_flat / 2 + limit * slope
    while not (floor := art.buffer(-inset, quad_segs=12)).is_empty:
        yield from _rings(floor, limit)
        inset += FLOOR_STEP


def _rings(shape: BaseGeometry, depth: float) -> Iterator[Floats]:
    for part in areas(shape.simplify(CHORD)):
        for ring in (part.exterior, *part.interiors):
            points = np.asarray(ring.coords)[:, :2]
            yield np.column_stack([points, np.full(len(points), -depth)])
