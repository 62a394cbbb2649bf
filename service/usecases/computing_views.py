"""The engine's pictures, prints, solids and sections, as functions that run in killable processes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from shapely import Polygon

from artwork.cut import Cut, Placement
from artwork.furniture import ModelLayout
from artwork.intake.values import Limits as ArtLimits
from artwork.outline_file import unpack
from service.orders.cuts import Circumstances

_WOODS = {"f": "fresh", "w": "weathered"}
_PAPERS = {"pdfA": "A4", "pdfL": "Letter"}


def show(
    outline: bytes,
    at: Circumstances,
    placement: Placement,
    code: str,
    close: tuple[float, float, float, float],
) -> bytes:
    """What ``service.usecases.showing`` keeps under ``code``: a WebP picture, a PDF on paper, a solid.

    ``close`` is what a picture of the art shows, slat mm.
    """
    cut = _cut(outline, at, placement)
    if code in _PAPERS:
        from artwork.drawings.pdf import pdf

        return pdf(cut, paper="A4" if code == "pdfA" else "Letter")
    if code.startswith("glb"):
        from artwork.solid import glb

        return glb(cut, _WOODS[code[3]])
    from artwork.close_up import whole
    from artwork.preview import part_webp, preview_webp

    density, look = float(code[1]), _WOODS[code[0]]
    if code[2] in "as":
        return part_webp(cut, close if code[2] == "a" else whole(cut.slat.outline.bounds), density, look)
    check = None
    if code.endswith("m"):
        from artwork.axis import study
        from artwork.findings import check as check_cut

        check = check_cut(cut, study(cut.outline))
    return preview_webp(cut, check, density, wood=look)


def piece(layout: ModelLayout, cuts: Sequence[tuple[bytes, Circumstances, Placement]], wood: str) -> bytes:
    """The whole piece with its cuts, as WebP."""
    from artwork.piece_picture import piece_webp

    return piece_webp(layout, [_cut(*cut) for cut in cuts], wood)


def section(
    outline: bytes,
    at: Circumstances,
    placement: Placement,
    where: tuple[float, float],
    turn_deg: float | None,
) -> dict[str, Any]:
    """A cross-section as plain JSON values."""
    from artwork.section import section as cross_section

    return asdict(cross_section(_cut(outline, at, placement), where, turn_deg))


def _cut(outline: bytes, at: Circumstances, placement: Placement) -> Cut:
    return Cut(unpack(outline), at.slat, placement, at.bit, at.allowances)


def slat_of_drawing(data: bytes, name: str, limits: ArtLimits) -> list[tuple[float, float]]:
    """The largest closed curve of a drawing that states its size, as points, laid as slats lie: foot at 0, centre at
    0. EngineError.
    """
    import numpy as np

    ring = max(
        (Polygon(points) for points in curves_of_drawing(data, name, limits)), key=lambda one: one.area
    )
    x0, y0, x1, _ = ring.bounds
    points = np.round(np.asarray(ring.exterior.coords) - [(x0 + x1) / 2, y0], 3)
    return [(float(x), float(y)) for x, y in points]


def curves_of_drawing(data: bytes, name: str, limits: ArtLimits) -> list[list[tuple[float, float]]]:
    """Every closed curve of a drawing that states its size, as points, mm, y up. EngineError."""
    from artwork.errors import EngineError
    from artwork.intake import read_artwork

    reading = read_artwork(data, name, limits=limits)
    if reading.outline.stated_mm is None:
        raise EngineError(
            "no-size",
            "The drawing does not say how large it is.",
            "Save it as DXF in millimetres, or as SVG with its width in mm.",
        )
    scale = reading.outline.stated_mm
    return [
        [
            (round(float(x) * scale, 3), round(float(y) * scale, 3))
            for x, y in contour.polyline(_RING_TOLERANCE)
        ]
        for contour in reading.outline.contours
    ]


_RING_TOLERANCE = 0.02
"""How far a chord may lie off a drawn curve, in the drawing's units."""
