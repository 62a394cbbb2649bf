"""The drawings of a released cut: made once per proof, in a process of the pool, and kept as blobs."""

from __future__ import annotations

from collections.abc import Sequence

from artwork.cut import Cut
from artwork.drawings import FOUR_BY_EIGHT, SLAT_FRAME, Bed, MachineFrame, Run, bed_layouts, dxf, pdf, svg


def draw(cut: Cut, frame: MachineFrame = SLAT_FRAME, *, splines: bool = False) -> dict[str, bytes]:
    """File ending → bytes: ``"svg"``, ``"dxf"`` and ``"pdf"`` at true size.

    Args:
        cut: what is drawn.
        frame: how the maker's machine lies.
        splines: curves in the DXF as splines instead of closed polylines.
    """
    return {"svg": svg(cut, frame), "dxf": dxf(cut, frame, splines=splines), "pdf": pdf(cut, frame)}


def draw_beds(runs: Sequence[Run], bed: Bed = FOUR_BY_EIGHT) -> dict[str, bytes]:
    """File name → bytes of an order's bed layouts, ``"bed-01.svg"`` and on. Raises Refusal as they do."""
    drawn: dict[str, bytes] = {}
    for number, layout in enumerate(bed_layouts(runs, bed), start=1):
        drawn[f"bed-{number:02}.svg"] = layout.svg()
        drawn[f"bed-{number:02}.dxf"] = layout.dxf()
    return drawn
