"""The machine's bed, and how boards are laid and held on it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Bed:
    """The machine's bed and how boards lie on it; all mm, common practice, no source.

    Attributes:
        width, length: of the bed, x and y; 4 × 8 ft.
        margin: kept free of boards along the bed's left and right edge.
        spacing: between boards that lie side by side.
        screw_radius: of the place around a hold-down screw that must stay clear of every cut.
        bit_diameter: of the straight bit that cuts the parts out.
        tab_width, tab_height: of a tab that holds a part until it is sawn off; a width of 0 leaves tabs out.
        tab_every: at most so far from one tab to the next along a part.
    """

    width: float = 1219.2
    length: float = 2438.4
    margin: float = 6.0
    spacing: float = 12.0
    screw_radius: float = 8.0
    bit_diameter: float = 6.35
    tab_width: float = 6.0
    tab_height: float = 3.0
    tab_every: float = 400.0


FOUR_BY_EIGHT = Bed()
