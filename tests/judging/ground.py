"""One cut carved at its worst on a grid, and judged; at its own size or at others."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import inf, radians, tan

import cv2
import numpy as np
import shapely

from artwork.cut import Cut
from tests.judging.fates import Loss, Sound, ends, holds_together, losses, slope_of, sound_at, without_flecks
from tests.judging.fields import (
    Grid,
    Measure,
    covered,
    edge_of,
    grained_measure,
    grid_around,
    measured,
    round_measure,
)

SPACING = 0.03
"""Pixel, mm. Middle lines near a limit are looked at 5 × 5 times as finely."""
FLANK = 0.88
"""A field that grows by less than this, of what it grows by on a plain flank, is on a middle line."""
SMALL = 0.98
"""Short by less than this over less than its own width, a place is no loss."""
NECK = 0.8
"""Wood no longer than wide stands with this share of its need."""
BLUR = 0.004
"""Share by which a width read off pixels may be too small."""
MARGINS = (-0.3, 0.3)
"""Between these the margin is told; beyond, the bound itself."""


@dataclass(frozen=True)
class Judged:
    """What is left of a cut at its worst.

    Attributes:
        lines, lands: what is lost.
        depth: deepest of the program, below the bit's zero, mm.
        strip: least wood between the art and the slat's edge, mm; and what it needs.
        margin: by which share all widths could be smaller with all still whole (negative: larger).
    """

    lines: tuple[Loss, ...]
    lands: tuple[Loss, ...]
    depth: float
    strip: tuple[float, float]
    margin: float

    @property
    def whole(self) -> bool:
        """Nothing is lost but ends, which are told by their length and share, small misses and short necks."""
        return self.strip[0] >= self.strip[1] and self.margin >= 0


def judge(cut: Cut, spacing: float = SPACING) -> Judged:
    """Carves on the low board for the lines, on the high one for the lands, rounds over and sands."""
    ground = Ground(cut, spacing)
    return Judged(ground.lines(), ground.lands(), ground.depth, ground.strip, ground.margin())


def _too_short(loss: Loss, level: float, size: float) -> bool:
    """Whether an end has lost too much: half of itself, or a quarter and 15 mm; 2 widths are never missed."""
    missed = loss.length > 2 * loss.wide * level
    return (missed and loss.share > 0.5) or (loss.length * size > 15.0 and loss.share > 0.25)


def _forgiven(loss: Loss, level: float, size: float, taken: float, is_wood: bool) -> bool:
    """Whether a thin place is short by a hair over less than its own width, or a short neck of wood.

    Lengths on the grid are those of the cut at its own size; at another they are ``size`` times as large.
    """
    share, wide, length = loss.width / level + BLUR, loss.wide * size, loss.length * size
    if loss.what == "shortened":
        return not _too_short(loss, level, size)
    if loss.what == "vanished":
        return share >= SMALL and (is_wood or length <= 2 * wide)
    neck = is_wood and share >= NECK and length <= wide - taken
    return neck or (share >= SMALL and length <= wide)


class Ground:
    """The fields of one cut; each is made when first asked for.

    Args:
        cut: what is carved, at the size it is.
        spacing: pixel, mm.
        sizes: factors between which other sizes are asked for (on the flat only: the place stays).
    """

    def __init__(self, cut: Cut, spacing: float = SPACING, sizes: tuple[float, float] = (0.75, 1.35)) -> None:
        self.cut, self._sizes = cut, sizes
        bit, shop, e = cut.bit, cut.allowances, cut.allowances.unevenness
        below = shop.sanding if shop.sanding_made_up else 0.0
        self.tan = tan(radians(bit.angle_deg / 2))
        self.limit = min(
            cut.slat.thickness * shop.depth_limit_share - below,
            bit.height - below - e,
            (bit.diameter - bit.tip_flat) / 2 / self.tan - below - e,
            cut.slat.thickness - shop.least_wood - below - e,
        )
        self.need = shop.least_depth + shop.sanding - below + e
        self.half_line = bit.tip_flat / 2 + self.need * self.tan
        self.widening = 2 * (e + below) * self.tan
        self.radius = max(cut.slat.round_over, cut.slat.mill_radius)
        self.edges = edge_of(cut.placed())
        room = 0.3 + 0.62 * (max(shop.land_along, shop.land_across) + self.widening) / min(sizes)
        self.grid: Grid = grid_around(self.edges, room, spacing)
        self.art = covered(self.edges, self.grid)

    @cached_property
    def _plain(self) -> Measure:
        return round_measure(self.edges)

    @cached_property
    def _needs(self) -> np.ndarray:
        """Half width that a line needs at every pixel, mm; one number away from the edge."""
        if self._off_edge >= self.radius:
            return self._half_needed(np.zeros(1))
        rows, columns = np.mgrid[0 : self.grid.shape[0], 0 : self.grid.shape[1]]
        places = self.grid.places((rows.ravel(), columns.ravel()))
        return self._half_needed(self._lowered(places)).reshape(self.grid.shape)

    def _lowered(self, places: np.ndarray) -> np.ndarray:
        slat = self.cut.slat.outline
        shapely.prepare(slat)
        points = shapely.points(places)
        inside = np.where(shapely.contains(slat, points), shapely.distance(slat.exterior, points), 0.0)
        reach = np.clip(self.radius - inside, 0, self.radius)
        return self.radius - np.sqrt(self.radius**2 - reach**2)

    def _half_needed(self, lowered: np.ndarray) -> np.ndarray:
        depth = self.need + lowered
        return np.where(depth > self.limit, inf, self.cut.bit.tip_flat / 2 + depth * self.tan)

    @cached_property
    def _off_edge(self) -> float:
        slat = self.cut.slat.outline
        points = shapely.points(np.concatenate(self.edges)[::5])
        if not shapely.contains(slat, points).all():
            return 0.0
        return float(shapely.distance(slat.exterior, points).min())

    @cached_property
    def _lines(self) -> tuple[np.ndarray, np.ndarray, float]:
        """Clearance as a share of what is needed, how fast it grows, and half the least width needed."""
        finite = self._needs[np.isfinite(self._needs)]
        if not len(finite):
            return np.zeros(self.grid.shape), np.zeros(self.grid.shape), self.half_line
        low, high = finite.min() / self._sizes[1] - 0.1, finite.max() / self._sizes[0] + 0.1
        clearance = measured(self.art, self.grid, self._plain, 1.0, low, high)
        half = float(finite.min())
        field = clearance / (self._needs if self._needs.size > 1 else half)
        return field, slope_of(clearance, 1 / self.grid.px), half

    def _left(self, size: float, share: float) -> Sound:
        field, slope, half = self._lines

        def exact(places: np.ndarray) -> np.ndarray:
            here = self._half_needed(self._lowered(places)) if self._needs.size > 1 else half
            return self._plain(places) / here

        level = (1 + share) / size
        art = without_flecks(self.art, 2 * half * level / self.grid.px)
        return sound_at(self.grid, art, field, slope, FLANK, level, half, 2 * half, exact)

    def lines(self, size: float = 1.0, share: float = 0.0) -> tuple[Loss, ...]:
        """What lines lose at ``size`` times the size, all widths taken for ``share`` less."""
        return losses(self._left(size, share))

    @cached_property
    def _grained(self) -> Measure:
        shop = self.cut.allowances
        along, across = shop.land_along + self.widening, shop.land_across + self.widening
        return grained_measure(self.edges, along, across, radians(self.cut.slat.grain_deg))

    @cached_property
    def _lands(self) -> tuple[np.ndarray, np.ndarray, float]:
        """The body of wood that is needed, how often it fits; how fast that grows; half its least width."""
        shop = self.cut.allowances
        widest = (max(shop.land_along, shop.land_across) + self.widening) / 2
        low, high = 1 / self._sizes[1] - 0.1, 1 / self._sizes[0] + 0.1
        field = measured(~self.art, self.grid, self._grained, 1 / widest, low, high)
        half = (min(shop.land_along, shop.land_across) + self.widening) / 2
        return field, slope_of(field, half / self.grid.px), half

    def _standing(self, size: float, share: float) -> Sound:
        field, slope, half = self._lands
        shop = self.cut.allowances
        # on a flank it grows by the body's own width there: least where that is greatest
        widest = max(shop.land_along, shop.land_across) + self.widening
        flank = FLANK * 2 * half / widest
        level = (1 + share) / size
        wood = without_flecks(~self.art, 2 * half * level / self.grid.px)
        return sound_at(self.grid, wood, field, slope, flank, level, half, widest, self._grained)

    def lands(self, size: float = 1.0, share: float = 0.0) -> tuple[Loss, ...]:
        """What the wood between loses."""
        return losses(self._standing(size, share))

    @property
    def depth(self) -> float:
        """Deepest of the program."""
        field = cv2.distanceTransform(self.art.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
        places = self.grid.places(np.nonzero(self.art & (field >= field.max() - 2)))
        fine = [places + self.grid.px * np.array([x, y]) for x in (-0.4, 0, 0.4) for y in (-0.4, 0, 0.4)]
        room = float(self._plain(np.concatenate(fine)).max())
        return float(min(max(room - self.cut.bit.tip_flat / 2, 0) / self.tan, max(self.limit, 0)))

    @cached_property
    def strip(self) -> tuple[float, float]:
        """Least wood between art and the slat's edge, and what it needs; none where the round-over takes it."""
        slat, shop = self.cut.slat, self.cut.allowances
        ring = np.asarray(slat.outline.exterior.coords)
        points = shapely.points(np.concatenate(self.edges)[::5])
        worst = (inf, 0.0)
        for start, end in pairwise(ring):
            way = end - start
            across = np.sin(np.arctan2(way[1], way[0]) - radians(slat.grain_deg)) ** 2
            needed = shop.land_along + (shop.land_across - shop.land_along) * across + self.widening / 2
            if self.radius >= needed:
                continue
            off = float(shapely.distance(shapely.LineString([start, end]), points).min())
            if off - needed < worst[0] - worst[1]:
                worst = (off, needed)
        if not shapely.contains(slat.outline, points).all():
            return 0.0, max(worst[1], 0.01)
        return worst

    @property
    def by_edge(self) -> bool:
        """Whether any of the art is where the rounded edge lowers the face."""
        return self._off_edge < self.radius

    def whole(self, size: float = 1.0, share: float = 0.0) -> bool:
        """Whether nothing is lost but ends, small misses and short necks."""
        return self._holds(self._left, size, share, is_wood=False) and self._holds(
            self._standing, size, share, is_wood=True
        )

    def _holds(
        self, at: Callable[[float, float], Sound], size: float, share: float, *, is_wood: bool
    ) -> bool:
        """Whether it holds together, or would with what may be forgiven."""
        found = at(size, share)
        if holds_together(found):
            return not any(_too_short(end, found.level, size) for end in ends(found))
        return not self._unforgiven(found, size, is_wood=is_wood)

    def _unforgiven(self, found: Sound, size: float, *, is_wood: bool) -> list[Loss]:
        taken = self.widening if is_wood else 0.0
        return [loss for loss in losses(found) if not _forgiven(loss, found.level, size, taken, is_wood)]

    def unforgiven(self, size: float = 1.0, share: float = 0.0) -> list[Loss]:
        """What is lost and neither a small miss, nor a short neck, nor an end that nobody misses."""
        lines = self._unforgiven(self._left(size, share), size, is_wood=False)
        return lines + self._unforgiven(self._standing(size, share), size, is_wood=True)

    def margin(self, steps: int = 6) -> float:
        """By which share widths could be smaller, found by halving between :data:`MARGINS`."""
        low, high = MARGINS
        if not self.whole():
            high = 0.0
        elif self.whole(share=high):
            return high
        else:
            low = 0.0
        if low < 0 and not self.whole(share=low):
            return low
        for _ in range(steps):
            middle = (low + high) / 2
            low, high = (middle, high) if self.whole(share=middle) else (low, middle)
        return low

    def flip(self, near: float = 0.97, steps: int = 2) -> float | None:
        """Factor of the size at which it becomes whole, within 1 %; ``None`` where there is none nearby.

        Looked for around 1: between 1 and ``near``, or else out to the ends of the sizes.
        """
        low, high = self._sizes
        tried = [1.0, near, low] if self.whole() else [1.0, 2 - near, high]
        held = [self.whole(tried[0]), self.whole(tried[1])]
        if held[0] == held[1]:
            held.append(self.whole(tried[2]))
            tried, held = tried[1:], held[1:]
        if held[0] == held[1]:
            return None
        whole, torn = (tried[0], tried[1]) if held[0] else (tried[1], tried[0])
        for _ in range(steps):
            middle = (whole * torn) ** 0.5
            whole, torn = (middle, torn) if self.whole(middle) else (whole, middle)
        return whole
