"""Edges: art across the slat's edge, in the round-over, near its ends, screws and joints."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, down, up
from artwork.placing import slat_ends
from artwork.scene import Scene
from artwork.shapes import polygonal, united
from artwork.workpiece import Allowances, Bit, KeepOut, Slat

HALVINGS = 40
ROUND_SEGMENTS = 32
"""Chords per quarter circle where a margin's strip is drawn."""


def judge_edges(scene: Scene) -> list[Finding]:
    """All findings about where on the slat the art lies. Cheap where its hull keeps every margin."""
    return [*_at_edge(scene), *_at_ends(scene), *_at_keep_outs(scene)]


def _at_edge(scene: Scene) -> list[Finding]:
    slat, allowances = scene.cut.slat, scene.cut.allowances
    radius = tooling.edge_radius(slat)
    margin = radius + allowances.edge_margin
    if scene.clear_of_edge >= max(margin, edge_land(slat, scene.cut.bit, allowances)):
        return []
    off = scene.art.difference(slat.outline)
    if off.area > scene.error:
        return [_off_slat(off)]
    distance = max(float(shapely.distance(scene.art, slat.outline.exterior)) - scene.error, 0.0)
    found = [*_edge_lands(scene)]
    if distance < radius:
        found.append(_rounded(scene, distance, radius))
    elif distance < margin:
        found.append(_margin(scene, distance, margin))
    return found


def edge_land(slat: Slat, bit: Bit, allowances: Allowances) -> float:
    """Most wood that any side of a slat asks for between a groove and itself, mm."""
    return max((needed for _, needed in _sides(slat, bit, allowances)), default=_side(bit, allowances, 0.0))


def _side(bit: Bit, allowances: Allowances, across: float) -> float:
    """As between grooves, but one side only widens; ``across``: sin² of the edge's angle to the grain."""
    return up(tooling.least_land(allowances, across) + tooling.land_loss(bit, allowances) / 2)


def _sides(slat: Slat, bit: Bit, allowances: Allowances) -> Iterator[tuple[LineString, float]]:
    """The slat's sides that keep wood beside them, and how much: a round-over as wide takes that wood anyway."""
    radius = tooling.edge_radius(slat)
    for start, end in pairwise(np.asarray(slat.outline.exterior.coords)):
        way = end - start
        across = float(np.sin(np.arctan2(way[1], way[0]) - np.radians(slat.grain_deg)) ** 2)
        needed = _side(bit, allowances, across)
        if needed > radius:
            yield LineString([start, end]), needed


def _edge_lands(scene: Scene) -> list[Finding]:
    """The side with the least wood for what it needs, if it has too little."""
    sides = list(_sides(scene.cut.slat, scene.cut.bit, scene.cut.allowances))
    if not sides:
        return []
    off = shapely.distance(np.array([side for side, _ in sides]), scene.art) - scene.error
    spare = off - np.array([needed for _, needed in sides])
    worst = int(np.argmin(spare))
    if spare[worst] >= 0:
        return []
    return [_edge_land(scene, sides[worst][0], max(float(off[worst]), 0.0), sides[worst][1])]


def _off_slat(off: BaseGeometry) -> Finding:
    area = up(off.area)
    return Finding(
        kind="off-slat",
        severity="stops",
        place=polygonal(off),
        measured=area,
        required=0.0,
        nominal=None,
        worst=None,
        message=f"{area:.0f} mm² ({area / tooling.MM_PER_INCH**2:.2f} in²) of the art lie beyond the edge.",
        cure="Move the art onto the slat, or make it smaller.",
    )


def _edge_land(scene: Scene, side: LineString, distance: float, required: float) -> Finding:
    worst = distance - tooling.land_loss(scene.cut.bit, scene.cut.allowances) / 2
    return Finding(
        kind="edge-land",
        severity="stops",
        place=_way_to(scene, side),
        measured=down(distance),
        required=required,
        nominal=down(distance),
        worst=down(max(worst, 0.0)),
        message=f"Between the art and the slat's edge stand {at_least(distance)} of wood; "
        f"it needs {at_most(required)} beside an edge that runs this way to the grain.",
        cure="Move the art inwards, or make it smaller.",
    )


