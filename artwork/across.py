"""Art across several slats: one picture on the assembled piece, cut by slat, the gaps allowed for.

The picture lies on the piece's front as if the gaps were wood; what falls on a slat becomes that slat's own
outline, to be judged and approved like any other. What the gaps and the rounded edges eat is told, and so are
slivers that the cuts leave at a slat's edge, and how far the gaps move between dry and wet wood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.across_fit import largest_across
from artwork.axis import study
from artwork.axis.flattening import PIXEL_SHARE, SIDE_SHARE
from artwork.curves import Contour, Floats
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings import Check, Finding, check
from artwork.findings.edges import edge_land
from artwork.findings.verdict import verdict_of
from artwork.findings.wording import at_least, at_most, counted, up
from artwork.furniture import ModelLayout, PlacedSlat
from artwork.gaps import TEMPERATE, Gap, Weather, gaps_under
from artwork.intake.recurving import recurved
from artwork.outline import Outline
from artwork.shapes import areas, polygonal
from artwork.workpiece import Allowances, Bit, Slat

TOLERANCE = 0.01
"""Flattening of curves where they are cut, mm; uncut stretches come back as the curves they were."""
PICTURE_LOST = 0.05
"""More than this share of a picture lost to gaps and edges is told, and accepted by name (no source)."""
PART_LOST = 1 / 3
"""So is more than this share of any one part of it, as of a letter (no source)."""
CLEARANCE = 0.02
"""Kept on top of the least wood at a slat's edge, mm: figures are judged rounded to a hundredth."""


@dataclass(frozen=True)
class Sliver:
    """A part of the art that a slat's edge cuts off so thin, or so near the rounded edge, that nothing reads.

    Attributes:
        place: slat mm.
        widest: its greatest width, mm.
        needed: least line on the flat face, mm.
        sentence: for people.
    """

    place: Polygon
    widest: float
    needed: float
    sentence: str


@dataclass(frozen=True)
class Slice:
    """What one slat carries of the picture.

    Attributes:
        key: of the slat.
        cut: its own outline in slat mm, placed where it is.
        check: as for any other cut.
        slivers: what its edges leave too thin.
    """

    key: str
    cut: Cut
    check: Check
    slivers: tuple[Sliver, ...]


@dataclass(frozen=True)
class Across:
    """A picture cut by slat.

    Attributes:
        slices: from left to right; slats that get nothing are left out.
        eaten_by_gaps: what falls beside every slat, piece mm.
        eaten_by_edges: what falls on a slat's edge strip, where its round-over leaves nothing of a groove.
        lost_share: both together, as a share of the picture's area.
        gaps: between neighbours, and how they move.
    """

    slices: tuple[Slice, ...]
    eaten_by_gaps: MultiPolygon
    eaten_by_edges: MultiPolygon
    lost_share: float
    gaps: tuple[Gap, ...]


def fit_across(
    outline: Outline,
    layout: ModelLayout,
    keys: Sequence[str],
    allowances: Allowances,
    rotation_deg: float = 0.0,
) -> Placement:
    """The largest placement over those slats that keeps off screws, joints and ends, in the piece's frame.

    Raises:
        EngineError: ``"no-room"``, ``"unknown-slat"``.
    """
    return largest_across(outline, _chosen(layout, keys), allowances, rotation_deg)


