"""Uneven light and grain of photos and scans, taken out before ink is told from paper."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

Pixels = cv2.typing.MatLike

_SMALL = 384
"""Light is judged on a picture reduced to this side: it changes slowly."""
_FEATURE = 12
"""Strokes thinner than the side over this are closed over to see the paper under them."""
_SOLID = 0.45
"""Darker than this share of the paper around it, a patch is ink, not shadow: shadows keep more light."""
_SHARP = 0.12
"""A patch is ink, too, where its light falls by this share within three pixels of the small picture all round it, and
it ends within the picture: shadows have softer edges, or come in over the picture's edge.
"""
_DARKER = 0.9
"""Share of the light just outside that a patch of ink keeps at most."""
_LEAST_PATCH = 30
"""Smaller patches of the small picture are strokes, closed over already."""
_UNEVEN = 0.06
"""Paper whose light varies by less than this share is even enough."""
_PAPER = 235.0
"""Level that levelled paper gets."""
_LEAST_LIGHT = 24
"""A ground darker than this everywhere is black, and its light cannot be told."""
_DARK_GROUND = 110
_MOST = 75
"""A ground is dark where this percentage of the frame lies below that level."""
_DARK_FRAME = 0.5
_LIGHT_PART = 0.4
_TILE = 24
"""Art is lighter than its ground where the frame is darker than this share of the lightest, and where of the parts
of this side, pixels of the small picture, that hold both at most this share is light.
"""
_FAINT = 1e-3
_FOLLOWS = 6.0
"""The surface follows the light as closely as this share of the strokes closed over: shadows have edges."""
GRAINY = 2.0
"""Noise, grey levels, from which a picture is smoothed before the threshold."""
_PATCH = 128
_NOISE_KERNEL = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32)


@dataclass(frozen=True, eq=False)
class Levelled:
    """A picture in even light, and by how much the light varied before (0 where nothing was done)."""

    levels: Pixels
    varied: float


def levelled(levels: Pixels) -> Levelled:
    """Art on a ground of one colour, (h, w) or (h, w, 3): the ground brought to one level everywhere.

    The ground's light is a smooth surface through what is left when thin strokes are closed over and solid
    patches are filled in from around them; the picture is divided by it.
    """
    height, width = levels.shape[:2]
    scale = min(1.0, _SMALL / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    small = cv2.resize(levels, size, interpolation=cv2.INTER_AREA)
    planes = [levels] if levels.ndim == 2 else cv2.split(levels)
    smalls = [small] if small.ndim == 2 else cv2.split(small)
    if _light_art(small):
        grounds = [255 - _paper(255 - each) for each in smalls]
        targets = [float(np.median(ground)) for ground in grounds]
        judged = grounds[int(np.argmax(targets))]
    elif np.percentile(_frame(small if small.ndim == 2 else small.max(axis=2)), _MOST) < _DARK_GROUND:
        return Levelled(levels, 0.0)
    else:
        grounds, targets = [_paper(each) for each in smalls], [_PAPER] * len(smalls)
        judged = _paper(small if small.ndim == 2 else small.max(axis=2))
    low, high = np.percentile(judged, (2, 98))
    varied = float(1 - low / max(high, 1.0))
    if varied < _UNEVEN or high < _LEAST_LIGHT:
        return Levelled(levels, 0.0)
    done = [_divided(*each) for each in zip(planes, grounds, targets, strict=True)]
    return Levelled(done[0] if levels.ndim == 2 else cv2.merge(done), varied)


def _light_art(small: Pixels) -> bool:
    """Whether the art is lighter than its ground: dark in most of every part where both are, and on the frame."""
    grey = cv2.medianBlur(small if small.ndim == 2 else cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), 3)
    if np.median(_frame(grey)) > _DARK_FRAME * np.percentile(grey, 99):
        return False
    rows, columns = (side // _TILE for side in grey.shape)
    if not rows or not columns:
        return False
    parts = grey[: rows * _TILE, : columns * _TILE].reshape(rows, _TILE, columns, _TILE)
    tiles = parts.swapaxes(1, 2).reshape(rows * columns, -1)
    low, high = np.percentile(tiles, (5, 95), axis=1)
    both = (high - low > _LEAST_LIGHT) & (high > 2 * low)
    light = tiles[both] > (low + high)[both, None] / 2
    return bool(both.any() and light.mean() < _LIGHT_PART)


def _frame(grey: Pixels) -> Pixels:
    """The pixels (n,) along the edges."""
    return np.concatenate([grey[0], grey[-1], grey[:, 0], grey[:, -1]])


def _closing(small: Pixels) -> Pixels:
    """The patch with which thin strokes are closed over."""
    reach = max(3, max(small.shape) // _FEATURE) | 1
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))


def _divided(plane: Pixels, ground: Pixels, target: float) -> Pixels:
    height, width = plane.shape
    surface = cv2.resize(ground, (width, height), interpolation=cv2.INTER_LINEAR)
    return cv2.divide(plane, np.maximum(surface, 1), scale=target, dtype=cv2.CV_8U)


def _paper(small: Pixels) -> Pixels:
    """The paper's own level at every place of a small picture of dark art on lighter paper."""
    side, kernel = max(small.shape), _closing(small)
    # one dark grain must not pass for paper being dark, nor one bright one for light
    closed = cv2.morphologyEx(cv2.medianBlur(small, 3), cv2.MORPH_CLOSE, kernel)
    wide = cv2.getStructuringElement(cv2.MORPH_RECT, (side // 2 | 1, side // 2 | 1))
    around = cv2.dilate(closed, wide)
    bright = (closed > _SOLID * around).astype(np.uint8)
    bright[_printed(closed)] = 0
    weight = cv2.erode(bright, np.ones((5, 5), np.uint8)).astype(np.float32)  # not the mixed edge of a patch
    if not weight.any():  # no paper to be seen anywhere: nothing to fill it in from
        return np.maximum(closed, 1)
    blur = kernel.shape[0] / _FOLLOWS
    light = closed.astype(np.float32) * weight
    surface = np.zeros_like(light)
    missing = np.ones_like(weight)
    while missing.any():  # wider and wider, until solid patches are filled from their surroundings
        spread = cv2.GaussianBlur(weight, (0, 0), blur)
        filled = (missing > 0) & (spread > _FAINT)
        surface[filled] = (cv2.GaussianBlur(light, (0, 0), blur)[filled]) / spread[filled]
        missing[filled] = 0
        blur *= 2
    return np.clip(surface, 1, 255).astype(np.uint8)


def _printed(closed: Pixels) -> Pixels:
    """Where large patches of middling ink are, (h, w) of bool: inside a sharp edge that closes within the picture."""
    around = np.ones((3, 3), np.uint8)
    high, low = cv2.dilate(closed, around), cv2.erode(closed, around)
    edges = cv2.subtract(high, low) > _SHARP * high
    count, parts, stats, _ = cv2.connectedComponentsWithStats((~edges).astype(np.uint8), connectivity=4)
    height, width = closed.shape
    found = np.zeros(closed.shape, bool)
    for part in range(1, count):
        x, y, across, down, area = stats[part]
        if area < _LEAST_PATCH or x == 0 or y == 0 or x + across == width or y + down == height:
            continue
        inside = (parts == part).astype(np.uint8)
        # over the edge, which is up to five pixels wide, to what is outside
        near = cv2.dilate(inside, np.ones((9, 9), np.uint8)) > 0
        outside = (cv2.dilate(inside, np.ones((15, 15), np.uint8)) > 0) & ~near
        if np.median(closed[inside > 0]) < _DARKER * np.median(closed[outside]):
            found |= near
    return found


def noise(grey: Pixels) -> float:
    """Standard deviation of the grain, grey levels.

    J. Immerkær, "Fast noise variance estimation", Computer Vision and Image Understanding 64(2), 1996; the
    median over patches, so that edges do not count as grain.
    """
    height, width = grey.shape
    found = []
    for row in np.linspace(0, max(height - _PATCH, 0), 4).astype(int).tolist():
        for column in np.linspace(0, max(width - _PATCH, 0), 4).astype(int).tolist():
            patch = grey[row : row + _PATCH, column : column + _PATCH].astype(np.float32)
            response = np.abs(cv2.filter2D(patch, -1, _NOISE_KERNEL))
            found.append(float(np.median(response)) / (6 * 0.6745))  # median of |N(0, σ)| is 0.6745 σ
    return float(np.median(found))


def smoothed(levels: Pixels, grain: float) -> Pixels:
    """Without grain that would fray every edge."""
    return cv2.GaussianBlur(levels, (5, 5), 0) if grain > 2 * GRAINY else cv2.GaussianBlur(levels, (3, 3), 0)
