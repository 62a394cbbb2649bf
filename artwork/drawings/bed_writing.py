"""Beds as DXF, by tool and act, and as SVG; both at true size, in millimetres, the same bytes every time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from xml.sax.saxutils import escape

import numpy as np
from ezdxf.layouts.layout import Modelspace
from shapely import Polygon, box

from artwork.curves import Floats
from artwork.drawings.beds import BedLayout, LaidBoard, LaidPart
from artwork.drawings.dxf import add_ring, dxf_bytes, new_drawing
from artwork.drawings.part_shape import without_short
from artwork.drawings.scene import rings
from artwork.drawings.svg import number, path_data, ring_data

BED, BOARD, SCREW_SAFE, KEEP_OUTS, LABELS = "BED", "BOARD", "SCREW_SAFE", "KEEP_OUTS", "LABELS"
MARK, DRILL, CUT, TABS = "V_MARK", "DRILL", "STRAIGHT_CUT_THROUGH", "STRAIGHT_TABS"
LAYERS = {BED: 9, BOARD: 8, SCREW_SAFE: 3, KEEP_OUTS: 1, LABELS: 2, MARK: 6, DRILL: 4, CUT: 5, TABS: 30}
"""Layer → colour number; the layers of what V-bits carve are named after the bit (:func:`carve_layer`)."""
LABEL_HEIGHT = 8.0
_LETTER = 0.72
"""Width of a letter over its height, no less than that of any common typeface."""


def carve_layer(bit: str) -> str:
    """The layer of what one V-bit carves (``"V60_CARVE"``)."""
    return f"{bit.upper().replace('-', '_')}_CARVE"


def bed_dxf(layout: BedLayout) -> bytes:
    """R2010, millimetres; layers by tool and act, holes as circles, extents set."""
    bits = sorted({part.shape.bit for board in layout.boards for part in board.parts if part.shape.bit})
    drawing = new_drawing(LAYERS | {carve_layer(bit): 7 for bit in bits})
    space = drawing.modelspace()
    bed = layout.bed
    _rings(space, [box(0, 0, bed.width, bed.length)], BED)
    _text(space, layout.title, (bed.width + LABEL_HEIGHT, 0.0), LABEL_HEIGHT)
    for board in layout.boards:
        _rings(space, [board.outline], BOARD)
        for x, y in board.screws:
            space.add_circle((x, y), bed.screw_radius, {"layer": SCREW_SAFE})
        for part in board.parts:
            _add_part(space, part)
        _text(space, board.label, (board.x + board.board.width + LABEL_HEIGHT, board.y + 4.0), LABEL_HEIGHT)
    drawing.header["$EXTMIN"] = low = (0.0, 0.0, 0.0)
    drawing.header["$EXTMAX"] = high = (bed.width + 3 * LABEL_HEIGHT, bed.length, 0.0)
    space.reset_extents(low, high)
    return dxf_bytes(drawing)


def _add_part(space: Modelspace, part: LaidPart) -> None:
    shift = np.array([part.x, part.y])
    for line in part.shape.lines:
        add_ring(space, line + shift, carve_layer(part.shape.bit))
    for hole in part.holes:
        space.add_point((hole.x, hole.y), {"layer": MARK})
        space.add_circle((hole.x, hole.y), hole.radius, {"layer": DRILL})
    _rings(space, _moved(part.shape.keep_outs, shift), KEEP_OUTS)
    _rings(space, [part.outline], CUT)
    for tab in part.shape.tabs:
        space.add_lwpolyline((tab + shift).round(6).tolist(), dxfattribs={"layer": TABS})
    place, height = _label(part)
    _text(space, part.part.label, place, height)


def _rings(space: Modelspace, shapes: Iterable[Polygon], layer: str) -> None:
    for shape in shapes:
        for ring in rings(shape):
            add_ring(space, without_short(ring), layer)


def _text(space: Modelspace, words: str, place: tuple[float, float], height: float) -> None:
    attributes = {"layer": LABELS, "insert": place, "rotation": 90}
    space.add_text(words, height=height, dxfattribs=attributes)


def _moved(shapes: Iterable[Polygon], shift: Floats) -> Iterator[Polygon]:
    for shape in shapes:
        shell, *holes = (ring + shift for ring in rings(shape))
        yield Polygon(shell, holes)


def _label(part: LaidPart) -> tuple[tuple[float, float], float]:
    """Where a part's label stands, along its grain, and how high it is."""
    room = 0.9 * part.part.length / (_LETTER * max(len(part.part.label), 1))
    height = min(LABEL_HEIGHT, room)
    return (part.x + part.part.width - height / 2, part.y + 0.05 * part.part.length), height


