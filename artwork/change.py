"""What may be changed about a cut so that it carves; loads nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Code = Literal[
    "move", "resize", "thicken", "thin", "resize-and-thicken", "resize-and-thin", "turn", "other-slat", "other-bit",
    "drop-parts", "outline-only", "no-floor", "carve-background",
]  # fmt: skip


@dataclass(frozen=True)
class Change:
    """What a remedy changes, in figures.

    Attributes:
        width, height: of the art on the slat afterwards, mm.
        size_factor: new size over old.
        thickening: how far every edge of the art moves outwards, mm; negative inwards.
        turn_deg: how far it is turned, counter-clockwise.
        slat, bit: keys, where they change.
        dropped: how many parts are left out.
    """

    width: float
    height: float
    size_factor: float = 1.0
    thickening: float = 0.0
    turn_deg: float = 0.0
    slat: str | None = None
    bit: str | None = None
    dropped: int = 0
