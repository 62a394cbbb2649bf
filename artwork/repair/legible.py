"""Whether letters can still be read: each by itself, and the words they make."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform

from artwork.curves import Contour, Floats
from artwork.outline import polygons
from artwork.repair.lettering import FLAT, WORD_GAP, Lettering, gaps_between, usual_gap, word_spaces
from artwork.repair.net import TINY, Ints
from artwork.shapes import areas

UNEVEN = 1.2
"""A letter that grows by this factor more, or less, than most of its line stands out (judged by eye on 22 words: up to
1.14 nobody sees it, at 1.22 the word looks like cut-out letters)."""
WITHIN, LEAST_ALIKE = 0.09, 0.90
"""Of the middle lines of each letter, stretched to the other's box, this share lies in the other, or no farther from it
than this share of its height (judged by eye on 62 words: those that read as they did keep 0.95, those whose P and R
came open 0.56 to 0.83)."""


@dataclass(frozen=True, eq=False)
class Middles:
    """Points along the middle lines of a drawing, shape (n, 2), and the mm that each stands for, shape (n,)."""

    places: Floats
    length: Floats


NOTHING = Middles(np.empty((0, 2)), np.empty(0))


def letters_kept(
    drawn: Sequence[Contour],
    now: Sequence[Contour],
    forth: Callable[[Floats], Floats] = np.asarray,
    middles: tuple[Middles, Middles] = (NOTHING, NOTHING),
) -> bool:
    """Whether every letter is still one piece of its own with as many counters, of its shape, as high among its
    neighbours, and every word apart from the next.

    Args:
        drawn, now: contours.
        forth: where places of the drawing are now, shape (n, 2).
        middles: of both; without them shapes are not compared.
    """
    before = Lettering.of(drawn)
    if not len(before.letters):
        return True
    after = _letters_now(before, now, forth)
    if after is None:
        return False
    alike = all(_alike(before.pieces[number], letter, middles) for number, letter in after.items())
    return alike and all(
        _line_kept(before.boxes[line], [after[number] for number in line]) for line in before.lines
    )


def _letters_now(
    before: Lettering, now: Sequence[Contour], forth: Callable[[Floats], Floats]
) -> dict[int, Polygon] | None:
    """Each letter as it is now, by its number; ``None`` where one fell apart, grew together with another, or has other
    counters."""
    after = areas(polygons([contour.polyline(FLAT) for contour in now]))
    tree = shapely.STRtree(after)
    taken: dict[int, int] = {}
    for number in before.letters.tolist():
        letter = before.pieces[number]
        edge = shapely.get_coordinates(letter.exterior)
        x, y = (forth(edge) - edge).mean(axis=0)
        letter = affine_transform(letter, [1.0, 0.0, 0.0, 1.0, float(x), float(y)])
        found = [int(k) for k in tree.query(letter, predicate="intersects")]
        shared = [float(after[k].intersection(letter).area) for k in found]
        own = [
            k for k, area in zip(found, shared, strict=True) if area > 0.15 * min(letter.area, after[k].area)
        ]
        if len(own) != 1 or own[0] in taken.values() or len(after[own[0]].interiors) != len(letter.interiors):
            return None
        taken[number] = own[0]
    return {number: after[k] for number, k in taken.items()}


def _alike(drawn: Polygon, now: Polygon, middles: tuple[Middles, Middles]) -> bool:
    """Whether two letters have the same strokes, each looked for in the other."""
    before, after = middles
    return _share_in(now, drawn, before) >= LEAST_ALIKE and _share_in(drawn, now, after) >= LEAST_ALIKE


def _share_in(letter: Polygon, other: Polygon, middles: Middles) -> float:
    """Which share of the middle lines within the other letter lies in this one, stretched to its box."""
    x, y = middles.places.T
    inside = shapely.contains_xy(other, x, y)
    length = middles.length[inside]
    if not len(length):
        return 1.0
    box, from_box = (np.array(each.bounds).reshape(2, 2) for each in (letter, other))
    scale = (box[1] - box[0]) / np.maximum(from_box[1] - from_box[0], TINY)
    there = box[0] + (middles.places[inside] - from_box[0]) * scale
    off = shapely.distance(letter, shapely.points(there)) > WITHIN * (box[1] - box[0])[1]
    return 1.0 - float(length[off].sum() / length.sum())


def _line_kept(boxes: Floats, letters: Sequence[Polygon]) -> bool:
    """Whether the letters of a line have grown alike, and its words stand apart."""
    after = np.array([letter.bounds for letter in letters])
    return _even(boxes, after) and _apart(word_spaces(boxes), after)


def _even(before: Floats, after: Floats) -> bool:
    """Whether letters have grown alike: one that did not stands out of its word."""
    grown = (after[:, 3] - after[:, 1]) / (before[:, 3] - before[:, 1])
    uneven = grown / np.median(grown)
    return bool(uneven.max() < UNEVEN and uneven.min() > 1 / UNEVEN)


def _apart(spaces: Ints, after: Floats) -> bool:
    """Whether gaps that were spaces between words are still wider than those between letters."""
    gaps = gaps_between(after)
    usual = usual_gap(gaps)
    return not np.isfinite(usual) or bool((gaps[spaces] > WORD_GAP * usual).all())
