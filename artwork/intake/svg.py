"""SVG → reading."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from artwork.errors import EngineError
from artwork.intake import likeness
from artwork.intake.finishing import Drawing
from artwork.intake.inked import Bytes as Pixels
from artwork.intake.paths import Matrix
from artwork.intake.raster import read_picture
from artwork.intake.shaping import PART, Otherwise, as_shapes
from artwork.intake.svg_picture import LOOK_SIDE, SIDE, drawn, holds_picture, refuse_large_pictures
from artwork.intake.svg_place import Place
from artwork.intake.svg_shapes import Port
from artwork.intake.svg_style import INHERITED
from artwork.intake.svg_tree import parse_tree
from artwork.intake.svg_units import length, millimetres, view_box
from artwork.intake.svg_views import view
from artwork.intake.svg_walk import Walk
from artwork.intake.values import Limits, Reading, Wishes

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
    otherwise = Otherwise(picture_reason) if wishes.crop is None else PART
    if not picture_reason:
        drawing.show_only(wishes.crop)
        picture = None if drawing.page is None else _picture(root, right, -low, wishes)
        taken = as_shapes(drawing, kind, wishes, limits, picture)
        if isinstance(taken, Reading):
            return taken
        otherwise = taken
    drawing.remarks = [remark for remark in drawing.remarks if remark.code not in DRAWN_IN_PICTURE]
    message = f"{otherwise.reason} It was read as a picture and traced."
    drawing.remark("read-as-picture", message, otherwise.severity)
    side = SIDE if holds_picture(root) else LOOK_SIDE
    stated = None if drawing.stated_mm is None else drawing.stated_mm * max(right, -low) / side
    painted = drawn(root, right, -low, side).cropped(wishes.crop)
    inked = None if otherwise.ink is None else otherwise.ink(painted.on_white)
    return read_picture(painted, drawing.remarks, kind, wishes, limits, stated_mm=stated, inked=inked)


def _picture(root: Element, width: float, height: float, wishes: Wishes) -> Pixels | None:
    """What resvg draws, on white; ``None`` where it draws nothing to hold a reading against."""
    side = likeness.SIDE if wishes.crop is None else LOOK_SIDE
    try:
        return drawn(root, width, height, side).cropped(wishes.crop).on_white
    except EngineError as refusal:
        if refusal.code == "crop-too-small":
            raise
        return None


def _drawn(root: Element, limits: Limits) -> tuple[Drawing, str]:
    """All marks, in the root view's units, y upwards; and why they do not tell all, if they do not."""
    drawing = Drawing()
    walk = Walk(root, drawing, limits)
    if walk.styles.reaches_out:
        drawing.remark("outside-reference", "The drawing refers to another file, which was not fetched.")
    box = view_box(root.get("viewBox"))
    if box is not None and (box[2] <= 0 or box[3] <= 0):
        raise EngineError(
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
    drawing.look_beside_the_page()
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
