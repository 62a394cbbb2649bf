"""Shaded art as a woodcut: its dark parts, with light lines in them and dark ones beside, where it has edges.

H. Winnemöller, J. E. Kyprianidis, S. C. Olsen, "XDoG: An eXtended difference-of-Gaussians compendium including advanced
image stylization", Computers & Graphics 36(6), 2012, equation 7: a picture sharpened by the difference of two blurs,
then cut at one lightness, here Otsu's.
"""

from __future__ import annotations

import cv2
import numpy as np

from artwork.intake.colours import oklab_of

Pixels = cv2.typing.MatLike

_BLUR = 0.006
"""Standard deviation of the finer blur, as a share of the picture's longer side: lines become about twice as wide."""
_COARSER = 1.6
"""The coarser blur by the finer, as in the paper."""
_SHARPER = 20.0
"""How much edges count beside tone (the paper's p)."""
_LEAST = 64
"""Pixels of art from which on its own lightness decides where it is cut."""


def dark_parts(levels: Pixels, art: np.ndarray | None, *, light: bool) -> Pixels:
    """What a woodcut of a picture would print, (h, w) uint8, 1 where it is dark.

    Args:
        levels: (h, w, 3) sRGB, uint8.
        art: (h, w) of bool, what its lightness is judged by; ``None`` for all of it.
        light: take the light parts instead.
    """
    lightness = np.clip(oklab_of(levels)[:, :, 0], 0, 1)
    if light:
        lightness = 1 - lightness
    blur = max(_BLUR * max(lightness.shape), 0.5)
    fine, coarse = (cv2.GaussianBlur(lightness, (0, 0), each) for each in (blur, _COARSER * blur))
    sharp = (1 + _SHARPER) * np.asarray(fine) - _SHARPER * np.asarray(coarse)
    judged = lightness if art is None or int(art.sum()) < _LEAST else lightness[art]
    steps = np.round(255 * judged).astype(np.uint8).reshape(1, -1)
    cut, _ = cv2.threshold(steps, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    return (sharp < cut / 255).astype(np.uint8)
