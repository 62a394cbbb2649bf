"""Whether a picture is a photograph of a scene: colours all over it, and no ground that art would lie on."""

from __future__ import annotations

import cv2
import numpy as np

from artwork.intake.colours import oklab, oklab_of
from artwork.intake.ground import border_colour

Pixels = cv2.typing.MatLike

_SIDE = 160
"""Side of the small picture that is looked at, pixels."""
_SHADES = 250
"""Colours, of 4,096 (4 bits a channel), that a photograph has more of than art does."""
_GROUND = 0.15
"""Distance in OKLab up to which the frame of a picture shows its ground."""
_COVERED = 0.4
"""Share of the frame that a ground covers at least."""


def is_scene(levels: Pixels) -> bool:
    """Whether (h, w, 3) uint8 has hundreds of colours and a frame without a ground."""
    scale = min(1.0, _SIDE / max(levels.shape[:2]))
    size = (max(1, round(levels.shape[1] * scale)), max(1, round(levels.shape[0] * scale)))
    small = np.asarray(cv2.resize(levels, size, interpolation=cv2.INTER_AREA), np.uint8)
    coarse = (small >> 4).astype(np.int64)
    seen = np.bincount(
        ((coarse[:, :, 0] << 8) | (coarse[:, :, 1] << 4) | coarse[:, :, 2]).ravel(), minlength=4096
    )
    if int((seen > 1).sum()) < _SHADES:
        return False
    frame = np.concatenate([small[:3].reshape(-1, 3), small[-3:].reshape(-1, 3), small[:, :3].reshape(-1, 3)])
    frame = np.concatenate([frame, small[:, -3:].reshape(-1, 3)])
    apart = np.linalg.norm(oklab_of(frame) - oklab(border_colour(levels)[None]), axis=1)
    return bool((apart < _GROUND).mean() < _COVERED)
