"""SVG → reading."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from artwork.intake import likeness
from artwork.intake.finishing import Drawing, finish
from artwork.intake.paths import Matrix
from artwork.intake.raster import read_picture
from artwork.intake.svg_picture import SIDE, drawn, refuse_large_pictures
from artwork.intake.svg_place import Place
from artwork.intake.svg_shapes import Port
from artwork.intake.svg_style import INHERITED
from artwork.intake.svg_tree import parse_tree
from artwork.intake.svg_units import length, millimetres, view_box
from artwork.intake.svg_views import view
from artwork.intake.svg_walk import Walk
from artwork.intake.values import Limits, Reading, Wishes
from artwork.refusal import Refusal

DRAWN_IN_PICTURE = {"markers-left-out", "clip-in-clip", "mask-hardened", "gradient-hardened"}
"""Remarks about what was not taken as vectors and is in the picture."""
_PORT = (300.0, 150.0)
"""Size of a view that states none (CSS 2.2 §10.3.2)."""


def read_svg(data: bytes, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """The outline of an SVG's painted shapes."""
    root = parse_tree(data, limits)
    refuse_large_pictures(root, limits)
    drawing, picture_reason = _drawn(root, limits)
    _, low, right, _ = drawing.page or (0.0, -1.0, 1.0, 0.0)
    if not picture_reason:
        reading = finish(drawing, kind, wishes, limits)
        if _alike(reading, drawing, root):
            return reading
        picture_reason = "Another program draws the drawing otherwise than its shapes tell."
    drawing.remarks = [remark for remark in drawing.remarks if remark.code not in DRAWN_IN_PICTURE]
    drawing.remark("read-as-picture", f"{picture_reason} It was read as a picture and traced.")
    stated = None if drawing.stated_mm is None else drawing.stated_mm * max(right, -low) / SIDE
    return read_picture(drawn(root, right, -low), drawing.remarks, kind, wishes, limits, stated_mm=stated)


def _alike(reading: Reading, drawing: Drawing, root: Element) -> bool:
    """Whether resvg draws what was read."""
    _, low, right, _ = drawing.page or (0.0, -1.0, 1.0, 0.0)
    try:
        picture = drawn(root, right, -low, likeness.SIDE)
    except Refusal:
        return True  # nothing to hold it against
    return likeness.likeness(reading, drawing, picture.on_white) >= likeness.ALIKE


def _drawn(root: Element, limits: Limits) -> tuple[Drawing, str]:
    """All marks, in the root view's units, y upwards; and why they do not tell all, if they do not."""
    drawing = Drawing()
    walk = Walk(root, drawing, limits)
    if walk.styles.reaches_out:
        drawing.remark("outside-reference", "The drawing refers to another file, which was not fetched.")
    box = view_box(root.get("viewBox"))
    if box is not None and (box[2] <= 0 or box[3] <= 0):
        raise Refusal(
            "zero-size-view",
            "The drawing's view (viewBox) has no width or no height, so nothing in it shows.",
            "Open it in the program it was drawn in, set the page to the art, and export it again.",
        )
    wide, tall = box[2:] if box else _PORT
    width, height = length(root.get("width"), wide, wide), length(root.get("height"), tall, tall)
    if width <= 0 or height <= 0:
        width, height = wide, tall
    walk.side = max(width, height)
    place = Place(_FLIP, walk.styles.of(root, INHERITED), Port(wide, tall))
    view(walk, root, place, width, height, whole=True)
    drawing.page = (0.0, -height, width, 0.0)
    drawing.stated_mm = _stated(root, width, height)
    return drawing, walk.picture_reason or walk.paints.picture_reason


_FLIP: Matrix = (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)


def _stated(root: Element, width: float, height: float) -> float | None:
    """Millimetres per unit where width or height names a unit of measure."""
    for name, units in (("width", width), ("height", height)):
        stated = millimetres(root.get(name))
        if stated is not None and stated > 0 and units > 0:
            return stated / units
    return None
