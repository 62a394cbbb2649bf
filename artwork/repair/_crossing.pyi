"""Types of the extension in ``_crossing.cpp``."""

from typing_extensions import Buffer

def crossing(knots: Buffer, controls: Buffer, lengths: Buffer, flat: float, /) -> bytes:
    """Points (float64), control points (float64) and lengths (int64) → numbers of segments (int64)."""
