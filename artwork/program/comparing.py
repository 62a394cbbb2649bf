"""A program held against the signed carving: the outcome, in a word and in a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Polygon

from artwork.cut import Cut
from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.program.dangers import Danger, dangers
from artwork.program.fields import (
    Difference,
    Fields,
    depth_differences,
    differences,
    fields_of,
    in_slat,
    overlap,
)
from artwork.program.moves import Cutter, Program
from artwork.program.seeking import Fit, seek
from artwork.program.sweeping import minutes
from artwork.program.telling import Findings, Outcome, outcome_of, sentence

MOST_PLACES = 8


@dataclass(frozen=True, eq=False)
class Comparison:
    """What a check found. It says what was compared; it never says that a program is safe to run.

    Attributes:
        outcome: in a word.
        sentence: for the maker.
        overlap: carved area that both share over all carved area, 0 to 1.
        missing, extra: area of the differences of that kind, mm².
        depth_median, depth_95: of depth differences where both carve, mm; the median above 0 is deeper than signed.
        differences: the largest first, at most eight; ``places``: how many there are.
        dangers: moves that can do harm.
        fit: where the program would match, if not where the job sheet has its zero.
        minutes: of all its moves.
        fields: both faces, for the picture.
    """

    outcome: Outcome
    sentence: str
    overlap: float
    missing: float
    extra: float
    depth_median: float
    depth_95: float
    differences: tuple[Difference, ...]
    places: int
    dangers: tuple[Danger, ...]
    fit: Fit | None
    minutes: float
    fields: Fields


def compare(
    program: Program,
    cut: Cut,
    frame: MachineFrame = SLAT_FRAME,
    cutters: Mapping[int, Cutter] | None = None,
    *,
    blank: Polygon | None = None,
) -> Comparison:
    """Hold a program against a signed cut.

    Args:
        program: read by :func:`artwork.program.read_program`.
        cut: rebuilt from the signed facts.
        frame: how the job sheet says that the slat lies on the machine, and where its zero is.
        cutters: by T number, 0 for all others; the cut's own V-bit where not given.
        blank: the board as it lies on the bed, slat mm; the slat's outline where not given.
    """
    tools = {0: Cutter.of(cut.bit), **(cutters or {})}
    moves = program.moves
    ends = in_slat(moves, cut.slat.outline, frame)
    fields = fields_of(moves, ends, cut, tools)
    found = differences(fields)
    shared = overlap(fields)
    fit = seek(moves, cut, frame, tools) if found else None
    outcome = outcome_of(found, shared, fit)
    median, most = depth_differences(fields)
    return Comparison(
        outcome=outcome,
        sentence=sentence(Findings(outcome, found, shared, median, fit, frame)),
        overlap=shared,
        missing=sum(each.area for each in found if each.kind == "missing"),
        extra=sum(each.area for each in found if each.kind == "extra"),
        depth_median=median,
        depth_95=most,
        differences=tuple(found[:MOST_PLACES]),
        places=len(found),
        dangers=dangers(moves, ends, cut, blank or cut.slat.outline),
        fit=fit,
        minutes=minutes(moves, dwell=program.dwell),
        fields=fields,
    )
