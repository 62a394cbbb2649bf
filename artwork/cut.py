"""The cut: everything that decides what the machine does to one slat."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from annotated_types import Ge, Gt, Le

from artwork.curves import Floats
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, Degrees, Slat

_Place = Annotated[float, Ge(-10_000), Le(10_000)]


@dataclass(frozen=True)
class Placement:
    """A similarity transform of an outline onto a slat.

    A point ``p`` of the outline goes to ``(x, y) + scale · R(rotation) · M · (p − c)``, where ``c`` is the
    centre of the outline's bounding box and ``M`` mirrors x when ``mirrored``.

    Attributes:
        x, y: where the outline's centre lies, slat mm.
        scale: mm per outline unit, greater than 0.
        rotation_deg: counter-clockwise.
        mirrored: left and right swapped before turning.
    """

    x: _Place
    y: _Place
    scale: Annotated[float, Gt(0), Le(10_000)]
    rotation_deg: Degrees = 0.0
    mirrored: bool = False

    def shifted(self, x: float, y: float) -> Placement:
        """So many mm to the right and up on the slat, to 1 µm."""
        return replace(self, x=round(self.x + x, 3), y=round(self.y + y, 3))

    @property
    def matrix(self) -> Floats:
        """``scale · R · M``, shape (2, 2)."""
        angle = np.radians(self.rotation_deg)
        cos, sin = np.cos(angle), np.sin(angle)
        across = -self.scale if self.mirrored else self.scale
        return np.array([[across * cos, -self.scale * sin], [across * sin, self.scale * cos]])

    def place(self, points: Floats, centre: Floats) -> Floats:
        """Outline points, shape (…, 2), in slat mm, given the outline's centre."""
        return np.asarray((points - centre) @ self.matrix.T + np.array([self.x, self.y]))


@dataclass(frozen=True)
class Cut:
    """One outline on one slat with one bit under one set of allowances; its digest names a proof."""

    outline: Outline
    slat: Slat
    placement: Placement
    bit: Bit
    allowances: Allowances

    @property
    def centre(self) -> Floats:
        """Centre of the outline's bounding box, outline units, shape (2,)."""
        left, low, right, high = self.outline.bounds
        return np.array([(left + right) / 2, (low + high) / 2])

    def shifted(self, x: float, y: float) -> Cut:
        """The same with its art so many mm to the right and up on the slat, to 1 µm."""
        return self if (x, y) == (0.0, 0.0) else replace(self, placement=self.placement.shifted(x, y))

    def placed(self) -> Outline:
        """The outline in slat mm, outer contours counter-clockwise as ever."""
        matrix = self.placement.matrix
        shift = np.array([self.placement.x, self.placement.y]) - matrix @ self.centre
        moved = (contour.moved(matrix, shift) for contour in self.outline.contours)
        pixel = self.outline.pixel
        return Outline(
            tuple(contour.reversed() if self.placement.mirrored else contour for contour in moved),
            pixel=None if pixel is None else pixel * self.placement.scale,
            stated_mm=1.0,
        )
