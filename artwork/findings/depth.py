"""Depth: the deepest cut, floors where the art is too wide for the bit, what lies hidden below."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
import shapely
from shapely import MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, down, up
from artwork.scene import Scene
from artwork.shapes import polygonal
from artwork.workpiece import KeepOut

SAMPLE = 0.5
"""Spacing at which the depth over a hidden screw or joint is sampled, mm."""
FLOOR_SEGMENTS = 16
"""Chords per quarter circle where a floor's edge is drawn."""


@dataclass(frozen=True, eq=False)
class Depth:
    """How deep the cut goes.

    Attributes:
        findings: limits that cannot be held, hidden parts.
        program: deepest point of the program below the bit's zero, mm.
        deepest: how far below the face that may really reach, mm.
        wood_left: under it, mm.
        floor: where the bottom is flat: a figure, no finding, for nothing is at risk there.
    """

    findings: tuple[Finding, ...]
    program: float
    deepest: float
    wood_left: float
    floor: MultiPolygon


def judge_depth(scene: Scene) -> Depth:
    """Depth is greatest where strokes meet, so it is read at the axis' own greatest clearance."""
    axis = scene.anatomy.lines
    number = int(np.argmax(axis.peak))
    width = 2 * scene.scale * (float(axis.peak[number]) + scene.slack)
    program = min(tooling.groove_depth(width, scene.cut.bit), scene.limit)
    deepest = tooling.deepest_cut(program, scene.cut.allowances)
    where = Point(*scene.place(axis.peak_place[number]))
    floor = _floor(scene)
    found = [*_too_shallow(scene, where, program), *_hidden(scene)]
    return Depth(
        tuple(found),
        min(up(program), down(scene.limit)),
        up(deepest),
        down(scene.cut.slat.thickness - deepest),
        floor,
    )


def _too_shallow(scene: Scene, where: Point, program: float) -> list[Finding]:
    """The slat or the bit allows less depth than the allowances take away."""
    needed = tooling.needed_depth(scene.cut.allowances, 0.0)
    if needed <= scene.limit:
        return []
    return [
        Finding(
            kind="depth",
            severity="stops",
            place=where,
            measured=down(scene.limit),
            required=up(needed),
            nominal=down(program),
            worst=0.0,
            message=f"On this slat the bit may go {at_least(scene.limit)} deep at most, "
            f"but a line must go {at_most(needed)} deep, or too little is left on an uneven board.",
            cure="Use a thicker slat, a flatter board, or a bit that cuts deeper.",
        )
    ]


def _floor(scene: Scene) -> MultiPolygon:
    """Where the art is farther from its edge than the bit reaches at its deepest."""
    reach = tooling.groove_width(scene.limit, scene.cut.bit) / 2
    wide = np.flatnonzero(scene.scale * (scene.anatomy.lines.peak + scene.slack) > reach)
    if not len(wide):
        return MultiPolygon()
    return polygonal(scene.pieces(wide).buffer(-(reach - scene.error), quad_segs=FLOOR_SEGMENTS))


def _hidden(scene: Scene) -> list[Finding]:
    """Screws and joints below the face, where the art lies over them."""
    return [
        finding
        for keep_out in scene.cut.slat.keep_outs
        if keep_out.free_depth > 0
        for finding in _over(scene, keep_out)
    ]


def _over(scene: Scene, keep_out: KeepOut) -> list[Finding]:
    zone = keep_out.shape.buffer(scene.cut.allowances.keep_out_margin)
    if not zone.intersects(scene.hull):
        return []
    over = scene.art.intersection(zone)
    if over.is_empty:
        return []
    program = min(tooling.groove_depth(2 * _widest(scene, over), scene.cut.bit), scene.limit)
    deepest = up(tooling.deepest_cut(program, scene.cut.allowances))
    if deepest <= keep_out.free_depth:
        return []
    return [
        Finding(
            kind="hidden",
            severity="stops",
            place=over,
            measured=deepest,
            required=down(keep_out.free_depth),
            nominal=up(program),
            worst=deepest,
            message=f"Over the {keep_out.reason} the cut may go {at_most(deepest)} deep; "
            f"only {at_least(keep_out.free_depth)} may be carved there.",
            cure=f"Move the art away from the {keep_out.reason}, or make it smaller.",
        )
    ]


def _widest(scene: Scene, over: BaseGeometry) -> float:
    """Bound on the distance to the art's edge within ``over``: it changes no faster than the way does."""
    left, low, right, high = over.bounds
    x, y = np.meshgrid(np.arange(left, right + SAMPLE, SAMPLE), np.arange(low, high + SAMPLE, SAMPLE))
    x, y = x.ravel(), y.ravel()
    inside = shapely.contains_xy(scene.art, x, y)
    off = shapely.distance(scene.art.boundary, shapely.points(x[inside], y[inside]))
    return float(off.max(initial=0.0)) + SAMPLE * sqrt(0.5) + scene.error
