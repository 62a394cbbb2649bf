"""Shapes drawn in office documents → SVG: one drawing for each page, slide or sheet that holds any.

DrawingML (ECMA-376 part 1, §20.1) in DOCX, PPTX and XLSX; OpenDocument (ISO/IEC 26300, §10) in ODT, ODG and ODP.
Words within shapes are handed on as text, whose font is not in the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape
from xml.etree.ElementTree import Element

import numpy as np

from artwork.curves import Floats
from artwork.errors import EngineError
from artwork.intake import drawingml, opendocument
from artwork.intake.office_shapes import Shape
from artwork.intake.svg_tree import parse_any
from artwork.intake.values import Limits

PARTS = re.compile(r"^(ppt/slides/slide\d+|word/document|xl/drawings/drawing\d+|content)\.xml$")
THEME = re.compile(r"^(ppt|word|xl)/theme/theme1\.xml$")
STYLES = "styles.xml"
_MARGIN = 1.0
"""Around what is drawn, mm: the shapes of a document lie on no page of their own."""
_BOXES = 3
"""So many plain boxes, or fewer, are the frame or the ground of a page rather than its drawing."""


@dataclass(frozen=True)
class Drawn:
    """The shapes of one part of a document.

    Attributes:
        name: of the part.
        svg: the drawing.
        plain: whether it is only a box or two.
    """

    name: str
    svg: bytes
    plain: bool


def is_part(name: str) -> bool:
    """Whether an entry of the archive is looked at for shapes, or for the colours of shapes."""
    return bool(PARTS.match(name) or THEME.match(name)) or name == STYLES


def drawings(parts: Mapping[str, bytes], limits: Limits) -> Iterator[Drawn]:
    """Every part that holds shapes; parts that cannot be read hold none."""
    theme = next((_tree(data, limits) for name, data in parts.items() if THEME.match(name)), None)
    for name, data in sorted(parts.items()):
        root = _tree(data, limits) if PARTS.match(name) else None
        if root is None:
            continue
        if name == "content.xml":
            styles = _tree(parts[STYLES], limits) if STYLES in parts else None
            shapes = list(opendocument.shapes(root, styles))
        else:
            shapes = list(drawingml.shapes(root, theme))
        shapes = [each for each in shapes if each.shown]
        if shapes:
            yield Drawn(name, _svg(shapes), len(shapes) <= _BOXES and all(each.plain for each in shapes))


def _tree(data: bytes, limits: Limits) -> Element | None:
    try:
        return parse_any(data, limits)
    except EngineError:
        return None


def _svg(shapes: list[Shape]) -> bytes:
    corners = np.concatenate([each.corners for each in shapes])
    low, high = corners.min(axis=0) - _MARGIN, corners.max(axis=0) + _MARGIN
    width, height = high - low
    body = "".join(_element(each) for each in shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="{low[0]:.4f} {low[1]:.4f} {width:.4f} {height:.4f}">{body}</svg>'
    ).encode()


def _element(shape: Shape) -> str:
    matrix = " ".join(f"{value:.6f}" for value in _columns(shape.matrix))
    pen = f'stroke="{shape.stroke}" stroke-width="{shape.pen:.4f}"' if shape.stroke else 'stroke="none"'
    fitted = f' transform="{escape(shape.fitted)}"' if shape.fitted else ""
    drawn = (
        f'<g transform="matrix({matrix})"><path d="{escape(shape.path)}"{fitted} '
        f'fill="{shape.fill or "none"}" fill-rule="{shape.rule}" {pen}/></g>'
    )
    if not shape.words:
        return drawn
    left, foot = shape.matrix[:, 2] + (0.0, shape.size[1])
    return f'{drawn}<text x="{left:.3f}" y="{foot:.3f}" font-size="4">{escape(shape.words)}</text>'


def _columns(matrix: Floats) -> list[float]:
    return [float(value) for value in matrix.T.ravel()]
