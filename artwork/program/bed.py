"""A bed's program held against everything that is carved on that bed."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.drawings.beds import BedLayout, LaidPart
from artwork.drawings.frame import SLAT_FRAME
from artwork.program.bed_seeking import BedFit, seek_bed
from artwork.program.comparing import Comparison, compared
from artwork.program.dangers import RAPID_DEPTH, Danger, away_from, rapid_in_wood
from artwork.program.fields import fields_of, overlap
from artwork.program.moves import Cutter, Moves, Program
from artwork.program.seeking import COARSE
from artwork.program.sweeping import minutes
from artwork.program.telling import Outcome
from artwork.tooling import groove_width

MARKED = 0.1
"""How far beside a hole's edge a mark for drilling it may lie, mm."""

Bools = NDArray[np.bool_]
Found = tuple[tuple[LaidPart, Comparison], ...]


@dataclass(frozen=True, eq=False)
class BedComparison:
    """What a check of a whole bed found. It never says that a program is safe to run.

    Attributes:
        outcome: in a word: as signed only where every carving is.
        sentence: for the maker.
        parts: every carved part with its own comparison, in the bed's order.
        dangers: moves that can do harm, wherever on the bed.
        minutes: of all moves.
        left_out: how many moves belong to tools that cut parts out, and were not compared.
        fit: where the program would match, if no carving is cut where the bed's drawing has it.
    """

    outcome: Outcome
    sentence: str
    parts: tuple[tuple[LaidPart, Comparison], ...]
    dangers: tuple[Danger, ...]
    minutes: float
    left_out: int
    fit: BedFit | None


def compare_bed(
    program: Program,
    layout: BedLayout,
    cutters: Mapping[int, Cutter] | None = None,
    cutting_out: Collection[int] = (),
) -> BedComparison:
    """Hold a program against a bed, whose lower left corner is its zero, as the bed's drawing has it.

    Args:
        program: read by :func:`artwork.program.read_program`.
        layout: the bed with what is carved on it, rebuilt from what was signed.
        cutters: by T number, 0 for all others; every part's own V-bit where not given.
        cutting_out: T numbers of straight bits that cut the parts out: their moves are not compared.
    """
    whole = program.moves
    moves = whole.chosen(~np.isin(whole.tool, list(cutting_out)))
    ends = np.hstack([moves.start, moves.end])
    found = tuple((part, _of_part(part, moves, ends, cutters or {})) for part in _carved(layout))
    dangers = (*rapid_in_wood(moves, ends), *_beside(layout, moves, ends))
    fit = None if _some_good(found) else _elsewhere(moves, [part for part, _ in found], cutters or {})
    outcome = _outcome(found, dangers, fit)
    return BedComparison(
        outcome,
        _sentence(layout, outcome, found, fit),
        found,
        tuple(dangers),
        minutes(whole, dwell=program.dwell),
        len(whole) - len(moves),
        fit,
    )


def _some_good(found: Found) -> bool:
    return any(comparison.outcome == "cuts-what-was-signed" for _, comparison in found)


def _elsewhere(moves: Moves, parts: Sequence[LaidPart], cutters: Mapping[int, Cutter]) -> BedFit | None:
    """Where it would match instead, judged on a coarse grid."""

    def sharing(part: LaidPart, there: Moves) -> float:
        near, ends = _in_part(part, there, np.hstack([there.start, there.end]))
        cut = _cut(part)
        return overlap(fields_of(near, ends, cut, {0: Cutter.of(cut.bit), **cutters}, COARSE))

    return seek_bed(moves, parts, sharing) if parts else None


def _carved(layout: BedLayout) -> Iterator[LaidPart]:
    return (part for board in layout.boards for part in board.parts if part.part.cut is not None)


def _of_part(part: LaidPart, moves: Moves, ends: Floats, cutters: Mapping[int, Cutter]) -> Comparison:
    """The moves near one part against what is carved on it."""
    cut = _cut(part)
    mine, there = _in_part(part, moves, ends)
    tools = {0: Cutter.of(cut.bit), **cutters}
    return compared(mine, there, cut, tools, frame=SLAT_FRAME, fit=None, blank=None)


