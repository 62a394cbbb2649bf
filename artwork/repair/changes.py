"""What a repair has changed, in kinds, places and millimetres, and in one line of words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.findings.wording import at_most, counted
from artwork.repair.aside import Fit
from artwork.repair.demands import Side
from artwork.repair.edits import Edit, strip
from artwork.repair.mending import Mended
from artwork.repair.state import State
from artwork.repair.values import Change, ChangeKind
from artwork.shapes import united

MOVED = 0.3
"""A ring that has moved as a whole by more than this, mm, is told."""
FLAT = 0.02
SMALL = 3.0
"""A part or island that is no longer than this times its need is told as such, not as a stroke or gap."""

WORDS: dict[ChangeKind, tuple[str, str]] = {
    "thickened": ("stroke thickened", "strokes thickened"),
    "thinned": ("stroke thinned", "strokes thinned"),
    "gap-opened": ("gap opened", "gaps opened"),
    "counter-opened": ("counter opened", "counters opened"),
    "dot-grown": ("small part enlarged", "small parts enlarged"),
    "moved": ("part moved aside", "parts moved aside"),
    "gap-filled": ("gap closed and carved", "gaps closed and carved"),
    "counter-filled": ("small island carved away", "small islands carved away"),
    "end-shortened": ("thin end shortened", "thin ends shortened"),
    "stroke-cut": ("stroke interrupted", "strokes interrupted"),
    "hatch-thinned": ("stroke of a hatching left out", "strokes of a hatching left out"),
    "left-out": ("small part left out (plain wood)", "small parts left out (plain wood)"),
}
BY = {"thickened", "thinned", "gap-opened", "counter-opened", "dot-grown", "moved"}


@dataclass(frozen=True, eq=False)
class Whole:
    """A change of the whole: set in other lines, turned, resized, another bit."""

    kind: ChangeKind
    amount: float
    words: str


def changes_of(mended: Mended, whole: tuple[Whole, ...]) -> tuple[Change, ...]:
    """The most visible first."""
    found = [
        *(Change(each.kind, shapely.Polygon(), each.amount) for each in whole),
        *_moved_boundaries(mended),
        *_made(mended.edits),
    ]
    return tuple(
        sorted(found, key=lambda change: -change.place.area if not change.place.is_empty else -np.inf)
    )


def _moved_boundaries(mended: Mended) -> list[Change]:
    start = mended.start
    found = [
        *_opened(start, start.lines, "thickened", "dot-grown"),
        *_opened(start, start.lands, "gap-opened", "counter-opened"),
    ]
    rings = _moved_rings(mended.state)
    if rings:
        shapes: list[BaseGeometry] = [shapely.Polygon(points) for points, _ in rings]
        found.append(Change("moved", united(shapes), max(amount for _, amount in rings), len(rings)))
    return found


def _opened(state: State, side: Side, wide: ChangeKind, whole: ChangeKind) -> list[Change]:
    scale, slack = state.scene.scale, state.scene.slack
    found = []
    reach = np.bincount(side.strip.region, side.strip.lengths, len(side.needs))
    small = side.lost[reach[side.lost] < SMALL * side.needs[side.lost]]
    runs = [run for run in side.runs if side.strip.region[run.stretch] not in small]
    if runs:
        amounts = [
            float(side.strip.required[run.stretch]) - 2 * scale * (run.clearance - slack) for run in runs
        ]
        place = united([strip(state, side, run).buffer(MOVED) for run in runs])
        found.append(Change(wide, place, max(amounts), len(runs)))
    if len(small):
        amounts = [float(side.needs[k]) - 2 * scale * (float(side.axis.peak[k]) - slack) for k in small]
        place = united([state.region(side, int(k)).buffer(MOVED) for k in small])
        found.append(Change(whole, place, max(amounts), len(small)))
    return found


def _made(edits: tuple[Edit, ...]) -> list[Change]:
    found = []
    for kind in dict.fromkeys(edit.kind for edit in edits):
        shapes = [edit.shape for edit in edits if edit.kind == kind]
        longest = max(max(np.ptp(np.array(shape.bounds).reshape(2, 2), axis=0)) for shape in shapes)
        found.append(Change(kind, united(shapes), float(longest), len(shapes)))
    return found


def _moved_rings(state: State) -> list[tuple[Floats, float]]:
    """Rings that went aside as a whole: points, and how far."""
    found = []
    for now, drawn in zip(state.art.contours, state.art.drawn, strict=True):
        shift = now.knots - drawn.knots
        middle = shift.mean(axis=0)
        far = float(np.hypot(*middle))
        if far > MOVED and np.hypot(*(shift - middle).T).max() < far / 2 and len(now.knots) > 2:
            found.append((now.polyline(FLAT), far))
    return found


def farthest(state: State) -> float:
    """How far an edge was moved at most against the whole, mm on the slat: of art that had to become smaller again to
    fit it, what counts is where it lies now.

    Along itself an edge may slide, so it is the distance of its knots from the same edge as it was drawn that counts.
    """
    k = state.cut.placement.scale
    knots = [k * now.knots for now in state.art.contours]
    moved = np.concatenate([now - drawn.knots for now, drawn in zip(knots, state.art.drawn, strict=True)])
    whole = moved.mean(axis=0) if k != 1.0 else np.zeros(2)
    return max(
        float(shapely.distance(shapely.linearrings(drawn.polyline(FLAT)), shapely.points(now - whole)).max())
        for now, drawn in zip(knots, state.art.drawn, strict=True)
    )


def bent(state: State) -> float:
    """How far a knot was moved at most against its ring as a whole, mm: a ring that was moved aside, or is a little
    larger, is as it was."""
    most = 0.0
    for now, drawn in zip(state.art.contours, state.art.drawn, strict=True):
        away = now.knots - Fit.of(drawn, now)(drawn.knots)
        most = max(most, float(np.hypot(*away.T).max(initial=0.0)))
    return most


def sentence_of(changes: tuple[Change, ...], whole: tuple[Whole, ...]) -> str:
    """'31 strokes thickened by up to 0.6 mm, 2 gaps opened by up to 0.3 mm, 4 small parts left out.'"""
    parts = [each.words for each in whole]
    for change in changes:
        if change.kind in WORDS:
            words = counted(change.count, *WORDS[change.kind])
            parts.append(f"{words} by up to {at_most(change.amount_mm)}" if change.kind in BY else words)
    text = ", ".join(parts) or "Nothing changed"
    return f"{text[0].upper()}{text[1:]}."