@dataclass(frozen=True)
class Tools:
    """What the slices are cut with.

    Attributes:
        bit: for all of them.
        allowances: the shop's.
        own: slat key → allowances where a slat has its own.
    """

    bit: Bit
    allowances: Allowances
    own: Mapping[str, Allowances] = field(default_factory=dict)

    def on(self, slat: Slat) -> Allowances:
        """The allowances on that slat."""
        return self.own.get(slat.key, self.allowances)

    def edge_wood(self, slat: Slat) -> float:
        """The least wood between a groove and that slat's edge, mm."""
        return edge_land(slat, self.bit, self.on(slat))

    def edge_strip(self, slat: Slat) -> float:
        """How far from that slat's edge the round-over leaves too little of even the deepest groove, mm."""
        spare = tooling.depth_limit(slat, self.bit, self.on(slat)) - tooling.needed_depth(self.on(slat), 0.0)
        return max(tooling.reach_of(max(spare, 0.0), tooling.edge_radius(slat)), self.edge_wood(slat))

    def least_line(self, slat: Slat) -> float:
        """The least line on that slat's flat face, mm."""
        return tooling.least_line(self.bit, self.on(slat), 0.0)


def lay_across(
    picture: Outline,
    layout: ModelLayout,
    keys: Sequence[str],
    placement: Placement,
    tools: Tools,
    *,
    weather: Weather = TEMPERATE,
    without_slivers: bool = False,
) -> Across:
    """Cut the picture by slat and judge every slice.

    Args:
        picture: the whole picture's outline.
        layout: the furniture model.
        keys: of the slats it may run over.
        placement: of the picture in the piece's frame, mm.
        tools: what the slices are cut with.
        weather: how dry and how wet the wood will get.
        without_slivers: leave slivers out of the slices (they are told all the same).

    Raises:
        EngineError: ``"unknown-slat"``; ``"beside-slats"`` where nothing of the picture falls on a slat.
    """
    chosen = _chosen(layout, keys)
    first = chosen[0].slat
    whole = Cut(picture, first, placement, tools.bit, tools.on(first)).placed()
    region = whole.region(TOLERANCE)
    found = (_slice(whole, region, placed, tools, without_slivers) for placed in chosen)
    slices = tuple(each for each in found if each is not None)
    if not slices:
        raise EngineError(
            "beside-slats",
            "Nothing of the picture falls on these slats.",
            "Move it onto them, or choose the slats it lies on.",
        )
    beside = region.difference(shapely.union_all([placed.outline for placed in chosen]))
    strips = [each.outline.difference(each.outline.buffer(-tools.edge_strip(each.slat))) for each in chosen]
    on_edges = region.intersection(shapely.union_all(strips))
    lost = (beside.area + on_edges.area) / region.area
    gaps = tuple(gaps_under(region, chosen, weather))
    words = _lost_words(region, shapely.union_all([beside, on_edges]), lost)
    told = slices if words is None else tuple(_telling(each, words, lost) for each in slices)
    return Across(told, polygonal(beside), polygonal(on_edges), lost, gaps)


def _lost_words(region: BaseGeometry, eaten: BaseGeometry, lost: float) -> str | None:
    """What the gaps and edges take of a picture, if it is more than anybody would let pass unseen."""
    parts = areas(region)
    gone = [part.intersection(eaten).area / part.area for part in parts]
    much = [share for share in gone if share > PART_LOST]
    if lost <= PICTURE_LOST and not much:
        return None
    whole = f"The gaps between the slats and their rounded edges take {100 * lost:.1f} % of the picture"
    if not much:
        return f"{whole}."
    return (
        f"{whole}; {counted(len(much), 'part of it loses', 'parts of it lose')} more than a third, the worst "
        f"{100 * max(much):.0f} %: letters may be gone."
    )


def _telling(each: Slice, words: str, lost: float) -> Slice:
    """A slice whose check says what the whole picture loses: nobody signs for it before it is accepted by name."""
    share = up(100 * lost)
    finding = Finding(
        kind="gaps",
        severity="warns",
        place=box(*each.cut.placed().bounds),
        measured=share,
        required=None,
        nominal=None,
        worst=None,
        message=words,
        cure="Shift the picture so that the gaps pass between its parts, make it larger, or use fewer slats.",
    )
    findings = (*each.check.findings, finding)
    verdict, sentence = verdict_of(findings)
    return replace(each, check=replace(each.check, verdict=verdict, sentence=sentence, findings=findings))


