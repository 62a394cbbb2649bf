"""DXF entities → paths and painted areas."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import ezdxf.path
import numpy as np

from artwork.intake.marks import BLACK, Area, Colour, Mark
from artwork.intake.paths import IDENTITY, Builder, Matrix, Path
from artwork.intake.stroking import Stroke, stroked
from artwork.intake.svg_tree import nested_too_deep, too_many_commands, too_many_elements
from artwork.intake.values import Limits

_LEFT_OUT = {
    "TEXT": "text", "MTEXT": "text", "ATTRIB": "text", "ATTDEF": "text", "IMAGE": "picture",
    "OLE2FRAME": "picture", "DIMENSION": "annotation", "LEADER": "annotation", "MULTILEADER": "annotation",
    "TOLERANCE": "annotation",
    "3DSOLID": "solid", "BODY": "solid", "REGION": "solid", "SURFACE": "solid", "MESH": "solid",
}  # fmt: skip
_SAYING: dict[str, Callable[[Any], object]] = {
    "TEXT": lambda text: text.dxf.get("text", ""),
    "MTEXT": lambda text: text.plain_text(),
}
"""What kinds of text say."""
_REMARKS = {
    "text": (
        "text-left-out",
        "The drawing holds text that is still text; its font is not in the file, so it was left out. "
        "Turn the text into lines (explode it) and export it again.",
    ),
    "picture": ("picture-left-out", "A picture in the drawing was left out; only its lines were taken."),
    "annotation": ("annotation-left-out", "Dimensions and notes were left out."),
    "solid": ("solids-left-out", "Three-dimensional bodies were left out; send their outline as lines."),
}
_PATTERNED = (
    "pattern-filled",
    "An area that is hatched with a pattern of lines was taken as a filled area. "
    "If the lines themselves are the art, turn the hatch into lines (explode it) and export it again.",
)
_FULL = 2 * math.pi
_CUBIC = 3
_FINER = 8
_SAME = 1e-9
_ROUND = 9
"""Decimals (of the coordinates) to which two lines must agree to be the same line drawn twice."""


@dataclass(eq=False)
class Gathered:
    """What a drawing holds: closed loops, open lines, filled areas, remarks on what was left out, and its text."""

    loops: list[Path] = field(default_factory=list)
    lines: list[Path] = field(default_factory=list)
    fills: list[Mark] = field(default_factory=list)
    remarks: dict[str, str] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)
    duplicates: int = 0


def gather(document: Any, limits: Limits) -> Gathered:
    """Everything in model space, blocks unfolded."""
    gathering = _Gathering(document, limits)
    gathering.each(document.modelspace(), 0, frozenset())
    return gathering.found


class _Gathering:
    def __init__(self, document: Any, limits: Limits) -> None:
        self.found = Gathered()
        self._limits = limits
        self._elements = self._commands = 0
        self._seen: set[bytes] = set()
        self._hidden = {
            layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()
        } | {"defpoints"}

    def each(self, entities: Iterable[Any], depth: int, within: frozenset[str]) -> None:
        if depth > self._limits.nesting:
            raise nested_too_deep(self._limits)
        for entity in entities:
            self._elements += 1
            if self._elements > self._limits.elements:
                raise too_many_elements(self._limits)
            if entity.dxf.get("layer", "0").lower() in self._hidden or entity.dxf.get("invisible", 0):
                continue
            kind = entity.dxftype()
            if kind == "INSERT":
                self._insert(entity, depth, within)
            elif kind in _MAKERS:
                _MAKERS[kind](self, entity)
            elif kind in _LEFT_OUT:
                code, message = _REMARKS[_LEFT_OUT[kind]]
                self.found.remarks[code] = message
                if kind in _SAYING:
                    self.found.words.append(str(_SAYING[kind](entity)))

    def _insert(self, insert: Any, depth: int, within: frozenset[str]) -> None:
        name = insert.dxf.name.lower()
        if name in within:  # a block that holds itself
            raise nested_too_deep(self._limits)
        if insert.mcount * max(len(insert.block() or ()), 1) > self._limits.elements:
            raise too_many_elements(self._limits)
        for single in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self.each(single.virtual_entities(), depth + 1, within | {name})
        for attribute in insert.attribs:
            self.each([attribute], depth + 1, within)

    def _add(self, builder: Builder, entity: Any, closed: bool) -> None:
        """A path in the entity's own plane, taken to the drawing's."""
        if closed:
            builder.close()
        self._keep(builder.path().moved(_plane(entity)), closed)

    def _keep(self, path: Path, closed: bool) -> None:
        self._commands += len(path.verbs)
        if self._commands > self._limits.commands:
            raise too_many_commands(self._limits)
        if path.empty:
            return
        keys = {each.points.round(_ROUND).tobytes() for each in (path, Path(path.verbs, path.points[::-1]))}
        if keys & self._seen:
            self.found.duplicates += 1
            return
        self._seen |= keys
        (self.found.loops if closed else self.found.lines).append(path)

    def line(self, entity: Any) -> None:
        builder = Builder()
        builder.move(entity.dxf.start.x, entity.dxf.start.y)
        builder.line(entity.dxf.end.x, entity.dxf.end.y)
        self._keep(builder.path(), closed=False)

    def circle(self, entity: Any) -> None:
        builder = Builder()
        centre, radius = entity.dxf.center, entity.dxf.radius
        builder.ellipse(centre.x, centre.y, radius, radius)
        self._add(builder, entity, closed=True)

    def arc(self, entity: Any) -> None:
        builder = Builder()
        centre, radius = entity.dxf.center, entity.dxf.radius
        start = math.radians(entity.dxf.start_angle)
        sweep = (math.radians(entity.dxf.end_angle) - start) % _FULL or _FULL
        builder.move(centre.x + radius * math.cos(start), centre.y + radius * math.sin(start))
        builder.turned_arc((centre.x, centre.y), (radius, 0.0), (0.0, radius), start, sweep)
        self._add(builder, entity, closed=math.isclose(sweep, _FULL))

    def ellipse(self, entity: Any) -> None:
        centre, major, minor = entity.dxf.center, entity.dxf.major_axis, entity.minor_axis
        start = entity.dxf.start_param
        sweep = (entity.dxf.end_param - start) % _FULL or _FULL
        builder = Builder()
        cos, sin = math.cos(start), math.sin(start)
        builder.move(centre.x + major.x * cos + minor.x * sin, centre.y + major.y * cos + minor.y * sin)
        builder.turned_arc((centre.x, centre.y), (major.x, major.y), (minor.x, minor.y), start, sweep)
        closed = math.isclose(sweep, _FULL)
        if closed:
            builder.close()
        self._keep(builder.path(), closed)  # an ellipse is given in the drawing's own coordinates

    def polyline(self, entity: Any) -> None:
        if entity.dxftype() == "POLYLINE" and not entity.is_2d_polyline:
            if entity.is_3d_polyline:
                self._pieces(ezdxf.path.make_path(entity), entity.is_closed)
            return
        if entity.dxftype() == "LWPOLYLINE":
            corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
            closed, width = bool(entity.closed), float(entity.dxf.get("const_width", 0))
        else:
            corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0)) for v in entity.vertices]
            closed, width = bool(entity.is_closed), float(entity.dxf.get("default_start_width", 0))
        if len(corners) < 2:
            return
        builder = Builder()
        bulged(builder, corners, closed)
        if width > 0:
            area = stroked(builder.path(), Stroke(width)).moved(_plane(entity))
            self.found.fills.append(Mark(area, BLACK))
            return
        self._add(builder, entity, closed)

    def spline(self, entity: Any) -> None:
        builder = Builder()
        spline_path(builder, entity.construction_tool())
        ends = np.array(builder.points[:2]) - builder.points[-2:]
        closed = bool(entity.closed) or float(np.abs(ends).max()) <= _SAME * float(np.ptp(builder.points))
        if closed:
            builder.close()
        self._keep(builder.path(), closed)

    def _pieces(self, path: Any, closed: bool) -> None:
        builder = Builder()
        traced(builder, path)
        ends = path.start.isclose(path.end)
        if closed or ends:
            builder.close()
        self._keep(builder.path(), closed or ends)

    def hatch(self, entity: Any) -> None:
        """Solid or patterned, a hatch says that its inside is filled; lines of a pattern are mostly a sign for that."""
        if entity.has_pattern_fill:
            code, message = _PATTERNED
            self.found.remarks[code] = message
        builder = Builder()
        for boundary in entity.paths.rendering_paths(entity.dxf.hatch_style):
            if hasattr(boundary, "vertices"):
                corners = [(v[0], v[1], v[2] if len(v) > 2 else 0.0) for v in boundary.vertices]
                if len(corners) > 1:
                    bulged(builder, corners, closed=True)
            else:
                _edges(builder, boundary.edges)
            builder.close()
        path = builder.path().moved(_plane(entity))
        self._commands += len(path.verbs)
        if not path.empty:
            self.found.fills.append(Mark(Area(path, "evenodd"), _colour(entity)))

    def solid(self, entity: Any) -> None:
        builder = Builder()
        corners = [entity.dxf.get(name) for name in ("vtx0", "vtx1", "vtx3", "vtx2")]
        corners = [corner for corner in corners if corner is not None]
        for number, corner in enumerate(corners):
            (builder.line if number else builder.move)(corner.x, corner.y)
        builder.close()
        self.found.fills.append(Mark(Area(builder.path().moved(_plane(entity))), _colour(entity)))


_MAKERS: dict[str, Callable[[_Gathering, Any], None]] = {
    "LINE": _Gathering.line,
    "CIRCLE": _Gathering.circle,
    "ARC": _Gathering.arc,
    "ELLIPSE": _Gathering.ellipse,
    "LWPOLYLINE": _Gathering.polyline,
    "POLYLINE": _Gathering.polyline,
    "SPLINE": _Gathering.spline,
    "HELIX": _Gathering.spline,
    "HATCH": _Gathering.hatch,
    "MPOLYGON": _Gathering.hatch,
    "SOLID": _Gathering.solid,
    "TRACE": _Gathering.solid,
}


def spline_path(builder: Builder, spline: Any) -> None:
    """A B-spline, from its first point: each knot span is a cubic by its end points and end derivatives.

    That is exact up to degree 3; higher degrees and weights are cut finer, to an error of fourth order.
    """
    knots = np.array(spline.knots())
    spans = np.unique(knots[spline.degree : len(knots) - spline.degree])
    if spline.degree > _CUBIC or spline.is_rational:
        steps = np.arange(_FINER) / _FINER
        spans = np.append((spans[:-1, None] + np.diff(spans)[:, None] * steps).ravel(), spans[-1])
    found = [[(v.x, v.y) for v in pair] for pair in spline.derivatives(spans.tolist(), 1)]
    builder.move(*found[0][0])
    for ((x, y), (u, v)), ((x1, y1), (u1, v1)), h in zip(found, found[1:], np.diff(spans) / 3, strict=False):
        builder.cubic(x + h * u, y + h * v, x1 - h * u1, y1 - h * v1, x1, y1)


def bulged(builder: Builder, corners: list[tuple[float, float, float]], closed: bool) -> None:
    """A polyline with bulges: tan of a quarter of each arc's angle, counter-clockwise positive."""
    x, y, bulge = corners[0]
    builder.move(x, y)
    for x1, y1, following in [*corners[1:], *(corners[:1] if closed else ())]:
        if bulge == 0 or (x, y) == (x1, y1):
            builder.line(x1, y1)
        else:
            _bulge(builder, (x, y), (x1, y1), bulge)
        x, y, bulge = x1, y1, following
    if closed:
        builder.close()


