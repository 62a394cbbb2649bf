"""Slats side by side or one above the other: from figures, or out of the closed curves of a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le, Lt
from shapely import MultiPolygon, Point, Polygon, affinity

from artwork.errors import EngineError
from artwork.furniture import PlacedSlat
from artwork.slat_shape import Length, SlatFigures, slat_outline
from artwork.workpiece import KeepOut, RoundOver, Slat, Thickness

LEAST_SLAT = 20.0
"""A closed curve narrower than this is no slat but a hole or a mark, mm."""
BOARD = 25.4
"""Usual thickness of a board, an inch, mm (common practice, no source)."""
SCREW = "screw hole"
_Distance = Annotated[float, Ge(0), Lt(10_000)]


@dataclass(frozen=True)
class RowFigures:
    """A row of slats alike, mm.

    Attributes:
        count: how many.
        width, length: of one slat, mm; length along its grain.
        gap: between two slats, mm.
        thickness, round_over: of each, mm.
        lying: they lie across the piece, one above the other, instead of standing side by side.
        foot: the row's lowest edge above the ground, mm.
        screw_from_end: centre of each end's screws from that end, mm; 0: no screws.
        screws_across: how many screws each end has, evenly across.
        screw_head: diameter of a screw's head, mm.
    """

    count: Annotated[int, Ge(1), Le(64)]
    width: Length
    length: Length
    gap: _Distance = 12.0
    thickness: Thickness = BOARD
    round_over: RoundOver = 9.525
    lying: bool = False
    foot: _Distance = 400.0
    screw_from_end: _Distance = 0.0
    screws_across: Annotated[int, Ge(1), Le(4)] = 1
    screw_head: Annotated[float, Gt(0), Lt(100)] = 9.0


def slat_row(figures: RowFigures) -> tuple[PlacedSlat, ...]:
    """The slats where they sit, the row's middle at x = 0; from the left, or from the top down.

    Raises:
        EngineError: ``"slat-figures"``, figures that make no slats.
    """
    if figures.count < 1 or figures.gap < 0 or not 0 <= figures.screw_from_end < figures.length / 2:
        raise EngineError(
            "slat-figures",
            "These figures make no row of slats.",
            "Give one slat or more, a gap of 0 or more, and screws nearer to their end than the slat's middle.",
        )
    across, up = (figures.length, figures.width) if figures.lying else (figures.width, figures.length)
    outline = slat_outline(SlatFigures(across, up))
    return tuple(_placed(figures, number, outline) for number in range(figures.count))


def _placed(figures: RowFigures, number: int, outline: Polygon) -> PlacedSlat:
    step = figures.width + figures.gap
    side = "top" if figures.lying else "left"
    slat = Slat(
        key=f"slat-{number + 1}",
        name="slat" if figures.count == 1 else f"slat {number + 1} from the {side}",
        outline=outline,
        thickness=figures.thickness,
        grain_deg=0.0 if figures.lying else 90.0,
        round_over=figures.round_over,
        keep_outs=tuple(_screws(figures)),
    )
    if figures.lying:
        return PlacedSlat(slat, 0.0, figures.foot + (figures.count - 1 - number) * step)
    return PlacedSlat(slat, (number - (figures.count - 1) / 2) * step, figures.foot)


def _screws(figures: RowFigures) -> list[KeepOut]:
    if not figures.screw_from_end:
        return []
    share = figures.width / (figures.screws_across + 1)
    sideways = [(n + 1) * share for n in range(figures.screws_across)]
    lengthways = (figures.screw_from_end, figures.length - figures.screw_from_end)
    if figures.lying:
        places = [(end - figures.length / 2, side) for end in lengthways for side in sideways]
    else:
        places = [(side - figures.width / 2, end) for end in lengthways for side in sideways]
    return [KeepOut(Point(at).buffer(figures.screw_head / 2, quad_segs=16), SCREW) for at in places]


def slats_of_curves(curves: Sequence[Polygon]) -> tuple[PlacedSlat, ...]:
    """Slats of a front view's closed curves, from the left; curves within a slat are its screw holes.

    A drawing says nothing of thickness and rounded edges: they are the usual ones.

    Args:
        curves: each without holes, mm, y up.

    Raises:
        EngineError: ``"no-slats"``, no curve is as large as a slat.
    """
    large = [curve for curve in curves if _narrow_side(curve) >= LEAST_SLAT]
    outer = [one for one in large if not any(other is not one and other.contains(one) for other in large)]
    if not outer:
        raise EngineError(
            "no-slats",
            f"No closed curve of the drawing is as large as a slat: {LEAST_SLAT:g} mm wide.",
            "Draw each slat as one closed curve, as it is seen from the front.",
        )
    outer.sort(key=lambda one: (one.centroid.x, one.centroid.y))
    left, low, right, _high = MultiPolygon(outer).bounds
    return tuple(
        _drawn(number, one, curves, ((left + right) / 2, low)) for number, one in enumerate(outer, 1)
    )


def _drawn(number: int, curve: Polygon, curves: Sequence[Polygon], zero: tuple[float, float]) -> PlacedSlat:
    left, low, right, high = curve.bounds
    own = ((left + right) / 2, low)

    def moved(shape: Polygon) -> Polygon:
        return affinity.translate(shape, -own[0], -own[1])

    holes = [moved(each) for each in curves if each is not curve and curve.contains(each)]
    slat = Slat(
        key=f"slat-{number}",
        name=f"slat {number} from the left",
        outline=moved(curve),
        thickness=BOARD,
        grain_deg=90.0 if high - low >= right - left else 0.0,
        keep_outs=tuple(KeepOut(hole, SCREW) for hole in holes),
    )
    return PlacedSlat(slat, own[0] - zero[0], own[1] - zero[1])


def _narrow_side(curve: Polygon) -> float:
    left, low, right, high = curve.bounds
    return min(right - left, high - low)
