"""Walks an SVG tree as a painter would, and gathers what is painted."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from xml.etree.ElementTree import Element

from artwork.intake.colours import WHITE
from artwork.intake.finishing import Drawing
from artwork.intake.marks import BLACK, Area, Colour, Mark, on_paper
from artwork.intake.paths import IDENTITY, Path, determinant, matmul
from artwork.intake.stroking import Stroke, dash_count, stroked
from artwork.intake.svg_clips import clip_areas, mask_areas
from artwork.intake.svg_paint import Paints
from artwork.intake.svg_picture import has_picture
from artwork.intake.svg_place import Place, fraction, rule_of, share_of
from artwork.intake.svg_shapes import SHAPES, shape_path
from artwork.intake.svg_style import Style, Styles
from artwork.intake.svg_text import Text
from artwork.intake.svg_tree import local_name, nested_too_deep, too_many_commands, too_many_elements
from artwork.intake.svg_units import length, transform
from artwork.intake.svg_views import ENTRIES
from artwork.intake.values import Limits

_URL = re.compile(r"""url\(\s*['"]?#([^'")]+)['"]?\s*\)""")
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


class Walk:
    """One document's walk."""

    def __init__(self, root: Element, drawing: Drawing, limits: Limits) -> None:
        self.drawing = drawing
        self.marks: list[Mark] = drawing.marks
        self.styles = Styles(root)
        self._limits = limits
        self.ids: dict[str, Element] = {}
        for element in root.iter():
            if "id" in element.attrib:
                self.ids.setdefault(element.attrib["id"], element)
        self.paints = Paints(self.ids, self.styles, drawing)
        self._text = Text(self.styles.fonts)
        self._elements = self._commands = 0
        self._dashes = 0.0
        self.picture_reason = ""
        """Why the drawing cannot be taken as vectors; empty where it can."""
        self.side = 0.0
        """Larger side of the drawing, once its view is known."""
        self._plain = False
        self.paper = WHITE

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
        here = self.entered(element, place, style)
        if here is None:
            return
        if name in SHAPES:
            path, sound = shape_path(element, name, here.port)
            if not sound:
                self.drawing.remark(
                    "path-cut-short", "A path is damaged; it was taken up to the damaged place."
                )
            self.paint(path, here)
        elif name in ENTRIES:
            ENTRIES[name](self, element, here)
        elif name == "image":
            self._image(element)
        elif name in _LEFT_OUT:
            self.drawing.remark(*_LEFT_OUT[name])
        elif name == "text":
            self._letters(element, here)

    def entered(self, element: Element, place: Place, style: Style) -> Place | None:
        """The place inside the element: its transform, opacity, clip and mask applied. ``None``: hidden."""
        matrix = matmul(place.matrix, transform(style.get("transform")))
        opacity = place.opacity * share_of(style.get("opacity"))
        if determinant(matrix) == 0 or opacity < _INVISIBLE:
            return None
        here = replace(
            place, matrix=matrix, style=style, opacity=opacity, depth=place.depth + 1, clips=place.clips
        )
        for name, made in (("clip-path", clip_areas), ("mask", mask_areas)):
            reference = _URL.search(style.get(name, ""))
            if reference is None:
                continue
            target = self.ids.get(reference[1])
            if target is None or reference[1] in place.used:
                continue
            areas = made(self, target, element, replace(here, used=here.used | {reference[1]}))
            here = replace(here, clips=(*here.clips, areas))
        if style.get("filter", "none") != "none":
            self.drawing.remark("effects-left-out", "Effects such as shadows or blur were left out.")
        return here

    def each(self, elements: Iterable[Element], place: Place) -> None:
        """Paints elements one after another."""
        for element in elements:
            self.visit(element, place)

    def paint(self, path: Path, place: Place) -> None:
        """Fills and strokes a path as its style says."""
        self._count(path)
        style = place.style
        if path.empty or style["visibility"] in ("hidden", "collapse"):
            return
        if self._plain:
            self._add(Area(path.moved(place.matrix), rule_of(style["clip-rule"])), BLACK, place)
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
            self._add(Area(path.moved(place.matrix), rule_of(place.style["fill-rule"])), colour, place)

    def _stroke(self, path: Path, place: Place) -> None:
        colour = self._colour(place, "stroke")
        if colour is None:
            return
        stroke = self._pen(place)
        if stroke.width <= 0:
            return
        fixed = place.style.get("vector-effect") == "non-scaling-stroke"
        self._dashes += dash_count(path, stroke)
        if self._dashes > self._limits.regions:
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
            fraction(style["stroke-miterlimit"], 4.0),
            lengths,
            length(style["stroke-dashoffset"], whole),
        )

    def _colour(self, place: Place, prop: str) -> Colour | None:
        found = self.paints.colour(place.style[prop], place.style)
        if found is None:
            return None
        opacity = found[3] * place.opacity * share_of(place.style[f"{prop}-opacity"])
        return on_paper(found[:3], opacity, self.paper) if opacity >= _INVISIBLE else None

    def _add(self, area: Area, colour: Colour, place: Place) -> None:
        if not area.path.empty:
            self.marks.append(Mark(area, colour, place.clips))

    def _count(self, path: Path) -> None:
        self._commands += len(path.verbs)
        if self._commands > self._limits.commands:
            raise too_many_commands(self._limits)

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
        if self._text.carried:
            self.drawing.remark(
                "text-set",
                f"Text in the drawing was set in {' and '.join(self._text.carried)}, which we carry.",
                "tells",
            )
        if self._text.missing:
            self.drawing.words.append("".join(element.itertext()))
            self.drawing.remark(
                "text-left-out",
                "The drawing holds text that is still text; its font is not in the file, or its letters are "
                "arranged in a way that is not read, so it was left out. Turn the text into outlines (paths) and "
                "export it again, or order the text as lettering: we can set it.",
            )

    def aside(self, gather: Callable[[], object], plain: bool = False) -> list[Mark]:
        """What ``gather`` paints, kept out of the drawing; ``plain``: every shape filled, paint or none."""
        outer, was = self.marks, self._plain
        self.marks, self._plain = [], plain
        try:
            gather()
            return self.marks
        finally:
            self.marks, self._plain = outer, was
