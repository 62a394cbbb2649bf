"""What wood between grooves needs, place by place: a body of wood that must fit there.

A land needs ``along + (across − along)·sin²α`` for the angle α between it and the grain (``artwork.tooling``).
Two parallel walls stand that far apart exactly where the convex body whose half width in the direction θ from
the grain is ``A + B·cos 2θ`` fits between them, ``A = (along + across)/4`` and ``B = (across − along)/4``. So the
body tells what is needed where a place has no direction of its own: in round islands, at bends, on axes in
crumbs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from scipy.spatial import cKDTree

from artwork import tooling
from artwork.axis.anatomy import STRAIGHT
from artwork.curves import Floats
from artwork.findings.finer import cut_up, rounded_up
from artwork.findings.runs import NEARLY, Bools, Ints, Strip
from artwork.findings.wording import GRAIN
from artwork.scene import Scene
from artwork.shapes import next_on_ring

PIECE = 0.15
"""Beside corners a stretch is cut into pieces of this length, mm: what it needs changes along it."""
NEAREST = 32
"""Points of the edge looked at around a place, so that both sides of a wall are among them."""
BESIDE = 0.05
"""Spacing of the points that a drawn edge is looked at by, mm."""
LEAF = 48
"""Points in a leaf of the search tree: with so many looked for at once, few large leaves are quickest."""
DOUBT = 1.6
"""Land wider than this times the most that any land needs is not looked at more closely."""
MOVES, MOST_MOVES = 24, 40
MOVED_LEAST = 0.01
"""Directions, most steps and least step, mm, by which a body is moved about in an island."""
THINNEST = 0.01
"""A body is taken for no thinner, mm: where a shop lets wood of any width stand it would have no shape."""
TINY = 1e-9
TABLE = 720
"""Directions in which the body's size is tabled."""
SHOPS = 64
"""Bodies whose tables are kept: a shop's allowances, and what cup makes of them, come again and again."""


def land_strip(body: Body) -> Strip:
    """The lands' axis with the drawn width that each place needs by its own direction, mm."""
    scene = body.scene
    axis = scene.anatomy.lands
    bent = axis.kind != STRAIGHT
    thin = 2 * scene.scale * axis.least < body.across
    strip = cut_up(
        axis, np.where(bent & thin, np.ceil(axis.lengths * scene.scale / PIECE), 1).astype(np.int64)
    )
    width = 2 * scene.scale * strip.least
    needed = body.along + (body.across - body.along) * most_across(scene, strip.headings)
    # a stretch shorter than its own clearance says nothing about direction, and beside corners it changes
    short = axis.lengths[strip.whole] < axis.clearance[strip.whole].max(axis=1, initial=0.0)
    closely = short | bent[strip.whole]
    needed[closely] = body.across
    near = width < NEARLY * (body.across + GRAIN + 2 * scene.scale * scene.slack)
    _look(body, strip, needed, closely & near)
    # wider land decides nothing but which is the tightest: only what may have less to spare is looked at
    spare = (width - needed)[(strip.taper < 0) & (near | ~closely) & (width >= needed)].min(initial=np.inf)
    wide = width < min(DOUBT * body.across, body.across + spare + GRAIN)
    _look(body, strip, needed, closely & wide & ~near)
    return replace(strip, required=rounded_up(needed))


def _look(body: Body, strip: Strip, needed: Floats, chosen: Bools) -> None:
    """Enters what chosen pieces of a strip need at their narrowest."""
    which = np.flatnonzero(chosen)
    if len(which):
        narrow = strip.clearance[which].argmin(axis=1)
        places, headings = strip.places[which, narrow], strip.headings[which, narrow]
        needed[which] = body.needed(places, headings, strip.least[which])


def island_needs(body: Body, strip: Strip) -> Floats:
    """What each land needs at its widest place, mm: by its shape; 0 for the wood that surrounds the art."""
    scene = body.scene
    axis = scene.anatomy.lands
    needed = np.full(len(axis.peak), body.across)
    width = 2 * scene.scale * axis.peak
    doubt = np.isfinite(axis.peak) & (width < DOUBT * body.across)
    doubt[scene.anatomy.outer_land] = False
    chosen = np.flatnonzero(doubt)
    if len(chosen):
        inside = np.flatnonzero(doubt[strip.region])
        owner = np.concatenate([chosen, np.repeat(strip.region[inside], 2)])
        places = np.concatenate([axis.peak_place[chosen], strip.places[inside].reshape(-1, 2)])
        best = _best_fit(body, owner, places)
        needed[chosen] = width[chosen] / np.maximum(best[chosen], TINY)
    needed = rounded_up(needed)
    needed[scene.anatomy.outer_land] = 0.0
    return needed