def _chosen(layout: ModelLayout, keys: Sequence[str]) -> list[PlacedSlat]:
    """The slats from left to right."""
    known = {placed.slat.key: placed for placed in layout.slats if placed.carries_art}
    for key in keys:
        if key not in known:
            raise EngineError(
                "unknown-slat",
                f"“{layout.name}” has no slat “{key}” that carries art.",
                f"Choose among: {', '.join(known)}.",
            )
    if not keys:
        raise EngineError("unknown-slat", "No slat was chosen.", f"Choose among: {', '.join(known)}.")
    return sorted((known[key] for key in dict.fromkeys(keys)), key=lambda each: each.outline.centroid.x)


def _slice(
    whole: Outline,
    region: Polygon | MultiPolygon,
    placed: PlacedSlat,
    tools: Tools,
    without_slivers: bool,
) -> Slice | None:
    """The slat's share, cut short of its edge by the wood that must stand there: the round-over eats that."""
    slat = placed.slat
    room = placed.outline.buffer(-tools.edge_wood(slat) - _judged_within(whole) - CLEARANCE)
    share = polygonal(region.intersection(room))
    reads = placed.outline.buffer(-tools.edge_strip(slat))
    cut_through = [part for part in areas(share) if part.distance(room.boundary) < TOLERANCE]
    thin = [part for part in cut_through if _too_thin(part.intersection(reads), tools.least_line(slat))]
    kept = polygonal(shapely.difference(share, shapely.union_all(thin))) if without_slivers else share
    curves = recurved(kept, [*whole.contours, _as_contour(room)], TOLERANCE)
    if not curves:
        return None
    matrix, shift = _onto_slat(placed)
    own = Outline(tuple(curve.moved(matrix, shift) for curve in curves), pixel=whole.pixel, stated_mm=1.0)
    left, low, right, high = own.bounds
    where = Placement((left + right) / 2, (low + high) / 2, 1.0)
    cut = Cut(own, slat, where, tools.bit, tools.on(slat))
    slivers = tuple(_sliver(_moved(part, placed), tools.least_line(slat)) for part in thin)
    return Slice(slat.key, cut, check(cut, study(own)), slivers)


def _judged_within(whole: Outline) -> float:
    """How far off its edge a slice may seem to reach when it is judged, mm (``artwork.axis.flattening``)."""
    return SIDE_SHARE * max(whole.size) if whole.pixel is None else PIXEL_SHARE * whole.pixel


def _too_thin(part: BaseGeometry, needed: float) -> bool:
    """Whether no circle of that width fits into it."""
    return bool(part.buffer(-needed / 2).is_empty)


def _sliver(place: Polygon, needed: float) -> Sliver:
    widest = 2 * shapely.maximum_inscribed_circle(place, tolerance=TOLERANCE).length
    return Sliver(
        place,
        widest,
        needed,
        f"The slat's edge cuts off a piece {at_least(widest)} wide of which nothing will read; a line needs "
        f"{at_most(needed)} on the flat face. "
        "Shift the picture a little, make it larger, or leave the sliver out.",
    )


def _as_contour(shape: BaseGeometry) -> Contour:
    """The edge a slice is cut by, as a source of its straight pieces."""
    ring = max(areas(shape), key=lambda part: part.area).exterior
    knots = np.asarray(ring.coords)[:-1]
    return Contour(knots, np.full((len(knots), 2, 2), np.nan))


def _onto_slat(placed: PlacedSlat) -> tuple[Floats, Floats]:
    """Piece mm → slat mm, as ``p → matrix @ p + shift``."""
    turn = np.radians(-placed.turn_deg)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return matrix, -matrix @ np.array([placed.x, placed.y])


def _moved(part: Polygon, placed: PlacedSlat) -> Polygon:
    matrix, shift = _onto_slat(placed)
    return shapely.transform(part, lambda points: points @ matrix.T + shift)
