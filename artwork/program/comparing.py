"""A program held against the signed carving: the outcome, in a word and in a sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from shapely import Polygon

from artwork.curves import Floats
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
from artwork.program.moves import Cutter, Moves, Program
from artwork.program.seeking import Fit, seek
from artwork.program.sweeping import minutes
from artwork.program.telling import Findings, Outcome, outcome_of, sentence

MOST_PLACES = 8
Seeking = Callable[[Moves, Cut, MachineFrame, Mapping[int, Cutter]], Fit | None]


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
    found = compared(moves, ends, cut, tools, frame=frame, fit=seek, blank=blank)
    return replace(found, minutes=minutes(moves, dwell=program.dwell))


def compared(
    moves: Moves,
    ends: Floats,
    cut: Cut,
    tools: Mapping[int, Cutter],
    *,
    frame: MachineFrame,
    fit: Seeking | None,
    blank: Polygon | None,
) -> Comparison:
    """The same for moves whose place on the slat is known.

    Args:
        moves: of the program; ``ends``: where they lie, slat mm, shape (n, 6).
        cut: rebuilt from the signed facts.
        tools: by T number, 0 for all others.
        frame: the job sheet's.
        fit: looks for a place where they would match; ``None`` looks for none.
        blank: as above.
    """
    fields = fields_of(moves, ends, cut, tools)
    found = differences(fields)
    shared = overlap(fields)
    elsewhere = fit(moves, cut, frame, tools) if found and fit is not None else None
    outcome = outcome_of(found, shared, elsewhere)
    median, most = depth_differences(fields)
    return Comparison(
        outcome=outcome,
        sentence=sentence(Findings(outcome, found, shared, median, elsewhere, frame)),
        overlap=shared,
        missing=sum(each.area for each in found if each.kind == "missing"),
        extra=sum(each.area for each in found if each.kind == "extra"),
        depth_median=median,
        depth_95=most,
        differences=tuple(found[:MOST_PLACES]),
        places=len(found),
        dangers=dangers(moves, ends, cut, blank or cut.slat.outline),
        fit=elsewhere,
        minutes=minutes(moves, dwell=0.0),
        fields=fields,
    )
