"""What a check returns: findings, figures, verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

from artwork.findings.kinds import Kind
from artwork.tooling import Cost

Severity = Literal["stops", "warns"]
Verdict = Literal["carves", "carves-with-remarks", "will-not-carve"]


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing wrong at one place.

    Lengths in mm, areas in mm²; measured values are rounded down to 0.01, required ones up.

    Attributes:
        kind: what sort of thing; part of the API. Checks of the first engine know ``"floor"`` and ``"nick"`` too,
            which are no risk and no surprise.
        severity: ``"stops"``: it will not carve so; ``"warns"``: it will, and somebody should know this.
        place: where, slat mm.
        measured: what the art has there (a width, a depth, a distance, an area or a pixel's size).
        required: what it needs there at worst; ``None`` where nothing is required.
        nominal: depth or land on a perfectly flat board before sanding and round-over; ``None`` if neither.
        worst: the same on the worst board after every step; 0 when nothing is left.
        message: one or two sentences with figures and units.
        cure: what would help, in a sentence.
        count: how many places the finding stands for.
        length: length along the lines or lands concerned, or the length that will be lost; mm.
    """

    kind: Kind
    severity: Severity
    place: BaseGeometry
    measured: float
    required: float | None
    nominal: float | None
    worst: float | None
    message: str
    cure: str
    count: int = 1
    length: float | None = None


@dataclass(frozen=True)
class Figures:
    """The figures an order page, a job sheet and a summary need. mm unless said; rounded to the safe side.

    Attributes:
        least_line, least_line_required: the line with the least to spare, and what is needed there.
        least_land, least_land_required: the same for lands; ``None`` where the art leaves none.
        depth: programme depth, its deepest point below the bit's zero: what is typed into the machine's
            program. Never above ``depth_limit``.
        deepest_cut: worst depth, how far below the face that can really reach on a high board.
        depth_limit: deepest the program may go on this slat with this bit.
        wood_left: what stays under the deepest cut.
        floor_area: mm² carved with a flat bottom because the art is wider than the depth limit allows.
        width, height: of the art as placed along the slat's x and y.
        pixel: one source pixel on the wood; ``None`` for vector art.
        unevenness_limit: unevenness up to which lines and lands hold; ``None`` if not even on a flat board.
        sensitivity: the same in a sentence.
        line_costs: what each allowance adds to the width a line needs on the flat face.
        land_costs: the same for a land across the grain.
        tips, vanishing, flecks: how many points end early, parts vanish altogether, flecks are lost.
        minutes: carving time, an estimate.
        path_length: length of the bit's path in one pass.
        assumptions: what the estimate assumes, sentence by sentence.
    """

    least_line: float | None
    least_line_required: float
    least_land: float | None
    least_land_required: float | None
    depth: float
    deepest_cut: float
    depth_limit: float
    wood_left: float
    floor_area: float
    width: float
    height: float
    pixel: float | None
    unevenness_limit: float | None
    tips: int
    vanishing: int
    flecks: int
    minutes: float
    path_length: float
    assumptions: tuple[str, ...]
    sensitivity: str = ""
    line_costs: tuple[Cost, ...] = ()
    land_costs: tuple[Cost, ...] = ()


@dataclass(frozen=True, eq=False)
class Check:
    """A judged cut.

    Attributes:
        verdict: ``"carves"`` without any finding, ``"carves-with-remarks"`` with warnings only.
        sentence: the verdict in words that a client can read.
        findings: those that stop first.
        figures: for the maker.
    """

    verdict: Verdict
    sentence: str
    findings: tuple[Finding, ...]
    figures: Figures
