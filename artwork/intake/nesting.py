"""Painted areas whose edges never meet: their curves are kept as they are, only sorted out."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import shapely

from artwork.curves import Contour
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
    rings = [edge.contour.polyline(tolerance) for edge in edges]
    kept = [i for i, ring in enumerate(rings) if len(ring) >= 3]
    edges, rings = [edges[i] for i in kept], [rings[i] for i in kept]
    if not shapely.is_simple(shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in rings])):
        return None
    around = _around(rings)
    turns = [1 if edge.contour.area > 0 else -1 for edge in edges]
    outline = []
    for i, edge in enumerate(edges):
        outside = _carved(around[i], edges, turns)
        inside = _carved([*around[i], i], edges, turns)
        if inside != outside:
            forward = (turns[i] > 0) == inside
            outline.append(edge.contour if forward else edge.contour.reversed())
    return outline


def _around(rings: list[np.ndarray]) -> list[list[int]]:
    """For each ring, the rings that surround it. Rings that do not meet: one point of each decides."""
    shapes = [shapely.Polygon(ring) for ring in rings]
    points = shapely.points(np.array([ring[0] for ring in rings]))
    tree = shapely.STRtree(shapes)
    inner, outer = tree.query(points, predicate="within")
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