def _rounded(scene: Scene, distance: float, radius: float) -> Finding:
    """Art in the strip that the rounded edge lowers; the lines there are judged one by one as well."""
    lowered = tooling.drop(distance, radius)
    slat = scene.cut.slat
    strip = scene.art.difference(slat.outline.buffer(-radius, quad_segs=ROUND_SEGMENTS))
    by_mill = slat.mill_radius > slat.round_over
    which = "the board's own rounded edge" if by_mill else "the round-over"
    return Finding(
        kind="round-over",
        severity="warns",
        place=polygonal(strip),
        measured=down(distance),
        required=up(radius + scene.cut.allowances.edge_margin),
        nominal=0.0,
        worst=up(lowered),
        message=f"The art comes within {at_least(distance)} of the slat's edge; {which} reaches "
        f"{at_most(radius)} and takes up to {at_most(lowered)} of depth from it there: what is drawn "
        f"{at_least(distance)} from the edge shows {at_most(_taken_in(scene, distance))} further in.",
        cure="Move the art inwards, or make it smaller.",
    )


def _taken_in(scene: Scene, distance: float) -> float:
    """How far in from a flank drawn at that distance from the edge the first trace of its groove is left, mm.

    On the low board a groove is ``d / tan φ`` deep at ``d`` from its flank; the face has lost sanding,
    unevenness and what the rounding takes there.
    """
    slope = tooling.slope(scene.cut.bit)
    lost = tooling.depth_lost(scene.cut.allowances)
    low, high = 0.0, slope * (lost + tooling.edge_radius(scene.cut.slat))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        left = middle / slope - lost - float(scene.lowered(np.array([distance + middle]))[0])
        low, high = (middle, high) if left < 0 else (low, middle)
    return high


def _margin(scene: Scene, distance: float, margin: float) -> Finding:
    inner = scene.cut.slat.outline.buffer(-margin, quad_segs=ROUND_SEGMENTS)
    return Finding(
        kind="edge-margin",
        severity="warns",
        place=polygonal(scene.art.difference(inner)),
        measured=down(distance),
        required=up(margin),
        nominal=None,
        worst=None,
        message=f"The art comes within {at_least(distance)} of the slat's edge; "
        f"the shop keeps {at_most(margin)} free.",
        cure="Move the art inwards, or make it a little smaller.",
    )


def _at_ends(scene: Scene) -> list[Finding]:
    margin = scene.cut.allowances.end_margin
    ends = united(list(slat_ends(scene.cut.slat)))
    if ends.is_empty or scene.hull.distance(ends) >= margin:
        return []
    distance = max(float(scene.art.distance(ends)) - scene.error, 0.0)
    if distance >= margin:
        return []
    return [
        Finding(
            kind="end-margin",
            severity="warns",
            place=polygonal(scene.art.intersection(ends.buffer(margin, quad_segs=ROUND_SEGMENTS))),
            measured=down(distance),
            required=up(margin),
            nominal=None,
            worst=None,
            message=f"The art comes within {at_least(distance)} of the slat's end; "
            f"the shop keeps {at_most(margin)} free.",
            cure="Move the art towards the middle of the slat, or make it smaller.",
        )
    ]


def _at_keep_outs(scene: Scene) -> list[Finding]:
    closed = [keep_out for keep_out in scene.cut.slat.keep_outs if keep_out.free_depth == 0]
    return [finding for keep_out in closed for finding in _near(scene, keep_out)]


def _near(scene: Scene, keep_out: KeepOut) -> list[Finding]:
    allowances = scene.cut.allowances
    margin = max(allowances.keep_out_margin, _side(scene.cut.bit, allowances, 1.0))
    if scene.hull.distance(keep_out.shape) >= margin:
        return []
    distance = max(float(scene.art.distance(keep_out.shape)) - scene.error, 0.0)
    if distance >= margin:
        return []
    zone = keep_out.shape.buffer(margin, quad_segs=ROUND_SEGMENTS)
    return [
        Finding(
            kind="keep-out",
            severity="stops",
            place=polygonal(scene.art.intersection(zone)),
            measured=down(distance),
            required=up(margin),
            nominal=None,
            worst=None,
            message=f"The art comes within {at_least(distance)} of a {keep_out.reason}; "
            f"{at_most(margin)} must stay free.",
            cure=f"Move the art away from the {keep_out.reason}, or make it smaller.",
        )
    ]


def _way_to(scene: Scene, edge: BaseGeometry) -> LineString:
    return LineString(np.asarray(shapely.shortest_line(scene.art, edge).coords))
