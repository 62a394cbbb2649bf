"""The drawing of one slat on a job sheet: as it lies on the machine, art black, zero and top marked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from reportlab.lib.units import mm
from shapely import Polygon

from artwork.curves import Floats
from artwork.drawings import MachineFrame
from artwork.proof_facts import art_lines, slat_of
from artwork.workpiece import Slat
from service.batches.sheet import GREY, Sheet

FIGURE_TOLERANCE = 0.15
"""How far a kept figure's lines may lie off the art, slat mm."""
SHEET_TOLERANCE = 0.05
"""How much farther a line printed on a sheet may lie off, mm of the sheet."""


@dataclass(frozen=True, eq=False)
class Figure:
    """A slat and its art as polylines in the machine's frame, small enough to keep for a whole order.

    Attributes:
        slat: the slat itself, in its own frame.
        outline: shape (n, 2).
        keep_outs: shape (n, 2) each.
        art: shape (n, 2) each; what an odd number of them surrounds is carved; empty where it is not drawn.
        top: where the slat's top end lies, from its middle; unit vector.
    """

    slat: Slat
    outline: Floats
    keep_outs: tuple[Floats, ...]
    art: tuple[Floats, ...]
    top: Floats


def bare_figure(facts: Mapping[str, Any], frame: MachineFrame) -> Figure:
    """The slat of a proof, without the art."""
    slat = slat_of(facts)
    matrix, shift = frame.affine(slat.outline)
    return Figure(
        slat,
        _ring(slat.outline) @ matrix.T + shift,
        tuple(_ring(each.shape) @ matrix.T + shift for each in slat.keep_outs),
        (),
        matrix @ np.array([0.0, 1.0]),
    )


def with_art(figure: Figure, facts: Mapping[str, Any], frame: MachineFrame) -> Figure:
    """The same with the proof's art."""
    matrix, shift = frame.affine(figure.slat.outline)
    art = tuple(line @ matrix.T + shift for line in art_lines(facts, FIGURE_TOLERANCE))
    return replace(figure, art=art)


@dataclass(frozen=True)
class Box:
    """A place on a sheet, mm: its upper left corner and its size."""

    x: float
    y: float
    width: float
    height: float


def lies_turned(figure: Figure, box: Box) -> bool:
    """Whether it is drawn turned a quarter to the right, to put its longer side along the box's."""
    size = np.ptp(figure.outline, axis=0)
    return bool((size[1] > size[0]) != (box.height > box.width))


def draw_figure(sheet: Sheet, figure: Figure, box: Box) -> None:
    """Draw it into that place, as large as it fits."""
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]]) if lies_turned(figure, box) else np.eye(2)
    corners = figure.outline @ turn.T
    low, high = corners.min(axis=0), corners.max(axis=0)
    scale = min(box.width / (high[0] - low[0]), box.height / (high[1] - low[1]))
    middle = (low + high) / 2
    left, foot = sheet.at(box.x + box.width / 2, box.y + box.height / 2)

    def on_sheet(points: Floats) -> Floats:
        return np.asarray((points @ turn.T - middle) * scale * mm + [left, foot])

    canvas = sheet.canvas
    canvas.setLineWidth(0.2 * mm)
    canvas.setStrokeColor(GREY)
    for ring in figure.keep_outs:
        _polygon(sheet, [on_sheet(ring)], fill=False)
    canvas.setFillColorRGB(0, 0, 0)
    _polygon(sheet, [_fewer(on_sheet(ring)) for ring in figure.art], fill=True)
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.setLineWidth(0.35 * mm)
    _polygon(sheet, [on_sheet(figure.outline)], fill=False)
    _zero_mark(sheet, on_sheet(np.zeros((1, 2)))[0])
    _top_arrow(sheet, on_sheet(figure.outline), figure.top @ turn.T)


def _polygon(sheet: Sheet, rings: Iterable[Floats], *, fill: bool) -> None:
    """Closed lines, drawn or filled (even-odd), as PDF operators: point by point would take far longer."""
    words = []
    for ring in rings:
        points = " l ".join([f"{x:.2f} {y:.2f}" for x, y in ring.tolist()])
        words.append(points.replace(" l ", " m ", 1) + " l h")
    sheet.canvas.addLiteral(" ".join([*words, "f*" if fill else "S"]))


def _zero_mark(sheet: Sheet, place: Floats) -> None:
    """A circled cross at the drawing's zero."""
    canvas, (x, y), arm = sheet.canvas, map(float, place), 3.0 * mm
    canvas.setLineWidth(0.3 * mm)
    canvas.circle(x, y, 1.6 * mm, stroke=1, fill=0)
    canvas.line(x - arm, y, x + arm, y)
    canvas.line(x, y - arm, x, y + arm)


def _top_arrow(sheet: Sheet, outline: Floats, way: Floats) -> None:
    """An arrow beyond the slat's top end."""
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2
    reach = float(np.abs((outline - middle) @ way).max())
    tip = middle + way * (reach + 5.5 * mm)
    side = np.array([-way[1], way[0]])
    foot = tip - way * 3.5 * mm
    _polygon(sheet, [np.array([tip, foot + side * 1.3 * mm, foot - side * 1.3 * mm])], fill=True)


def _fewer(points: Floats) -> Floats:
    """A line on the sheet through fewer points (Douglas and Peucker)."""
    reduced = cv2.approxPolyDP(points.astype(np.float32), SHEET_TOLERANCE * mm, True)[:, 0]
    return np.asarray(reduced, np.float64)


def _ring(shape: Polygon) -> Floats:
    return np.asarray(shape.exterior.coords)[:-1]
