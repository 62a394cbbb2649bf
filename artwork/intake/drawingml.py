"""Shapes of DrawingML (ECMA-376 part 1, §20.1): own outlines and presets, groups, colours of the theme."""

from __future__ import annotations

import math
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import numpy as np

from artwork.curves import Floats
from artwork.intake.office_shapes import Shape, moved, named, stretched, turned

A = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
MM = 1 / 36_000
"""Millimetres of one English metric unit (§20.1.2.1)."""
_TURN = 60_000
"""Parts of a degree."""
_PEN = 9525
_MOST = 1e10
"""Figures beyond this are none: it is 278 m."""
_MOST_STRETCHED = 1000.0
"""Nor is a group drawn so many times as large as its own measures."""
_ALIASES = {"tx1": "dk1", "bg1": "lt1", "tx2": "dk2", "bg2": "lt2"}
_PLAIN = {"dk1": "#000000", "lt1": "#ffffff"}
_ACCENT = "#404040"
"""A theme's colour where the file has no theme."""
_UNTHEMED = "#000000"


def shapes(root: Element, theme: Element | None) -> Iterator[Shape]:
    """Every shape, in the order in which they are painted."""
    yield from _walk(root, np.eye(3), _Colours(theme))


class _Colours:
    """Colours by the names that a theme gives them."""

    def __init__(self, theme: Element | None) -> None:
        self._named: dict[str, str] = {}
        scheme = None if theme is None else next(theme.iter(f"{A}clrScheme"), None)
        for each in [] if scheme is None else scheme:
            for colour in each:
                value = colour.get("lastClr") or colour.get("val") or ""
                self._named[_local(each)] = f"#{value}" if _is_hex(value) else _UNTHEMED

    def of(self, parent: Element | None) -> str:
        """The colour that an element holds; empty where it holds none."""
        for colour in [] if parent is None else parent:
            value = colour.get("val") or ""
            if _local(colour) == "srgbClr" and _is_hex(value):
                return f"#{value}"
            if _local(colour) == "sysClr":
                last = colour.get("lastClr") or ""
                return f"#{last}" if _is_hex(last) else _UNTHEMED
            if _local(colour) == "schemeClr":
                name = _ALIASES.get(value, value)
                return self._named.get(name, _PLAIN.get(name, _ACCENT))
        return ""


def _walk(parent: Element, matrix: Floats, colours: _Colours) -> Iterator[Shape]:
    for child in parent:
        kind = _local(child)
        if kind == "Fallback":  # what older programs show instead of the choice beside it
            continue
        if kind in ("grpSp", "wgp"):
            yield from _walk(child, matrix @ _group(child), colours)
        elif kind in ("sp", "wsp", "cxnSp"):
            shape = _shape(child, matrix, colours)
            if shape is not None:
                yield shape
        elif kind == "anchor":  # of a text document: from the column and the paragraph
            yield from _walk(child, matrix @ moved(*_anchored(child)), colours)
        else:
            yield from _walk(child, matrix, colours)


def _anchored(anchor: Element) -> tuple[float, float]:
    x, y = (_found(_found(anchor, name), "posOffset") for name in ("positionH", "positionV"))
    return (0.0 if x is None else _number(x.text)) * MM, (0.0 if y is None else _number(y.text)) * MM


def _group(group: Element) -> Floats:
    """From a group's inner measures to those around it."""
    frame = _found(_found(group, "grpSpPr"), "xfrm")
    if frame is None:
        return np.eye(3)
    x, y, w, h = _frame(frame, "off", "ext")
    inner_x, inner_y, inner_w, inner_h = _frame(frame, "chOff", "chExt")
    scale = stretched(_share(w, inner_w), _share(h, inner_h))
    return _placed(frame, x, y, w, h) @ scale @ moved(-inner_x, -inner_y)


def _share(outer: float, inner: float) -> float:
    found = outer / inner if inner else 1.0
    return found if 0 < abs(found) <= _MOST_STRETCHED else 1.0


def _placed(frame: Element, x: float, y: float, w: float, h: float) -> Floats:
    """From a box with its corner at 0, 0 to where its frame puts it."""
    turn = math.radians(_number(frame.get("rot")) / _TURN)
    flip = stretched(
        -1 if frame.get("flipH") in ("1", "true") else 1, -1 if frame.get("flipV") in ("1", "true") else 1
    )
    return np.asarray(moved(x + w / 2, y + h / 2) @ turned(turn) @ flip @ moved(-w / 2, -h / 2))


def _frame(frame: Element, corner: str, extent: str) -> tuple[float, float, float, float]:
    off, ext = _found(frame, corner), _found(frame, extent)
    x, y = (0.0, 0.0) if off is None else (_number(off.get("x")) * MM, _number(off.get("y")) * MM)
    w, h = (0.0, 0.0) if ext is None else (_number(ext.get("cx")) * MM, _number(ext.get("cy")) * MM)
    return x, y, w, h


def _shape(element: Element, matrix: Floats, colours: _Colours) -> Shape | None:
    looks = _found(element, "spPr")
    frame = _found(looks, "xfrm")
    if looks is None or frame is None:
        return None
    x, y, w, h = _frame(frame, "off", "ext")
    own, preset = _found(looks, "custGeom"), _found(looks, "prstGeom")
    name = "" if preset is None else preset.get("prst") or ""
    path = _own_path(own, w, h) if own is not None else named(name, w, h, _adjusted(preset))
    style = _found(element, "style")
    fill = "" if _local(element) == "cxnSp" or name == "line" else _fill(looks, style, colours)
    stroke, pen = _pen(looks, style, colours)
    return Shape(
        path=path,
        fitted="",
        size=(w, h),
        matrix=(matrix @ _placed(frame, x, y, w, h))[:2],
        fill=fill,
        stroke=stroke,
        pen=pen,
        words=" ".join(filter(None, (each.text for each in _texts(element)))),
        plain=name in ("rect", "roundRect"),
    )


