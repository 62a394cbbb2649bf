"""Colours of a drawing: read, compared as eyes compare them, grouped into inks, told art or ground."""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.intake.css_colours import css_colour
from artwork.intake.marks import Colour

SAME_INK = 0.08
"""Distance in OKLab below which two colours count as one ink; a clearly seen difference is about 0.1."""
STANDS_OUT = 0.12
"""Distance in OKLab from the ground at which a colour is art: #dddddd on white is not, #cccccc is."""
WHITE: Colour = (1.0, 1.0, 1.0)

_LINEAR_TO_LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LMS_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)

_LEVELS = np.arange(256) / 255
_LINEAR = np.where(_LEVELS <= 0.04045, _LEVELS / 12.92, ((_LEVELS + 0.055) / 1.055) ** 2.4).astype(np.float32)
_CELLS = 32


@lru_cache(maxsize=4096)
def read_colour(text: str) -> tuple[float, float, float, float] | None:
    """A CSS colour as sRGB and opacity, 0 to 1; ``None`` where it is not one (``currentColor`` included)."""
    return css_colour(text)


def oklab(colours: Floats) -> Floats:
    """sRGB (n, 3) in 0 to 1 → OKLab (n, 3).

    B. Ottosson, "A perceptual color space for image processing", 2020 (matrices as published there).
    """
    linear = np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
    return np.asarray(np.cbrt(linear @ _LINEAR_TO_LMS.T) @ _LMS_TO_LAB.T)


def oklab_of(levels: cv2.typing.MatLike) -> NDArray[np.float32]:
    """sRGB levels (…, 3), uint8 → OKLab (…, 3); as :func:`oklab` within 1e-6, for pictures."""
    linear = cv2.LUT(np.asarray(levels, np.uint8).reshape(1, -1, 3), _LINEAR)
    lms = cv2.pow(cv2.transform(linear, _LINEAR_TO_LMS), 1 / 3)
    return np.asarray(cv2.transform(lms, _LMS_TO_LAB), np.float32).reshape(np.shape(levels))


@lru_cache(maxsize=1)
def coarse_oklab() -> NDArray[np.float32]:
    """OKLab (32768, 3) of the middle of each of the 32³ cells of sRGB, red slowest."""
    axis = (np.arange(_CELLS) + 0.5) / _CELLS
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    return oklab(grid).astype(np.float32)


def cells_of(levels: cv2.typing.MatLike) -> NDArray[np.uint16]:
    """Which of the 32³ cells of sRGB each pixel (h, w, 3) uint8 lies in, (h, w)."""
    coarse = np.asarray(levels, np.uint8) >> 3
    index = coarse[:, :, 0].astype(np.uint16)
    for channel in (1, 2):
        index <<= 5
        index |= coarse[:, :, channel]
    return index


def distance(first: Colour, second: Colour) -> float:
    """How different two colours look: Euclidean in OKLab, black to white is 1."""
    a, b = oklab(np.array([first, second]))
    return float(np.linalg.norm(a - b))


def grouped(colours: list[Colour], weights: list[float]) -> tuple[list[Colour], list[int]]:
    """Inks, the heaviest first, and for each colour the ink it belongs to."""
    totals: dict[Colour, float] = {}
    for colour, weight in zip(colours, weights, strict=True):
        totals[colour] = totals.get(colour, 0.0) + weight
    inks: list[Colour] = []
    belongs: dict[Colour, int] = {}
    for colour in sorted(totals, key=lambda c: (-totals[c], c)):
        near = [i for i, ink in enumerate(inks) if distance(colour, ink) < SAME_INK]
        if not near:
            inks.append(colour)
        belongs[colour] = near[0] if near else len(inks) - 1
    return inks, [belongs[colour] for colour in colours]


def hex_of(colour: Colour) -> str:
    """``#rrggbb``."""
    return "#" + "".join(f"{round(255 * c):02x}" for c in colour)


def rgb_of(text: str) -> Colour:
    """The inverse of :func:`hex_of`."""
    red, green, blue = (int(text[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue
