"""What is carved and with what: the slat, the bit, the allowances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Le
from shapely import Polygon

BARE, OILED, PAINT_FILLED = "bare", "oiled", "paint-filled"
"""What is put on the wood after sanding."""

# What anybody builds furniture of or owns lies well within these; common practice, no source.
Degrees = Annotated[float, Ge(-360), Le(360)]
Thickness = Annotated[float, Ge(3), Le(200)]
"""Of a slat, mm."""
RoundOver = Annotated[float, Ge(0), Le(100)]
"""Radius, mm."""


@dataclass(frozen=True)
class KeepOut:
    """A place on the face where nothing, or nothing deep, may be carved.

    Attributes:
        shape: the place itself, slat mm; the margin around it is an allowance.
        reason: what is there, in the trade's words (``"screw hole"``, ``"joint"``).
        free_depth: for a screw or joint that lies below the face: how deep may be carved over it before it is
            met, mm; 0 where nothing may be carved at all.
    """

    shape: Polygon
    reason: str
    free_depth: Annotated[float, Ge(0), Le(200)] = 0.0


@dataclass(frozen=True)
class Slat:
    """One part that can carry art, as it lies on the bench: x across, y upwards as it stands in the piece.

    Attributes:
        key: stable name within its furniture model (``"back-centre"``).
        name: what people call it.
        outline: the finished edge after cutting out, mm.
        thickness: of the board, mm, before sanding.
        grain_deg: direction of the grain, degrees counter-clockwise from x (90: along y).
        round_over: radius of the quarter-circle edge routed after carving, mm; 0 for none.
        mill_radius: the board's own rounded edge as bought, mm; 0 for square-edged boards.
        species: key of the wood (``"western-redcedar"``).
        keep_outs: screw holes, joints.
        finish: what is put on it after sanding.
    """

    key: str
    name: str
    outline: Polygon
    thickness: Thickness
    grain_deg: Degrees = 90.0
    round_over: RoundOver = 9.525
    mill_radius: RoundOver = 0.0
    species: str = "western-redcedar"
    keep_outs: tuple[KeepOut, ...] = ()
    finish: str = BARE


@dataclass(frozen=True)
class Bit:
    """A V-bit.

    Attributes:
        key: the shop's name for it.
        angle_deg: included angle, degrees.
        tip_flat: width of the flat at the tip, mm.
        diameter: cutting diameter, mm.
        height: cutting height, mm.
    """

    key: str
    angle_deg: Annotated[float, Ge(10), Le(170)] = 60.0
    tip_flat: Annotated[float, Ge(0), Le(50)] = 0.15
    diameter: Annotated[float, Ge(0.1), Le(200)] = 12.7
    height: Annotated[float, Ge(0.1), Le(200)] = 11.0


@dataclass(frozen=True)
class Allowances:
    """What a shop allows for; every default is common practice, no source. All mm unless said.

    Attributes:
        sanding: depth sanded off the face after carving.
        sanding_made_up: the bit's zero is set ``sanding`` below the face, so widths after sanding are true.
        unevenness: the board's face may lie this much above or below where the bit's zero was set.
        least_depth: the shallowest groove that still reads.
        land_along: least width of wood left standing, its length along the grain.
        land_across: the same with its length across the grain (short grain breaks).
        depth_limit_share: limit of the programme depth, as a share of the thickness.
        least_wood: wood that must stay under the worst depth.
        edge_margin: kept free inside the round-over's inner edge.
        keep_out_margin: kept free around a keep-out's shape.
        end_margin: kept free at the slat's ends (edges across the grain).
        feed: mm per minute along the cut.
        plunge: mm per minute downwards.
        pass_depth: deepest bite of one pass.
        coarsest_pixel: largest size of a picture's pixel on the wood; a coarser edge looks stepped.
        least_width: the narrowest groove that still reads, at the finished face; a narrow bit is deep enough
            before it is wide enough.
        finish_film: thickness of the finish's film (paint, thick oil) on face and walls; it fills narrow grooves.
        cup: how far the middle of a board of the slat's width stands above the line of its edges.
        floor_ridge: height of the ridges that the V-bit may leave on flat bottoms; decides how close its lines lie.
        flat_bit: diameter of the straight bit that clears flat bottoms; 0 where the V-bit clears them.
        flat_bit_step: distance between that bit's lines, as a share of its diameter.
        last_pass: depth that is left for a light last pass along everything; 0 for none.
        rapid: mm per minute between cuts.
        lift: height above the face between cuts.
        acceleration: mm per second squared along the path.
        tool_change: minutes.
        time_scale: minutes measured for a job over the minutes that were told for it.
    """

    sanding: float = 0.3
    sanding_made_up: bool = False
    unevenness: float = 0.4
    least_depth: float = 0.8
    land_along: float = 1.5
    land_across: float = 2.5
    depth_limit_share: float = 1 / 3
    least_wood: float = 10.0
    edge_margin: float = 1.5
    keep_out_margin: float = 20.0
    end_margin: float = 25.0
    feed: float = 2000.0
    plunge: float = 700.0
    pass_depth: float = 4.0
    coarsest_pixel: float = 0.4
    least_width: float = 0.8
    finish_film: float = 0.0
    cup: float = 0.0
    floor_ridge: float = 0.2
    flat_bit: float = 0.0
    flat_bit_step: float = 0.4
    last_pass: float = 0.0
    rapid: float = 5000.0
    lift: float = 5.0
    acceleration: float = 400.0
    tool_change: float = 3.0
    time_scale: float = 1.0
