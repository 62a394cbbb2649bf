"""Walks an SVG tree as a painter would, and gathers what is painted."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from artwork.intake.colours import WHITE
from artwork.intake.composing import compose
from artwork.intake.finishing import Drawing
from artwork.intake.marks import Area, Colour, Mark, Rule, on_paper
from artwork.intake.paths import IDENTITY, Builder, Matrix, Path, determinant, matmul, of_contours
from artwork.intake.stroking import Stroke, dash_count, stroked
from artwork.intake.svg_paint import Paints, luminance
from artwork.intake.svg_picture import has_picture
from artwork.intake.svg_shapes import SHAPES, Port, shape_path
from artwork.intake.svg_style import Style, Styles
from artwork.intake.svg_text import Text
from artwork.intake.svg_tree import (
    href,
    local_name,
    nested_too_deep,
    too_many_commands,
    too_many_elements,
)
from artwork.intake.svg_units import length, transform, view_box, view_map
from artwork.intake.values import Limits

_URL = re.compile(r"""url\(\s*['"]?#([^'")]+)['"]?\s*\)""")
BLACK: Colour = (0.0, 0.0, 0.0)
_HALF = 0.5
_FAR = 1e6
_INVISIBLE = 0.05
"""Paint less opaque than this is not there."""
_ASIDE = {
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter",
    "style", "title", "desc", "metadata", "cursor", "font", "font-face", "view", "set", "animate",
    "animateTransform", "animateMotion", "animateColor", "color-profile",
}  # fmt: skip
_LEFT_OUT = {
    "foreignObject": ("foreign-content-left-out", "Content that is not SVG (foreignObject) was left out."),
}


@dataclass(frozen=True)
class Place:
    """Where the walk stands.

    Attributes:
        matrix: from the element's units to the drawing's.
        style: what is inherited.
        port: the view percentages are of.
        opacity: product of the groups' opacities.
        clips: what hides.
        depth: groups and references entered.
        used: ids being referred to, to stop a loop.
    """

    matrix: Matrix
    style: Style
    port: Port
    opacity: float = 1.0
    clips: tuple[tuple[Area, ...], ...] = ()
    depth: int = 0
    used: frozenset[str] = frozenset()


class Walk:
    """One document's walk."""

    def __init__(self, root: Element, drawing: Drawing, limits: Limits) -> None:
        self.drawing = drawing
        self.marks: list[Mark] = drawing.marks
        self.styles = Styles(root)
        self._limits = limits
        self._ids: dict[str, Element] = {}
        for element in root.iter():
            if "id" in element.attrib:
                self._ids.setdefault(element.attrib["id"], element)
        self.paints = Paints(self._ids, self.styles, drawing)
        self._text = Text(self.styles.fonts)
        self._elements = self._commands = 0
        self.picture_reason = ""
        """Why the drawing cannot be taken as vectors; empty where it can."""
        self.side = 0.0
        """Larger side of the drawing, once its view is known."""
        self._plain = False
        self._paper = WHITE

    def visit(self, element: Element, place: Place) -> None:
        """Paints an element and what is in it."""
        name = local_name(element.tag)
        if not name or name in _ASIDE:
            return
        self._elements += 1
        if self._elements > self._limits.elements:
            raise too_many_elements(self._limits)
        if place.depth > self._limits.nesting:
            raise nested_too_deep(self._limits)
        style = self.styles.of(element, place.style)
        if style.get("display") == "none":
            return
        here = self._entered(element, place, style)
        if here is None:
            return
        if name in SHAPES:
            path, sound = shape_path(element, name, here.port)
            if not sound:
                self.drawing.remark(
                    "path-cut-short", "A path is damaged; it was taken up to the damaged place."
                )
            self.paint(path, here)
        elif name in _ENTRIES:
            _ENTRIES[name](self, element, here)
        elif name == "image":
            self._image(element)
        elif name in _LEFT_OUT:
            self.drawing.remark(*_LEFT_OUT[name])
        elif name == "text":
            self._letters(element, here)

    def _entered(self, element: Element, place: Place, style: Style) -> Place | None:
        """The place inside the element: its transform, opacity, clip and mask applied. ``None``: hidden."""
        matrix = matmul(place.matrix, transform(style.get("transform")))
        opacity = place.opacity * _opacity(style.get("opacity"))
        if determinant(matrix) == 0 or opacity < _INVISIBLE:
            return None
        here = replace(
            place, matrix=matrix, style=style, opacity=opacity, depth=place.depth + 1, clips=place.clips
        )
        for name, made in (("clip-path", self._clip), ("mask", self._mask)):
            reference = _URL.search(style.get(name, ""))
            if reference is None:
                continue
            target = self._ids.get(reference[1])
            if target is None or reference[1] in place.used:
                continue
            areas = made(target, element, replace(here, used=here.used | {reference[1]}))
            here = replace(here, clips=(*here.clips, areas))
        if style.get("filter", "none") != "none":
            self.drawing.remark("effects-left-out", "Effects such as shadows or blur were left out.")
        return here

    def children(self, element: Element, place: Place) -> None:
        """Paints what is in a group."""
        self._each(element, place)

    def _each(self, elements: Iterable[Element], place: Place) -> None:
        for element in elements:
            self.visit(element, place)

    def paint(self, path: Path, place: Place) -> None:
        """Fills and strokes a path as its style says."""
        self._count(path)
        style = place.style
        if path.empty or style["visibility"] in ("hidden", "collapse"):
            return
        if self._plain:
            self._add(Area(path.moved(place.matrix), _rule(style["clip-rule"])), BLACK, place)
            return
        actions: list[Callable[[], None]] = [
            lambda: self._fill(path, place),
            lambda: self._stroke(path, place),
        ]
        if style["paint-order"].strip().startswith("stroke"):
            actions.reverse()
        for action in actions:
            action()
        if any(style[m] not in ("none", "") for m in ("marker-start", "marker-mid", "marker-end")):
            self.drawing.remark("markers-left-out", "Arrowheads and other line markers were left out.")

    def _fill(self, path: Path, place: Place) -> None:
        colour = self._colour(place, "fill")
        if colour is not None:
            self._add(Area(path.moved(place.matrix), _rule(place.style["fill-rule"])), colour, place)

    def _stroke(self, path: Path, place: Place) -> None:
        colour = self._colour(place, "stroke")
        stroke = self._pen(place)
        if colour is None or stroke.width <= 0:
            return
        fixed = place.style.get("vector-effect") == "non-scaling-stroke"
        if dash_count(path, stroke) > self._limits.regions:
            raise too_many_commands(self._limits)
        if fixed:
            grown = stroked(path, stroke, place.matrix, self.side)  # as resvg draws such lines
            self.drawing.unlike.append(grown.path.box)
            path, matrix = path.moved(place.matrix), IDENTITY
        else:
            matrix = place.matrix
        area = stroked(path, stroke, matrix, self.side)
        self._add(area, colour, place)

    def _pen(self, place: Place) -> Stroke:
        style, whole = place.style, place.port.diagonal
        dashes = style["stroke-dasharray"]
        lengths = (
            () if dashes == "none" else tuple(length(d, whole) for d in re.split(r"[\s,]+", dashes.strip()))
        )
        if any(d < 0 for d in lengths) or sum(lengths) <= 0:
            lengths = ()
        return Stroke(
            length(style["stroke-width"], whole, 1.0),
            style["stroke-linecap"].strip(),
            style["stroke-linejoin"].strip(),
            _fraction(style["stroke-miterlimit"], 4.0),
            lengths,
            length(style["stroke-dashoffset"], whole),
        )

    def _colour(self, place: Place, prop: str) -> Colour | None:
        found = self.paints.colour(place.style[prop], place.style)
        if found is None:
            return None
        opacity = found[3] * place.opacity * _opacity(place.style[f"{prop}-opacity"])
        return on_paper(found[:3], opacity, self._paper) if opacity >= _INVISIBLE else None

    def _add(self, area: Area, colour: Colour, place: Place) -> None:
        if not area.path.empty:
            self.marks.append(Mark(area, colour, place.clips))

    def _count(self, path: Path) -> None:
        self._commands += len(path.verbs)
        if self._commands > self._limits.commands:
            raise too_many_commands(self._limits)

    def _svg(self, element: Element, place: Place) -> None:
        """A view within the view."""
        w = length(element.get("width", "100%"), place.port.width)
        h = length(element.get("height", "100%"), place.port.height)
        x, y = length(element.get("x"), place.port.width), length(element.get("y"), place.port.height)
        self.view(element, replace(place, matrix=matmul(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))), w, h)

    def view(self, element: Element, place: Place, width: float, height: float) -> None:
        """What is in an ``svg`` or ``symbol`` element, shown in a port of the given size."""
        if width <= 0 or height <= 0:
            return
        if place.style.get("overflow", "hidden") not in ("visible", "auto"):
            builder = Builder()
            builder.rectangle(0, 0, width, height)
            port = Area(builder.path().moved(place.matrix))
            place = replace(place, clips=(*place.clips, (port,)))
        box = view_box(element.get("viewBox"))
        if box is not None:
            if box[2] <= 0 or box[3] <= 0:
                return
            view = view_map(box, width, height, element.get("preserveAspectRatio"))
            place = replace(place, matrix=matmul(place.matrix, view), port=Port(box[2], box[3]))
        else:
            place = replace(place, port=Port(width, height))
        self.children(element, place)

    def _image(self, element: Element) -> None:
        if has_picture(element):
            self.picture_reason = "The drawing holds a picture."
        else:
            self.drawing.remark(
                "outside-reference", "The drawing refers to another file, which was not fetched."
            )

    def _letters(self, element: Element, place: Place) -> None:
        """Text whose font is in the file, as outlines."""
        for letters in self._text.outlines(element, place.style, self.styles):
            self.paint(letters.path, replace(place, style=letters.style))
            if not letters.path.empty:  # resvg is given no fonts
                self.drawing.unlike.append(letters.path.moved(place.matrix).box)
        if self._text.missing:
            self.drawing.remark(
                "text-left-out",
                "The drawing holds text that is still text; its font is not in the file, so it was left out. "
                "Turn the text into outlines (paths) and export it again.",
            )

    def _use(self, element: Element, place: Place) -> None:
        reference = href(element)
        if reference and not reference.startswith("#"):
            self.drawing.remark(
                "outside-reference", "The drawing refers to another file, which was not fetched."
            )
            return
        target = self._ids.get(reference[1:])
        if target is None or reference[1:] in place.used:
            return
        x, y = length(element.get("x"), place.port.width), length(element.get("y"), place.port.height)
        place = replace(
            place,
            matrix=matmul(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y)),
            used=place.used | {reference[1:]},
        )
        name = local_name(target.tag)
        if name not in ("symbol", "svg"):
            self.visit(target, place)
            return
        inner = self._entered(target, place, self.styles.of(target, place.style))
        if inner is None:
            return
        size = [
            length(element.get(side) or target.get(side) or "100%", whole)
            for side, whole in (("width", place.port.width), ("height", place.port.height))
        ]
        self.view(target, inner, *size)

    def _switch(self, element: Element, place: Place) -> None:
        """The first child that asks for nothing this reader lacks."""
        for child in element:
            asks = child.get("requiredExtensions") is not None or local_name(child.tag) == "foreignObject"
            if local_name(child.tag) and not asks:
                self.visit(child, place)
                return

    def _clip(self, target: Element, element: Element, place: Place) -> tuple[Area, ...]:
        """The areas of a ``clipPath``: its shapes' fills, whatever their paint."""
        if local_name(target.tag) != "clipPath":
            return (_all_of_it(place),)
        inner = self._definition(target, element, place, "clipPathUnits")
        if inner is None:
            return ()
        children = [child for child in target if local_name(child.tag) in (*SHAPES, "use")]
        marks = self._aside(lambda: self._each(children, inner), plain=True)
        if any(mark.clips for mark in marks):
            self.drawing.remark("clip-in-clip", "A clip within a clip was not applied.")
        return tuple(mark.area for mark in marks)

    def _mask(self, target: Element, element: Element, place: Place) -> tuple[Area, ...]:
        """The light parts of a ``mask``, with a hard edge."""
        self.drawing.remark(
            "mask-hardened",
            "A mask was taken as a hard edge: half transparent and lighter shows, darker hides.",
        )
        inner = self._definition(target, element, place, "maskContentUnits")
        if local_name(target.tag) != "mask" or inner is None:
            return (_all_of_it(place),)
        outer, self._paper = self._paper, BLACK  # where a mask paints nothing it hides
        painted = self._aside(lambda: self.children(target, replace(inner, opacity=1.0)))
        self._paper = outer
        shown = compose(painted, [luminance(mark.colour) >= _HALF for mark in painted])
        return (Area(of_contours(shown)),)

    def _definition(self, target: Element, element: Element, place: Place, units: str) -> Place | None:
        """Inside a clipPath or mask, whose units are the user's or the box of what it is on."""
        style = self.styles.of(target, place.style)
        matrix = place.matrix
        if target.get(units) == "objectBoundingBox":
            box = self._box(element, place)
            if box is None:
                return None
            matrix = matmul(matrix, (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1]))
        matrix = matmul(matrix, transform(style.get("transform")))
        return replace(place, matrix=matrix, style=style, clips=())

    def _box(self, element: Element, place: Place) -> tuple[float, float, float, float] | None:
        """The box of what an element fills, in its own units."""
        name = local_name(element.tag)
        here = replace(place, matrix=IDENTITY, clips=())

        def gather() -> None:
            if name in SHAPES:
                self.paint(shape_path(element, name, here.port)[0], here)
            elif name in _ENTRIES:
                _ENTRIES[name](self, element, here)

        boxes = [mark.area.path.box for mark in self._aside(gather, plain=True)]
        if not boxes:
            return None
        left, low, right, high = zip(*boxes, strict=True)
        return min(left), min(low), max(right), max(high)

    def _aside(self, gather: Callable[[], object], plain: bool = False) -> list[Mark]:
        """What ``gather`` paints, kept out of the drawing; ``plain``: every shape filled, paint or none."""
        outer, was = self.marks, self._plain
        self.marks, self._plain = [], plain
        try:
            gather()
            return self.marks
        finally:
            self.marks, self._plain = outer, was


_ENTRIES: dict[str, Callable[[Walk, Element, Place], None]] = {
    "g": Walk.children,
    "a": Walk.children,
    "svg": Walk._svg,
    "use": Walk._use,
    "switch": Walk._switch,
}


def _rule(text: str) -> Rule:
    return "evenodd" if text.strip() == "evenodd" else "nonzero"


def _fraction(text: str | None, otherwise: float) -> float:
    """A number or percentage."""
    try:
        value = (text or "").strip()
        return float(value[:-1]) / 100 if value.endswith("%") else float(value)
    except ValueError:
        return otherwise


def _opacity(text: str | None) -> float:
    """0 to 1, and 1 where nothing readable is said."""
    return min(max(_fraction(text, 1.0), 0.0), 1.0)


def _all_of_it(place: Place) -> Area:
    """A clip that hides nothing: what a reference to something that is not a clip amounts to."""
    builder = Builder()
    builder.rectangle(-_FAR, -_FAR, 2 * _FAR, 2 * _FAR)
    return Area(builder.path().moved(place.matrix))
