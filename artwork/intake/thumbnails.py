"""Small pictures of what was read, black on white."""

from __future__ import annotations

import cv2
import numpy as np

from artwork.intake.inked import Bytes

_HALF_GREY = 128
CHOICE_SIDE = 240
"""Longer side of :attr:`Choice.picture`, pixels."""
PICTURE_SIDE = 1000
"""Longer side of :attr:`Reading.picture`, pixels."""


def mask_picture(mask: Bytes, side: int = PICTURE_SIDE) -> bytes:
    """PNG of the ink, black on white, longer side at most ``side``."""
    scale = min(1.0, side / max(mask.shape))
    size = (max(1, round(mask.shape[1] * scale)), max(1, round(mask.shape[0] * scale)))
    shades = cv2.LUT(mask, np.array([255, 0] + [0] * 254, np.uint8))
    done, encoded = cv2.imencode(".png", cv2.resize(shades, size, interpolation=cv2.INTER_AREA))
    if not done:
        raise RuntimeError("the picture of the ink could not be encoded")
    return bytes(encoded)


def smaller(picture: bytes) -> bytes:
    """A reading's picture as small as those to choose from."""
    pixels = cv2.imdecode(np.frombuffer(picture, np.uint8), cv2.IMREAD_GRAYSCALE)
    return mask_picture((np.asarray(pixels) < _HALF_GREY).astype(np.uint8), CHOICE_SIDE)
