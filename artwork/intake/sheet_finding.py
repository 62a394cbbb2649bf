"""Where in a photo a sheet of paper, a card or a sign lies.

It is the largest four-sided patch whose every side is a sharp step to what lies around it.
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from artwork.curves import Floats
from artwork.intake.levelling import noise
from artwork.intake.sheet import Pixels, Sheet, corner_angles, length_of

_SMALL = 512
"""Sheets are looked for on a picture reduced to this side."""
_LEAST_LIGHT, _LEAST_DARK = 0.08, 0.45
"""Least share of the picture that a sheet takes: one lighter, one darker than what is around it. A dark patch that
is smaller may well be part of the print."""
_FILLED = 0.94
"""Share of a sheet's four-sided hull that its own patch fills."""
_CORNER_ANGLES = (55.0, 125.0)
_STEP = 12.0
"""Grey levels by which a sheet differs from what is around it, at least."""
_NEAR, _FAR = 3.0, 8.0
"""Distances from a side, pixels of the small picture, at which the step is measured."""
_DEEP = 24.0
"""So far within and without, a sheet and its surroundings are still mostly as they are at its edge: the lines of a
printed frame are not.
"""
_SHARP = 0.6
"""Share of the step that is done within the near distance: a sheet has an edge, a shadow fades."""
_AGREE = 0.75
"""Share of the places along a side that show the step."""
_ALONG = np.linspace(0.06, 0.94, 48)
_FLAT_AROUND = 4.0
_GRAIN = 0.5
"""A sheet is only in a photo or scan: it lies crooked, or what is around it varies by so many grey levels, or all is
grainy. A drawn one is upright on a ground that is flat and clean.
"""
_LEAST_REACH = 3.0


