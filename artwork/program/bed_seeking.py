"""Where a bed's program would match what is carved on the bed, if not where the bed's drawing has its zero."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from artwork.curves import Floats
from artwork.drawings.beds import BedLayout, LaidPart
from artwork.program.moves import Cutter, Moves
from artwork.program.seeking import ENOUGH, SAME_ZERO, SIZE_STEP, cut_box, sizes_agreeing
from artwork.program.telling import size_words

MOST_TRIED = 4
"""Parts that a place is tried on; they are spread over the bed."""
Sharing = Callable[[LaidPart, Moves], float]
"""Of one part and moves in bed mm: the carved area that both share, 0 to 1."""
_TURNS = ("as its drawing has it", "a quarter turn to the left", "upside down", "a quarter turn to the right")


@dataclass(frozen=True)
class BedFit:
    """Where and how a bed's program would match.

    Attributes:
        quarter_turns: counter-clockwise, by which the program lies turned against the bed's drawing.
        mirrored: whether it is mirrored against it, left for right.
        size: by which the program's lengths must be multiplied.
        zero: where its zero then lies, bed mm.
        overlap: the least of the carved areas shared, of the parts that were tried.
    """

    quarter_turns: int
    mirrored: bool
    size: float
    zero: tuple[float, float]
    overlap: float

    def words(self, layout: BedLayout) -> str:
        """The cause, to stand behind a colon."""
        if self.mirrored:
            return "it is mirrored"
        if abs(self.size - 1) >= SIZE_STEP:
            return size_words(self.size)
        if self.quarter_turns:
            return f"it matches if the bed lies {_TURNS[self.quarter_turns]}, with {_zero_words(self.zero, layout)}"
        return f"it matches with {_zero_words(self.zero, layout)}"


def seek_bed(moves: Moves, parts: Sequence[LaidPart], sharing: Sharing) -> BedFit | None:
    """The best of all quarter turns, mirrored or not, moved so that both carvings' boxes share a middle; or none.

    Args:
        moves: of the program, in its own coordinates.
        parts: all that is carved on it.
        sharing: judges a place, see :data:`Sharing`.
    """
    corners = np.concatenate([_on_bed(part) for part in parts])
    want = np.concatenate([corners.min(axis=0), corners.max(axis=0)])
    # A bed holds hundreds of parts; a few from all over it tell one way to lay it from another as well.
    tried = [parts[at] for at in np.unique(np.linspace(0, len(parts) - 1, MOST_TRIED).round().astype(int))]
    cutter = Cutter.of(tried[0].part.cut.bit) if tried[0].part.cut is not None else Cutter.straight(0.0)
    best: BedFit | None = None
    for mirrored, turns in itertools.product((False, True), range(4)):
        turned = _turned(moves, turns, mirrored=mirrored)
        for size in _sizes(turned, want, cutter):
            fit, there = _laid(turned, want, size, cutter)
            shared = min(sharing(part, there) for part in tried)
            # Better by more than rounding, so that of ways that fit alike the plainest, tried first, is told.
            if shared >= ENOUGH and (best is None or shared > best.overlap + 0.01):
                best = BedFit(turns, mirrored, size, fit, shared)
    return best


def _on_bed(part: LaidPart) -> Floats:
    """Two corners of the box of a part's art, bed mm, shape (2, 2): parts lie by quarter turns."""
    assert part.part.cut is not None  # noqa: S101 - only carved parts are asked
    corners = np.reshape(part.part.cut.placed().bounds, (2, 2))
    moved: Floats = corners @ part.shape.turn.T + part.shape.shift + np.array([part.x, part.y])
    return moved


def _turned(moves: Moves, turns: int, *, mirrored: bool) -> Moves:
    """Without moves straight down or up: those that only mark holes say nothing of where the art lies."""
    aside = np.hypot(*(moves.end - moves.start)[:, :2].T) > 1e-6
    angle = turns * np.pi / 2
    matrix = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]).round()
    if mirrored:
        matrix = matrix @ np.diag([-1.0, 1.0])
    kept = moves.chosen(aside)
    start, end = kept.start.copy(), kept.end.copy()
    start[:, :2], end[:, :2] = start[:, :2] @ matrix.T, end[:, :2] @ matrix.T
    return replace(kept, start=start, end=end)


def _sizes(moves: Moves, want: Floats, cutter: Cutter) -> list[float]:
    box = cut_box(moves.start, moves.end, cutter)
    return [] if box is None else sizes_agreeing(box, want, cutter)


def _laid(moves: Moves, want: Floats, size: float, cutter: Cutter) -> tuple[tuple[float, float], Moves]:
    """The moves with the middle of what they cut on the middle of the art, and where their zero lies then."""
    start, end = moves.start * size, moves.end * size
    box = cut_box(start, end, cutter)
    assert box is not None  # noqa: S101 - a box gave the size
    shift = np.array([*((want[:2] + want[2:]) - (box[:2] + box[2:])) / 2, 0.0])
    return (float(shift[0]), float(shift[1])), replace(moves, start=start + shift, end=end + shift)


def _zero_words(zero: tuple[float, float], layout: BedLayout) -> str:
    """The zero by the name of a place that a zero can have on a bed, else by its distance from the drawing's."""
    bed = layout.bed
    named = {
        f"the zero at the bed's {up} {side}": (x, y)
        for up, y in (("lower", 0.0), ("upper", bed.length))
        for side, x in (("left corner", 0.0), ("edge's middle", bed.width / 2), ("right corner", bed.width))
    }
    named["the zero at the bed's middle"] = (bed.width / 2, bed.length / 2)
    named |= {
        f"the zero at the lower left corner of board {each.board.number}": (each.x, each.y)
        for each in layout.boards
    }
    for words, place in named.items():
        if np.hypot(zero[0] - place[0], zero[1] - place[1]) <= SAME_ZERO:
            return words
    return f"its zero {zero[0]:+.1f} mm in x and {zero[1]:+.1f} mm in y from the bed's lower left corner"
