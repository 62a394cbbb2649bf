"""Thin stretches of an axis, joined to runs: one per place that people would point at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import isinf, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely import MultiLineString

from artwork.axis.anatomy import Axis, Climb, share_at
from artwork.curves import Floats
from artwork.scene import Scene
from artwork.shapes import ways

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

NEARLY = 1.2
"""Thin runs are told together where the way between them stays below this times what is required."""


@dataclass(frozen=True, eq=False)
class Strip:
    """Stretches of an axis with what is required of each: outline units, except where said.

    Attributes:
        places, clearance, headings, ends, region, taper: as in :class:`artwork.axis.Axis`.
        least: shape (n,), smallest clearance of each.
        lengths: shape (n,), straight length of each.
        crossing: where a stretch has a given clearance, as a share of its length: function of (index, r).
        required: shape (n,), least width of each, mm.
        lowered: shape (n,), how much the rounded edge lowers the face there at most, mm.
        climb: the ways upwards from its vertices.
        whole: shape (n,), index of the axis' own stretch that each is, or is a piece of.
        sound: vertices that are wide enough whatever their stretches require: where a whole piece is known to stand.
    """

    places: Floats
    clearance: Floats
    headings: Floats
    ends: Ints
    region: Ints
    taper: Ints
    least: Floats
    lengths: Floats
    crossing: Callable[[Ints, Floats], Floats]
    required: Floats
    lowered: Floats
    climb: Climb
    whole: Ints
    sound: Ints = field(default_factory=lambda: np.zeros(0, np.int64))


@dataclass(frozen=True, eq=False)
class Run:
    """Connected thin stretches.

    Attributes:
        lines: shape (m, 2, 2), the thin parts of its stretches, outline units.
        stretch: index of the stretch that lacks most; of a run with strokes and points, among its strokes.
        clearance: least clearance there, outline units.
        length: of the whole run, outline units.
        way: what its ways out still go through corner branches before they are wide enough, outline units;
            infinite where one never is.
        beyond: how far corner branches reach on from where it ends, outline units.
        exits: how many ways lead out of it; 1 for a dead end.
        tapering: whether all of it belongs to branches that end in a point.
        slight: whether it is a dead end of which no more is lost than at any corner.
        group: equal for runs with only nearly thin stretches between them.
        members: indices of the stretches.
    """

    lines: Floats
    stretch: int
    clearance: float
    length: float
    way: float
    beyond: float
    exits: int
    tapering: bool
    slight: bool
    group: int
    members: Ints

    @property
    def told(self) -> float:
        """Its length with the ways out of it, as far as these end; outline units."""
        return self.length + (0.0 if isinf(self.way) else self.way)

    @property
    def lost(self) -> float:
        """Of a dead end all that is drawn beyond where it is wide enough; outline units.

        An end goes on beyond its axis: a round one for its own radius, one cut off askew to its farther corner,
        which lies as far off the axis as the sides do.
        """
        corner = sqrt(max(self.beyond**2 - self.clearance**2, 0.0))
        return self.told + max(self.clearance, corner)


def strip_of(axis: Axis, required: Floats, lowered: Floats) -> Strip:
    """A whole axis as a strip."""
    return Strip(
        axis.places,
        axis.clearance,
        axis.headings,
        axis.ends,
        axis.region,
        axis.taper,
        axis.least,
        axis.lengths,
        lambda which, r: share_at(axis.kind[which], axis.runs[which], axis.clearance[which], r),
        required,
        lowered,
        axis.climb,
        np.arange(len(axis.region)),
    )


def thin_runs(strip: Strip, scale: float, error: float) -> list[Run]:
    """Runs of a strip that are narrower than required, narrowest first.

    Args:
        strip: what to look at.
        scale: mm per outline unit.
        error: how much smaller than measured a clearance may be, outline units.
    """
    needed = strip.required / (2 * scale) + error
    thin = np.flatnonzero(strip.least < needed)
    if not len(thin):
        return []
    start, end, touches = _portions(strip, thin, needed[thin])
    touches &= ~np.isin(strip.ends[thin], strip.sound)
    label = _joined(strip.ends[thin], touches)
    tapering = strip.taper[thin] >= 0
    lack = needed[thin] - strip.least[thin]
    order = np.lexsort((-lack, tapering, label))
    places = strip.places[thin][order]
    way = places[:, 1] - places[:, 0]
    lines = np.stack([places[:, 0] + start[order, None] * way, places[:, 0] + end[order, None] * way], axis=1)
    length = np.hypot(*(lines[:, 1] - lines[:, 0]).T)
    first = np.flatnonzero(np.append(True, np.diff(label[order]) > 0))
    total = np.add.reduceat(length, first)
    worst = thin[order[first]]
    ways = _ways_out(strip, needed, _Portions(thin, label, touches), len(first))
    slight = ways.slight(total)
    group = _groups(strip, needed)[worst]
    sharp, parts, members = (
        tapering[order[first]],
        np.split(lines, first[1:]),
        np.split(thin[order], first[1:]),
    )
    found = [
        Run(
            lines=parts[i],
            stretch=int(worst[i]),
            clearance=float(strip.least[worst[i]]),
            length=float(total[i]),
            way=float(ways.way[i]),
            beyond=float(ways.beyond[i]),
            exits=int(ways.exits[i]),
            tapering=bool(sharp[i]),
            slight=bool(slight[i]),
            group=int(group[i]),
            members=members[i],
        )
        for i in range(len(first))
    ]
    return [found[i] for i in np.argsort(strip.least[worst] - needed[worst], kind="stable")]


def _groups(strip: Strip, needed: Floats) -> Ints:
    """A number for each stretch, equal where only nearly thin stretches lie between."""
    near = np.flatnonzero(strip.least < NEARLY * needed)
    label = np.full(len(needed), -1)
    label[near] = _joined(strip.ends[near], np.ones((len(near), 2), bool))
    return label


def grouped(runs: list[Run]) -> list[list[Run]]:
    """Runs gathered by group, in their order."""
    found: dict[int, list[Run]] = {}
    for run in runs:
        found.setdefault(run.group, []).append(run)
    return list(found.values())


def on_slat(scene: Scene, runs: Sequence[Run]) -> MultiLineString:
    """The runs' ways in slat mm."""
    return ways(scene.place(np.concatenate([run.lines for run in runs])))


