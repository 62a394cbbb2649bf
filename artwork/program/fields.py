"""What was signed and what a program leaves, as two height fields on one grid; and where they part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.drawings.frame import MachineFrame
from artwork.program.moves import Cutter, Moves
from artwork.program.sweeping import Depths, Grid, swept
from artwork.relief import relief
from artwork.tooling import zero_below_face

Kind = Literal["missing", "extra", "shallow", "deep"]

PX_PER_MM = 10.0
"""Of the grid that is compared on: 0.1 mm everywhere."""
FACE = 0.1
"""Depth below the face beside it from which a place counts as carved, mm."""
SIDE_SLACK = 0.1
"""How far a wall may lie beside the signed one, mm: rounding, chords and the grid's own cell."""
DEPTH_SLACK = 0.12
"""How far a depth may differ beyond that, mm; the relief itself is good to 0.08 mm."""
LEAST_PLACE = 0.4
"""Area that a difference must have to be one, mm²; smaller ones are a few cells of rounding."""


@dataclass(frozen=True, eq=False)
class Fields:
    """The finished face, as signed and as the program would leave it. Row 0 is the top of the slat.

    Attributes:
        signed, program: shape (h, w), mm below the finished flat face, round-over and sanding taken off both.
        signed_cut, program_cut: shape (h, w), where that is the carving's doing and not the round-over's.
        px_per_mm: cells a mm.
        left, top: slat mm of the outer corner of cell (0, 0).
    """

    signed: Depths
    program: Depths
    signed_cut: NDArray[np.bool_]
    program_cut: NDArray[np.bool_]
    px_per_mm: float
    left: float
    top: float


@dataclass(frozen=True)
class Difference:
    """One place where program and signed carving part.

    Attributes:
        kind: ``missing``: wood that should go stays; ``extra``: wood that should stay goes; ``shallow``, ``deep``.
        x, y: its middle, slat mm.
        area: mm².
        worst: largest difference of depth there, mm.
    """

    kind: Kind
    x: float
    y: float
    area: float
    worst: float


def in_slat(moves: Moves, outline: Polygon, frame: MachineFrame) -> Floats:
    """The moves' ends in slat mm: shape (n, 6). ``z`` stays the program's."""
    matrix, shift = frame.affine(outline)
    back = np.linalg.inv(matrix)
    ends = np.empty((len(moves), 6))
    ends[:, :2] = (moves.start[:, :2] - shift) @ back.T
    ends[:, 3:5] = (moves.end[:, :2] - shift) @ back.T
    ends[:, 2], ends[:, 5] = moves.start[:, 2], moves.end[:, 2]
    return ends


def fields_of(
    moves: Moves, ends: Floats, cut: Cut, cutters: Mapping[int, Cutter], px_per_mm: float = PX_PER_MM
) -> Fields:
    """Both faces over the whole slat.

    Args:
        moves: of the program; ``ends``: where they lie, from :func:`in_slat`.
        cut: what was signed.
        cutters: by T number, 0 for all others.
        px_per_mm: cells a mm.
    """
    signed = relief(cut, px_per_mm)
    face = signed.height.copy()
    if signed.art is not None and signed.carved is not None:
        face[signed.art] -= signed.carved  # the same face before it was carved
    rows, columns = signed.height.shape
    grid = Grid(columns, rows, 1 / px_per_mm, signed.left, signed.top)
    depths = swept(moves, ends, cutters, grid)
    sunk = np.float32(zero_below_face(cut.allowances) - cut.allowances.sanding)
    left = np.where(depths > 0, np.maximum(face, depths + sunk), face).astype(np.float32, copy=False)
    on_slat = signed.to_edge >= 0
    before = np.where(on_slat, signed.height, np.float32(0))
    after = np.where(on_slat, left, np.float32(0))
    cut_before, cut_after = (on_slat & (field > face + np.float32(FACE)) for field in (before, after))
    return Fields(before, after, cut_before, cut_after, px_per_mm, signed.left, signed.top)


def partings(fields: Fields) -> dict[Kind, NDArray[np.bool_]]:
    """Where the program's face leaves the band that side and depth slack draw around the signed one, by kind.

    The band at a place reaches from the shallowest to the deepest signed depth within ``SIDE_SLACK`` of it,
    ``DEPTH_SLACK`` further each way: a wall may stand a little aside, and nothing else.
    """
    reach = max(round(SIDE_SLACK * fields.px_per_mm), 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    signed, program = fields.signed, fields.program
    deepest, shallowest = cv2.dilate(signed, disc), cv2.erode(signed, disc)
    too_deep = program > deepest + np.float32(DEPTH_SLACK)
    too_shallow = program < shallowest - np.float32(DEPTH_SLACK)
    return {
        "extra": too_deep & ~fields.signed_cut,
        "deep": too_deep & fields.signed_cut,
        "missing": too_shallow & ~fields.program_cut,
        "shallow": too_shallow & fields.program_cut,
    }


def differences(fields: Fields) -> list[Difference]:
    """The places of :func:`partings` that are large enough to be one, largest first."""
    parted = partings(fields)
    found = [place for kind, where in parted.items() for place in _places(where, kind, fields)]
    return sorted(found, key=lambda each: -each.area)


def _places(where: NDArray[np.bool_], kind: Kind, fields: Fields) -> list[Difference]:
    if not where.any():
        return []
    count, labels, stats, centres = cv2.connectedComponentsWithStats(where.astype(np.uint8), connectivity=8)
    cell = 1 / fields.px_per_mm
    enough = [n for n in range(1, count) if stats[n, cv2.CC_STAT_AREA] * cell**2 >= LEAST_PLACE]
    found = []
    for n in enough:
        x, y, w, h = stats[n, :4]
        block = (slice(y, y + h), slice(x, x + w))
        apart = np.abs(fields.program[block] - fields.signed[block])[labels[block] == n]
        found.append(
            Difference(
                kind,
                fields.left + (float(centres[n, 0]) + 0.5) * cell,
                fields.top - (float(centres[n, 1]) + 0.5) * cell,
                float(stats[n, cv2.CC_STAT_AREA]) * cell**2,
                float(apart.max()),
            )
        )
    return found


def overlap(fields: Fields) -> float:
    """Carved area that both share over all carved area, 0 to 1."""
    either = np.count_nonzero(fields.signed_cut | fields.program_cut)
    return float(np.count_nonzero(fields.signed_cut & fields.program_cut) / either) if either else 0.0


def depth_differences(fields: Fields) -> tuple[float, float]:
    """Median (deeper than signed: above 0) and 95th percentile of sizes of depth differences, mm, where both carve."""
    both = fields.signed_cut & fields.program_cut
    if not both.any():
        return 0.0, 0.0
    apart = (fields.program - fields.signed)[both]
    return float(np.median(apart)), float(np.percentile(np.abs(apart), 95))
