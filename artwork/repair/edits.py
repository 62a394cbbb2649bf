"""What is done where moving curves has come to a standstill: gaps filled, ends shortened, parts left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, bounds_of
from artwork.findings.runs import Run
from artwork.repair.demands import Side
from artwork.repair.groups import groups
from artwork.repair.lettering import Lettering
from artwork.repair.state import State
from artwork.repair.thinning import between_feet, walls_between
from artwork.repair.uniting import joined, less
from artwork.repair.values import ChangeKind
from artwork.shapes import areas, united, ways

APART = 1.6
"""Edits of one round are at least this far apart, mm: each may spare its neighbours."""
FREE_END = 3.5
"""A free end shorter than this times its need may be shortened."""
SHORTEN, CUT, DROP = 2.0, 40.0, 2.0
"""Costs of an area of stroke shortened, cut through and left out; a filled gap costs 0.3 to 1 of its area."""
OVERLAP = 0.04
"""Fills and cuts reach this far, mm, beyond what they fill or cut."""
DARK = 0.62
"""Where more than this share of the neighbourhood is carved, the wood between is the figure."""
NEIGHBOURHOOD = 12.0
CRUMB = 0.6
"""What a cut leaves loose, smaller than this share of a line's need squared, goes with it."""
SHARE_A_ROUND = 0.34
"""Of what may be edited, the cheapest share is in one round, whole parts and islands first."""
WHOLE = frozenset({"left-out", "counter-filled"})
SHORTFALL, LEAST_SHORTFALL = 0.12, 0.0
"""What misses its need by less than this share is left to moving; and where moving helps no more."""
SPECK = 0.35
"""Round parts and islands narrower than this share of their need are specks: nobody would enlarge them."""
SLIT, SLIT_LENGTH = 0.15, 4.0
"""Nor slits narrower than this share, if they are no longer than this times their need."""
LEAST, HAIRLINE = 0.02, 0.06
"""Strips smaller than this, mm², are slits or necks of no width: they are taken so much wider on both sides, mm."""


@dataclass(frozen=True, eq=False)
class Edit:
    """A region filled or taken away.

    Attributes:
        kind: what it is for.
        shape: the region, mm.
        adds: whether it is carved as well (or else left standing).
        cost: mm² of what is lost, weighed.
    """

    kind: ChangeKind
    shape: BaseGeometry
    adds: bool
    cost: float


def edits(state: State) -> list[Edit]:
    """The cheapest edits at the places that still stop, well apart from each other.

    What misses little is left to moving, unless nothing else is left to be done.
    """
    dark = _Darkness(state.art.contours)
    found: list[Edit] = []
    for shortfall in (SHORTFALL, LEAST_SHORTFALL):
        found = found or [
            *_of_side(state, state.lines, dark, shortfall),
            *_of_side(state, state.lands, dark, shortfall),
        ]
    letters = Lettering.of(state.art.contours).region
    found = [
        edit for edit in found if not edit.shape.intersects(letters)
    ]  # no edit leaves a letter that letter
    found.sort(key=lambda edit: (edit.kind not in WHOLE, edit.cost))
    most = max(2, int(np.ceil(SHARE_A_ROUND * len(found))))
    chosen: list[Edit] = []
    for edit in found:
        if all(edit.shape.distance(other.shape) > APART for other in chosen):
            chosen.append(edit)
        if len(chosen) >= most:
            break
    return chosen


def specks(state: State) -> list[Edit]:
    """What is far too small to be grown into something that is seen: taken away before anything is moved."""
    found = []
    for side in (state.lines, state.lands):
        lines = side is state.lines
        reach = np.bincount(side.axis.region, side.axis.lengths, len(side.axis.peak)) * state.scene.scale
        least = float(side.strip.required.min(initial=np.inf))
        spared = np.zeros(len(side.axis.peak), bool) if lines else groups(state.anatomy) >= 0
        for region in side.lost[~spared[side.lost]].tolist():
            width = 2 * state.scene.scale * float(side.axis.peak[region])
            need = max(float(side.needs[region]), least)
            slit = not lines and width < SLIT * need and reach[region] < SLIT_LENGTH * need
            if slit or (width < SPECK * need and reach[region] < need):
                shape = state.region(side, region)
                found.append(_removed(shape, lines=lines))
        found += [_removed(state.region(side, region), lines=lines) for region in _in_the_way(state, side)]
    return found


def _removed(shape: BaseGeometry, *, lines: bool, weight: float = 1.0) -> Edit:
    """A part left out, or an island of wood carved as well; ``weight``: of what is lost."""
    return Edit("left-out" if lines else "counter-filled", grown(shape), not lines, weight * shape.area)


