"""Colour art → a few inks, and which pixel belongs to which."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from artwork.curves import Floats
from artwork.intake.colours import SAME_INK, cells_of, oklab

Pixels = cv2.typing.MatLike

MOST_INKS = 8
_LEAST_SHARE = 0.002
"""A colour on less than this share of the flat pixels is no ink of its own."""
_FLAT = 10
"""Grey levels across three pixels up to which a pixel is flat: away from edges, where colours mix."""
_EXPLAINED = 0.985
"""Share of the flat pixels that must lie near an ink: photos and soft edges of shadows hold more others."""
_MANY_INKS = 6
"""More inks than this, next to each other, are one colour running into another."""
_BETWEEN = 0.06
"""A colour this near (in OKLab) to the line between two others may be their mixture along an edge."""
_TIGHT = 0.04
"""Most pixels of a flat ink lie this near (in OKLab) to its mean; shades of light spread wider."""
_MOST = 0.8
_PURE = 0.04
"""A colour this near (in sRGB) to an ink is that ink, not a mixture."""
_SAMPLE_SIDE = 500
_SHADOW_SIDE = 600
"""Edges are judged soft or sharp on a picture reduced to this side; there a drawn edge is two pixels wide."""
_CORE = 0.07
_DARKEST_SHADOW = 0.45
_SHARP = 0.5
_BITS = 5
_STEPS = 1 << _BITS


@dataclass(frozen=True, eq=False)
class Inks:
    """Colours of flat art.

    Attributes:
        colours: shape (k, 3), sRGB 0 to 1, the ground first, then the most of the picture first.
        shares: shape (k,), of the flat pixels.
    """

    colours: Floats
    shares: Floats


def separate(levels: Pixels, ground: Floats) -> Inks | None:
    """The inks of flat art, (h, w) or (h, w, 3) uint8; ``None`` for photos, gradients and shaded art.

    ``ground``: the colour of the background, sRGB 0 to 1.
    """
    step = max(1, max(levels.shape[:2]) // _SAMPLE_SIDE)
    flat = _flat_pixels(levels, step)
    if len(flat) < _STEPS:
        return None
    packed = flat.astype(np.int64) >> (8 - _BITS)
    bins = (packed[:, 0] * _STEPS + packed[:, 1]) * _STEPS + packed[:, 2]
    weights = np.bincount(bins)
    used = np.flatnonzero(weights)
    means = np.stack([np.bincount(bins, flat[:, i])[used] / weights[used] for i in range(3)], axis=1) / 255
    return _clustered(means, weights[used] / len(bins), ground)


def _flat_pixels(levels: Pixels, step: int) -> np.ndarray:
    """Colours (n, 3) of sampled pixels that differ little from their neighbours."""
    rows = slice(step, max(levels.shape[0] - step, step + 1), step)
    columns = slice(step, max(levels.shape[1] - step, step + 1), step)
    colour = levels if levels.ndim == 3 else levels[:, :, None]
    height, width = colour.shape[:2]
    if min(height, width) < 3:
        return np.empty((0, 3), np.uint8)
    y = np.clip(np.arange(height)[rows], 1, height - 2)
    x = np.clip(np.arange(width)[columns], 1, width - 2)
    around = [
        colour[np.ix_(y + dy, x + dx)].astype(np.int16) for dy, dx in ((-1, 0), (1, 0), (0, -1), (0, 1))
    ]
    spread = np.max(around, axis=0) - np.min(around, axis=0)
    here = colour[np.ix_(y, x)][spread.max(axis=2) <= _FLAT]
    return here if here.shape[1] == 3 else np.repeat(here, 3, axis=1)


def _clustered(colours: Floats, weights: Floats, ground: Floats) -> Inks | None:
    """Greedy: the ground, then always the heaviest colour that is not yet near an ink."""
    lab = oklab(colours)
    left = np.ones(len(colours), bool)
    centre = oklab(ground[None])[0]
    found: list[Floats] = []
    shares: list[float] = []
    explained = 0.0
    while len(found) <= MOST_INKS:
        near = left & (np.linalg.norm(lab - centre, axis=1) < SAME_INK)
        share = float(weights[near].sum())
        if found and share < _LEAST_SHARE:
            break
        mean = np.average(colours[near], axis=0, weights=weights[near]) if share else ground
        tight = np.linalg.norm(lab - oklab(mean[None]), axis=1) < _TIGHT
        if weights[near & tight].sum() < _MOST * share:
            return None
        explained += float(weights[near & tight].sum())
        found.append(mean)
        shares.append(share)
        left &= ~near
        if not left.any():
            break
        centre = lab[np.flatnonzero(left)[np.argmax(weights[left])]]
    if explained < _EXPLAINED or len(found) > _MANY_INKS + 1:
        return None
    order = [0, *(1 + np.argsort(-np.array(shares[1:]), kind="stable"))]
    return Inks(np.array(found)[order], np.array(shares)[order])


def shadowed(levels: Pixels, inks: Inks) -> bool:
    """Whether some ink is but the ground in shadow: a darker shade of it, with soft edges."""
    shades = [k for k in range(1, len(inks.colours)) if _shade_of_ground(inks, k)]
    if not shades:
        return False
    scale = min(1.0, _SHADOW_SIDE / max(levels.shape[:2]))
    size = (max(1, round(levels.shape[1] * scale)), max(1, round(levels.shape[0] * scale)))
    small = cv2.medianBlur(cv2.resize(levels, size, interpolation=cv2.INTER_AREA), 9)
    colour = np.asarray(small, np.float32).reshape(*small.shape[:2], -1) / 255
    ground, *cores = (
        (np.abs(colour - inks.colours[k]).max(axis=2) < _CORE).astype(np.uint8) for k in (0, *shades)
    )
    return any(_soft(core, ground) for core in cores)


def _shade_of_ground(inks: Inks, k: int) -> bool:
    ground, colour = inks.colours[0], inks.colours[k]
    factor = float(colour @ ground / max(float(ground @ ground), 1e-12))
    return _DARKEST_SHADOW < factor < 1 and float(np.abs(colour - factor * ground).max()) < _CORE


def _soft(core: Pixels, ground: Pixels) -> bool:
    """Whether most of the core's edge lies far from the ground: one runs into the other."""
    core = cv2.morphologyEx(core, cv2.MORPH_OPEN, np.ones((7, 7), np.uint8))  # not the edges of darker ink
    near = np.ones((3, 3), np.uint8)
    reach = np.ones((5, 5), np.uint8)
    edge = cv2.countNonZero(cv2.subtract(cv2.dilate(core, near), core))
    meeting = cv2.bitwise_and(cv2.dilate(core, reach), cv2.dilate(ground, reach))
    return cv2.countNonZero(meeting) < _SHARP * edge