def _best_fit(body: Body, owner: Ints, places: Floats) -> Floats:
    """How many times as large the body may be in each region, at the best of its places or beside it.

    Between walls that are not parallel the body sits best a little off the axis: it is moved about by ever
    smaller steps.

    Args:
        owner: shape (n,), region of each place. places: shape (n, 2), outline units.
    """
    fits = body.fits(places)
    order = np.lexsort((-fits, owner))
    first = order[np.append(True, np.diff(owner[order]) > 0)]
    here, found = places[first], fits[first]
    scale = body.scene.scale
    step = body.along / 8 / scale
    turns = np.linspace(0, 2 * np.pi, MOVES, endpoint=False)
    ways = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    for _ in range(MOST_MOVES):
        if step * scale < MOVED_LEAST:
            break
        tried = here[:, None] + step * ways[None]
        worth = body.fits(tried.reshape(-1, 2)).reshape(len(here), -1)
        best = worth.argmax(axis=1)
        better = worth[np.arange(len(here)), best] > found
        here[better] = tried[better, best[better]]
        found = np.where(better, worth[np.arange(len(here)), best], found)
        step = step if better.any() else step / 2
    every = np.zeros(int(owner.max()) + 1)
    every[owner[first]] = found
    return every


def most_across(scene: Scene, headings: Floats) -> Floats:
    """sin² of the angle to the grain, the largest that a piece reaches between its two ends, shape (n,)."""
    off = _on_slat(scene, headings) - np.radians(scene.cut.slat.grain_deg)
    sine, cosine = np.sin(off), np.cos(off)
    flips = np.sign(cosine[:, 0]) != np.sign(cosine[:, 1])
    passes = flips & (np.abs(np.sin(off[:, 1] - off[:, 0])) > 1e-9)
    return np.asarray(np.where(passes, 1.0, (sine**2).max(axis=1)))


def _on_slat(scene: Scene, headings: Floats) -> Floats:
    """Directions of the axis on the slat, radians."""
    turned = -headings + np.pi if scene.cut.placement.mirrored else headings
    return np.asarray(turned + np.radians(scene.cut.placement.rotation_deg))


@lru_cache(maxsize=SHOPS)
def _sizes(along: float, across: float) -> Floats:
    """How many bodies of that size a way of 1 mm is worth, for directions from the grain, 0 to 180° in equal steps."""
    normals = np.linspace(0, np.pi, TABLE + 1)
    half = (along + across) / 4 + (across - along) / 4 * np.cos(2 * normals)
    turned = np.abs(np.cos(normals[:, None] - normals[None, :]))
    return np.asarray((turned / half[None, :]).max(axis=1))


