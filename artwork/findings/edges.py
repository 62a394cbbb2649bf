"""Edges: art across the slat's edge, in the round-over, near its ends, screws and joints."""

from __future__ import annotations

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
from artwork.workpiece import KeepOut

ROUND_SEGMENTS = 32
"""Chords per quarter circle where a margin's strip is drawn."""


def judge_edges(scene: Scene) -> list[Finding]:
    """All findings about where on the slat the art lies. Cheap where its hull keeps every margin."""
    return [*_at_edge(scene), *_at_ends(scene), *_at_keep_outs(scene)]


def _at_edge(scene: Scene) -> list[Finding]:
    slat, allowances = scene.cut.slat, scene.cut.allowances
    radius = tooling.edge_radius(slat)
    margin = radius + allowances.edge_margin
    land = edge_land(scene)
    if scene.clear_of_edge >= max(margin, land):
        return []
    off = scene.art.difference(slat.outline)
    if off.area > scene.error:
        return [_off_slat(off)]
    distance = max(float(shapely.distance(scene.art, slat.outline.exterior)) - scene.error, 0.0)
    found = []
    if distance < land:
        found.append(_edge_land(scene, distance, land))
    if distance < radius:
        found.append(_rounded(scene, distance, radius))
    elif distance < margin:
        found.append(_margin(scene, distance, margin))
    return found


def edge_land(scene: Scene) -> float:
    """Least wood between a groove and the slat's edge, mm: as between grooves, but one side only widens."""
    allowances = scene.cut.allowances
    return up(allowances.land_along + tooling.land_loss(scene.cut.bit, allowances) / 2)


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


def _edge_land(scene: Scene, distance: float, required: float) -> Finding:
    worst = distance - tooling.land_loss(scene.cut.bit, scene.cut.allowances) / 2
    return Finding(
        kind="edge-land",
        severity="stops",
        place=_way_to(scene, scene.cut.slat.outline.exterior),
        measured=down(distance),
        required=required,
        nominal=down(distance),
        worst=down(max(worst, 0.0)),
        message=f"Between the art and the slat's edge stand {at_least(distance)} of wood; "
        f"it needs {at_most(required)}.",
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
        f"{at_most(radius)} and takes up to {at_most(lowered)} of depth from it there.",
        cure="Move the art inwards, or make it smaller.",
    )


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
    margin = max(allowances.keep_out_margin, edge_land(scene))
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
