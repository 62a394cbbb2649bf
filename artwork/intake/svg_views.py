"""SVG elements that lead elsewhere: groups, views within the view, references, choices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from xml.etree.ElementTree import Element

from artwork.intake.marks import Area
from artwork.intake.paths import Builder, matmul
from artwork.intake.svg_painter import Painter
from artwork.intake.svg_place import Place
from artwork.intake.svg_shapes import Port
from artwork.intake.svg_tree import href, local_name
from artwork.intake.svg_units import length, view_box, view_map


def view(
    walk: Painter, element: Element, place: Place, width: float, height: float, *, whole: bool = False
) -> None:
    """What is in an ``svg`` or ``symbol`` element, shown in a port of the given size.

    Args:
        whole: it is the whole drawing, which ends at its page (:mod:`artwork.intake.page_edge`).
    """
    if width <= 0 or height <= 0:
        return
    if not whole and place.style.get("overflow", "hidden") not in ("visible", "auto"):
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
    walk.each(element, place)


def _svg(walk: Painter, element: Element, place: Place) -> None:
    """A view within the view."""
    w = length(element.get("width", "100%"), place.port.width)
    h = length(element.get("height", "100%"), place.port.height)
    x, y = length(element.get("x"), place.port.width), length(element.get("y"), place.port.height)
    view(walk, element, replace(place, matrix=matmul(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))), w, h)


def _use(walk: Painter, element: Element, place: Place) -> None:
    reference = href(element)
    if reference and not reference.startswith("#"):
        walk.drawing.remark("outside-reference", "The drawing refers to another file, which was not fetched.")
        return
    target = walk.ids.get(reference[1:])
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
        walk.visit(target, place)
        return
    inner = walk.entered(target, place, walk.styles.of(target, place.style))
    if inner is None:
        return
    size = [
        length(element.get(side) or target.get(side) or "100%", whole)
        for side, whole in (("width", place.port.width), ("height", place.port.height))
    ]
    view(walk, target, inner, *size)


def _switch(walk: Painter, element: Element, place: Place) -> None:
    """The first child that asks for nothing this reader lacks."""
    for child in element:
        asks = child.get("requiredExtensions") is not None or local_name(child.tag) == "foreignObject"
        if local_name(child.tag) and not asks:
            walk.visit(child, place)
            return


def _group(walk: Painter, element: Element, place: Place) -> None:
    walk.each(element, place)


ENTRIES: dict[str, Callable[[Painter, Element, Place], None]] = {
    "g": _group,
    "a": _group,
    "svg": _svg,
    "use": _use,
    "switch": _switch,
}
"""What to do in elements that hold or show others."""