@dataclass(frozen=True, eq=False)
class Body:
    """The wood that must fit between what is carved, with what carving takes from it on both sides; mm."""

    scene: Scene

    @cached_property
    def along(self) -> float:
        """Its width square to the grain: what a land along the grain needs as drawn."""
        return self._width(0.0)

    @cached_property
    def across(self) -> float:
        """Its width with the grain: what short grain needs; no less than :attr:`along`."""
        return max(self._width(1.0), self.along)

    def _width(self, across: float) -> float:
        allowances = self.scene.cut.allowances
        return tooling.least_land(allowances, across) + tooling.land_loss(self.scene.cut.bit, allowances)

    def needed(self, places: Floats, headings: Floats, clearance: Floats) -> Floats:
        """Drawn width that is needed at places of the axis.

        A body that touches one side first would move over: half of what both sides ask for is what is needed.

        Args:
            places: outline units, shape (n, 2).
            headings, clearance: of the axis there, shape (n,).
        """
        there = self.scene.place(places)
        way = self.nearest(there, self.scene.scale * clearance) - there[:, None]
        fits = self._worth(way)
        on = _on_slat(self.scene, headings)[:, None]
        left = np.cos(on) * way[..., 1] - np.sin(on) * way[..., 0] > 0
        one = np.where(left, fits, np.inf).min(axis=1)
        other = np.where(left, np.inf, fits).min(axis=1)
        bodies = (1 / np.maximum(one, TINY) + 1 / np.maximum(other, TINY)) / 2
        alone = np.isinf(one) | np.isinf(other)
        bodies = np.where(alone, 1 / np.maximum(np.minimum(one, other), TINY), bodies)
        return np.asarray(np.clip(2 * self.scene.scale * clearance * bodies, self.along, self.across))

    def fits(self, places: Floats) -> Floats:
        """How many times as large the body may be at each place, (n, 2) in outline units, until it touches."""
        there = self.scene.place(places)
        samples, tree = self._edge
        _, nearest = tree.query(there @ self._frame.T)
        return self._worth(samples[nearest] - there)

    def _worth(self, way: Floats) -> Floats:
        """How many bodies ways, shape (…, 2) in mm, are worth: with the drawing's error, on the safe side."""
        turned = way @ self._turn.T
        at = (np.arctan2(turned[..., 1], turned[..., 0]) % np.pi) * (TABLE / np.pi)
        low = np.minimum(at.astype(np.int64), TABLE - 1)
        worth = _sizes(*self._shape)
        off = np.maximum(np.hypot(way[..., 0], way[..., 1]) - self.scene.error, 0.0)
        off = off - BESIDE**2 / (8 * np.maximum(off, BESIDE))  # the edge may pass nearer between two points
        return np.asarray(off * (worth[low] + (at - low) * (worth[low + 1] - worth[low])))

    @property
    def _shape(self) -> tuple[float, float]:
        """Its widths along and across, mm, where a width of nothing cannot be divided by; on the safe side."""
        return max(self.along, THINNEST), max(self.across, THINNEST)

    @cached_property
    def _turn(self) -> Floats:
        """Slat directions to directions from the grain."""
        grain = np.radians(self.scene.cut.slat.grain_deg)
        return np.array([[np.cos(grain), np.sin(grain)], [-np.sin(grain), np.cos(grain)]])

    @cached_property
    def _frame(self) -> Floats:
        """Into a frame where the body is nearly a disc, so that the nearest point there is the one that counts."""
        along, across = self._shape
        return np.asarray(np.diag([2 / across, 2 / along]) @ self._turn)

    def nearest(self, there: Floats, clearance: Floats) -> Floats:
        """The points of the edge nearest to each place, in the body's frame; shape (n, up to NEAREST, 2), slat mm.

        Few chords have points so near to any of the places, and only they are looked at: where that was too few
        for one of them, all are.

        Args:
            there: shape (n, 2), slat mm. clearance: shape (n,), distance to the edge, mm.
        """
        framed = there @ self._frame.T
        reach = (clearance.max() + NEAREST * BESIDE) * float(np.abs(self._frame).sum(axis=1).max())
        start, way = self._chords
        middles, half = (start + way / 2) @ self._frame.T, np.hypot(*(way / 2 @ self._frame.T).T)
        off = cKDTree(framed).query(middles)[0] - half
        samples, tree = self._points_on(np.flatnonzero(off <= reach))
        if len(samples) >= NEAREST:
            far, nearest = tree.query(framed, k=NEAREST)
            if np.max(far) <= reach:
                return np.asarray(samples[nearest])
        samples, tree = self._edge
        nearest = tree.query(framed, k=min(NEAREST, len(samples)))[1]
        return np.asarray(samples[nearest.reshape(len(there), -1)])

    @cached_property
    def _edge(self) -> tuple[Floats, cKDTree]:
        """Points along what is carved, slat mm, and a search tree over them in the body's frame."""
        return self._points_on(np.arange(len(self._chords[0])))

    @cached_property
    def _chords(self) -> tuple[Floats, Floats]:
        """Start of each chord of the edge, and its way to the next; slat mm."""
        anatomy = self.scene.anatomy
        start = self.scene.place(anatomy.points)
        return start, start[next_on_ring(np.bincount(anatomy.ring))] - start

    def _points_on(self, chords: Ints) -> tuple[Floats, cKDTree]:
        """Points along some chords of the edge, slat mm, and a search tree over them in the body's frame."""
        start, way = (each[chords] for each in self._chords)
        count = np.maximum(np.ceil(np.hypot(way[:, 0], way[:, 1]) / BESIDE), 1).astype(np.int64)
        which = np.repeat(np.arange(len(start)), count)
        share = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)) / count[which]
        samples = start[which] + share[:, None] * way[which]
        return samples, cKDTree(
            samples @ self._frame.T, leafsize=LEAF, balanced_tree=False, compact_nodes=False
        )
