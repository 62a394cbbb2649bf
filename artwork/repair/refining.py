"""A version refined by hand: one change put back, a stroke or a gap made wider or narrower, filled, left out.

What lies outside the place keeps its exact curves. Nothing is judged here: the full check says of the outline that
comes of it whether it carves, as of any other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings.wording import at_most
from artwork.repair.crossings import crossing
from artwork.repair.demands import Side, asks_of, feet_rows
from artwork.repair.edits import grown
from artwork.repair.net import Net
from artwork.repair.places import laid_alike, places_of
from artwork.repair.search import as_they_came, in_units
from artwork.repair.shifting import Asks, shifts
from artwork.repair.splicing import NoSeamError, spliced
from artwork.repair.spots import Sight, Spot
from artwork.repair.strength import sturdier, sturdier_by
from artwork.repair.uniting import SAME, UnionError, joined, less
from artwork.repair.values import Budget, Change, ChangeKind
from artwork.shapes import areas, strokes, united

RefineKind = Literal["as-drawn", "thicken", "open", "fill", "leave-out", "sturdier"]
TO_SPARE = 0.04
"""What is made as wide as the check needs is made wider by so much, mm."""
MOST_BY = 3.0
"""Nothing is made wider or narrower by more than this at once, mm."""
ROUNDS, CLOSE = 8, 0.008
"""A width is brought nearer to what is wanted so often, or until it is as near as this, mm."""
LEAST_WIDTH = 0.1
"""Nothing is made narrower than this, mm: it is left out, or filled, instead."""
FADE = 1.5
"""Edges move within this distance of the stroke's own edges, mm, less and less; beyond they stay exactly."""
STILL = 0.0005
STURDIER = 0.15
"""So much more uneven a board may be where nothing is said, mm."""
MOST_SECONDS = 6.0
HALVINGS = 5
WIDER = (1.0, 2.0, 4.0, 8.0)
"""A place is put back within its surroundings so many times as wide, until both drawings meet there."""


@dataclass(frozen=True)
class Refinement:
    """One change by hand.

    Attributes:
        kind: what to do: put back as it was drawn, make the stroke or the gap wider (or narrower), carve the gap
            or the island as well, leave the part or the stroke uncarved; or all of it sturdier.
        x, y: where, slat mm; of no account for all of it.
        by: mm wider; below 0 narrower; ``None`` for as wide as the check needs it. Of all of it: mm that the board
            may be more uneven than the allowances say.
    """

    kind: RefineKind
    x: float
    y: float
    by: float | None = None


@dataclass(frozen=True, eq=False)
class Refined:
    """What comes of it.

    Attributes:
        cut: the new one, its outline in the units of the one before, laid as it lay.
        change: what was done; its place in slat mm.
        sentence: the same in words.
    """

    cut: Cut
    change: Change
    sentence: str


def refined(cut: Cut, drawn: Cut, asked: Refinement) -> Refined:
    """A cut with one change by hand.

    Args:
        cut: as it is.
        drawn: what was sent, its outline in the same units.
        asked: what to do.

    Raises:
        EngineError: ``nothing-there``, ``wide-enough``, ``no-seam``, ``not-possible``: why it cannot be done.
    """
    if asked.kind == "as-drawn":
        return _as_drawn(cut, drawn, asked)
    if asked.kind == "sturdier":
        return _sturdier(cut, drawn, asked.by or STURDIER)
    return _ACTIONS[asked.kind](cut, asked)


# ── put back ────────────────────────────────────────────────────────────────────────────────────────────


def _as_drawn(cut: Cut, drawn: Cut, asked: Refinement) -> Refined:
    before, here = laid_alike(drawn, cut), shapely.Point(asked.x, asked.y)
    places = places_of(before, cut)
    place = min(places, key=lambda each: float(each.around.distance(here)), default=None)
    if place is None or place.around.distance(here) > 1.0:
        raise EngineError(
            "nothing-there", "Nothing was changed at this place.", "Choose one that was changed."
        )
    now, sent = cut.placed().contours, before.placed().contours
    for wider in WIDER:
        around = place.around.buffer((wider - 1) * 0.1) if wider > 1 else place.around
        try:
            contours = spliced(now, sent, around)
        except NoSeamError:
            continue
        if not contours:
            break
        return _of(cut, contours, place.change, "One change put back: it is as it was drawn there.", drawn)
    raise EngineError(
        "no-seam",
        "This change hangs together with others: it cannot be put back alone.",
        "Make the stroke or the gap narrower or wider instead, or take what was sent.",
    )


