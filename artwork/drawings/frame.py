"""The maker's machine frame: how a drawing is turned, mirrored and where its zero lies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely import Polygon

from artwork.curves import Floats

Zero = Literal["slat", "lower-left", "lower-right", "upper-left", "upper-right", "centre"]

_SHARES = {
    "lower-left": (0.0, 0.0),
    "lower-right": (1.0, 0.0),
    "upper-left": (0.0, 1.0),
    "upper-right": (1.0, 1.0),
    "centre": (0.5, 0.5),
}
_TURNS = (
    "as it stands in the piece",
    "turned a quarter to the left",
    "turned half round",
    "turned a quarter to the right",
)
_ZEROS: Mapping[Zero, str] = {
    "slat": "the slat's centre line at its foot",
    "lower-left": "its lower-left corner",
    "lower-right": "its lower-right corner",
    "upper-left": "its upper-left corner",
    "upper-right": "its upper-right corner",
    "centre": "its middle",
}


@dataclass(frozen=True)
class MachineFrame:
    """How the slat lies on the machine.

    A point of the slat is first mirrored (left and right swapped), then turned, then moved so that ``zero``
    is at (0, 0).

    Attributes:
        quarter_turns: to the left, 0 to 3.
        mirrored: left and right swapped, for carving from below or for a machine whose x runs the other way.
        zero: the slat's own origin (foot, on the centre line), or a place of the outline's bounding box as it
            then lies.
    """

    quarter_turns: int = 0
    mirrored: bool = False
    zero: Zero = "slat"

    def affine(self, outline: Polygon) -> tuple[Floats, Floats]:
        """The transform ``p → matrix @ p + shift`` for a slat of that outline: shapes (2, 2) and (2,)."""
        cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[self.quarter_turns % 4]
        across = -1.0 if self.mirrored else 1.0
        matrix = np.array([[cos * across, -sin], [sin * across, cos]], np.float64)
        if self.zero == "slat":
            return matrix, np.zeros(2)
        corners = np.array(outline.exterior.coords) @ matrix.T
        low, high = corners.min(axis=0), corners.max(axis=0)
        return matrix, -(low + np.array(_SHARES[self.zero]) * (high - low))

    @property
    def words(self) -> str:
        """How the drawing lies, for sheets: ``"mirrored, turned half round; zero at its middle"``."""
        lies = self.turned if self.quarter_turns % 4 or not self.mirrored else ""
        ways = ("mirrored" if self.mirrored else "", lies)
        return f"{', '.join(filter(None, ways))}; zero at {self.zero_words}"

    @property
    def turned(self) -> str:
        """How far it is turned."""
        return _TURNS[self.quarter_turns % 4]

    @property
    def zero_words(self) -> str:
        """Where its zero lies."""
        return _ZEROS[self.zero]


SLAT_FRAME = MachineFrame()
"""Slat millimetres as they are: x = 0 on the centre line, y = 0 at the foot."""
