"""The outline: artwork as closed regions to be carved."""

from __future__ import annotations

from dataclasses import dataclass

from artwork.curves import Contour


@dataclass(frozen=True, eq=False)
class Outline:
    """Regions to be carved, in the artwork's own units, y upwards.

    The contours never cross or touch along a length; outer ones run counter-clockwise, holes clockwise, so the
    even-odd and the non-zero rule give the same regions.

    Attributes:
        contours: the closed curves.
        pixel: size of one source pixel in outline units for traced art, ``None`` for vector art.
        stated_mm: millimetres per outline unit where the file truly states its size, else ``None``.
    """

    contours: tuple[Contour, ...]
    pixel: float | None = None
    stated_mm: float | None = None
