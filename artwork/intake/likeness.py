"""Whether a drawing was read as others see it: its outline against a picture of it by another program.

What no list of features foresees — blend modes, soft masks, hidden layers, clips by another rule, styles that are
not understood — shows as a difference between the two.
"""

from __future__ import annotations

import cv2
import numpy as np

from artwork.curves import sampled
from artwork.intake.colours import WHITE, cells_of, coarse_oklab, oklab, rgb_of
from artwork.intake.finishing import Drawing
from artwork.intake.values import Reading
from artwork.outline import Outline

SIDE = 500
"""Longer side of the picture that an outline is held against, pixels."""
ALIKE = 0.98
"""Share of the art on which outline and picture must agree; edges may differ by a pixel."""
_A_LITTLE = 0.05
"""Distance in OKLab from all that is not carved at which something may be there."""
_AROUND = np.ones((3, 3), np.uint8)

Pixels = cv2.typing.MatLike


def likeness(reading: Reading, drawing: Drawing, picture: Pixels) -> float:
    """Share of the art, 0 to 1, on which the outline agrees with a picture (h, w, 3) of the drawing's page."""
    if drawing.page is None or any(remark.code == "light-art" for remark in reading.remarks):
        return 1.0  # no page to lay it on, or nothing that would show on white paper
    wanted, perhaps = _carved(picture, reading, drawing.paper_carved)
    got = covered(reading.outline, drawing.page, picture.shape[:2])
    differing = cv2.subtract(got, cv2.dilate(perhaps, _AROUND)) + cv2.subtract(
        wanted, cv2.dilate(got, _AROUND)
    )
    art = cv2.bitwise_or(got, wanted)
    for box in drawing.unlike:
        _boxed(differing, drawing.page, box)
        _boxed(art, drawing.page, box)
    return 1.0 - cv2.countNonZero(differing) / max(cv2.countNonZero(art), 1)


def _carved(picture: Pixels, reading: Reading, paper: bool) -> tuple[Pixels, Pixels]:
    """Which pixels have a colour that is carved, and which have perhaps a little of one, as thin lines do.

    Each pixel goes to the ink, or the paper, that it looks most like.
    """
    colours = [rgb_of(ink.colour) for ink in reading.inks]
    carved = np.array([*(ink.carved for ink in reading.inks), paper])  # white ink comes before white paper
    index, grid = cells_of(picture), coarse_oklab()
    there = np.flatnonzero(np.bincount(index.ravel(), minlength=len(grid)))
    apart = np.linalg.norm(grid[there, None] - oklab(np.array([*colours, WHITE])), axis=2)
    surely, perhaps = np.zeros((2, len(grid)), np.uint8)
    surely[there] = carved[apart.argmin(axis=1)]
    perhaps[there] = surely[there] | (apart[:, ~carved].min(axis=1, initial=np.inf) > _A_LITTLE)
    return surely[index], perhaps[index]


def covered(outline: Outline, page: tuple[float, float, float, float], shape: tuple[int, ...]) -> Pixels:
    """The pixels of the page that the outline covers, (h, w) uint8."""
    left, low, right, high = page
    scale = np.array([shape[1] / (right - left), shape[0] / (high - low)])
    samples = sampled(outline.contours, 0.3 / float(scale.min()))
    points = (samples.points - (left, low)) * scale
    points[:, 1] = shape[0] - points[:, 1]
    fixed = np.round(np.clip(points - 0.5, -1e5, 1e5) * (1 << _SHIFT)).astype(np.int32)
    sheet = np.zeros(shape[:2], np.uint8)
    cv2.fillPoly(sheet, np.split(fixed, samples.starts[1:-1]), 1, shift=_SHIFT)
    return sheet


_SHIFT = 4
"""Bits of a pixel's fraction that OpenCV fills polygons to."""


def _boxed(
    mask: Pixels, page: tuple[float, float, float, float], box: tuple[float, float, float, float]
) -> None:
    """Clears a mask within a box of the page."""
    height, width = mask.shape[:2]
    across, down = width / (page[2] - page[0]), height / (page[3] - page[1])
    left, right = (round((x - page[0]) * across) for x in (box[0], box[2]))
    top, bottom = (round((page[3] - y) * down) for y in (box[3], box[1]))
    mask[max(top - 2, 0) : max(bottom + 2, 0), max(left - 2, 0) : max(right + 2, 0)] = 0