def find_sheet(levels: Pixels) -> Sheet | None:
    """The sheet in a photo (h, w) or (h, w, 3); ``None`` where there is none, or it runs off the picture."""
    height, width = levels.shape[:2]
    scale = min(1.0, _SMALL / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    step = max(1, int(0.5 / scale))  # every second or third pixel first: a whole large picture takes long
    small = cv2.resize(levels[::step, ::step], size, interpolation=cv2.INTER_AREA)
    smooth = cv2.medianBlur(small, 5)
    found: Floats | None = None
    for quad in _candidates(smooth):
        if (found is None or _area(quad) > _area(found)) and _stands_apart(smooth, quad):
            found = quad
    if found is None:
        return None
    corners = found * (np.array([width, height]) / np.array(small.shape[1::-1]))
    for reach in (_NEAR / scale, _NEAR / scale / 2):
        refined = _refined(levels, corners, max(reach, _LEAST_REACH))
        if refined is None:
            return None
        corners = refined
    sheet = Sheet(corners, (width, height))
    real = not sheet.upright or _varies_around(small, found) or noise(_grey(levels)) > _GRAIN
    return sheet if real else None


def _candidates(small: Pixels) -> Iterator[Floats]:
    """Four-sided patches, by lightness, by colour, and by what lines surround."""
    planes = (
        [small]
        if small.ndim == 2
        else [*cv2.split(small), *cv2.split(cv2.cvtColor(small, cv2.COLOR_RGB2LAB))]
    )
    least = _LEAST_LIGHT * small.shape[0] * small.shape[1]
    masks = [cv2.threshold(plane, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)[1] for plane in planes]
    for low, high in ((20, 60), (60, 150)):
        lines = [cv2.Canny(plane, low, high) for plane in planes]
        masks.append(cv2.dilate(np.maximum.reduce(lines), np.ones((3, 3), np.uint8)))
    for mask in masks:
        framed = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
        for patches in (framed, cv2.bitwise_not(framed)):
            contours, _ = cv2.findContours(patches, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
            for contour in contours:
                quad = _four_sided(contour, least)
                if quad is not None:
                    yield quad - 0.5  # the frame, and from a pixel's middle to its corner


def _four_sided(contour: Pixels, least: float) -> Floats | None:
    """The contour's hull by four corners, clockwise from the upper left; ``None`` where it is not like that."""
    _, _, width, height = cv2.boundingRect(contour)
    if width * height < least:
        return None
    hull = cv2.convexHull(contour)
    filled = cv2.contourArea(hull)
    if filled < least or len(hull) < 4:
        return None
    quad = np.asarray(cv2.approxPolyN(hull, 4), np.float64).reshape(-1, 2)
    if len(quad) != 4 or _area(quad) <= 0 or filled < _FILLED * _area(quad):
        return None
    middle = quad.mean(axis=0)
    quad = quad[np.argsort(np.arctan2(*(quad - middle).T[::-1]))]  # y runs down: clockwise
    first = int(np.argmin((quad - quad.min(axis=0)).sum(axis=1)))
    quad = np.roll(quad, -first, axis=0)
    low, high = _CORNER_ANGLES
    angles = corner_angles(quad)
    return quad if low < angles.min() and angles.max() < high else None


def _grey(levels: Pixels) -> Pixels:
    return levels if levels.ndim == 2 else cv2.cvtColor(levels, cv2.COLOR_RGB2GRAY)


def _area(quad: Floats) -> float:
    return float(cv2.contourArea(quad.astype(np.float32)))


def _sides(quad: Floats) -> Iterator[tuple[Floats, Floats]]:
    """Places along each side, (n, 2), and the unit vector that leads out of the sheet there."""
    for start, end in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        along = (end - start) / length_of(end - start)
        yield start + _ALONG[:, None] * (end - start), np.array([along[1], -along[0]])


def _levels_at(levels: Pixels, points: Floats) -> Floats:
    """Levels (…, channels) at points (…, 2) in pixels from the upper left corner."""
    x, y = np.moveaxis(np.asarray(points, np.float32).reshape(-1, 1, 2) - np.float32(0.5), 2, 0)
    found = cv2.remap(levels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found, np.float64).reshape(*points.shape[:-1], -1)


def _stands_apart(small: Pixels, quad: Floats) -> bool:
    """Whether every side is a sharp step, all up or all down, well within the picture."""
    frame = np.array(small.shape[1::-1])
    lighter = []
    for places, outward in _sides(quad):
        outside = places + _FAR * outward
        if (outside < 0).any() or (outside > frame).any():
            return False
        far = _levels_at(small, places - _FAR * outward) - _levels_at(small, outside)
        near = _levels_at(small, places - _NEAR * outward) - _levels_at(small, places + _NEAR * outward)
        step = np.median(far, axis=0)
        size = _rms(step)
        if size < _STEP or _rms(np.median(near, axis=0)) < _SHARP * size:
            return False
        deep = _levels_at(small, places - _DEEP * outward) - _levels_at(small, places + _DEEP * outward)
        if ((far @ step) > 0.25 * (step @ step)).mean() < _AGREE or np.median(deep @ step) < 0.5 * (
            step @ step
        ):
            return False
        lighter.append(float(step.mean()) > 0)
    share = _area(quad) / float(frame[0] * frame[1])
    return all(lighter) or (not any(lighter) and share >= _LEAST_DARK)


def _rms(vector: Floats) -> float:
    return float(np.sqrt((vector * vector).mean()))


def _varies_around(small: Pixels, quad: Floats) -> bool:
    """Whether what lies around is a real place, not the one colour of a drawn ground."""
    around = np.ones(small.shape[:2], np.uint8)
    cv2.fillConvexPoly(around, np.round(quad).astype(np.int32), 0)
    around = cv2.erode(around, np.ones((9, 9), np.uint8))
    low, high = np.percentile(_grey(small)[around > 0], (10, 90)) if around.any() else (0, 0)
    return bool(high - low >= _FLAT_AROUND)


def _refined(levels: Pixels, corners: Floats, reach: float) -> Floats | None:
    """The corners where lines through the steepest places along each side meet."""
    lines = []
    steps = np.linspace(-reach, reach, 2 * int(np.ceil(2 * reach)) + 1)
    for places, outward in _sides(corners):
        profiles = _levels_at(levels, places[:, None] + steps[:, None] * outward)
        slope = np.gradient(cv2.GaussianBlur(profiles, (1, 5), 0).reshape(profiles.shape), axis=1)
        steepness = np.abs(slope).sum(axis=2)
        peak = np.clip(steepness.argmax(axis=1), 1, len(steps) - 2)
        rows = np.arange(len(peak))
        before, here, after = (steepness[rows, peak + d] for d in (-1, 0, 1))
        bend = before - 2 * here + after
        shift = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1), 0.0)
        offsets = steps[peak] + np.clip(shift, -0.5, 0.5) * (steps[1] - steps[0])
        points = (places + offsets[:, None] * outward).astype(np.float32)
        lines.append(cv2.fitLine(points, cv2.DIST_WELSCH, 0, 0.01, 0.01).ravel().astype(np.float64))
    met = [_meeting(lines[i - 1], lines[i]) for i in range(4)]
    if any(point is None for point in met):
        return None
    return np.array(met)


def _meeting(first: Floats, second: Floats) -> Floats | None:
    """Where two lines (direction, point) cross."""
    matrix = np.array([first[:2], -second[:2]]).T
    if abs(np.linalg.det(matrix)) < 1e-6:
        return None
    return np.asarray(first[2:] + np.linalg.solve(matrix, second[2:] - first[2:])[0] * first[:2])
