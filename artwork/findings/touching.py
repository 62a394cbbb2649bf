"""Shapes that touch, or all but touch: each carves; where they meet they are carved as two, or as one."""

from __future__ import annotations

from math import isinf

import numpy as np
from shapely import GeometryCollection, MultiLineString, Point

from artwork.axis.anatomy import BISECTOR
from artwork.findings.runs import Run, Strip, on_slat
from artwork.findings.values import Finding
from artwork.findings.wording import at_most, counted, up
from artwork.scene import Scene

CONTACT = 0.05
"""Lines and lands narrower than this, mm, over no more than their need are no lines and no lands, but two shapes
that meet: nobody draws a hair of that width on purpose (common practice, no source)."""
SEAM = 5e-4
"""So is wood of any length between shapes that is narrower than this share of the drawing's longer side as well: a
drawing program leaves such seams between parts that were meant to meet (common practice, no source)."""
NOTCH_TURN = np.radians(60.0)
"""A boundary that turns by more at one point has a notch there: wood with a point (common practice, no source)."""
CRUMBLING = 15.0
"""From a seam the wood beside it may crumble this far to either side, mm, as from any point."""


def is_contact(scene: Scene, strip: Strip, run: Run) -> bool:
    """Whether a thin place between two good ones is where two shapes meet."""
    widest = max(CONTACT, 2 * (scene.anatomy.pixel or 0.0) * scene.scale)
    if run.exits < 2 or isinf(run.way) or 2 * scene.scale * run.clearance > widest:
        return False
    # where it is no wider than twice that, it must be short
    narrow = 2 * scene.scale * strip.clearance[run.members].max(axis=1) <= 2 * widest
    length = float(strip.lengths[run.members][narrow].sum()) * scene.scale
    return length <= float(np.min(strip.required[run.members]))


def meets_in_notches(scene: Scene, strip: Strip, run: Run) -> bool:
    """Whether a thin place of a line lies between two notches: two shapes that overlap by little, as rings of a chain.

    Each is whole without the other; so where they are carved as two, nothing of them is lost.
    """
    axis, stretch = scene.anatomy.lines, int(strip.whole[run.stretch])
    if run.exits < 2 or isinf(run.way) or axis.kind[stretch] != BISECTOR:
        return False
    if run.told * scene.scale > 2 * float(np.min(strip.required[run.members])):
        return False  # on either side longer than a corner of 60°
    place = axis.places[stretch, axis.clearance[stretch].argmin()]
    return all(scene.anatomy.turn_at(segment, place) > NOTCH_TURN for segment in axis.feet[stretch])


def is_seam(scene: Scene, strip: Strip, run: Run) -> bool:
    """Whether thin wood is a seam that nobody drew: two shapes that were meant to meet are carved as one."""
    widest = min(CONTACT, SEAM * scene.scale * max(scene.anatomy.size))
    if isinf(run.way) or run.tapering or 2 * scene.scale * run.clearance > widest:
        return False  # wood that ends in a point is as narrow there, and no seam
    width = 2 * scene.scale * strip.clearance[run.members]
    seam = float(strip.lengths[run.members][width.max(axis=1) <= widest].sum())
    return (run.told - seam) * scene.scale <= 2 * CRUMBLING


def touching_findings(scene: Scene, lines: list[Run], lands: list[Run]) -> list[Finding]:
    """One finding for all places where shapes meet."""
    runs = [*lines, *lands]
    ways = on_slat(scene, runs) if runs else MultiLineString()
    points = _points_alone(scene, ways)
    if not runs and not points:
        return []
    widest = up(max([2 * scene.scale * max(run.clearance, 0.0) for run in runs], default=0.0))
    longest = up(max([run.told * scene.scale for run in runs], default=0.0))
    apart = len(lines) + len(points)
    said = []
    if apart:
        said.append(f"{counted(apart, 'of them is', 'of them are')} carved as two shapes beside each other")
    if lands:
        said.append(
            f"{counted(len(lands), 'of them is', 'of them are')} carved as one, and the wood beside the place "
            "crumbles"
        )
    count = len(runs) + len(points)
    places = counted(count, "place", "places")
    return [
        Finding(
            kind="touching",
            severity="warns",
            place=GeometryCollection([*ways.geoms, *points]) if points else ways,
            measured=widest,
            required=None,
            nominal=None,
            worst=None,
            message=f"Shapes touch or all but touch at {places}, within {at_most(widest)}: "
            f"{' and '.join(said)}, over up to {at_most(longest)}."
            if runs
            else f"Shapes touch at {places}: {' and '.join(said)}.",
            cure="Nothing need be done if that is what is meant; else join them or draw them apart.",
            count=count,
            length=longest,
        )
    ]


def _points_alone(scene: Scene, told: MultiLineString) -> list[Point]:
    """Where shapes meet in exactly one point, and no thin place is told there."""
    points = [Point(place) for place in scene.place(scene.anatomy.meetings)]
    return [point for point in points if told.is_empty or point.distance(told) > CONTACT]
