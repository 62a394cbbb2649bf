"""Programs made from what the service gives: a proof's DXF, eroded (``tests/artwork/program/toolpaths.py``)."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
from shapely import Polygon
from shapely.geometry.base import BaseGeometry


def art_of(dxf: bytes) -> BaseGeometry:
    """What is carved, from the closed polylines of the layer ART: what an odd number of them surrounds."""
    drawing = ezdxf.read(io.StringIO(dxf.decode()))  # type: ignore[attr-defined]
    rings = [
        Polygon(np.array([point[:2] for point in line.get_points()])).buffer(0)
        for line in drawing.modelspace().query('LWPOLYLINE[layer=="ART"]')
    ]
    shape = rings[0]
    for ring in rings[1:]:
        shape = shape.symmetric_difference(ring)
    return shape
