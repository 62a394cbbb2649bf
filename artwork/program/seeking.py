"""Where a program would match what was signed, if not where the job sheet has its zero."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.drawings.frame import MachineFrame, Zero
from artwork.program.fields import fields_of, in_slat, overlap
from artwork.program.moves import Cutter, Moves

COARSE = 2.0
"""Cells a mm while places are tried."""
ENOUGH = 0.6
"""Overlap from which a place is worth telling."""
BETTER = 0.01
"""By how much more carved areas must overlap at another place for that place to be told."""
SAME_ZERO = 0.5
"""How far from a place that a zero can have a fit may lie to be called by its name, mm."""
_SIZES = (1.0, 25.4, 1 / 25.4)
"""True size; inches read as millimetres; millimetres read as inches."""
UNITS_EXCHANGED = 0.06
"""How near a size may come to 25.4 to 1 to be called exchanged units: the tip's flat is not exchanged with them."""
SAME_SIZE = 0.02
SIZE_STEP = 0.004
"""Least difference of size that is told rather than taken for rounding."""


@dataclass(frozen=True)
class Fit:
    """Where and how a program would match.

    Attributes:
        frame: the job sheet's way to lie, turned and mirrored as it fits; its ``zero`` where one has that name.
        shift: mm in x and y of the machine by which it lies beside ``frame``'s place.
        beside: the same beside the place that the job sheet tells; 0 where that lies otherwise,
            or where the program fits there as well.
        named: whether ``frame.zero`` is the zero that fits, to half a millimetre.
        size: by which the program's lengths must be multiplied.
        overlap: of carved areas, there.
    """

    frame: MachineFrame
    shift: tuple[float, float]
    beside: tuple[float, float]
    named: bool
    size: float
    overlap: float


def seek(moves: Moves, cut: Cut, told: MachineFrame, cutters: Mapping[int, Cutter]) -> Fit | None:
    """The best of all quarter turns, mirrored or not, moved so that both carvings' boxes share a middle; or none.

    Args:
        moves: of the program, in its own coordinates.
        cut: what was signed.
        told: how the job sheet says that the slat lies.
        cutters: by T number.
    """
    art = np.array(cut.placed().bounds)
    best: Fit | None = None
    for mirrored in (told.mirrored, not told.mirrored):
        for turns in range(4):
            frame = MachineFrame(quarter_turns=turns, mirrored=mirrored)
            for size in _sizes(moves, art, turns, cutters[0]):
                fit = _fit(_resized(moves, size), cut, frame, cutters)
                if fit is not None and (best is None or fit.overlap > best.overlap + 0.01):
                    best = replace(fit, size=size)
    if best is None or best.overlap < ENOUGH:
        return None
    here = overlap(fields_of(moves, in_slat(moves, cut.slat.outline, told), cut, cutters, COARSE))
    return _named(best, cut, told, better=best.overlap > here + BETTER)


def _sizes(moves: Moves, art: Floats, turns: int, cutter: Cutter) -> list[float]:
    """True size first; then what the boxes' widths and heights agree on, where that is another one."""
    box = cut_box(moves.start, moves.end, cutter)
    if box is None:
        return []
    return sizes_agreeing(box, art[[1, 0, 3, 2]] if turns % 2 else art, cutter)


def sizes_agreeing(box: Floats, art: Floats, cutter: Cutter) -> list[float]:
    """The sizes at which what is cut may be the art.

    Args:
        box: of what is cut, from :func:`cut_box`: (x0, y0, x1, y1), mm.
        art: the same of what is signed, turned as the program is.
        cutter: of the carving.
    """
    have = box[2:] - box[:2]
    want = art[2:] - art[:2] - 2 * cutter.tip_radius
    across, up = want / np.maximum(have, 1e-6)
    agree = abs(across - up) <= 0.02 * max(across, up)
    measured = float((across + up) / 2)
    named = [
        size for size in _SIZES if abs(measured / size - 1) < (SAME_SIZE if size == 1.0 else UNITS_EXCHANGED)
    ]
    if named:
        return [1.0] if named == [1.0] and abs(measured - 1) < SIZE_STEP else [named[0], measured]
    return [1.0, measured] if agree else [1.0]


def cut_box(start: Floats, end: Floats, cutter: Cutter) -> Floats | None:
    """Bounds of the grooves at z = 0, less the tip's flat all round: (x0, y0, x1, y1), or none.

    Without the flat they scale with the program, depths and all.
    """
    points = np.vstack([start, end])
    points = points[points[:, 2] < 0]
    if not len(points):
        return None
    half = (-points[:, 2] * cutter.slope)[:, None]
    return np.concatenate([(points[:, :2] - half).min(axis=0), (points[:, :2] + half).max(axis=0)])


def _resized(moves: Moves, size: float) -> Moves:
    return moves if size == 1.0 else replace(moves, start=moves.start * size, end=moves.end * size)


def _fit(moves: Moves, cut: Cut, frame: MachineFrame, cutters: Mapping[int, Cutter]) -> Fit | None:
    """The middle of what is cut laid on the middle of the art."""
    art = np.array(cut.placed().bounds)
    ends = in_slat(moves, cut.slat.outline, frame)
    box = cut_box(ends[:, :3], ends[:, 3:], cutters[0])
    if box is None:
        return None
    shift = (art[:2] + art[2:]) / 2 - (box[:2] + box[2:]) / 2
    ends[:, 0:2] += shift
    ends[:, 3:5] += shift
    found = overlap(fields_of(moves, ends, cut, cutters, COARSE))
    matrix, _ = frame.affine(cut.slat.outline)
    x, y = matrix @ shift
    return Fit(frame, (float(x), float(y)), (0.0, 0.0), named=False, size=1.0, overlap=found)


def _named(fit: Fit, cut: Cut, told: MachineFrame, *, better: bool) -> Fit:
    """Call the fit by the zero that is there, where one is; the job sheet's own first."""
    as_told = (fit.frame.quarter_turns, fit.frame.mirrored) == (told.quarter_turns, told.mirrored)
    if as_told and better:
        x, y = _left(fit, cut, told.zero)
        fit = replace(fit, beside=(x, y))
    for zero in sorted(get_args(Zero), key=lambda zero: zero != told.zero):
        x, y = _left(fit, cut, zero)
        if max(abs(x), abs(y)) <= SAME_ZERO:
            return replace(fit, frame=replace(fit.frame, zero=zero), shift=(x, y), named=True)
    return fit


def _left(fit: Fit, cut: Cut, zero: Zero) -> tuple[float, float]:
    """How far the program lies beside its place if it was written for that zero, mm."""
    _, shift = replace(fit.frame, zero=zero).affine(cut.slat.outline)
    x, y = -(np.array(fit.shift) + shift)
    return float(x), float(y)
