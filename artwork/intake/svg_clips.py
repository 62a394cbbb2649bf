"""SVG clip paths and masks → the areas outside which nothing is painted."""

from __future__ import annotations

from dataclasses import replace
from xml.etree.ElementTree import Element

from artwork.intake.composing import compose
from artwork.intake.marks import BLACK, Area
from artwork.intake.paths import IDENTITY, Builder, matmul, of_contours
from artwork.intake.svg_paint import luminance
from artwork.intake.svg_painter import Painter
from artwork.intake.svg_place import Place
from artwork.intake.svg_shapes import SHAPES, shape_path
from artwork.intake.svg_tree import local_name
from artwork.intake.svg_units import transform
from artwork.intake.svg_views import ENTRIES

_HALF = 0.5
_FAR = 1e6


def clip_areas(walk: Painter, target: Element, element: Element, place: Place) -> tuple[Area, ...]:
    """The areas of a ``clipPath``: its shapes' fills, whatever their paint."""
    if local_name(target.tag) != "clipPath":
        return (_all_of_it(place),)
    inner = _definition(walk, target, element, place, "clipPathUnits")
    if inner is None:
        return ()
    children = [child for child in target if local_name(child.tag) in (*SHAPES, "use")]
    marks = walk.aside(lambda: walk.each(children, inner), plain=True)
    if any(mark.clips for mark in marks):
        walk.drawing.remark("clip-in-clip", "A clip within a clip was not applied.")
    return tuple(mark.area for mark in marks)


def mask_areas(walk: Painter, target: Element, element: Element, place: Place) -> tuple[Area, ...]:
    """The light parts of a ``mask``, with a hard edge."""
    walk.drawing.remark(
        "mask-hardened",
        "A mask was taken as a hard edge: half transparent and lighter shows, darker hides.",
    )
    inner = _definition(walk, target, element, place, "maskContentUnits")
    if local_name(target.tag) != "mask" or inner is None:
        return (_all_of_it(place),)
    outer, walk.paper = walk.paper, BLACK  # where a mask paints nothing it hides
    painted = walk.aside(lambda: walk.each(target, replace(inner, opacity=1.0)))
    walk.paper = outer
    shown = compose(painted, [luminance(mark.colour) >= _HALF for mark in painted])
    return (Area(of_contours(shown)),)


def _definition(walk: Painter, target: Element, element: Element, place: Place, units: str) -> Place | None:
    """Inside a clipPath or mask, whose units are the user's or the box of what it is on."""
    style = walk.styles.of(target, place.style)
    matrix = place.matrix
    if target.get(units) == "objectBoundingBox":
        box = _box(walk, element, place)
        if box is None:
            return None
        matrix = matmul(matrix, (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1]))
    matrix = matmul(matrix, transform(style.get("transform")))
    return replace(place, matrix=matrix, style=style, clips=())


def _box(walk: Painter, element: Element, place: Place) -> tuple[float, float, float, float] | None:
    """The box of what an element fills, in its own units."""
    name = local_name(element.tag)
    here = replace(place, matrix=IDENTITY, clips=())

    def gather() -> None:
        if name in SHAPES:
            walk.paint(shape_path(element, name, here.port)[0], here)
        elif name in ENTRIES:
            ENTRIES[name](walk, element, here)

    boxes = [mark.area.path.box for mark in walk.aside(gather, plain=True)]
    if not boxes:
        return None
    left, low, right, high = zip(*boxes, strict=True)
    return min(left), min(low), max(right), max(high)


def _all_of_it(place: Place) -> Area:
    """A clip that hides nothing: what a reference to something that is not a clip amounts to."""
    builder = Builder()
    builder.rectangle(-_FAR, -_FAR, 2 * _FAR, 2 * _FAR)
    return Area(builder.path().moved(place.matrix))
