"""True-size drawings of placed art: SVG, DXF and PDF, in millimetres, the same bytes every time."""

from artwork.drawings.dxf import dxf
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg

__all__ = ["SLAT_FRAME", "MachineFrame", "dxf", "pdf", "svg"]
