"""Figures in words: millimetres with inches beside them, never rounded to the unsafe side."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from artwork.tooling import MM_PER_INCH

GRAIN = 0.01
"""Figures are given to a hundredth of a millimetre."""
NOISE = 1e-3
"""Rounding noise of the arithmetic and of the axis' grid, in grains: 10 nanometres."""
_COARSE, _FINE = 16, 64


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
    """A size proposed or told, no limit: to the nearest tenth, and as a rule shows it (``4 7/16 in``)."""
    return f"{value:.1f} mm ({as_on_a_rule(value / MM_PER_INCH)} in)"


def as_on_a_rule(inches: float) -> str:
    """Inches as a mixed number: to the nearest sixteenth, below one inch to the nearest sixty-fourth."""
    parts = _COARSE if inches >= 1 else _FINE
    whole, rest = divmod(Fraction(round(inches * parts), parts), 1)
    return " ".join(str(part) for part in (whole, rest) if part) or "0"


def counted(number: int, one: str, many: str) -> str:
    """``"1 line"``, ``"3 lines"``."""
    return f"{number} {one if number == 1 else many}"
