"""The part of a slat that shows its art close, as people look at it before they sign."""

from __future__ import annotations

import math

from artwork.picture_frame import BORDER

ROOM = 0.2
"""Wood on either side of the art, as a share of its width: the art then fills seven tenths of the picture."""
FLATTEST, SLIMMEST = 0.6, 0.5
"""Height of the picture at least, as a share of its width; width at least, as a share of its height."""

Box = tuple[float, float, float, float]
"""Left, low, right, high, slat mm."""


def whole(slat: Box) -> Box:
    """All of the slat, with its border."""
    return slat[0] - BORDER, slat[1] - BORDER, slat[2] + BORDER, slat[3] + BORDER


def close_up(slat: Box, art: Box) -> Box:
    """The window around ``art``: never beyond the picture of the whole slat, and whole millimetres from its corner.

    Whole millimetres, so that the close picture has the same pixels as the whole one at any density.
    """
    least, low, most, high = whole(slat)
    wide, tall = (art[2] - art[0]) * (1 + 2 * ROOM), (art[3] - art[1]) * (1 + 2 * ROOM)
    wide, tall = max(wide, SLIMMEST * tall), max(tall, FLATTEST * wide)
    left, right = _within((art[0] + art[2]) / 2, wide, least, most)
    bottom, top = _within((art[1] + art[3]) / 2, tall, low, high)
    return (
        least + math.floor(left - least),
        max(high - math.ceil(high - bottom), low),
        min(least + math.ceil(right - least), most),
        high - math.floor(high - top),
    )


def _within(middle: float, length: float, least: float, most: float) -> tuple[float, float]:
    """An interval of this length around the middle, as much of it as there is room for."""
    return max(middle - length / 2, least), min(middle + length / 2, most)
