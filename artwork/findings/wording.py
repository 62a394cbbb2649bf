"""Figures in words: millimetres with inches beside them, never rounded to the unsafe side."""

from __future__ import annotations

from math import ceil, floor

from artwork.tooling import MM_PER_INCH

GRAIN = 0.01
"""Figures are given to a hundredth of a millimetre."""
NOISE = 1e-3
"""Rounding noise of the arithmetic and of the axis' grid, in grains: 10 nanometres."""


def down(value: float, grain: float = GRAIN) -> float:
    """The largest multiple of ``grain`` that is not above ``value``: for what is measured."""
    return round(floor(value / grain + NOISE) * grain, 10)


def up(value: float, grain: float = GRAIN) -> float:
    """The smallest multiple of ``grain`` that is not below ``value``: for what is required."""
    return round(ceil(value / grain - NOISE) * grain, 10)


def at_least(value: float) -> str:
    """A measured length: both units rounded down."""
    return f"{down(value):.2f} mm ({down(value / MM_PER_INCH, 0.001):.3f} in)"


def at_most(value: float) -> str:
    """A required or reached length: both units rounded up."""
    return f"{up(value):.2f} mm ({up(value / MM_PER_INCH, 0.001):.3f} in)"


def about(value: float) -> str:
    """A size proposed or told, no limit: to the nearest tenth."""
    return f"{value:.1f} mm ({value / MM_PER_INCH:.2f} in)"


def counted(number: int, one: str, many: str) -> str:
    """``"1 line"``, ``"3 lines"``."""
    return f"{number} {one if number == 1 else many}"
