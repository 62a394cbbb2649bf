"""Painted areas whose edges never meet: their curves are kept as they are, only sorted out."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import shapely

from artwork.curves import Contour, sampled
from artwork.intake.flat import closed_rings
from artwork.intake.marks import Rule


@dataclass(frozen=True, eq=False)
class Edge:
    """One closed curve of the drawing.

    Attributes:
        contour: the curve.
        mark: place of its mark in painting order.
        rule: the mark's rule.
        carves: whether the mark carves or knocks out.
    """

    contour: Contour
    mark: int
    rule: Rule
    carves: bool


def nested(edges: list[Edge], tolerance: float) -> list[Contour] | None:
    """The outline of the drawing, or ``None`` where some edges meet and must be cut.

    An edge stays if what is carved just inside it differs from what is carved just outside.
    """
    samples = sampled([edge.contour for edge in edges], tolerance)
    lengths = np.diff(samples.starts)
    kept = np.flatnonzero(lengths >= 3)
    chosen = np.repeat(lengths >= 3, lengths)
    edges = [edges[i] for i in kept]
    points = samples.points[chosen]
    if not edges:
        return []
    rings = closed_rings(points, lengths[kept])
    if not shapely.is_simple(shapely.multilinestrings(rings)):
        return None
    turns = np.where(shapely.is_ccw(rings), 1, -1).tolist()
    around = _around(rings, samples.points[samples.starts[kept]])
    outline = []
    for i, edge in enumerate(edges):
        outside = _carved(around[i], edges, turns)
        inside = _carved([*around[i], i], edges, turns)
        if inside != outside:
            forward = (turns[i] > 0) == inside
            outline.append(edge.contour if forward else edge.contour.reversed())
    return outline


def _around(rings: np.ndarray, first: np.ndarray) -> list[list[int]]:
    """For each ring, the rings that surround it. Rings that do not meet: one point of each decides."""
    tree = shapely.STRtree(np.asarray(shapely.polygons(rings)))
    inner, outer = tree.query(shapely.points(first), predicate="within")
    found: list[list[int]] = [[] for _ in rings]
    for i, j in zip(inner.tolist(), outer.tolist(), strict=True):
        if i != j:
            found[i].append(j)
    return found


def _carved(around: list[int], edges: list[Edge], turns: list[int]) -> bool:
    """What the last mark that covers a place says about it."""
    windings: dict[int, int] = defaultdict(int)
    crossings: dict[int, int] = defaultdict(int)
    for i in around:
        windings[edges[i].mark] += turns[i]
        crossings[edges[i].mark] += 1
    by_mark = {edges[i].mark: edges[i] for i in around}
    for mark in sorted(by_mark, reverse=True):
        edge = by_mark[mark]
        covered = crossings[mark] % 2 if edge.rule == "evenodd" else windings[mark]
        if covered:
            return edge.carves
    return False
