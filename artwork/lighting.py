"""Light on a height field: lamp from the upper left, open sky, soft shadow in the grooves."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]

LAMP = np.array([-0.52, 0.60, 0.61], np.float32)
"""Direction to the lamp: x right, y up, z off the face; drawings are read as lit from the upper left."""
SHADOW_STEPS_MM = (0.3, 0.6, 1.0, 1.5, 2.1, 2.8, 3.7, 4.8, 6.2, 8.0)
"""Where along the way to the lamp the surface is looked at for something in the way."""
LAMP_BREADTH = 0.5
"""Size of the lamp as seen from the wood (tangent): shadows grow softer with the distance they are cast."""
HOLLOW = 2.2
"""Size of the neighbourhood that decides how much sky a hollow sees, mm."""
HOLLOW_SKY, HOLLOW_LAMP = 0.30, 0.10
"""How fast sky and lamp light fade with the depth below that neighbourhood, per mm."""


@dataclass(frozen=True, eq=False)
class Light:
    """What reaches each pixel, and how much of it is end grain; all of shape (h, w).

    Attributes:
        lamp: 0 in shadow or turned away to 1 facing it.
        sky: 0 in a deep narrow hollow to 1 in the open.
        end_grain: 0 where the surface runs along the grain to 1 where it cuts square across it.
    """

    lamp: Field
    sky: Field
    end_grain: Field


def light(below: Field, px_per_mm: float, grain_deg: float, art: tuple[slice, slice] | None) -> Light:
    """Light a surface ``below`` mm under the face, shape (h, w), row 0 at the top.

    Args:
        below: the surface, mm.
        px_per_mm: pixels per millimetre.
        grain_deg: of the wood, counter-clockwise from the picture's x.
        art: rows and columns of the grooves, which shade each other; ``None`` for none.
    """
    below = np.asarray(
        cv2.GaussianBlur(below, (3, 3), 0.6), np.float32
    )  # creases finer than a pixel would show as stairs
    down = np.float32(px_per_mm / 2)
    kernel = np.array([[-1, 0, 1]], np.float32) * down
    # the surface is z = −below, so its normal is (∂below/∂x, ∂below/∂y, 1); picture rows run downwards
    nx = cv2.filter2D(below, cv2.CV_32F, kernel, borderType=cv2.BORDER_REPLICATE)
    ny = cv2.filter2D(below, cv2.CV_32F, -kernel.T, borderType=cv2.BORDER_REPLICATE)
    lamp = nx * LAMP[0] + ny * LAMP[1]
    lamp += LAMP[2]
    grain = np.radians(grain_deg)
    end_grain = nx * np.float32(np.cos(grain))
    end_grain += ny * np.float32(np.sin(grain))
    np.abs(end_grain, out=end_grain)
    upright = nx * nx
    upright += ny * ny
    upright += 1
    np.sqrt(upright, out=upright)
    np.reciprocal(upright, out=upright)
    lamp *= upright
    end_grain *= upright
    np.maximum(lamp, 0, out=lamp)
    sky = 0.45 * upright
    sky += 0.55  # an upright wall sees about half the sky
    if art is not None:
        _shade(lamp[art], sky[art], below[art], px_per_mm)
    return Light(lamp, sky, end_grain)


def _shade(lamp: Field, sky: Field, below: Field, px_per_mm: float) -> None:
    """Cast shadows and darken hollows, in place."""
    z = -below
    lamp *= _lit(z, px_per_mm)
    size = HOLLOW * px_per_mm
    around = cv2.GaussianBlur(z, (0, 0), size) if size >= 0.5 else z
    hollow = np.maximum(around - z, 0)
    sky *= np.exp(-HOLLOW_SKY * hollow)
    lamp *= np.exp(-HOLLOW_LAMP * hollow)


def _lit(z: Field, px_per_mm: float) -> Field:
    """1 where nothing stands between a point and the lamp, falling to 0 where all of it is hidden."""
    flat = float(np.hypot(LAMP[0], LAMP[1]))
    rise = float(LAMP[2]) / flat
    blocked = np.zeros_like(z)
    for step in SHADOW_STEPS_MM:
        shift_x, shift_y = LAMP[0] / flat * step * px_per_mm, -LAMP[1] / flat * step * px_per_mm
        towards = np.array([[1, 0, -shift_x], [0, 1, -shift_y]], np.float32)
        there: Field = np.asarray(
            cv2.warpAffine(
                z, towards, z.shape[::-1], flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
            ),
            np.float32,
        )
        there -= z
        there -= np.float32(rise * step)
        there *= np.float32(1 / (LAMP_BREADTH * (step + 0.3)))
        np.maximum(blocked, there, out=blocked)
    return np.asarray(1 - np.minimum(blocked, 1), np.float32)
