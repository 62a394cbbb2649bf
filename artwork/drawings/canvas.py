"""What every PDF of ours is drawn by: papers, a canvas with the same bytes always, curves."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

import numpy as np
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from artwork.curves import Contour, Floats

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height, mm (ISO 216; ANSI/ASME Y14.1)."""


def new_canvas(title: str, *, packed: bool = False) -> tuple[Canvas, io.BytesIO]:
    """A canvas with what it writes into when it is saved."""
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=int(packed))
    canvas.setTitle(title)
    return canvas, out


def size_page(canvas: Canvas, size: tuple[float, float]) -> None:
    """Set the page's width and height, mm."""
    canvas.setPageSize((size[0] * mm, size[1] * mm))


def on_canvas(point: Floats) -> tuple[float, float]:
    """Points of the PDF for millimetres."""
    return float(point[0] * mm), float(point[1] * mm)


def fill(canvas: Canvas, contours: Iterable[Contour]) -> None:
    """Fill closed curves in millimetres, even-odd."""
    path = canvas.beginPath()
    for contour in contours:
        _add_curve(path, contour)
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


def fill_many(canvas: Canvas, contours: Iterable[Contour]) -> None:
    """As :func:`fill`, to a thousandth of a PDF point and several times as fast: for pages full of art."""
    words = [_operators(contour) for contour in contours]
    if words:
        canvas.addLiteral(" ".join([*words, "f*"]))


def _add_curve(path: Any, contour: Contour) -> None:
    path.moveTo(*on_canvas(contour.knots[0]))
    ends = np.roll(contour.knots, -1, axis=0)
    for end, controls, straight in zip(ends, contour.controls, contour.straight, strict=True):
        if straight:
            path.lineTo(*on_canvas(end))
        else:
            path.curveTo(*on_canvas(controls[0]), *on_canvas(controls[1]), *on_canvas(end))
    path.close()


def _operators(contour: Contour) -> str:
    """``m``, then ``l`` or ``c`` per segment, and ``h``."""
    ends = np.roll(contour.knots, -1, axis=0)
    rows = np.concatenate([contour.controls.reshape(-1, 4), ends], axis=1) * mm
    said = [
        f"{x:.3f} {y:.3f} l" if line else f"{a:.3f} {b:.3f} {c:.3f} {d:.3f} {x:.3f} {y:.3f} c"
        for (a, b, c, d, x, y), line in zip(rows.tolist(), contour.straight.tolist(), strict=True)
    ]
    start = contour.knots[0] * mm
    return " ".join([f"{start[0]:.3f} {start[1]:.3f} m", *said, "h"])
