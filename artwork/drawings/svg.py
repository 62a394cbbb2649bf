"""True-size SVG: one user unit is one millimetre, curves stay curves."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape

import numpy as np
from shapely import Polygon

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.drawings.scene import Scene, rings, scene

DECIMALS = 4
"""Digits after the point: 0.0001 mm."""
BLACK = 'stroke="#000000"'
RED = 'stroke="#b3261e"'
GREEN_DASHED = 'stroke="#2f6f4f" stroke-dasharray="2 1"'


def svg(cut: Cut, frame: MachineFrame = SLAT_FRAME) -> bytes:
    """The placed art as SVG 1.1; ``width``, ``height`` in mm, the view box in mm, y turned downwards.

    Groups by id: ``slat-outline``, ``keep-outs``, ``safe-area``, ``art`` (one path; what is inked is carved).
    """
    return _document(scene(cut, frame)).encode()


def _document(view: Scene) -> str:
    x0, y0, x1, y1 = view.bounds
    size = number(x1 - x0), number(y1 - y0)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}mm" height="{size[1]}mm" '
        f'viewBox="{number(x0)} {number(-y1)} {size[0]} {size[1]}">\n'
        f"<title>{escape(view.name)}</title>\n"
        "<desc>True size: one unit is one millimetre. Carve what is black.</desc>\n"
        f"{_lines('slat-outline', [view.slat], BLACK)}"
        f"{_lines('keep-outs', view.keep_outs, RED)}"
        f"{_lines('safe-area', view.safe, GREEN_DASHED)}"
        f'<g id="art" fill="#000000" fill-rule="evenodd" stroke="none">'
        f'<path d="{path_data(view.art)}"/></g>\n'
        "</svg>\n"
    )


def _lines(group: str, shapes: Iterable[Polygon], stroke: str) -> str:
    outlines = ("".join(map(ring_data, rings(shape))) for shape in shapes)
    paths = "".join(f'<path d="{outline}"/>' for outline in outlines)
    return f'<g id="{group}" fill="none" {stroke} stroke-width="0.1">{paths}</g>\n'


def path_data(contours: Iterable[Contour]) -> str:
    """Closed curves as SVG path data: straight segments as ``L``, cubics as ``C``, y turned downwards."""
    return "".join(map(_curve, contours))


def _curve(contour: Contour) -> str:
    words = ["M" + _pair(contour.knots[0])]
    ends = np.roll(contour.knots, -1, axis=0)
    for end, (first, second), straight in zip(ends, contour.controls, contour.straight, strict=True):
        words.append("L" + _pair(end) if straight else f"C{_pair(first)} {_pair(second)} {_pair(end)}")
    return "".join(words) + "Z"


def ring_data(points: Floats) -> str:
    """A ring of points as SVG path data, y turned downwards."""
    return "M" + "L".join(map(_pair, points)) + "Z"


def _pair(point: Floats) -> str:
    return f"{number(point[0])},{number(-point[1])}"


def number(value: float) -> str:
    """A length as SVG writes it: without trailing zeros and without ``-0``."""
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
