"""What became of a region of which only a part is left as it should be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
from scipy import ndimage
from skimage.graph import MCP_Geometric

from tests.judging.fields import Grid

CORNER = 2.0
"""A corner of 60° is too narrow over twice the half width that is needed; nobody misses it."""
LEEWAY = 1.05
"""Ways over pixels are up to this much too long."""
STRAIGHT = 0.97
"""Share of a straight way that lies in the region: its ends are pixels of the edge."""
LEAST = 0.4
"""Share of the need below which no line shows that would join two shapes."""
REAL = 400
"""Openings of what is sound have at least so many pixels: a hole of the drawing has grown by half a width."""
COARSER = 3
"""Ways are found on pixels this many times as large."""
EIGHT = np.ones((3, 3), bool)
WINDOW = 90
"""Pixels around a place in which its width is looked for: 2.7 mm."""
STRIDE = 10
"""Steps in pixels by which the middle of an end is followed."""
FINE = np.linspace(-0.4, 0.4, 5)


@dataclass(frozen=True)
class Loss:
    """One thing lost.

    Attributes:
        what: ``"vanished"`` (a whole part), ``"interrupted"`` (a thin place between two good ones, or a ring
            cut open), ``"shortened"`` (an end).
        place: slat mm.
        length: of the thin place, or of the end that is too narrow; mm.
        share: of what tapers or ends there, how much is lost; 1 for all of it.
        width: at the thinnest, as a share of what is needed there.
        wide: the same in mm; for an end the width that is needed.
    """

    what: Literal["vanished", "interrupted", "shortened"]
    place: tuple[float, float]
    length: float
    share: float
    width: float
    wide: float = 0.0


@dataclass(frozen=True, eq=False)
class Sound:
    """A region, the field that decides, and what of it is sound at a level."""

    grid: Grid
    whole: np.ndarray
    field: np.ndarray
    middle: np.ndarray
    level: float
    sound: np.ndarray
    half: float
    widest: float


def sound_at(
    grid: Grid, whole: np.ndarray, field: np.ndarray, slope: np.ndarray, flank: float, level: float,
    half: float, widest: float, exact: Callable[[np.ndarray], np.ndarray],
) -> Sound:  # fmt: skip
    """Pixels of the region where the field reaches the level, anywhere within the pixel on a middle line.

    Args:
        field: in units of what is needed, so that 1 is just enough.
        slope: how fast it grows, from :func:`slope_of`; flank: below this lies a middle line.
        half: half the least width that is needed, mm: how far one unit of the field is.
        widest: the most that is needed anywhere, mm.
        exact: the field at any places.
    """
    sound = whole & (field >= level)
    step = 0.75 * grid.px / half
    unsure = np.nonzero(whole & ~sound & (field >= level - step) & (slope < flank))
    if len(unsure[0]):
        centres = grid.places(unsure)
        best = np.full(len(centres), -np.inf)
        for dx in FINE:
            for dy in FINE:
                best = np.maximum(best, exact(centres + grid.px * np.array([dx, dy])))
        sound[unsure] = best >= level
    return Sound(grid, whole, field, slope < flank, level, sound, half, widest)


def without_flecks(region: np.ndarray, width: float) -> np.ndarray:
    """Parts no longer than half of what is needed are dust and pinholes; ``width``: needed, pixels."""
    number, _ = ndimage.label(region, EIGHT)
    boxes = ndimage.find_objects(number)
    long = [max(each.stop - each.start for each in box) > width / 2 for box in boxes]
    return np.concatenate([[False], long])[number]


def slope_of(field: np.ndarray, per_pixel: float) -> np.ndarray:
    """How fast the field grows over two pixels on either side, 1 on a plain flank."""
    padded = np.pad(field, 2, mode="edge")
    dx = padded[2:-2, 4:] - padded[2:-2, :-4]
    dy = padded[4:, 2:-2] - padded[:-4, 2:-2]
    return np.hypot(dx, dy) / 4 * per_pixel


def losses(found: Sound) -> tuple[Loss, ...]:
    """Everything lost."""
    number, survivors = _survivors(found)
    gone = [_vanished(found, number, each + 1) for each in np.flatnonzero(survivors == 0)]
    rest = np.isin(number, np.flatnonzero(survivors == 0) + 1, invert=True) & found.whole
    torn = (survivors > 1).any() or _openings(found.sound, REAL) != _openings(rest)
    cut, thin = _interrupted(found, rest) if torn else ([], np.zeros_like(rest))
    return (*gone, *cut, *_shortened(found, rest, thin))


def holds_together(found: Sound) -> bool:
    """Whether every part is left, in one piece, with all its openings: :func:`losses` but for the ends."""
    _, survivors = _survivors(found)
    return bool((survivors == 1).all()) and _openings(found.sound, REAL) == _openings(found.whole)


def ends(found: Sound) -> list[Loss]:
    """What :func:`losses` tells of ends, where nothing is torn."""
    return _shortened(found, found.whole, np.zeros_like(found.whole))


def _survivors(found: Sound) -> tuple[np.ndarray, np.ndarray]:
    """The parts of the region, numbered, and into how many sound pieces each has come."""
    number, count = ndimage.label(found.whole, EIGHT)
    parts, pieces = ndimage.label(found.sound, EIGHT)
    owner = np.zeros(pieces + 1, int)
    owner[parts[found.sound]] = number[found.sound]
    return number, np.bincount(owner[1:], minlength=count + 1)[1:]


def _openings(region: np.ndarray, least: int = 1) -> int:
    """How many separate parts of so many pixels its surroundings have: a ring that is cut open has one fewer."""
    number, _ = ndimage.label(~np.pad(region, 1))
    return int((np.bincount(number.ravel())[1:] >= least).sum())


def _vanished(found: Sound, number: np.ndarray, which: int) -> Loss:
    rows, columns = np.nonzero(number == which)
    best = int(np.argmax(found.field[rows, columns]))
    place = found.grid.places((rows[best : best + 1], columns[best : best + 1]))[0]
    span = max(np.ptp(rows), np.ptp(columns)) * found.grid.px
    width = float(found.field[rows[best], columns[best]])
    return Loss("vanished", _point(place), float(span), 1.0, width, _wide(found, rows[best], columns[best]))


def _interrupted(found: Sound, rest: np.ndarray) -> tuple[list[Loss], np.ndarray]:
    """Thin middle lines that lead from one sound place to another, and their pixels."""
    thin = rest & ~found.sound & found.middle
    runs, _ = ndimage.label(thin, EIGHT)
    told, number = [], []
    for which, box in enumerate(ndimage.find_objects(runs), start=1):
        rows, columns = (slice(max(each.start - 6, 0), each.stop + 6) for each in box)
        mine = runs[rows, columns] == which
        touched = ndimage.binary_dilation(mine, EIGHT, iterations=4) & found.sound[rows, columns]
        if ndimage.label(touched, EIGHT)[1] < 2:
            continue
        # a pixel beside the middle line says too little: the best within four pixels counts
        best = ndimage.maximum_filter(found.field[rows, columns], 9)
        inside = np.where(mine, best, np.inf)
        at = np.unravel_index(int(np.argmin(inside)), inside.shape)
        where = (np.array([at[0] + rows.start]), np.array([at[1] + columns.start]))
        # beside the middle line it seems thin for longer than it is: only where all around is thin counts, and
        # that ends four pixels early on either side
        core = np.nonzero(inside < found.level)
        span = (8 + (np.hypot(*(np.ptp(each) for each in core)) if len(core[0]) else 0)) * found.grid.px
        place = _point(found.grid.places(where)[0])
        told.append(Loss("interrupted", place, float(span), 1.0, float(inside[at]), _wide(found, *where)))
        number.append(which)
    if not told:  # torn where no middle line shows: over a pixel or two
        told += _torn(found, rest)
    return told, np.isin(runs, number)


def _torn(found: Sound, rest: np.ndarray) -> list[Loss]:
    """How much less would have to be asked for it to hold together, and where its second largest piece ends.

    Shapes that meet in a point alone hold together at no level: each is whole for itself, and nothing is lost.
    """
    low, high = LEAST, 1.0
    for _ in range(7):
        middle = (low + high) / 2
        at = replace(found, whole=rest, sound=rest & (found.field >= middle * found.level))
        low, high = (middle, high) if holds_together(at) else (low, middle)
    if low == LEAST:
        return []
    parts, count = ndimage.label(found.sound, EIGHT)
    sizes = np.bincount(parts.ravel())[1:]
    place = _point(found.grid.origin)
    if count > 1:
        first, second = np.argsort(-sizes)[:2] + 1
        off = cv2.distanceTransform((parts != first).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
        rows, columns = np.nonzero(parts == second)
        near = int(np.argmin(off[rows, columns]))
        place = _point(found.grid.places((rows[near : near + 1], columns[near : near + 1]))[0])
    return [Loss("interrupted", place, 0.0, 1.0, low * found.level, 2 * found.half)]


def _wide(found: Sound, row: np.ndarray, column: np.ndarray) -> float:
    """Twice the way to the nearest pixel outside, the most within four pixels, mm."""
    (row,), (column,), k = np.atleast_1d(row).tolist(), np.atleast_1d(column).tolist(), WINDOW
    low_r, low_c = max(row - k, 0), max(column - k, 0)
    window = found.whole[low_r : row + k + 1, low_c : column + k + 1]
    room = cv2.distanceTransform(window.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    at = (row - low_r, column - low_c)
    best = room[max(at[0] - 4, 0) : at[0] + 5, max(at[1] - 4, 0) : at[1] + 5].max()
    return float(2 * best - 1) * found.grid.px


def _shortened(found: Sound, rest: np.ndarray, told: np.ndarray) -> list[Loss]:
    """Ends farther from what is sound than a corner's would be, by ways inside the region."""
    reach = CORNER * found.half * found.level
    off = cv2.distanceTransform((~found.sound).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    if not found.sound.any() or not (rest & (off * found.grid.px > 0.9 * reach)).any():
        return []
    coarse = _pooled(rest)
    starts = np.argwhere(_pooled(found.sound) & coarse)
    way, _ = MCP_Geometric(np.where(coarse, 1.0, np.inf)).find_costs(starts)
    way = np.where(np.isfinite(way) & coarse, way, 0.0) * COARSER * found.grid.px / LEEWAY
    far, count = ndimage.label(way > reach, EIGHT)
    loose = set(range(1, count + 1)) - set(np.unique(far[_pooled(told)]).tolist())
    room = cv2.distanceTransform(found.whole.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    tops = ndimage.maximum_position(way, far, sorted(loose)) if loose else []
    return [_end(found, room, way, np.array(top)) for top in tops]


def _end(found: Sound, room: np.ndarray, way: np.ndarray, top: np.ndarray) -> Loss:
    centre = top * COARSER + COARSER // 2
    place = found.grid.places((centre[:1], centre[1:]))[0]
    lost = _straight(found, centre) or float(way[tuple(top)])
    limb = _limb(room, centre) * found.grid.px
    return Loss("shortened", _point(place), lost, lost / max(limb, lost), 0.0, found.widest)


def _straight(found: Sound, end: np.ndarray) -> float | None:
    """Way from an end to the nearest sound pixel, mm, where it leads straight through the region; else none.

    Ways over pixels are up to a twelfth too long, straight ones are not.
    """
    rows, columns = np.nonzero(found.sound)
    off = np.hypot(rows - end[0], columns - end[1])
    near = int(np.argmin(off))
    steps = np.linspace(0.0, 1.0, 2 * int(off[near]) + 2)[:, None]
    between = np.rint(end + steps * (np.array([rows[near], columns[near]]) - end)).astype(int)
    inside = found.whole[
        np.minimum(between[:, 0], found.whole.shape[0] - 1), between[:, 1].clip(0, found.whole.shape[1] - 1)
    ]
    return float(off[near]) * found.grid.px if inside.mean() > STRAIGHT else None


def _limb(room: np.ndarray, end: np.ndarray) -> float:
    """Pixels from an end along the middle for as long as the room grows, by less than half of the way."""
    row, column = (int(v) for v in end)
    length = 0.0
    while True:
        low_r, low_c = max(row - STRIDE, 0), max(column - STRIDE, 0)
        window = room[low_r : row + STRIDE + 1, low_c : column + STRIDE + 1]
        at = np.unravel_index(int(np.argmax(window)), window.shape)
        step = float(np.hypot(at[0] + low_r - row, at[1] + low_c - column))
        gain = float(window[at] - room[row, column])
        if gain <= 0 or (length > 2 * STRIDE and gain > 0.6 * step):
            return length
        row, column, length = int(at[0]) + low_r, int(at[1]) + low_c, length + step


def _pooled(mask: np.ndarray) -> np.ndarray:
    k = COARSER
    rows, columns = (-side % k for side in mask.shape)
    padded = np.pad(mask, ((0, rows), (0, columns)))
    return padded.reshape(padded.shape[0] // k, k, padded.shape[1] // k, k).any(axis=(1, 3))


def _point(place: np.ndarray) -> tuple[float, float]:
    return float(place[0]), float(place[1])
