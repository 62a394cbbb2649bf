"""What a remedy is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.findings import Check

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


@dataclass(frozen=True, eq=False)
class Remedy:
    """A change that makes a cut carve, already judged.

    Attributes:
        code: what sort of change; part of the API.
        sentence: what to do, with figures.
        cut: the proposed cut: one call away from a new proof.
        change: what is different.
        check: the full check of the proposed cut; its verdict is never ``"will-not-carve"``.
        anatomy: of the proposed cut's outline.
    """

    code: Code
    sentence: str
    cut: Cut
    change: Change
    check: Check
    anatomy: Anatomy


@dataclass(frozen=True)
class Sizes:
    """At which sizes an outline carves on a slat with a bit, unchanged in shape.

    Attributes:
        least, most: scales, mm per outline unit; ``least > most`` where no size carves.
        carves: whether any size does.
        sentence: the span in words, or the two requirements that contradict each other.
    """

    least: float
    most: float
    carves: bool
    sentence: str
