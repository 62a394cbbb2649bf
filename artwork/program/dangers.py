"""Moves that can break bit, board or clamp, whatever else is right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.program.moves import Moves
from artwork.tooling import depth_limit, slope

RAPID_DEPTH = 0.02
"""How far below its zero a rapid move must go to be told, mm."""
DEPTH_ROUNDING = 0.05
"""How far past the limit a depth may go through rounding, mm."""


@dataclass(frozen=True)
class Danger:
    """One kind of harmful move.

    Attributes:
        kind: ``rapid-in-wood``, ``too-deep``, ``outside-blank``, ``keep-out``.
        words: a sentence with the figure.
        line: the first line of the program that does it.
        count: how many moves do.
    """

    kind: str
    words: str
    line: int
    count: int


def dangers(moves: Moves, ends: Floats, cut: Cut, blank: Polygon) -> tuple[Danger, ...]:
    """All kinds that the moves do.

    Args:
        moves: of the program.
        ends: where they lie, slat mm, shape (n, 6).
        cut: what was signed: its depth limit, its keep-outs.
        blank: the board as it lies on the bed, slat mm.
    """
    return tuple(_found(moves, ends, cut, blank))


def _found(moves: Moves, ends: Floats, cut: Cut, blank: Polygon) -> Iterator[Danger]:
    low = np.minimum(ends[:, 2], ends[:, 5])
    yield from rapid_in_wood(moves, ends)
    limit = depth_limit(cut.slat, cut.bit, cut.allowances)
    deep = low < -(limit + DEPTH_ROUNDING)
    if deep.any():
        words = f"It goes {-low[deep].min():.2f} mm deep; the limit typed in should be {limit:.2f} mm."
        yield _danger("too-deep", words, moves, deep)
    yield from _away(moves, ends, cut, low < -RAPID_DEPTH, blank)


def rapid_in_wood(moves: Moves, ends: Floats) -> Iterator[Danger]:
    """Rapid moves below the face, but for those that only lift the bit."""
    low = np.minimum(ends[:, 2], ends[:, 5])
    sideways = np.hypot(ends[:, 3] - ends[:, 0], ends[:, 4] - ends[:, 1]) > 1e-6
    crash = moves.rapid & (low < -RAPID_DEPTH) & (sideways | (ends[:, 5] < ends[:, 2]))
    if crash.any():
        words = f"A rapid move (G0) goes through the wood, {-low[crash].min():.2f} mm below the zero."
        yield _danger("rapid-in-wood", words, moves, crash)


def away_from(
    moves: Moves, ends: Floats, wood: NDArray[np.bool_], area: BaseGeometry, *, kind: str, words: str
) -> Iterator[Danger]:
    """Moves in the wood that leave an area, with how far; ``words`` begin the sentence."""
    outside = _outside(ends, wood, area)
    if outside.any():
        far = shapely.distance(shapely.points(ends[outside][:, 3:5]), area).max()
        yield _danger(kind, f"{words}, by up to {far:.1f} mm beyond the edge.", moves, outside)


def _away(moves: Moves, ends: Floats, cut: Cut, wood: NDArray[np.bool_], blank: Polygon) -> Iterator[Danger]:
    """Moves in the wood that leave the blank, or come where nothing may be carved."""
    yield from away_from(moves, ends, wood, blank, kind="outside-blank", words="It cuts outside the board")
    depth = np.maximum(-np.minimum(ends[:, 2], ends[:, 5]), 0.0)
    for place in cut.slat.keep_outs:
        reach = depth * slope(cut.bit) + cut.bit.tip_flat / 2
        near = _near(ends, wood & (depth > place.free_depth), reach, place.shape)
        if near.any():
            yield _danger("keep-out", f"It cuts into the place of a {place.reason}.", moves, near)


def _outside(ends: Floats, wood: NDArray[np.bool_], blank: BaseGeometry) -> NDArray[np.bool_]:
    """Moves in the wood that do not stay over the blank; nearly always none, as the box around all of them tells."""
    found = np.zeros(len(ends), bool)
    if not wood.any():
        return found
    low, high = _boxes(ends[wood])
    if blank.covers(shapely.box(*low.min(axis=0), *high.max(axis=0))):
        return found
    shapely.prepare(blank)
    found[wood] = ~shapely.covers(blank, _ways(ends[wood]))
    return found


def _near(ends: Floats, wood: NDArray[np.bool_], reach: Floats, shape: Polygon) -> NDArray[np.bool_]:
    """Moves in the wood whose groove comes over a shape: first by boxes, then exactly."""
    found = np.zeros(len(ends), bool)
    low, high = _boxes(ends)
    x0, y0, x1, y1 = shape.bounds
    apart = np.maximum(np.maximum([x0, y0] - high, low - [x1, y1]), 0.0)
    near = wood & (np.hypot(*apart.T) < reach)
    found[near] = shapely.distance(_ways(ends[near]), shape) < reach[near]
    return found


def _boxes(ends: Floats) -> tuple[Floats, Floats]:
    return np.minimum(ends[:, :2], ends[:, 3:5]), np.maximum(ends[:, :2], ends[:, 3:5])


def _ways(ends: Floats) -> NDArray[np.object_]:
    return np.asarray(shapely.linestrings(ends[:, [0, 1, 3, 4]].reshape(-1, 2, 2)))


def _danger(kind: str, words: str, moves: Moves, which: NDArray[np.bool_]) -> Danger:
    return Danger(kind, words, int(moves.line[which].min()), int(np.count_nonzero(which)))
