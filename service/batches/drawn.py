"""The drawings of a released cut: made once per proof, in a process of the pool, and kept as blobs."""

from __future__ import annotations

from artwork.cut import Cut
from artwork.drawings import SLAT_FRAME, MachineFrame, dxf, pdf, svg


def draw(cut: Cut, frame: MachineFrame = SLAT_FRAME, *, splines: bool = False) -> dict[str, bytes]:
    """File ending → bytes: ``"svg"``, ``"dxf"`` and ``"pdf"`` at true size.

    Args:
        cut: what is drawn.
        frame: how the maker's machine lies.
        splines: curves in the DXF as splines instead of closed polylines.
    """
    return {"svg": svg(cut, frame), "dxf": dxf(cut, frame, splines=splines), "pdf": pdf(cut, frame)}
