"""True-size drawings of placed art: SVG, DXF and PDF, in millimetres, the same bytes every time."""

from artwork.drawings.beds import FOUR_BY_EIGHT, Bed, BedLayout, Run, bed_layouts
from artwork.drawings.dxf import dxf
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg

__all__ = [
    "FOUR_BY_EIGHT",
    "SLAT_FRAME",
    "Bed",
    "BedLayout",
    "MachineFrame",
    "Run",
    "bed_layouts",
    "dxf",
    "pdf",
    "svg",
]