def _in_the_way(state: State, side: Side) -> list[int]:
    """Flecks beside which the other side is too narrow: nothing is moved, thinned or cut to spare them."""
    other = state.lands if side is state.lines else state.lines
    owner = state.anatomy.ring_piece if side is state.lines else state.anatomy.ring_land
    members = np.concatenate([np.empty(0, np.int64), *(run.members for run in other.runs)])
    beside = owner[state.anatomy.ring[other.feet[members]]]
    return [int(number) for number in np.intersect1d(beside, side.flecks)]


def hatchings(state: State) -> list[Edit]:
    """Every other stroke of hatchings whose gaps are far too narrow, before anything is moved."""
    return [Edit("hatch-thinned", grown(wall), False, wall.area) for wall in walls_between(state)]


def edited(contours: Sequence[Contour], chosen: Sequence[Edit]) -> tuple[Contour, ...]:
    """The contours with edits made."""
    result = tuple(contours)
    cuts = [edit.shape for edit in chosen if not edit.adds]
    if cuts:
        result = less(result, united(cuts))
    fills = [edit.shape for edit in chosen if edit.adds]
    return joined(result, united(fills)) if fills else result


def _of_side(state: State, side: Side, dark: _Darkness, shortfall: float) -> list[Edit]:
    found = []
    lines = side is state.lines
    scale = state.scene.scale
    regions = {int(region) for region in side.lost}
    for region in regions:
        shape: BaseGeometry = state.region(side, region)
        weight = DROP if lines else 1.0
        if dark.at(shape) > DARK:
            weight = 1.0 if lines else DROP
        found.append(_removed(shape, lines=lines, weight=weight))
    for run in side.runs:
        if int(side.strip.region[run.stretch]) in regions:
            continue
        shape = strip(state, side, run)
        if shape.area < LEAST:  # a slit or a neck of no width to speak of
            shape = ways(run.lines).buffer(HAIRLINE)
        need = float(side.strip.required[run.stretch]) / scale
        width = 2 * run.clearance
        if width > (1 - shortfall) * need:
            continue
        fill = 0.3 + 0.7 * min(width / need, 1.0)
        free = False
        if lines and run.length < FREE_END * need:
            loose = _beyond(state, side, run, shape)
            free = loose is not None and loose.area < CRUMB * need * need
            shape = shape if loose is None or not free else shape.union(loose)
        elif run.length < FREE_END * need:
            free = run.exits <= 1
        swap = dark.at(shape) > DARK
        weight = fill if lines == swap else SHORTEN if free else CUT
        kind: ChangeKind = ("end-shortened" if free else "stroke-cut") if lines else "gap-filled"
        found.append(Edit(kind, grown(shape), not lines, weight * shape.area))
    return found


def strip(state: State, side: Side, run: Run) -> BaseGeometry:
    """The region between the feet of a run's stretches."""
    return between_feet(state, side, run.members)


def grown(shape: BaseGeometry) -> BaseGeometry:
    """The shape a hair larger, with few corners."""
    return shapely.simplify(shape, OVERLAP / 2).buffer(OVERLAP, join_style="mitre", mitre_limit=2.0)


def _beyond(state: State, side: Side, run: Run, strip: BaseGeometry) -> BaseGeometry | None:
    """What comes loose from its part when the strip is cut away, the largest piece apart; ``None`` for nothing."""
    whole = state.region(side, int(side.strip.region[run.stretch]))
    rest: list[BaseGeometry] = sorted(areas(whole.difference(grown(strip))), key=lambda piece: -piece.area)
    return united(rest[1:]) if rest else None


class _Darkness:
    """Which share of the neighbourhood of a place is carved."""

    def __init__(self, contours: Sequence[Contour]) -> None:
        self._pixel = 0.5
        left, low, right, high = bounds_of(contours)
        self._origin = np.array([left, low])
        shape = (int((high - low) / self._pixel) + 1, int((right - left) / self._pixel) + 1)
        grid = np.zeros(shape, np.float32)
        rings = [
            np.rint((each.polyline(0.1) - self._origin) / self._pixel).astype(np.int32) for each in contours
        ]
        cv2.fillPoly(grid, rings, 1.0)
        side = int(NEIGHBOURHOOD / self._pixel) | 1
        self._share = cv2.boxFilter(grid, -1, (side, side), borderType=cv2.BORDER_CONSTANT)

    def at(self, shape: BaseGeometry) -> float:
        place = shape.representative_point()
        column, row = ((np.array([place.x, place.y]) - self._origin) / self._pixel).astype(int)
        row, column = (min(max(k, 0), n - 1) for k, n in zip((row, column), self._share.shape, strict=True))
        return float(self._share[row, column])
