"""Where a preview lies on the slat: so that somebody who has the picture can draw on it in slat millimetres.

Light: whoever states a frame needs none of what draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BORDER = 8.0
"""Paper left around the slat, mm."""
SIGNED_DENSITY = 4.0
"""Pixels per mm of the picture that people sign."""


@dataclass(frozen=True)
class Part:
    """Which pixels of a whole slat's picture a part of it is.

    Attributes:
        whole: rows and columns of the whole picture.
        where: the part's own rows and columns in it.
    """

    whole: tuple[int, int]
    where: tuple[slice, slice]

    @classmethod
    def all_of(cls, shape: tuple[int, ...]) -> Part:
        """The whole of a picture with so many rows and columns."""
        rows, columns = shape
        return cls((rows, columns), (slice(0, rows), slice(0, columns)))

    @property
    def is_all(self) -> bool:
        """Whether nothing of the whole is left out."""
        return self == Part.all_of(self.whole)


@dataclass(frozen=True)
class PictureFrame:
    """Where a picture lies on the slat.

    A point of the slat (x across, y up, mm) is drawn at ``((x - left) / mm_per_pixel, (top - y) / mm_per_pixel)``
    pixels from the picture's upper left corner, x to the right, y down. Below the slat there is a strip with a bar
    to scale.

    Attributes:
        mm_per_pixel: size of a pixel on the slat, mm.
        left, top: slat mm of the picture's upper left corner.
    """

    mm_per_pixel: float
    left: float
    top: float


def frame_of(outline: Sequence[Sequence[float]], density: float = SIGNED_DENSITY) -> PictureFrame:
    """The frame of a preview.

    Args:
        outline: the slat's edge, points in slat mm.
        density: pixels per mm.
    """
    left = min(point[0] for point in outline) - BORDER
    top = max(point[1] for point in outline) + BORDER
    return PictureFrame(1 / density, left, top)
