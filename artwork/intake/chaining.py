"""Loose lines → closed loops, by their ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from artwork.intake.paths import CUBIC, LINE, MOVE, Builder, Path


@dataclass(frozen=True, eq=False)
class Chains:
    """Closed loops, chains whose ends meet nothing, and how many gaps between ends were bridged."""

    loops: list[Path]
    open: list[Path]
    closed: int


def chained(lines: list[Path], gap: float) -> Chains:
    """Joins open paths end to end where ends lie within ``gap`` of each other, nearest ends first."""
    if not lines:
        return Chains([], [], 0)
    ends = np.array([point for line in lines for point in (line.points[0], line.points[-1])])
    partner, bridged = _matched(ends, gap)
    loops: list[Path] = []
    left_open: list[Path] = []
    used = [False] * len(lines)
    starts = [end for end in range(len(ends)) if partner[end] < 0]  # chains with open ends first, from an end
    for start in [*starts, *range(0, len(ends), 2)]:
        if used[start // 2]:
            continue
        walked, closes = _walk(start, partner, used)
        path = _path([(lines[end // 2], end % 2 == 1) for end in walked], closes)
        (loops if closes else left_open).append(path)
    return Chains(loops, left_open, bridged)


def _matched(ends: np.ndarray, gap: float) -> tuple[list[int], int]:
    """For each end the end it meets, or −1; and how many of the meetings leave a gap."""
    pairs = cKDTree(ends).query_pairs(gap, output_type="ndarray")
    distances = np.hypot(*(ends[pairs[:, 0]] - ends[pairs[:, 1]]).T)
    partner = [-1] * len(ends)
    bridged = 0
    exact = 1e-9 * max(float(np.ptp(ends, axis=0).max()), 1e-300)
    for at in np.argsort(distances, kind="stable").tolist():
        a, b = pairs[at].tolist()
        if partner[a] < 0 and partner[b] < 0:
            partner[a], partner[b] = b, a
            bridged += bool(distances[at] > exact)
    return partner, bridged


def _walk(start: int, partner: list[int], used: list[bool]) -> tuple[list[int], bool]:
    """Ends entered, line after line, from ``start``; and whether the walk came back to it."""
    walked, at = [], start
    while True:
        used[at // 2] = True
        walked.append(at)
        following = partner[at ^ 1]
        if following == start:
            return walked, True
        if following < 0 or used[following // 2]:
            return walked, False
        at = following


def _path(parts: list[tuple[Path, bool]], closes: bool) -> Path:
    builder = Builder()
    for number, (line, backwards) in enumerate(parts):
        for verb, points in _segments(line, backwards):
            if verb == MOVE:
                if number == 0:
                    builder.move(*points)
            elif verb == LINE:
                builder.line(*points)
            else:
                builder.cubic(*points)
    if closes:
        builder.close()
    return builder.path()


def _segments(line: Path, backwards: bool) -> list[tuple[int, list[float]]]:
    """The open path's verbs with their coordinates, run backwards where asked.

    Bridging a gap moves no curve: the next line starts where the last one ended, by a straight line.
    """
    points = line.points.tolist()
    at, segments = 0, []
    for verb in line.verbs.tolist():
        take = 3 if verb == CUBIC else 1
        segments.append((verb, points[at : at + take]))
        at += take
    if not backwards:
        chain = [(MOVE if n == 0 else v, p) for n, (v, p) in enumerate(segments)]
        return [(v, [c for point in p for c in point]) for v, p in _linked(chain)]
    turned: list[tuple[int, list[list[float]]]] = [(MOVE, [points[-1]])]
    before = [p[-1] for _, p in segments]
    for n in range(len(segments) - 1, 0, -1):
        verb, p = segments[n]
        turned.append((verb, [*reversed(p[:-1]), before[n - 1]]))
    return [(v, [c for point in p for c in point]) for v, p in _linked(turned)]


def _linked(chain: list[tuple[int, list[list[float]]]]) -> list[tuple[int, list[list[float]]]]:
    """A line to the chain's first point stands after its move, for when the move is left out."""
    return [chain[0], (LINE, chain[0][1]), *chain[1:]]
