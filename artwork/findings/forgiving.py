"""What is short of its need, and yet no reason to stop: small misses, short necks, points that end early."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf

from artwork.axis.anatomy import Tapers
from artwork.findings.runs import Run, Strip
from artwork.scene import Scene

SMALL_MISS = 0.02
"""A line or land short by less than this share of its need, over less than its own width, is a remark."""
NECK_TURN = 1.5
"""Beyond the axis a neck's direction turns away from the grain, and what it needs grows: that part of its way is
taken for so many times as long."""
NECK_SHARE = 0.8
"""Wood no longer than it is wide stands with this share of what a wall needs (common practice, no source)."""
ROUNDING = 1e-9

LOST_SHARE = 0.5
"""A point that loses more than this share of itself stops, where anybody would miss what is lost."""
LOST_LENGTH = 15.0
"""So does one that loses more than this, mm, if that is ..."""
LOST_SHARE_OF_LONG = 0.25
"""... more than this share of it (all three: common practice, no source)."""
UNTOLD_WIDTHS = 2.0
"""Nobody misses what is no longer than this many required widths: a point that ends so early is told only if
it is more than a quarter of itself. A V-bit does it to every corner."""


def is_small_miss(scene: Scene, width: float, required: float, length: float) -> bool:
    """Whether a width, mm, is short by less than the drawing's error, or by little over little.

    Args:
        scene: the cut.
        width: as measured, on the safe side.
        required: what is needed.
        length: over which it is short, mm.
    """
    drawn = width + 2 * scene.scale * scene.slack
    return drawn >= required - ROUNDING or (width >= (1 - SMALL_MISS) * required and length <= width)


def is_neck(width: float, required: float, taken: float, run: Run, scale: float) -> bool:
    """Whether thin wood between two good places is short enough to stand.

    Args:
        width, required: drawn, mm.
        taken: what carving takes of it, mm.
        run: the thin place.
        scale: mm per outline unit.
    """
    short = (run.length + NECK_TURN * run.way) * scale <= width - taken
    return run.exits >= 2 and short and width >= NECK_SHARE * required


@dataclass(frozen=True)
class Point:
    """A point that ends early.

    Attributes:
        run: where it is too thin.
        lost: length by which it ends early, mm.
        share: of the whole taper.
        required: width it falls short of, mm; infinite where no line survives.
        width: what is needed at most, mm: of this nobody misses two.
    """

    run: Run
    lost: float
    share: float
    required: float
    width: float

    @property
    def stops(self) -> bool:
        """Whether too much of it is lost."""
        if self.lost > LOST_LENGTH and self.share > LOST_SHARE_OF_LONG:
            return True
        missed = isinf(self.width) or self.lost > UNTOLD_WIDTHS * self.width
        return missed and self.share > LOST_SHARE

    @property
    def told(self) -> bool:
        """Whether somebody should know."""
        longer = isinf(self.required) or self.lost > UNTOLD_WIDTHS * self.required
        return longer or self.share > LOST_SHARE_OF_LONG


def is_stub(run: Run, scale: float, width: float) -> bool:
    """Whether a thin end that does not taper is so short that nobody would miss more of a point.

    ``width``: what is needed there at most, mm, as in :class:`Point`.
    """
    return run.exits == 1 and not isinf(run.way) and run.lost * scale <= UNTOLD_WIDTHS * width


def point_of(scene: Scene, strip: Strip, tapers: Tapers, run: Run, width: float | None = None) -> Point:
    """An end that is too thin, with what is lost of its taper; of a stub that does not taper, all.

    ``width``: as in :class:`Point`; as required there, without.
    """
    required = float(strip.required[run.stretch])
    lost, width = run.lost * scene.scale, required if width is None else width
    if not run.tapering:
        return Point(run, lost, 1.0, required, width)
    numbers = strip.taper[run.members]
    whole = float((tapers.length + tapers.tip_clearance)[numbers].max()) * scene.scale
    return Point(run, lost, min(lost / max(whole, lost), 1.0), required, width)