def _bulge(builder: Builder, start: tuple[float, float], end: tuple[float, float], bulge: float) -> None:
    sweep = 4 * math.atan(bulge)
    dx, dy = end[0] - start[0], end[1] - start[1]
    # the centre lies off the chord's middle by chord/2 · cot(sweep/2), to the left for an arc under 180°
    off = (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (start[0] + end[0]) / 2 - dy * off, (start[1] + end[1]) / 2 + dx * off
    radius = math.hypot(start[0] - cx, start[1] - cy)
    angle = math.atan2(start[1] - cy, start[0] - cx)
    builder.turned_arc((cx, cy), (radius, 0.0), (0.0, radius), angle, sweep)
    builder.points[-2:] = end
    builder.x, builder.y = end


def _edges(builder: Builder, edges: Iterable[Any]) -> None:
    """A hatch boundary of separate edges, each drawn on from where the one before ended."""
    begun = False
    for edge in edges:
        name = type(edge).__name__
        if name == "LineEdge":
            points = [(edge.start.x, edge.start.y), (edge.end.x, edge.end.y)]
            (builder.line if begun else builder.move)(*points[0])
            builder.line(*points[1])
        elif name in ("ArcEdge", "EllipseEdge"):
            _arc_edge(builder, edge, begun)
        else:
            spline = Builder()
            spline_path(spline, edge.construction_tool())
            (builder.line if begun else builder.move)(*spline.points[:2])
            for at in range(2, len(spline.points), 6):
                builder.cubic(*spline.points[at : at + 6])
        begun = True


def _arc_edge(builder: Builder, edge: Any, begun: bool) -> None:
    centre = (edge.center.x, edge.center.y)
    if type(edge).__name__ == "ArcEdge":
        major, minor = (edge.radius, 0.0), (0.0, edge.radius)
        start, end = math.radians(edge.start_angle), math.radians(edge.end_angle)
    else:
        major = (edge.major_axis.x, edge.major_axis.y)
        minor = (-major[1] * edge.ratio, major[0] * edge.ratio)
        start, end = edge.start_param, edge.end_param
    sweep = (end - start) % _FULL or _FULL
    if not edge.ccw:
        start, sweep = start + sweep, -sweep
    first = (
        centre[0] + major[0] * math.cos(start) + minor[0] * math.sin(start),
        centre[1] + major[1] * math.cos(start) + minor[1] * math.sin(start),
    )
    (builder.line if begun else builder.move)(*first)
    builder.turned_arc(centre, major, minor, start, sweep)


def traced(builder: Builder, path: Any, begun: bool = False) -> None:
    """One of ezdxf's own paths, appended."""
    if not begun:
        builder.move(path.start.x, path.start.y)
    for command in path.commands():
        kind = command.type.name
        if kind == "LINE_TO":
            builder.line(command.end.x, command.end.y)
        elif kind == "CURVE3_TO":
            builder.quadratic(command.ctrl.x, command.ctrl.y, command.end.x, command.end.y)
        elif kind == "CURVE4_TO":
            a, b, end = command.ctrl1, command.ctrl2, command.end
            builder.cubic(a.x, a.y, b.x, b.y, end.x, end.y)
        else:
            builder.move(command.end.x, command.end.y)


def _plane(entity: Any) -> Matrix:
    """From the entity's own plane to the drawing's, seen from above."""
    if entity.dxf.get("extrusion") is None:
        return IDENTITY
    ocs = entity.ocs()
    if not ocs.transform:
        return IDENTITY
    ux, uy = ocs.to_wcs((1, 0, 0)), ocs.to_wcs((0, 1, 0))
    return (ux.x, ux.y, uy.x, uy.y, 0.0, 0.0)


def _colour(entity: Any) -> Colour:
    """The entity's true colour; the numbered ones are drawn black, as white paper shows them."""
    rgb = entity.rgb
    return BLACK if rgb is None else (rgb[0] / 255, rgb[1] / 255, rgb[2] / 255)
