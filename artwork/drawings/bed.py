"""The machine's bed, as whole-bed layouts need to know it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Bed:
    """The machine's bed and how a run is laid on it; all mm, common practice, no source.

    Attributes:
        width, length: of the bed, x and y; 4 × 8 ft.
        margin: kept free along the bed's edges.
        spacing: between neighbouring blanks: room for the straight bit and its chips.
        board_width: a blank is one board wide; where a slat is wider, as wide as the slat.
        end_room: how much longer than the slat a blank is at each end.
        screw_radius: of the place around a hold-down screw that must stay clear of every cut.
        bit_diameter: of the straight bit that cuts the parts out.
    """

    width: float = 1219.2
    length: float = 2438.4
    margin: float = 12.0
    spacing: float = 12.0
    board_width: float = 139.7
    end_room: float = 40.0
    screw_radius: float = 8.0
    bit_diameter: float = 6.35


FOUR_BY_EIGHT = Bed()
