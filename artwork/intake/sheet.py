"""A sheet of paper, a card or a sign in a photo: its true proportions, cut out, or made square again.

Its proportions come from its four corners (Z. Zhang, L.-W. He, "Whiteboard scanning and image enhancement",
Digital Signal Processing 17(2), 2007), for a camera whose axis goes through the middle of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from artwork.curves import Floats
from artwork.intake.skew import LEAST_TURN

Pixels = cv2.typing.MatLike

_TRIM = 0.006
"""Share of the shorter side by which a sheet is cut out smaller than it is, to lose its blurred edge."""
_LEAST_TRIM = 3.0
_KEYSTONE = 0.015
_OFF_SQUARE_DEG = 0.7
"""A sheet with opposite sides that differ by more than this share, or corners by more degrees, was seen at an angle:
0.7° is 1.2 mm on a 100 mm card.
"""
_FOCAL = (0.5, 3.0)
"""Focal lengths of phones and cameras, in longer sides of the picture."""
_PAINTED = 256


@dataclass(frozen=True, eq=False)
class Sheet:
    """A sheet's corners in a picture, (4, 2), pixels from the picture's upper left corner, clockwise from the sheet's
    upper left; and the picture's width and height.
    """

    corners: Floats
    frame: tuple[int, int]

    @property
    def keystone(self) -> float:
        """How much shorter one side is than the one across from it, at most, as a share."""
        sides = np.hypot(*(np.roll(self.corners, -1, axis=0) - self.corners).T)
        return float(max(1 - min(a, b) / max(a, b) for a, b in ((sides[0], sides[2]), (sides[1], sides[3]))))

    @property
    def off_square_deg(self) -> float:
        """How far a corner is from a right angle, at most, degrees."""
        return float(np.abs(corner_angles(self.corners) - 90).max())

    @property
    def turn_deg(self) -> float:
        """How far the sheet lies turned, clockwise positive, degrees."""
        upper, right = self.corners[1] - self.corners[0], self.corners[2] - self.corners[1]
        lower, left = self.corners[2] - self.corners[3], self.corners[3] - self.corners[0]
        across, down = (
            upper / length_of(upper) + lower / length_of(lower),
            right / length_of(right) + left / length_of(left),
        )
        return float(np.degrees(np.arctan2(across[1] - down[0], across[0] + down[1])))

    @property
    def square_on(self) -> bool:
        """Whether it was seen from straight above, as far as anyone can see."""
        return self.keystone <= _KEYSTONE and self.off_square_deg <= _OFF_SQUARE_DEG

    @property
    def upright(self) -> bool:
        """Whether it was seen from straight above and not turned."""
        return self.square_on and abs(self.turn_deg) < LEAST_TURN

    @property
    def proportions(self) -> float:
        """The sheet's true width over its height."""
        centre = np.array(self.frame) / 2
        m1, m2, m4, m3 = (np.append(corner - centre, 1.0) for corner in self.corners)
        k2 = np.cross(m1, m4) @ m3 / (np.cross(m2, m4) @ m3)
        k3 = np.cross(m1, m4) @ m2 / (np.cross(m3, m4) @ m2)
        n2, n3 = k2 * m2 - m1, k3 * m3 - m1
        depth = n2[2] * n3[2]
        with np.errstate(divide="ignore", invalid="ignore"):
            focal = np.sqrt(-(n2[0] * n3[0] + n2[1] * n3[1]) / depth)
        low, high = (share * max(self.frame) for share in _FOCAL)
        focal = high if not np.isfinite(focal) else float(np.clip(focal, low, high))
        weights = np.array([1 / focal**2, 1 / focal**2, 1.0])
        return float(np.sqrt((n2 * n2 * weights).sum() / (n3 * n3 * weights).sum()))


def squared(levels: Pixels, sheet: Sheet) -> Pixels:
    """The sheet alone, seen from straight above, as fine as the picture has it."""
    sides = np.hypot(*(np.roll(sheet.corners, -1, axis=0) - sheet.corners).T)
    wide, tall = max(sides[0], sides[2]), max(sides[1], sides[3])
    across = float(np.sqrt(wide * tall * sheet.proportions))
    size = (max(8, round(across)), max(8, round(across / sheet.proportions)))
    trim = _trim(sheet)
    square = np.array([(0, 0), (size[0], 0), size, (0, size[1])], np.float32) - trim
    matrix = cv2.getPerspectiveTransform(sheet.corners.astype(np.float32) - 0.5, square - np.float32(0.5))
    shown = tuple(max(8, round(side - 2 * trim)) for side in size)
    return cv2.warpPerspective(levels, matrix, shown, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def cut_out(levels: Pixels, sheet: Sheet) -> tuple[Pixels, Pixels]:
    """The box around the sheet, what is not sheet painted as paper; and where the sheet is, (h, w) uint8."""
    middle = sheet.corners.mean(axis=0)
    shrunk = middle + (sheet.corners - middle) * (1 - 2 * _trim(sheet) / _shorter(sheet))
    left, low = np.floor(shrunk.min(axis=0)).astype(int).tolist()
    right, high = np.ceil(shrunk.max(axis=0)).astype(int).tolist()
    part = levels[max(low, 0) : high, max(left, 0) : right]
    inside = np.zeros(part.shape[:2], np.uint8)
    shift = np.array([max(left, 0), max(low, 0)])
    cv2.fillConvexPoly(inside, np.round(shrunk - shift - 0.5).astype(np.int32), 1)
    return np.where(inside if part.ndim == 2 else inside[:, :, None], part, _papered(part, inside)), inside


def _papered(part: Pixels, inside: Pixels) -> Pixels:
    """The sheet's paper carried on outwards (A. Telea, "An image inpainting technique based on the fast marching
    method", Journal of Graphics Tools 9(1), 2004), on a small picture: it is but light."""
    size = tuple(max(1, round(side * min(1.0, _PAINTED / max(inside.shape)))) for side in inside.shape[::-1])
    small = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    sure = cv2.erode(cv2.resize(inside, size, interpolation=cv2.INTER_AREA), np.ones((3, 3), np.uint8))
    painted = cv2.inpaint(small, 1 - sure, 5, cv2.INPAINT_TELEA)
    return cv2.resize(painted, inside.shape[::-1], interpolation=cv2.INTER_LINEAR)


def _shorter(sheet: Sheet) -> float:
    return float(np.hypot(*(np.roll(sheet.corners, -1, axis=0) - sheet.corners).T).min())


def _trim(sheet: Sheet) -> float:
    return max(_LEAST_TRIM, _TRIM * _shorter(sheet))


def corner_angles(quad: Floats) -> Floats:
    """The angle at each corner, degrees."""
    before, after = np.roll(quad, 1, axis=0) - quad, np.roll(quad, -1, axis=0) - quad
    cosines = (before * after).sum(axis=1) / np.maximum(np.hypot(*before.T) * np.hypot(*after.T), 1e-12)
    return np.asarray(np.degrees(np.arccos(np.clip(cosines, -1, 1))))


def length_of(vector: Floats) -> float:
    """A vector's length, never 0."""
    return float(np.hypot(*vector)) or 1.0