# ── all of it sturdier ──────────────────────────────────────────────────────────────────────────────────


def _sturdier(cut: Cut, drawn: Cut, by: float) -> Refined:
    """What would carve on a board that much more uneven; as long as enough of the drawing is kept."""
    if by <= 0:
        raise EngineError("not-possible", "Sturdier is by more than 0 mm.", "Choose how much.")
    found = sturdier(cut, drawn, by, Budget(MOST_SECONDS)).cut
    change = Change("thickened", shapely.Polygon(), by)
    return Refined(found, change, sturdier_by(by))


# ── wider, narrower ─────────────────────────────────────────────────────────────────────────────────────


def _thicken(cut: Cut, asked: Refinement) -> Refined:
    return _widened(cut, asked, carved=True)


def _open(cut: Cut, asked: Refinement) -> Refined:
    return _widened(cut, asked, carved=False)


def _widened(cut: Cut, asked: Refinement, *, carved: bool) -> Refined:
    sight = Sight.of(cut)
    spot = _spot(sight, asked, carved=carved)
    by = spot.short + TO_SPARE if asked.by is None else asked.by
    if asked.by is None and spot.short <= 0:
        raise EngineError(
            "wide-enough", "It is as wide as it must be there.", "Say by how much it shall grow."
        )
    if abs(by) > MOST_BY or spot.width + by < LEAST_WIDTH:
        raise EngineError(
            "not-possible",
            f"By {at_most(abs(by))} is more than can be done at once here.",
            "Choose a smaller amount, fill it, or leave it out.",
        )
    wanted = spot.width + by
    first, fixed = sight.cut.outline.contours, _reach(sight, spot, abs(by), carved=carved)
    contours, best, gap = first, first, abs(by)
    for _ in range(ROUNDS):
        contours = _step(sight, spot, wanted, fixed, carved=carved)
        sight = sight.with_contours(contours)
        spot = _spot(sight, asked, carved=carved)
        missed = abs(wanted - spot.width)
        if missed < gap:
            best, gap = contours, missed
        if gap <= CLOSE:
            break
    if gap > 0.6 * abs(by):
        raise EngineError(
            "not-possible",
            "There is no room for it: what lies beside would close or cross.",
            "Make room beside it first, choose a smaller amount, or leave something out.",
        )
    done = abs(by) - gap
    kind = ("thickened" if by > 0 else "thinned") if carved else ("gap-opened" if by > 0 else "moved")
    change = Change(kind, fixed.near, done)  # type: ignore[arg-type]
    return _of(cut, best, change, _said(by, at_most(done), carved=carved))


def _said(by: float, done: str, *, carved: bool) -> str:
    if carved:
        return f"One stroke thickened by {done}." if by > 0 else f"One stroke thinned by {done}."
    return f"One gap opened by {done}." if by > 0 else f"One gap narrowed by {done}."


def _spot(sight: Sight, asked: Refinement, *, carved: bool) -> Spot:
    found = sight.stroke_at(asked.x, asked.y) if carved else sight.gap_at(asked.x, asked.y)
    if found is None:
        raise EngineError(
            "nothing-there",
            "There is no stroke at this place."
            if carved
            else "There is no gap between strokes at this place.",
            "Point at one.",
        )
    return found


@dataclass(frozen=True, eq=False)
class _Reach:
    """How far edges may move with a stroke: wholly within ``near``, not at all beyond ``far`` mm of it."""

    near: BaseGeometry
    far: float

    def share(self, points: Floats) -> Floats:
        """Shape (n,), 1 to 0."""
        off = shapely.distance(self.near, shapely.points(points))
        return np.asarray(np.clip(1 - off / self.far, 0.0, 1.0))


def _reach(sight: Sight, spot: Spot, by: float, *, carved: bool) -> _Reach:
    side = sight.lines if carved else sight.lands
    near = sight.strip(side, spot.members)
    radius = float(side.strip.clearance[spot.members].max())
    tube = united(list(np.atleast_1d(shapely.buffer(strokes(side.strip.places[spot.members]), radius))))
    return _Reach(near.union(tube).buffer(by), FADE + by)


