"""True-size drawings of placed art: SVG, DXF and PDF, in millimetres, the same bytes every time.

What a drawing is made for is here; each writer is in the module of its name (``svg.svg``, ``dxf.dxf``, ``pdf.pdf``,
``beds.bed_layouts``) and brings a large library along, so that who only keeps settings loads none of them.
"""

from artwork.drawings.bed import FOUR_BY_EIGHT, Bed
from artwork.drawings.frame import SLAT_FRAME, MachineFrame

__all__ = ["FOUR_BY_EIGHT", "SLAT_FRAME", "Bed", "MachineFrame"]
