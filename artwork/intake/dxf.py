"""DXF → reading.

Lines in a CAD drawing have no width: closed loops are the edges of areas, and loops within loops alternate
(the even-odd rule). Hatches, solids and polylines with a width are areas by themselves.
"""

from __future__ import annotations

import io
import logging
import math
import struct
from typing import Any

import ezdxf.recover
import ezdxf.units
import numpy as np
import shapely
from ezdxf.document import Drawing as Document
from ezdxf.enums import InsertUnits
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader

from artwork.errors import EngineError
from artwork.intake.chaining import Chains, chained
from artwork.intake.dxf_entities import Gathered, gather
from artwork.intake.finishing import Drawing, finish
from artwork.intake.marks import BLACK, Area, Mark
from artwork.intake.paths import Path, joined, of_contours
from artwork.intake.svg_tree import drawing_too_large
from artwork.intake.values import Limits, Reading, Wishes
from artwork.remark import FileWarning

GAP = 1e-3
"""Ends of lines this near to each other, as a share of the drawing's larger side, are taken to meet."""
GAP_MM = 0.1
"""The same in mm where the drawing states its units; the smaller of the two holds."""
_SAME_EDGE = 2e-3
"""A loop that stays this near to a hatch's edge, as a share of the side, is that edge drawn again."""

_BINARY = b"AutoCAD Binary DXF\r\n"

# ezdxf logs each oddity that it mends in a stranger's file; what matters to them is in the remarks.
logging.getLogger("ezdxf").setLevel(logging.ERROR)

# What ezdxf raises for files that are not sound DXF. Anything else is a defect of ours and is not swallowed.
_DAMAGE = (
    DXFError,
    OSError,
    ValueError,
    KeyError,
    IndexError,
    TypeError,
    AttributeError,
    ZeroDivisionError,
    OverflowError,
    RecursionError,
    UnicodeError,
    struct.error,
)


def read_dxf(data: bytes, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """The outline of a CAD drawing's closed loops and filled areas."""
    if len(data) > limits.text_bytes:
        raise drawing_too_large(len(data), limits)
    try:
        document = _loaded(data)
        stated = _millimetres(document)
        found = gather(document, limits)
    except _DAMAGE as error:
        raise EngineError(
            "damaged-dxf",
            "The DXF is damaged or not complete.",
            "Export it again as DXF (ASCII, R12 or 2000), or as SVG, and send that.",
        ) from error
    if wishes.crop is not None:
        raise EngineError(
            "no-page-to-crop",
            "A DXF has no page of which a part could be marked.",
            "Take out what should not be carved and export it again.",
        )
    return finish(_drawn(found, stated), kind, wishes, limits)


def _loaded(data: bytes) -> Any:
    """ASCII files are read forgivingly; binary ones, which only machines write, as they are."""
    if data.startswith(_BINARY):
        return Document.load(binary_tags_loader(data))
    document, _auditor = ezdxf.recover.read(io.BytesIO(data))
    return document


def _millimetres(document: Any) -> float | None:
    """Millimetres per drawing unit where the header states the unit."""
    units = InsertUnits(int(document.header.get("$INSUNITS", 0)))
    if units == InsertUnits.Unitless:
        return None
    factor = float(ezdxf.units.conversion_factor(units, InsertUnits.Millimeters))
    return factor if math.isfinite(factor) and factor > 0 else None


def _drawn(found: Gathered, stated: float | None) -> Drawing:
    drawing = Drawing(stated_mm=stated)
    drawing.words = found.words
    for code, message in found.remarks.items():
        drawing.remark(code, message)
    drawing.counts["duplicates-dropped"] = found.duplicates
    paths = [*found.loops, *found.lines, *(mark.area.path for mark in found.fills)]
    if not paths:
        return drawing
    side = float(np.ptp(np.concatenate([path.points for path in paths]), axis=0).max())
    gap = GAP * side if stated is None else min(GAP * side, GAP_MM / stated)
    chains = chained(found.lines, gap)
    _remark_ends(drawing, chains, gap, stated)
    loops = [*found.loops, *chains.loops]
    fresh = _not_edges(loops, found.fills, _SAME_EDGE * side)
    drawing.counts["edges-of-fills"] = len(loops) - len(fresh)
    if fresh:
        drawing.marks.append(Mark(Area(joined(fresh), "evenodd"), BLACK))
    drawing.marks += found.fills
    return drawing


def _remark_ends(drawing: Drawing, chains: Chains, gap: float, stated: float | None) -> None:
    drawing.counts["gaps-closed"] = chains.closed
    drawing.counts["open-ends"] = len(chains.open)
    if chains.closed:
        size = f"{gap * stated:.2g} mm" if stated else f"{gap:.3g} drawing units"
        drawing.remark(
            "gaps-closed",
            f"{chains.closed} gaps of up to {size} between the ends of lines were closed.",
            "tells",
        )
    for number, path in enumerate(chains.open):
        left, low, right, high = path.box
        message = (
            f"A line is open: its ends at x {left:.3g} to {right:.3g}, y {low:.3g} to {high:.3g} meet no "
            f"other line, so it encloses nothing and was left out."
        )
        if number == 0:
            message += f" {len(chains.open)} such lines in all." if len(chains.open) > 1 else ""
        if number < _MOST_PLACES:
            drawing.remarks.append(FileWarning("open-ends", message, "warns", path.box))


_MOST_PLACES = 20


def _not_edges(loops: list[Path], fills: list[Mark], near: float) -> list[Path]:
    """The loops that are not merely the drawn edges of filled areas."""
    edges = [
        shapely.LinearRing(ring)
        for mark in fills
        for contour in mark.area.path.contours()
        if len(ring := contour.polyline(near / 4)) >= 3
    ]
    if not edges:
        return loops
    around = shapely.buffer(shapely.union_all(edges), near)
    shapely.prepare(around)
    fresh = []
    for loop in loops:
        rings = [contour.polyline(near / 4) for contour in loop.contours()]
        if not all(shapely.covers(around, shapely.linestrings(ring)) for ring in rings if len(ring) > 1):
            fresh.append(of_contours(loop.contours()))
    return fresh
