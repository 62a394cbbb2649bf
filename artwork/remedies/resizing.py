"""The size nearest the present one at which a cut carves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, sqrt

from artwork.remedies.looking import Look

CLOSE = 1.02
"""Sizes within this factor of each other are told apart no further."""
STEP = 1.005
"""First step upwards where no line and no land says how far; doubled each time."""
LOOKS = 12
"""At most so many sizes are looked at."""
MOST_SLACK = 2
"""So often a size is made a little less before the bracket is halved."""
DOUBT = 1.25
"""A neck that is thin at a small size may be none at a large one: benefit of the doubt before it is given up."""
CLEAR = 1e-6
"""Share by which a size stays clear of its bound, against rounding."""


@dataclass(frozen=True)
class Reach:
    """Sizes that carve, mm per outline unit.

    Attributes:
        nearest: the one nearest the size that was asked about.
        most: the largest that fits.
    """

    nearest: float
    most: float


def nearest(at: Callable[[float], Look], start: float, most: float) -> Reach | None:
    """The smallest size from ``start`` up at which no line and no land stops; the largest if that is less.

    The tightest line and land of a size that fails say how much larger it must be at least; where they ask for
    less than the true bound, the bracket between the last size that fails and the first that carves is halved.

    Args:
        at: looks at the art at a scale.
        start: the scale to stay near.
        most: the largest scale that fits.
    """
    if most <= 0:
        return None
    scale, bad, step = min(start, most), 0.0, STEP
    for _ in range(LOOKS):
        seen = at(scale)
        if not seen.stops:
            return Reach(_drawn_closer(at, bad, scale), most)
        bad = scale
        wanted = seen.needed * (1 + CLEAR)
        if scale >= most:
            return None
        if wanted > most * DOUBT:  # a neck that is thin here may be none there: the largest size itself says
            return None if at(most).stops else Reach(_drawn_closer(at, scale, most), most)
        if wanted <= scale * (1 + CLEAR):
            wanted, step = scale * step, step * step
        scale = min(wanted, most)
    return None


def _drawn_closer(at: Callable[[float], Look], bad: float, good: float) -> float:
    """The smallest size that carves between one that fails and one that carves, to within :data:`CLOSE`."""
    if bad <= 0 or good <= bad * CLOSE:
        return good
    for _ in range(MOST_SLACK):  # as a rule the tightest has just enough, or misses by what counts as slight
        if at(good / CLOSE).stops:
            return good
        good /= CLOSE
    while good > bad * CLOSE:
        middle = sqrt(bad * good)
        if at(middle).stops:
            bad = middle
        else:
            good = middle
    return good


def least(at: Callable[[float], Look], most: float) -> float:
    """The smallest size that carves on the way down from the largest; infinite where that does not carve."""
    if most <= 0 or at(most).stops:
        return inf
    good = most
    for _ in range(LOOKS):
        wanted = at(good).needed * (1 + CLEAR)
        if wanted >= good * (1 - CLEAR):  # the tightest has just enough: a little less must fail
            wanted = good / CLOSE
            if at(wanted).stops:
                return good
        elif at(wanted).stops:
            return _drawn_closer(at, wanted, good)
        good = wanted
    return good
