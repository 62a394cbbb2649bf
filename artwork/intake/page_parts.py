"""A letter or a page: where its text is, and where its logos are."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from artwork.intake.colours import oklab, oklab_of
from artwork.intake.ground import border_colour
from artwork.intake.values import Crop

Pixels = cv2.typing.MatLike
Box = tuple[int, int, int, int]
"""Left, top, width, height, pixels."""

SIDE = 1000
"""Longer side that a page is looked at with, pixels; the shares below are of it."""
_LEAST_SIDE = 600
"""A picture smaller than this holds no page of text."""
_STANDS_OUT = 0.12
"""Difference in OKLab from the page at which a pixel is printed."""
_TALLEST = 0.025
"""Text has letters of at most this height: 7 mm on A4."""
_SHORTEST = 3
_WORD_GAP = 0.012
"""Letters and words nearer than this are one line."""
_FEWEST = 8
"""Letters in a line of text."""
_LONG = 0.12
"""Width of a line of running text."""
_FEWEST_LINES = 3
_GAP = 0.03
"""Parts of one logo lie no further apart."""
_FAR = 0.09
"""Where a page holds no running text, its logos lie further apart than this."""
_LEAST = 0.03
"""Greater side of a logo."""
_THIN = 0.012
"""What is thinner than this is a rule, not a logo."""
_MOST = 0.6
"""Share of the page from which on a part of it is the page itself."""
_AS_LARGE = 0.25
"""Logos beside each other are at least this share of the largest, by their boxes."""
MOST_LOGOS = 3


@dataclass(frozen=True)
class PageParts:
    """What a page holds.

    Attributes:
        logos: where each logo is, the largest first.
        letter: whether running text stands beside them.
    """

    logos: tuple[Crop, ...]
    letter: bool


def page_parts(levels: Pixels) -> PageParts | None:
    """The logos of a page (h, w) or (h, w, 3) uint8; ``None`` where it is one piece of art, or text alone."""
    if max(levels.shape[:2]) < _LEAST_SIDE:
        return None
    scale = min(1.0, SIDE / max(levels.shape[:2]))
    size = (max(1, round(levels.shape[1] * scale)), max(1, round(levels.shape[0] * scale)))
    small = cv2.resize(levels, size, interpolation=cv2.INTER_AREA)
    if small.ndim == 2:
        small = cv2.cvtColor(small, cv2.COLOR_GRAY2RGB)
    away = oklab_of(small) - oklab(border_colour(small)[None])[0]
    printed = (np.einsum("hwc,hwc->hw", away, away) > _STANDS_OUT**2).astype(np.uint8)
    lines = _lines(printed)
    rest = printed.copy()
    for left, top, width, height in lines:
        rest[top : top + height, left : left + width] = 0
    found = [_with_its_words(each, lines) for each in _logos(rest, _GAP)]
    side = max(printed.shape)
    text = [line for line in lines if line[2] >= _LONG * side and not any(_holds(box, line) for box in found)]
    letter = len(text) >= _FEWEST_LINES
    if not letter:
        found = [each for each in _logos(printed, _FAR) if _drawn(rest, each)]  # not those of words alone
    largest = max((width * height for _, _, width, height in found), default=0)
    found = [each for each in found if each[2] * each[3] >= _AS_LARGE * largest]
    if not found or len(found) > 2 * MOST_LOGOS or largest > _MOST * printed.size:
        return None
    if not letter and len(found) == 1:
        return None
    found.sort(key=lambda each: (-each[2] * each[3], each[1], each[0]))
    return PageParts(tuple(_crop(each, printed.shape) for each in found[:MOST_LOGOS]), letter)


def _lines(printed: Pixels) -> list[Box]:
    """Where lines of text are: letters of one height beside each other."""
    side = max(printed.shape)
    _, parts, stats, _ = cv2.connectedComponentsWithStats(printed, connectivity=8)
    low = (stats[:, 3] >= _SHORTEST) & (stats[:, 3] <= _TALLEST * side) & (stats[:, 2] <= _LONG * side)
    low[0] = False
    letters = low.astype(np.uint8)[parts]
    joined = cv2.morphologyEx(
        letters, cv2.MORPH_CLOSE, np.ones((1, 2 * round(_WORD_GAP * side) + 1), np.uint8)
    )
    lines, _, found, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    middle = (stats[:, :2] + stats[:, 2:4] / 2)[low]
    kept: list[Box] = []
    for left, top, width, height in found[1:lines, :4].tolist():
        inside = (middle >= (left, top)) & (middle <= (left + width, top + height))
        if height <= 1.5 * _TALLEST * side and int(inside.all(axis=1).sum()) >= _FEWEST:
            kept.append((left, top, width, height))
    return kept


def _logos(rest: Pixels, gap: float) -> list[Box]:
    """Boxes of what is printed besides text and rules; parts that lie near each other are one."""
    side = max(rest.shape)
    reach = 2 * round(gap / 2 * side) + 1
    joined = cv2.dilate(rest, np.ones((reach, reach), np.uint8))
    count, parts = cv2.connectedComponents(joined, connectivity=8)
    found: list[Box] = []
    for part in range(1, count):
        left, top, width, height = cv2.boundingRect(
            ((parts == part) & (np.asarray(rest) > 0)).astype(np.uint8)
        )
        if max(width, height) >= _LEAST * side and min(width, height) >= _THIN * side:
            found.append((left, top, width, height))
    return found


def _with_its_words(logo: Box, lines: list[Box]) -> Box:
    """A logo with short lines close under, over or beside it: its name belongs to it."""
    near = round(_GAP * SIDE)
    left, top, width, height = logo
    for line in lines:
        beside = line[1] >= top - line[3] and line[1] + line[3] <= top + height + line[3]
        across = line[0] >= left - 0.25 * width and line[0] + line[2] <= left + 1.25 * width
        apart_x = max(line[0] - left - width, left - line[0] - line[2])
        apart_y = max(line[1] - top - height, top - line[1] - line[3])
        if (across and apart_y <= near) or (beside and apart_x <= near and line[2] <= 3 * width):
            right, low = max(left + width, line[0] + line[2]), max(top + height, line[1] + line[3])
            left, top = min(left, line[0]), min(top, line[1])
            width, height = right - left, low - top
    return left, top, width, height


def _drawn(rest: Pixels, box: Box) -> bool:
    left, top, width, height = box
    return cv2.countNonZero(rest[top : top + height, left : left + width]) > 0


def _holds(box: Box, line: Box) -> bool:
    return (
        box[0] <= line[0]
        and line[0] + line[2] <= box[0] + box[2]
        and (box[1] <= line[1] and line[1] + line[3] <= box[1] + box[3])
    )


def _crop(box: Box, shape: tuple[int, ...]) -> Crop:
    """Shares of the page, with a little of it around."""
    margin = round(_THIN * max(shape))
    left, top, right, low = (
        box[0] - margin,
        box[1] - margin,
        box[0] + box[2] + margin,
        box[1] + box[3] + margin,
    )
    return (
        max(left, 0) / shape[1],
        max(top, 0) / shape[0],
        min(right, shape[1]) / shape[1],
        min(low, shape[0]) / shape[0],
    )
