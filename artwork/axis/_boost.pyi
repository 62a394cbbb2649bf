"""Types of the extension in ``_boost.cpp``."""

from typing_extensions import Buffer

def diagram(segments: Buffer, /) -> tuple[bytes, bytes, bytes]:
    """Rows of four int32 → vertices (rows of two float64), half-edges and cells (rows of two int32)."""
