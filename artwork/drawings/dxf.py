"""True-size DXF (R2010, millimetres, named layers) through ezdxf."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.layouts.layout import Modelspace

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.drawings.scene import rings, scene

CHORD_TOLERANCE = 0.005
"""How far a polyline's straight pieces may lie off the true curve, mm."""
LAYERS = {"ART": 7, "SLAT_OUTLINE": 5, "KEEP_OUTS": 1, "SAFE_AREA": 3, "ZERO": 6}
"""Layer → colour number."""
ZERO_MARK = 5.0
"""Arm of the cross at the drawing's zero, mm."""
_DEGREE = 3
_DECIMALS = 6
"""Digits after the point: beyond them processors differ in how they round sums of products."""

# No clock and no random number in the file: the same cut gives the same bytes.
ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]


def dxf(cut: Cut, frame: MachineFrame = SLAT_FRAME, *, splines: bool = False) -> bytes:
    """The placed art as DXF R2010.

    Args:
        cut: what is drawn.
        frame: how it lies on the machine.
        splines: art as exact closed B-splines of degree 3 instead of closed polylines within
            ``CHORD_TOLERANCE``.
    """
    view = scene(cut, frame)
    drawing = new_drawing(LAYERS)
    space = drawing.modelspace()
    for contour in view.art:
        if splines and not contour.straight.all():
            _add_spline(space, contour)
        else:
            add_ring(space, contour.polyline(CHORD_TOLERANCE), "ART")
    for layer, shapes in (
        ("SLAT_OUTLINE", (view.slat,)),
        ("KEEP_OUTS", view.keep_outs),
        ("SAFE_AREA", view.safe),
    ):
        for shape in shapes:
            for ring in rings(shape):
                add_ring(space, ring, layer)
    space.add_line((-ZERO_MARK, 0), (ZERO_MARK, 0), {"layer": "ZERO"})
    space.add_line((0, -ZERO_MARK), (0, ZERO_MARK), {"layer": "ZERO"})
    return dxf_bytes(drawing)


def new_drawing(layers: dict[str, int]) -> Drawing:
    """An empty R2010 drawing in millimetres with those layers (name → colour number)."""
    drawing = ezdxf.new("R2010", units=units.MM)  # type: ignore[attr-defined]
    for name, colour in layers.items():
        drawing.layers.add(name, color=colour)
    return drawing


def add_ring(space: Modelspace, points: Floats, layer: str) -> None:
    """One closed polyline."""
    space.add_lwpolyline(points.round(_DECIMALS).tolist(), close=True, dxfattribs={"layer": layer})


def dxf_bytes(drawing: Drawing) -> bytes:
    """The finished file."""
    classes = drawing.classes
    classes.add_required_classes(drawing.dxfversion)
    # ezdxf registers some of them in the order of a set of words, which differs from process to process
    classes.classes = dict(sorted(classes.classes.items()))
    text = io.StringIO()
    drawing.write(text)
    return drawing.encode(text.getvalue())


def _add_spline(space: Modelspace, contour: Contour) -> None:
    """The curve as one B-spline: every segment a cubic Bézier, joined at knots of multiplicity 3."""
    ends = np.roll(contour.knots, -1, axis=0)
    thirds = np.stack([(2 * contour.knots + ends) / 3, (contour.knots + 2 * ends) / 3], axis=1)
    controls = np.where(contour.straight[:, None, None], thirds, contour.controls)
    segments = np.concatenate([contour.knots[:, None], controls], axis=1).reshape(-1, 2)
    points = np.vstack([segments, contour.knots[:1]])
    count = len(contour.knots)
    knots = [0.0, *np.repeat(np.arange(count + 1, dtype=float), _DEGREE), float(count)]
    spline = space.add_open_spline(
        [(float(x), float(y), 0.0) for x, y in points.round(_DECIMALS)],
        degree=_DEGREE,
        knots=knots,
        dxfattribs={"layer": "ART"},
    )
    spline.closed = True
