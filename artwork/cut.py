"""The cut: everything that decides what the machine does to one slat."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from artwork.curves import Contour, Floats
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

    def affine(self, outline: Outline) -> tuple[Floats, Floats]:
        """The same transform as ``p → matrix @ p + shift``: shapes (2, 2) and (2,)."""
        turn = np.radians(self.rotation_deg)
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        matrix = self.scale * rotation @ np.diag([-1.0 if self.mirrored else 1.0, 1.0])
        left, low, right, high = outline.bounds
        centre = np.array([(left + right) / 2, (low + high) / 2])
        return matrix, np.array([self.x, self.y]) - matrix @ centre


@dataclass(frozen=True)
class Cut:
    """One outline on one slat with one bit under one set of allowances; its digest names a proof."""

    outline: Outline
    slat: Slat
    placement: Placement
    bit: Bit
    allowances: Allowances

    @cached_property
    def contours(self) -> tuple[Contour, ...]:
        """The art's curves in slat mm; outer ones counter-clockwise, mirrored or not."""
        matrix, shift = self.placement.affine(self.outline)
        moved = (contour.moved(matrix, shift) for contour in self.outline.contours)
        return tuple(curve.reversed() if self.placement.mirrored else curve for curve in moved)
