"""What a picture's art lies on: the ground as its frame and its corners show it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Pixels = cv2.typing.MatLike

_LIGHT = 128
_HALF = 0.5
_FRAME_SHARE = 0.35
"""A dark colour on the picture's frame that covers less of the whole than this is a border line, not the ground."""
_CORNER_SHARE = 200
"""A corner of the picture is its shorter side over this: within the rounding of a shape that fills the picture."""
_SAME = 20
"""Grey levels by which the corners of one ground may differ."""
_DARKER = 48
"""Grey levels by which the frame is darker than its corners where a shape fills the picture."""


def border_colour(levels: Pixels) -> np.ndarray:
    """The ground's colour, sRGB 0 to 1: what most of the picture's frame has.

    A picture that is framed by a dark border line has that on its frame, and yet its ground is the light inside. A
    dark shape with rounded corners that fills the picture leaves its ground in the corners alone.
    """
    border, whole, corners = _border(levels), _spread_pixels(levels), _corners(levels)
    if _on_lighter_corners(border, corners):
        return np.asarray(np.broadcast_to(corners.mean(axis=(0, 1)) / 255, 3))
    shifts = 1 << 4 * np.arange(border.shape[1])
    on_border, in_whole = ((part >> 4).astype(np.int64) @ shifts for part in (border, whole))
    framed = np.bincount(on_border).argmax()
    most = np.bincount(in_whole).argmax()
    lighter = whole[in_whole == most].mean() > border[on_border == framed].mean()
    inside = lighter and (in_whole == framed).mean() < _FRAME_SHARE and (in_whole == most).mean() > _HALF
    mean = whole[in_whole == most].mean(axis=0) if inside else border[on_border == framed].mean(axis=0)
    return np.asarray(np.broadcast_to(mean / 255, 3))


def on_dark(grey: Pixels, threshold: float, dark_share: float) -> bool:
    """Whether what lies at or below ``threshold``, a share of all, is the ground: it fills frame and corners."""
    dark_frame = (_border(grey) <= threshold).mean() > _HALF and not (_corners(grey) > threshold).all()
    return bool(dark_frame and dark_share > _FRAME_SHARE)


def _on_lighter_corners(border: NDArray[np.uint8], corners: NDArray[np.uint8]) -> bool:
    """Whether all four corners show the same light ground, and the frame between them something darker."""
    if corners.min() < _LIGHT or np.ptp(corners.mean(axis=1), axis=0).max() > _SAME:
        return False
    return bool(np.median(border, axis=0).mean() < corners.mean() - _DARKER)


def _corners(levels: Pixels) -> NDArray[np.uint8]:
    """The pixels (4, n, 1 or 3) of the picture's four corners."""
    side = max(1, min(levels.shape[:2]) // _CORNER_SHARE)
    planes = np.asarray(levels, np.uint8).reshape(*levels.shape[:2], -1)
    ends = (slice(None, side), slice(-side, None))
    return np.stack([planes[a, b].reshape(-1, planes.shape[2]) for a in ends for b in ends])


def _spread_pixels(levels: Pixels) -> NDArray[np.uint8]:
    """Pixels (n, 1 or 3) spread over the picture."""
    step = max(1, max(levels.shape[:2]) // 300)
    few = np.asarray(levels[::step, ::step], np.uint8)
    return few.reshape(-1, few.shape[2] if few.ndim == 3 else 1)


def _border(levels: Pixels) -> NDArray[np.uint8]:
    """The pixels (n, 1 or 3) of a frame of a hundredth of the picture's side."""
    frame = max(1, min(levels.shape[:2]) // 100)
    planes = np.asarray(levels, np.uint8).reshape(*levels.shape[:2], -1)
    parts = (planes[:frame], planes[-frame:], planes[:, :frame], planes[:, -frame:])
    return np.concatenate([part.reshape(-1, planes.shape[2]) for part in parts])
