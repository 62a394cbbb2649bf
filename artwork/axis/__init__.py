"""The exact medial axis of an outline, carved and uncarved side, with the clearance everywhere along it."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from artwork.axis.anatomy import Anatomy, Axis, Bools, Climb, Ints, Tapers
from artwork.axis.flattening import Boundary, flattened
from artwork.axis.stretches import Stretches, stretches
from artwork.axis.tapers import tapers
from artwork.axis.voronoi import Diagram, TornDiagramError, voronoi
from artwork.curves import Floats
from artwork.errors import EngineError
from artwork.outline import Outline

CORNER_SEEN = np.cos(np.radians(30.0))
"""Branches whose feet are seen under less than 30° are joints of chords, no corners: no bit goes there."""
COARSER = (1, 8, 64)
"""Grids that are tried one after another, by how many times as coarse as need be they are."""

__all__ = ["Anatomy", "Axis", "Tapers", "study"]


def study(outline: Outline) -> Anatomy:
    """Everything about an outline that no placement changes: once per outline, the costly part of a check.

    The outline is flattened to an integer grid, and the Voronoi diagram of its boundary segments read as two
    axes: of the lines (inside) and of the lands (outside, and inside letter forms). Raises EngineError.
    """
    boundary, diagram = _sound_diagram(outline)
    found = stretches(boundary, diagram)
    pieces, lands = _regions(boundary, diagram)
    way_up = found.climb.scaled(boundary.step)
    outer = int(lands[diagram.outermost[0]])
    left, low, right, high = outline.bounds
    return Anatomy(
        lines=_axis(boundary, diagram, found, diagram.carved, pieces, way_up=way_up),
        lands=_open_axis(_axis(boundary, diagram, found, ~diagram.carved, lands, way_up=way_up), outer),
        points=boundary.in_units(boundary.points),
        ring=boundary.ring,
        ring_piece=pieces,
        ring_land=lands,
        outer_land=outer,
        error=boundary.error,
        centre=np.array([(left + right) / 2, (low + high) / 2]),
        size=(right - left, high - low),
        pixel=outline.pixel,
        segment=boundary.segment,
        share=boundary.share,
    )


def _sound_diagram(outline: Outline) -> tuple[Boundary, Diagram]:
    """On the finest grid on which the diagram has no holes. EngineError where there is none."""
    for coarser in COARSER:
        boundary = flattened(outline, coarser)
        try:
            return boundary, voronoi(boundary)
        except TornDiagramError:
            continue
    raise EngineError(
        "art-not-measured",
        "Parts of this art lie so close together that their widths cannot be measured.",
        "Send it with fewer points, or as a picture.",
    )


def _regions(boundary: Boundary, diagram: Diagram) -> tuple[Ints, Ints]:
    """For each ring the piece of art and the piece of land it bounds: rings that share an axis share it."""
    ring = boundary.ring[diagram.segments]
    found = []
    for chosen in (diagram.carved, ~diagram.carved):
        pairs = ring[chosen]
        if chosen is not diagram.carved:
            # the frame joins all rings that face it
            outermost = diagram.outermost
            pairs = np.concatenate([pairs, np.stack([outermost, np.roll(outermost, 1)], axis=1)])
        count = int(boundary.ring.max()) + 1
        links = coo_array((np.ones(len(pairs), np.int8), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
        found.append(connected_components(links, directed=False)[1].astype(np.int64))
    return found[0], found[1]


def _axis(
    boundary: Boundary,
    diagram: Diagram,
    found: Stretches,
    side: Bools,
    ring_region: Ints,
    *,
    way_up: Climb,
) -> Axis:
    """One side's stretches in outline units."""
    step = boundary.step
    edge_region = ring_region[boundary.ring[diagram.segments[:, 0]]]
    here = side[found.edge]
    corners = found.chosen(here & ~found.wide & (found.cosine < CORNER_SEEN))
    own = found.chosen(here & found.wide)
    places, clearance = boundary.in_units(own.places), own.clearance * step
    taper, tapering = tapers(own.ends, places, clearance, boundary.error)
    peak, where = _peaks(diagram, side, edge_region, int(ring_region.max()) + 1)
    return Axis(
        ends=own.ends,
        places=places,
        clearance=clearance,
        runs=own.runs * step,
        kind=own.kind,
        headings=own.headings,
        region=edge_region[own.edge],
        taper=taper,
        tapers=tapering,
        peak=peak * step,
        peak_place=boundary.in_units(where),
        climb=way_up,
        corner_lengths=np.hypot(*(corners.places[:, 1] - corners.places[:, 0]).T) * step,
        corner_clearance=corners.clearance * step,
        feet=diagram.segments[own.edge],
    )


def _peaks(diagram: Diagram, side: Bools, edge_region: Ints, regions: int) -> tuple[Floats, Floats]:
    """Largest clearance of each region and where it is, grid units. It is always at a vertex of the axis."""
    vertex = np.concatenate([diagram.start[side], diagram.end[side]])
    region = np.concatenate([edge_region[side], edge_region[side]])
    order = np.lexsort((diagram.clearance[vertex], region))
    vertex, region = vertex[order], region[order]
    last = np.flatnonzero(region != np.append(region[1:], -1))
    peak, where = np.zeros(regions), np.zeros((regions, 2))
    peak[region[last]] = diagram.clearance[vertex[last]]
    where[region[last]] = diagram.vertices[vertex[last]]
    return peak, where


def _open_axis(axis: Axis, outer: int) -> Axis:
    """The surrounding land goes on beyond the frame: no clearance bounds it."""
    axis.peak[outer] = np.inf
    return axis
