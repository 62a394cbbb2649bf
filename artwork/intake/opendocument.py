"""Shapes of OpenDocument (ISO/IEC 26300-1, §10): boxes, ellipses, polygons, paths, named custom shapes, groups."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import numpy as np

from artwork.curves import Floats
from artwork.intake.office_shapes import Shape, box, ellipse, moved, named, stretched, turned

DRAW = "{urn:oasis:names:tc:opendocument:xmlns:drawing:1.0}"
SVG = "{urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0}"
STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 1.0}
_LENGTH = re.compile(r"^\s*(-?(?:\d+\.?\d*|\.\d+))\s*(mm|cm|in|pt|pc|px|)\s*$")
_STEP = re.compile(r"(\w+)\s*\(([^)]*)\)")
_MOST_STEPS = 16
_MOST = 1e6
"""Figures beyond this are none: it is a kilometre."""
_MOST_PARENTS = 16
_USUAL = {
    "fill": "solid",
    "fill-color": "#404040",
    "stroke": "solid",
    "stroke-color": "#000000",
    "stroke-width": "0.1mm",
}
"""What a shape looks like of which no style tells; the colours are of no account where they are alone."""


def shapes(root: Element, styles: Element | None) -> Iterator[Shape]:
    """Every shape, in the order in which they are painted."""
    looks = _Looks([each for each in (styles, root) if each is not None])
    for element in root.iter():
        shape = _shape(element, looks)
        if shape is not None:
            yield shape


class _Looks:
    """What styles say of shapes, with the styles that they are made from."""

    def __init__(self, roots: list[Element]) -> None:
        self._said: dict[str, dict[str, str]] = {}
        self._parent: dict[str, str] = {}
        for root in roots:
            for style in root.iter(f"{STYLE}style"):
                name = style.get(f"{STYLE}name") or ""
                self._parent[name] = style.get(f"{STYLE}parent-style-name") or ""
                found: dict[str, str] = {}
                for properties in style.iter(f"{STYLE}graphic-properties"):
                    found |= {key.rpartition("}")[2]: value for key, value in properties.attrib.items()}
                self._said[name] = found

    def of(self, element: Element) -> dict[str, str]:
        """Everything that is said of a shape."""
        name = element.get(f"{DRAW}style-name") or ""
        chain: list[dict[str, str]] = []
        while name in self._said and len(chain) < _MOST_PARENTS:
            chain.append(self._said[name])
            name = self._parent[name]
        found = dict(_USUAL)
        for each in reversed(chain):
            found |= each
        return found


def _shape(element: Element, looks: _Looks) -> Shape | None:
    kind = element.tag.removeprefix(DRAW) if isinstance(element.tag, str) else ""
    if kind == "line":
        return _line(element, looks.of(element))
    w, h = _mm(element, "width"), _mm(element, "height")
    found = _path(element, kind, w, h)
    if found is None:
        return None
    path, fitted, plain = found
    said = looks.of(element)
    return Shape(
        path=path,
        fitted=fitted,
        size=(w, h),
        matrix=_placed(element)[:2],
        fill=_colour(said, "fill", "fill-color"),
        stroke=_colour(said, "stroke", "stroke-color"),
        pen=_length(said["stroke-width"]) or 0.1,
        rule="evenodd",
        words=" ".join("".join(element.itertext()).split()),
        plain=plain,
    )


def _path(element: Element, kind: str, w: float, h: float) -> tuple[str, str, bool] | None:
    """Path data, what brings it into its box, and whether it is a plain box; none for what is no shape."""
    if kind == "rect":
        return box(w, h, _mm(element, "corner-radius", DRAW)), "", True
    if kind in ("ellipse", "circle"):
        return (ellipse(w, h), "", False) if element.get(f"{DRAW}kind", "full") == "full" else None
    if kind in ("path", "polygon", "polyline"):
        data = element.get(f"{SVG}d") or ""
        if kind != "path":
            data = f"M{element.get(f'{DRAW}points') or ''}" + ("Z" if kind == "polygon" else "")
        return data, _fitted(element.get(f"{SVG}viewBox"), w, h), False
    if kind == "custom-shape":
        geometry = element.find(f"{DRAW}enhanced-geometry")
        name = "" if geometry is None else (geometry.get(f"{DRAW}type") or "").removeprefix("ooxml-")
        return named(name, w, h), "", name in ("rectangle", "rect", "round-rectangle", "roundRect")
    return None


def _line(element: Element, said: dict[str, str]) -> Shape:
    x1, y1, x2, y2 = (_mm(element, name) for name in ("x1", "y1", "x2", "y2"))
    low_x, low_y = min(x1, x2), min(y1, y2)
    return Shape(
        path=f"M{x1 - low_x:g} {y1 - low_y:g}L{x2 - low_x:g} {y2 - low_y:g}",
        fitted="",
        size=(abs(x2 - x1), abs(y2 - y1)),
        matrix=moved(low_x, low_y)[:2],
        fill="",
        stroke=_colour(said, "stroke", "stroke-color"),
        pen=_length(said["stroke-width"]) or 0.1,
    )


def _fitted(view: str | None, w: float, h: float) -> str:
    """What brings a path's own measures into its box (§19.570)."""
    figures = [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", view or "")][:4]
    if len(figures) < 4 or not figures[2] or not figures[3] or max(map(abs, figures)) > _MOST:
        return ""
    x, y, wide, high = figures
    return f"scale({w / wide:.9g} {h / high:.9g}) translate({-x:g} {-y:g})"


def _placed(element: Element) -> Floats:
    """From a box with its corner at 0, 0 onto the page: its place, or what it is put through (§19.228)."""
    matrix = moved(_mm(element, "x"), _mm(element, "y"))
    for name, words in _STEP.findall(element.get(f"{DRAW}transform") or "")[:_MOST_STEPS]:
        parts = words.replace(",", " ").split()
        matrix = _step(name, parts) @ matrix
    return np.asarray(matrix)


def _step(name: str, parts: list[str]) -> Floats:
    values = [_length(each) for each in parts]
    if name == "translate" and values:
        return moved(values[0], values[1] if len(values) > 1 else 0.0)
    if name == "scale" and values:
        return stretched(values[0] or 1.0, values[-1] or 1.0)
    if name == "rotate" and values:  # counter-clockwise, in radians
        return turned(-values[0])
    if name == "skewX" and values:
        return np.array([[1.0, math.tan(-values[0]), 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    return np.eye(3)


def _colour(said: dict[str, str], kind: str, colour: str) -> str:
    if said[kind] in ("none", "bitmap"):
        return ""
    return said[colour] if re.fullmatch(r"#[0-9a-fA-F]{6}", said[colour]) else "#000000"


def _mm(element: Element, name: str, space: str = SVG) -> float:
    return _length(element.get(f"{space}{name}") or "")


def _length(words: str) -> float:
    """Millimetres; 0 for what is no length."""
    found = _LENGTH.match(words)
    length = float(found[1]) * _UNITS[found[2]] if found else 0.0
    return length if abs(length) <= _MOST else 0.0
