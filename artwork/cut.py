"""The cut: everything that decides what the machine does to one slat."""

from __future__ import annotations

from dataclasses import dataclass

from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, Slat


@dataclass(frozen=True)
class Placement:
    """A similarity transform of an outline onto a slat.

    A point ``p`` of the outline goes to ``(x, y) + scale · R(rotation) · M · (p − c)``, where ``c`` is the centre
    of the outline's bounding box and ``M`` mirrors x when ``mirrored``.

    Attributes:
        x, y: where the outline's centre lies, slat mm.
        scale: mm per outline unit, greater than 0.
        rotation_deg: counter-clockwise.
        mirrored: left and right swapped before turning.
    """

    x: float
    y: float
    scale: float
    rotation_deg: float = 0.0
    mirrored: bool = False


@dataclass(frozen=True)
class Cut:
    """One outline on one slat with one bit under one set of allowances; its digest names a proof."""

    outline: Outline
    slat: Slat
    placement: Placement
    bit: Bit
    allowances: Allowances
