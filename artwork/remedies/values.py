"""What a remedy is."""

from __future__ import annotations

from dataclasses import dataclass

from artwork.axis import Anatomy
from artwork.change import Change, Code
from artwork.cut import Cut
from artwork.findings import Check

LEAST_KEPT = 0.6
"""Art is not made smaller than this share of its size for a cure's sake."""


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


def lower(words: str) -> str:
    """Words that go on in a sentence."""
    return f"{words[0].lower()}{words[1:]}"