def bed_svg(layout: BedLayout) -> bytes:
    """At true size, grouped: bed, boards, screw-safe, keep-outs, cut-through, tabs, drill, carve, labels."""
    bed = layout.bed
    size = number(bed.width + 3 * LABEL_HEIGHT), number(bed.length)
    parts = [part for board in layout.boards for part in board.parts]
    groups = "".join(
        (
            _group("bed", [box(0, 0, bed.width, bed.length)], "#777777"),
            _group("boards", [board.outline for board in layout.boards], "#b08050"),
            _circles("screw-safe", list(_screw_circles(layout.boards, bed.screw_radius)), "#2f6f4f"),
            _group("keep-outs", list(_keep_outs(parts)), "#b3261e"),
            _group("cut-through", [part.outline for part in parts], "#1447a8"),
            _tab_group(parts),
            _circles(
                "drill", [(hole.x, hole.y, hole.radius) for part in parts for hole in part.holes], "#7a3ea8"
            ),
            _art_group(parts),
            _label_group(layout, parts),
        )
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}mm" height="{size[1]}mm" '
        f'viewBox="0 {number(-bed.length)} {size[0]} {size[1]}">\n'
        f"<title>{escape(layout.title)}, true size</title>\n{groups}</svg>\n"
    ).encode()


def _screw_circles(boards: Iterable[LaidBoard], radius: float) -> Iterator[tuple[float, float, float]]:
    for board in boards:
        for x, y in board.screws:
            yield x, y, radius


def _keep_outs(parts: Iterable[LaidPart]) -> Iterator[Polygon]:
    for part in parts:
        yield from _moved(part.shape.keep_outs, np.array([part.x, part.y]))


def _group(name: str, shapes: Iterable[Polygon], colour: str) -> str:
    paths = "".join(f'<path d="{"".join(map(ring_data, rings(shape)))}"/>' for shape in shapes)
    return f'<g id="{name}" fill="none" stroke="{colour}" stroke-width="0.5">{paths}</g>\n'


def _circles(name: str, circles: Iterable[tuple[float, float, float]], colour: str) -> str:
    drawn = "".join(f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(r)}"/>' for x, y, r in circles)
    return f'<g id="{name}" fill="none" stroke="{colour}" stroke-width="0.5">{drawn}</g>\n'


def _tab_group(parts: Iterable[LaidPart]) -> str:
    lines = "".join(
        f'<path d="{ring_data(tab + np.array([part.x, part.y]))[:-1]}"/>'
        for part in parts
        for tab in part.shape.tabs
    )
    return f'<g id="tabs" fill="none" stroke="#d07000" stroke-width="2">{lines}</g>\n'


def _art_group(parts: Iterable[LaidPart]) -> str:
    drawn = "".join(
        f'<g transform="translate({number(part.x)} {number(-part.y)})"><path d="{path_data(part.shape.art)}"/></g>'
        for part in parts
        if part.shape.art
    )
    return f'<g id="carve" fill="#000000" fill-rule="evenodd" stroke="none">{drawn}</g>\n'


def _label_group(layout: BedLayout, parts: Iterable[LaidPart]) -> str:
    words = [(layout.title, (layout.bed.width + 2 * LABEL_HEIGHT, 0.0), LABEL_HEIGHT)]
    words += [
        (board.label, (board.x + board.board.width + LABEL_HEIGHT, board.y + 4.0), LABEL_HEIGHT)
        for board in layout.boards
    ]
    words += [(part.part.label, *_label(part)) for part in parts]
    told = "".join(
        f'<text transform="translate({number(x)} {number(-y)}) rotate(-90)" font-size="{number(height)}">'
        f"{escape(text)}</text>"
        for text, (x, y), height in words
    )
    return f'<g id="labels" font-family="sans-serif" fill="#555555">{told}</g>\n'