def _texts(element: Element) -> Iterator[Element]:
    return (each for each in element.iter() if _local(each) == "t")


def _adjusted(preset: Element | None) -> float | None:
    """The first adjustment of a preset, as a share."""
    guide = None if preset is None else next(preset.iter(f"{A}gd"), None)
    words = "" if guide is None else guide.get("fmla") or ""
    return _number(words.removeprefix("val ")) / 100_000 if words.startswith("val ") else None


def _fill(looks: Element, style: Element | None, colours: _Colours) -> str:
    for child in looks:
        if _local(child) == "solidFill":
            return colours.of(child) or _UNTHEMED
        if _local(child) in ("noFill", "blipFill"):
            return ""
        if _local(child) in ("gradFill", "pattFill"):
            inner = next((colours.of(each) for each in child.iter() if colours.of(each)), "")
            return inner or _UNTHEMED
    return _styled(style, "fillRef", colours)


def _pen(looks: Element, style: Element | None, colours: _Colours) -> tuple[str, float]:
    line = _found(looks, "ln")
    if line is None:
        return _styled(style, "lnRef", colours), _PEN * MM
    width = _number(line.get("w"), _PEN) * MM
    if _found(line, "noFill") is not None:
        return "", 0.0
    return colours.of(_found(line, "solidFill")) or _styled(style, "lnRef", colours), width


def _styled(style: Element | None, name: str, colours: _Colours) -> str:
    """The colour of a shape's style; number 0 of it is none."""
    reference = _found(style, name)
    if reference is None or reference.get("idx") in (None, "0"):
        return ""
    return colours.of(reference) or _UNTHEMED


def _own_path(own: Element, w: float, h: float) -> str:
    """Path data of an outline of its own; empty where it is told by formulas that are not followed."""
    said = []
    for path in own.iter(f"{A}path"):
        scale = (w / (_number(path.get("w")) or w / MM or 1.0), h / (_number(path.get("h")) or h / MM or 1.0))
        pen = _PathPen(scale, (w, h))
        for command in path:
            if not pen.draw(command):
                return ""
        said.append("".join(pen.said))
    return "".join(said)


class _PathPen:
    """Follows the commands of one path (§20.1.9)."""

    def __init__(self, scale: tuple[float, float], size: tuple[float, float]) -> None:
        self.said: list[str] = []
        self._scale, self._at = scale, (0.0, 0.0)
        w, h = size[0] / scale[0] if scale[0] else 0.0, size[1] / scale[1] if scale[1] else 0.0
        self._guides = {"l": 0.0, "t": 0.0, "r": w, "b": h, "w": w, "h": h, "hc": w / 2, "vc": h / 2,
                        "wd2": w / 2, "hd2": h / 2}  # fmt: skip

    def draw(self, command: Element) -> bool:
        kind = _local(command)
        if kind == "close":
            self.said.append("Z")
            return True
        if kind == "arcTo":
            return self._arc(command)
        letter = {"moveTo": "M", "lnTo": "L", "cubicBezTo": "C", "quadBezTo": "Q"}.get(kind)
        points = [self._point(each) for each in command]
        if letter is None or not points or None in points:
            return False
        placed = [each for each in points if each is not None]
        self._at = placed[-1]
        self.said.append(letter + " ".join(f"{x:.6g} {y:.6g}" for x, y in placed))
        return True

    def _point(self, point: Element) -> tuple[float, float] | None:
        x, y = (self._length(point.get(name)) for name in ("x", "y"))
        return None if x is None or y is None else (x * self._scale[0], y * self._scale[1])

    def _length(self, words: str | None) -> float | None:
        if words in self._guides:
            return self._guides[words]
        found = _number(words, math.nan)
        return None if math.isnan(found) else found

    def _arc(self, command: Element) -> bool:
        """A part of an ellipse, from where the pen is."""
        wide, high = (self._length(command.get(name)) for name in ("wR", "hR"))
        if wide is None or high is None:
            return False
        rx, ry = wide * self._scale[0], high * self._scale[1]
        start, swing = (_number(command.get(name)) / _TURN for name in ("stAng", "swAng"))
        swing = max(min(swing, 360.0), -360.0)
        for part in (0.5, 1.0):
            first = _on_ellipse(rx, ry, start)
            last = _on_ellipse(rx, ry, start + part * swing)
            x, y = self._at[0] + last[0] - first[0], self._at[1] + last[1] - first[1]
            self.said.append(f"A{rx:.6g} {ry:.6g} 0 0 {int(swing > 0)} {x:.6g} {y:.6g}")
            if part == 0.5:
                self._at, start, swing = (x, y), start + swing / 2, swing / 2
            else:
                self._at = (x, y)
        return True


def _on_ellipse(rx: float, ry: float, degrees: float) -> tuple[float, float]:
    """Where a ray at that angle from the centre meets an ellipse."""
    x, y = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    far = math.hypot(x / rx if rx else 0.0, y / ry if ry else 0.0) or 1.0
    return x / far, y / far


def _found(parent: Element | None, name: str) -> Element | None:
    """The first child of that local name."""
    return next((each for each in ([] if parent is None else parent) if _local(each) == name), None)


def _local(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _number(words: str | None, otherwise: float = 0.0) -> float:
    try:
        found = float(words) if words else otherwise
    except ValueError:
        return otherwise
    return found if abs(found) <= _MOST else otherwise


def _is_hex(value: str) -> bool:
    return len(value) == 6 and all(each in "0123456789abcdefABCDEF" for each in value)