def _in_part(part: LaidPart, moves: Moves, ends: Floats) -> tuple[Moves, Floats]:
    """The moves near one part, but for marks of its holes, and their ends in its slat's own millimetres."""
    cut = _cut(part)
    reach = cut.bit.diameter / 2
    x0, y0, x1, y1 = part.outline.buffer(reach).bounds
    low, high = np.minimum(ends[:, :2], ends[:, 3:5]), np.maximum(ends[:, :2], ends[:, 3:5])
    near = (low < [x1, y1]).all(axis=1) & (high > [x0, y0]).all(axis=1) & ~_marks(part, ends)
    turn, shift = part.shape.turn, part.shape.shift + np.array([part.x, part.y])
    there = ends[near].copy()
    there[:, :2] = (ends[near, :2] - shift) @ turn
    there[:, 3:5] = (ends[near, 3:5] - shift) @ turn
    return moves.chosen(near), there


def _cut(part: LaidPart) -> Cut:
    assert part.part.cut is not None  # noqa: S101 - only carved parts are asked
    return part.part.cut


def _marks(part: LaidPart, ends: Floats) -> Bools:
    """Moves that stay within a hole which is drilled anyway: the bed's drawing asks for marks there."""
    found = np.zeros(len(ends), bool)
    for hole in part.holes:
        middle = np.array([hole.x, hole.y])
        away = [np.hypot(*(ends[:, at : at + 2] - middle).T) for at in (0, 3)]
        found |= np.maximum(*away) <= hole.radius + MARKED
    return found


def _beside(layout: BedLayout, moves: Moves, ends: Floats) -> Iterator[Danger]:
    """Moves in the wood that lie off the boards, beside the carvings, or where a screw holds a board."""
    wood = np.minimum(ends[:, 2], ends[:, 5]) < -RAPID_DEPTH
    boards = shapely.union_all([board.outline for board in layout.boards])
    yield from away_from(moves, ends, wood, boards, kind="outside-blank", words="It cuts outside the boards")
    marks = np.zeros(len(ends), bool)
    for board in layout.boards:
        for part in board.parts:
            marks |= _marks(part, ends)
    carved = [part.outline for part in _carved(layout)]
    widest = max(
        (groove_width(_cut(part).slat.thickness, _cut(part).bit) for part in _carved(layout)), default=0
    )
    over = shapely.union_all([outline.buffer(widest / 2) for outline in carved])
    yield from away_from(
        moves, ends, wood & ~marks, over, kind="beside-carvings", words="It cuts beside all carved parts"
    )
    held = [
        shapely.Point(screw).buffer(layout.bed.screw_radius)
        for board in layout.boards
        for screw in board.screws
    ]
    ways = shapely.linestrings(ends[wood][:, [0, 1, 3, 4]].reshape(-1, 2, 2))
    at_screw = np.zeros(len(ends), bool)
    at_screw[wood] = shapely.intersects(ways, shapely.union_all(held))
    if at_screw.any():
        count = int(np.count_nonzero(at_screw))
        words = "It cuts where the bed's drawing has room for a screw."
        yield Danger("screw", words, int(moves.line[at_screw].min()), count)


def _outcome(found: Found, dangers: tuple[Danger, ...], fit: BedFit | None) -> Outcome:
    outcomes = {comparison.outcome for _, comparison in found}
    astray = any(each.kind in {"outside-blank", "beside-carvings"} for each in dangers)
    if outcomes == {"cuts-what-was-signed"} and not astray:
        return "cuts-what-was-signed"
    return "is-not-this-carving" if outcomes <= {"is-not-this-carving"} and fit is None else "differs"


def _sentence(layout: BedLayout, outcome: Outcome, found: Found, fit: BedFit | None) -> str:
    if not found:
        return f"Nothing is carved on bed {layout.number}."
    good = [part for part, each in found if each.outcome == "cuts-what-was-signed"]
    said = f"Bed {layout.number}: {len(good)} of {len(found)} carvings are cut as signed"
    if outcome == "cuts-what-was-signed":
        return f"{said}."
    if fit is not None:
        return f"{said}: {fit.words(layout)}."
    if outcome == "is-not-this-carving":
        return f"{said}. Nor are they at another zero, turned, mirrored or in other units."
    worst = next(((part, each) for part, each in found if each.outcome != "cuts-what-was-signed"), None)
    if worst is None:
        return f"{said}, but it cuts elsewhere too."
    return f"{said}. {worst[0].part.label}: {worst[1].sentence[:1].lower()}{worst[1].sentence[1:]}"