@dataclass(frozen=True, eq=False)
class _Portions:
    """Thin stretches, the run of each, and which of its two ends each touches."""

    thin: Ints
    label: Ints
    touches: Bools


@dataclass(frozen=True, eq=False)
class _WaysOut:
    """How each run goes on where it ends.

    Attributes:
        exits: shape (runs,), how many ways lead out of it.
        way: what they still go through corner branches until they are wide enough, together.
        beyond: how far corner branches reach beyond its dead ends.
        least: the least clearance that is needed anywhere on it.
    """

    exits: Ints
    way: Floats
    beyond: Floats
    least: Floats

    def slight(self, length: Floats) -> Bools:
        """Which runs are dead ends that lose no more than a corner does.

        A corner of 60° is narrower than required over twice the required clearance, and nobody calls that a
        thin line. So neither is a dead end (a run with one way out) from whose farthest point the way along
        the axis to where the clearance is enough is no longer than that: a nick, a burr, the fleck of a scan.
        """
        return np.asarray((self.exits == 1) & (length + self.beyond + self.way <= 2 * self.least))


def _ways_out(strip: Strip, needed: Floats, portions: _Portions, runs: int) -> _WaysOut:
    climb, thin, label, touches = strip.climb, portions.thin, portions.label, portions.touches
    beyond = np.zeros(runs)
    stretch, side = np.nonzero(touches)
    node, owner = strip.ends[thin[stretch], side], label[stretch]
    whole = touches.all(axis=1)
    exits = np.bincount(label[~whole], minlength=runs)
    node, first = np.unique(node, return_index=True)
    owner = owner[first]
    leaving = climb.leaves[node]
    exits += np.bincount(owner[leaving], minlength=runs)
    exits += _onwards(strip, portions, node, owner, runs)
    least, most = np.full(runs, np.inf), np.zeros(runs)
    np.minimum.at(least, label, needed[thin])
    np.maximum.at(most, label, needed[thin])
    np.maximum.at(beyond, owner, climb.below[node])
    way = np.zeros(runs)
    np.add.at(way, owner[leaving], _way_up(climb, node[leaving], most[owner[leaving]], strip.sound))
    return _WaysOut(exits, way, beyond, least)


def _onwards(strip: Strip, portions: _Portions, node: Ints, owner: Ints, runs: int) -> Ints:
    """How many stretches each run touches that are wide enough there (for their own direction)."""
    if not len(node):  # thin all along, and nowhere as far as an end
        return np.zeros(runs, np.int64)
    enough = np.ones((len(strip.ends), 2), bool)
    enough[portions.thin] = ~portions.touches
    ends = strip.ends[enough]
    at = np.minimum(np.searchsorted(node, ends), len(node) - 1)
    return np.bincount(owner[at[node[at] == ends]], minlength=runs)


def _way_up(climb: Climb, node: Ints, needed: Floats, sound: Ints) -> Floats:
    """Length of the way from each vertex to where the clearance is enough; infinite where it never is."""
    way = np.zeros(len(node))
    walking = np.arange(len(node))
    here = node.copy()
    while len(walking):
        up = climb.up[here]
        ended = up < 0
        way[walking[ended & ~np.isin(here, sound)]] = np.inf
        walking, here, up = walking[~ended], here[~ended], up[~ended]
        low = climb.clearance[up] < needed[walking]
        ends = np.stack([climb.clearance[here], climb.clearance[up]], axis=1)
        share = share_at(climb.kind[here], climb.runs[here], ends, needed[walking])
        way[walking] += np.where(low, 1.0, share) * climb.length[here]
        walking, here = walking[low], up[low]
    return way


def _portions(strip: Strip, thin: Ints, needed: Floats) -> tuple[Floats, Floats, Bools]:
    """Which share of each thin stretch is thin (from, to), and which of its two ends that touches."""
    r = strip.clearance[thin]
    whole = r.max(axis=1) < needed
    share = np.ones(len(thin))
    share[~whole] = strip.crossing(thin[~whole], needed[~whole])
    rising = r[:, 0] <= r[:, 1]
    start = np.where(whole | rising, 0.0, share)
    end = np.where(whole | ~rising, 1.0, share)
    touches = np.stack([whole | rising, whole | ~rising], axis=1)
    return start, end, touches


def _joined(ends: Ints, touches: Bools) -> Ints:
    """A number for each stretch, equal for stretches that hang together by the ends they touch."""
    count = len(ends)
    _, vertex = np.unique(ends, return_inverse=True)
    vertex = vertex.reshape(-1, 2)
    stretch, side = np.nonzero(touches)
    nodes = count + int(vertex.max()) + 1
    links = coo_array(
        (np.ones(len(stretch), np.int8), (stretch, count + vertex[stretch, side])), shape=(nodes, nodes)
    )
    return np.asarray(connected_components(links, directed=False)[1][:count])