def _step(sight: Sight, spot: Spot, wanted: float, fixed: _Reach, *, carved: bool) -> tuple[Contour, ...]:
    """The edges of a stroke (or of a gap) moved towards the wanted width; nothing else gets worse by it."""
    side, other = (sight.lines, sight.lands) if carved else (sight.lands, sight.lines)
    net = Net.of(sight.cut.outline.contours)
    may_change = side.let_be.copy()
    may_change[spot.members] = True
    held = [asks_of(sight.scene, each, 0.0) for each in (replace(side, let_be=may_change), other)]
    asks = Asks.joined([_asked(sight, side, spot, wanted), *map(_held, held)])
    unmoved = np.zeros((net.movable, 2))  # the curves keep to the drawing as the maker sees it
    shift = shifts(net, asks, unmoved, unmoved)
    shift *= fixed.share(net.points)[:, None]
    shift[np.hypot(*shift.T) < STILL] = 0.0
    before = len(crossing(sight.cut.outline.contours))
    for _ in range(HALVINGS):
        moved = net.moved(shift).contours()
        if len(crossing(moved)) <= before:
            return moved
        shift = shift / 2
    return sight.cut.outline.contours


def _asked(sight: Sight, side: Side, spot: Spot, wanted: float) -> Asks:
    """Rows by which the stroke's stretches grow (or shrink) by what is wanted at its narrowest place."""
    by = wanted - spot.width
    rows = feet_rows(sight.scene.anatomy, side, spot.members, abs(by))
    return rows if by >= 0 else replace(rows, normal=-rows.normal)


def _held(rows: Asks) -> Asks:
    """Rows by which what is too narrow already gets no narrower, and what has room gives no more than that."""
    return replace(rows, lack=np.minimum(rows.lack, 0.0))


# ── filled, left out ────────────────────────────────────────────────────────────────────────────────────


def _fill(cut: Cut, asked: Refinement) -> Refined:
    sight = Sight.of(cut)
    found = sight.to_fill(asked.x, asked.y)
    if found is None:
        raise EngineError(
            "nothing-there", "There is no gap and no island of wood at this place.", "Point at one."
        )
    words = (
        "One island of wood carved away." if found[0] == "counter-filled" else "One gap closed and carved."
    )
    return _operated(joined, cut, sight, found, words)


def _leave_out(cut: Cut, asked: Refinement) -> Refined:
    sight = Sight.of(cut)
    found = sight.to_leave_out(asked.x, asked.y)
    if found is None:
        raise EngineError("nothing-there", "Nothing is carved at this place.", "Point at what is carved.")
    part, stroke = (
        "One part left out: plain wood takes its place.",
        "One stroke left out: plain wood takes its place.",
    )
    return _operated(less, cut, sight, found, part if found[0] == "left-out" else stroke)


_Operation = Callable[[Sequence[Contour], BaseGeometry], tuple[Contour, ...]]


def _operated(
    operation: _Operation, cut: Cut, sight: Sight, found: tuple[ChangeKind, BaseGeometry], words: str
) -> Refined:
    kind, shape = found
    try:
        contours = operation(sight.cut.outline.contours, grown(shape))
    except UnionError:
        contours = ()
    if not contours:
        raise EngineError(
            "not-possible", "That cannot be done here.", "Choose another place, or have it redrawn."
        )
    return _of(cut, contours, Change(kind, shape, _longer_side(shape)), words)


def _longer_side(shape: BaseGeometry) -> float:
    return max((max(p.bounds[2] - p.bounds[0], p.bounds[3] - p.bounds[1]) for p in areas(shape)), default=0.0)


# ── back in the drawing's own units ─────────────────────────────────────────────────────────────────────


def _of(
    cut: Cut, contours: Sequence[Contour], change: Change, sentence: str, drawn: Cut | None = None
) -> Refined:
    """The cut with these contours (slat mm) laid where they are; what did not move is exactly as it came."""
    known = [*cut.outline.contours, *(drawn.outline.contours if drawn else ())]
    own = as_they_came(in_units(cut, contours), known, SAME / cut.placement.scale)
    after = replace(cut, outline=replace(cut.outline, contours=own))
    return Refined(laid_alike(after, cut), change, sentence)


_ACTIONS: dict[RefineKind, Callable[[Cut, Refinement], Refined]] = {
    "thicken": _thicken,
    "open": _open,
    "fill": _fill,
    "leave-out": _leave_out,
}
