"""True-size PDF: the whole slat on one sheet, or tiled over sheets of a common paper."""

from __future__ import annotations

from math import ceil
from typing import Literal

import numpy as np
from reportlab.lib.colors import Color, black
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.drawings.canvas import PAPERS, fill, new_canvas, on_canvas, size_page
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.drawings.scene import Scene, rings, scene

Paper = Literal["whole", "A4", "Letter"]

MARGIN = 10.0
"""Unprinted border that common printers need, mm."""
FOOT = 16.0
"""Strip below the drawing for the check bar and the words, mm."""
OVERLAP = 10.0
"""What neighbouring sheets share, to be glued, mm."""
CHECK_BAR = 100.0
"""Length of the bar that shows whether a print is true to size, mm."""
_RED, _GREEN = Color(0.70, 0.15, 0.12), Color(0.18, 0.44, 0.31)


def pdf(cut: Cut, frame: MachineFrame = SLAT_FRAME, paper: Paper = "whole") -> bytes:
    """The placed art at 1 : 1 with a bar of 100 mm to check the print by.

    Args:
        cut: what is drawn.
        frame: how it lies on the machine.
        paper: ``"whole"``: one sheet as large as it must be; else sheets of that paper with overlaps.
    """
    view = scene(cut, frame)
    x0, y0, x1, y1 = view.bounds
    canvas, out = new_canvas(f"{view.name}, true size")
    if paper == "whole":
        width = max(x1 - x0, CHECK_BAR) + 2 * MARGIN
        size_page(canvas, (width, y1 - y0 + 2 * MARGIN + FOOT))
        _sheet(canvas, view, (x0 - (width - (x1 - x0)) / 2, y0 - MARGIN - FOOT), "")
        canvas.showPage()
    else:
        _tiles(canvas, view, PAPERS[paper])
    canvas.save()
    return out.getvalue()


def _tiles(canvas: Canvas, view: Scene, sheet: tuple[float, float]) -> None:
    """The drawing over as many sheets as it needs, row by row from the lower left."""
    x0, y0, x1, y1 = view.bounds
    inner = sheet[0] - 2 * MARGIN, sheet[1] - 2 * MARGIN - FOOT
    columns, rows = (
        max(ceil((length - OVERLAP) / (room - OVERLAP)), 1)
        for length, room in zip((x1 - x0, y1 - y0), inner, strict=True)
    )
    size_page(canvas, sheet)
    for row in range(rows):
        for column in range(columns):
            left = x0 + column * (inner[0] - OVERLAP)
            low = y0 + row * (inner[1] - OVERLAP)
            if columns == 1:
                left = (x0 + x1 - inner[0]) / 2
            name = (
                f"sheet {row * columns + column + 1} of {rows * columns} (row {row + 1}, column {column + 1})"
            )
            canvas.saveState()
            _clip(canvas, inner)
            _draw(canvas, view, (left - MARGIN, low - MARGIN - FOOT))
            canvas.restoreState()
            _corner_marks(canvas, inner)
            _foot(canvas, f"{view.name}, {name}; neighbouring sheets overlap by {OVERLAP:g} mm.")
            canvas.showPage()


def _clip(canvas: Canvas, inner: tuple[float, float]) -> None:
    path = canvas.beginPath()
    path.rect(MARGIN * mm, (MARGIN + FOOT) * mm, inner[0] * mm, inner[1] * mm)
    canvas.clipPath(path, stroke=0, fill=0)


def _corner_marks(canvas: Canvas, inner: tuple[float, float]) -> None:
    """Crosses at the corners of the printed part, to lay neighbouring sheets by."""
    canvas.setStrokeColor(black)
    canvas.setLineWidth(0.1 * mm)
    for x in (MARGIN, MARGIN + inner[0]):
        for y in (MARGIN + FOOT, MARGIN + FOOT + inner[1]):
            canvas.line((x - 3) * mm, y * mm, (x + 3) * mm, y * mm)
            canvas.line(x * mm, (y - 3) * mm, x * mm, (y + 3) * mm)


def _sheet(canvas: Canvas, view: Scene, corner: tuple[float, float], words: str) -> None:
    _draw(canvas, view, corner)
    _foot(canvas, f"{view.name}. {words}".strip())


def _draw(canvas: Canvas, view: Scene, corner: tuple[float, float]) -> None:
    """The drawing with its ``corner`` (mm) at the sheet's lower left."""
    shift = -np.array(corner)
    canvas.setFillColor(black)
    fill(canvas, (contour.moved(np.eye(2), shift) for contour in view.art))
    canvas.setLineWidth(0.1 * mm)
    for shapes, colour, dash in (
        ((view.slat,), black, ()),
        (view.keep_outs, _RED, ()),
        (view.safe, _GREEN, (2 * mm, 1 * mm)),
    ):
        canvas.setStrokeColor(colour)
        canvas.setDash(*([list(dash)] if dash else []))
        for shape in shapes:
            _add_outline(canvas, shape, shift)
    canvas.setDash()


def _add_outline(canvas: Canvas, shape: Polygon, shift: Floats) -> None:
    path = canvas.beginPath()
    for ring in rings(shape):
        path.moveTo(*on_canvas(ring[0] + shift))
        for point in ring[1:]:
            path.lineTo(*on_canvas(point + shift))
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _foot(canvas: Canvas, words: str) -> None:
    """The check bar and what to do with it."""
    y = (MARGIN + FOOT * 0.45) * mm
    left, right = MARGIN * mm, (MARGIN + CHECK_BAR) * mm
    canvas.setStrokeColor(black)
    canvas.setFillColor(black)
    canvas.setLineWidth(0.25 * mm)
    canvas.line(left, y, right, y)
    for x in np.linspace(left, right, 11):
        canvas.line(float(x), y - 1.2 * mm, float(x), y + 1.2 * mm)
    canvas.setFont("Helvetica", 7)
    canvas.drawString(
        left, y + 2.2 * mm, "This bar measures 100 mm on a print that is true to size; else print at 100 %."
    )
    canvas.drawString(left, y - 4.2 * mm, words)