def labels(levels: Pixels, inks: Inks, lean: float) -> Pixels:
    """Which ink each pixel is, (h, w) uint8, 0 for the ground.

    On an edge a pixel is a mixture: it goes to the ink that has more of it, ``lean`` (−0.5 to 0.5) more or
    less in favour of inks against the ground.
    """
    if levels.ndim == 2:
        greys = np.repeat(np.arange(256)[:, None] / 255, 3, axis=1)
        found = cv2.LUT(levels, _nearest(greys, inks, lean))
    else:
        axis = (np.arange(_STEPS) * (256 // _STEPS) + 128 // _STEPS) / 255
        grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
        index = cells_of(levels)
        there = np.flatnonzero(np.bincount(index.ravel(), minlength=len(grid)))
        table = np.zeros(len(grid), np.uint8)
        table[there] = _nearest(grid[there], inks, lean)
        found = table[index]
    return _without_halos(levels, found, inks, lean)


def _nearest(colours: Floats, inks: Inks, lean: float) -> np.ndarray:
    """The ink of each colour: the nearer end of the nearest line between two inks, in sRGB as edges mix."""
    best = np.full(len(colours), np.inf)
    label = np.zeros(len(colours), np.uint8)
    for i in range(len(inks.colours)):
        for j in range(i + 1, len(inks.colours)):
            share, off = _along(colours, inks.colours[i], inks.colours[j])
            nearer = off < best - 1e-9
            best = np.where(nearer, off, best)
            middle = 0.5 - (lean if i == 0 else 0.0)
            label = np.where(nearer, np.where(share > middle, j, i), label)
    apart = np.linalg.norm(colours[:, None] - inks.colours, axis=2)
    pure = apart.min(axis=1) < _PURE
    return np.where(pure, apart.argmin(axis=1), label).astype(np.uint8)


def _along(colours: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Share of ``end`` in each colour, and how far it lies off the line between the two."""
    line = end - start
    share = np.clip((colours - start) @ line / max(float(line @ line), 1e-12), 0, 1)
    return share, np.linalg.norm(colours - start - share[:, None] * line, axis=1)


def _without_halos(levels: Pixels, found: Pixels, inks: Inks, lean: float) -> Pixels:
    """Where an ink looks like a mixture of ground and another, its thin seams along that other are edges."""
    kernel = np.ones((3, 3), np.uint8)
    others = range(1, len(inks.colours))
    mixed_of = [(k, j) for k in others for j in others if j != k and _between(inks.colours, k, j) <= _BETWEEN]
    if not mixed_of:
        return found
    concerned = {0, *(ink for pair in mixed_of for ink in pair)}
    cores = {i: cv2.erode((found == i).astype(np.uint8), kernel) for i in concerned}
    near = {i: np.asarray(cv2.dilate(cores[i], np.ones((5, 5), np.uint8))) > 0 for i in concerned}
    done = found
    for k in others:
        thin = None
        for j in (j for one, j in mixed_of if one == k):
            if thin is None:
                thin = (found == k) & (cv2.dilate(cores[k], kernel) == 0) & near[0]
            seam = thin & near[j]
            if not seam.any():
                continue
            if done is found:
                done = found.copy()
            mixed = levels[seam].reshape(-1, 1 if levels.ndim == 2 else 3) / 255
            share, _ = _along(np.broadcast_to(mixed, (len(mixed), 3)), inks.colours[0], inks.colours[j])
            done[seam] = np.where(share > 0.5 - lean, j, 0)
    return done


def _between(colours: Floats, k: int, j: int) -> float:
    """How far ink ``k`` lies off the line from the ground to ink ``j``, in sRGB."""
    share, off = _along(colours[k : k + 1], colours[0], colours[j])
    return float(off[0]) if 0.05 < share[0] < 0.95 else np.inf
