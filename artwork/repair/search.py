"""The search for repairs: each way the art may lie, mended, put through the full check, held against the drawing."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.axis import Anatomy, study
from artwork.curves import Contour, Floats
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings import check
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.repair.aside import Aside
from artwork.repair.changes import Whole, bent, changes_of, farthest, sentence_of
from artwork.repair.clock import Clock
from artwork.repair.lettering import stacked
from artwork.repair.likeness import likeness
from artwork.repair.mending import Mended, mend
from artwork.repair.reasons import reason_of, too_much
from artwork.repair.state import Art
from artwork.repair.uniting import SAME
from artwork.repair.values import AS_PLACED, MUCH_LARGER, OTHERWISE, Answer, Budget, Repair, Way, foremost
from artwork.workpiece import Bit

MOST_ASIDE = 6.0
"""No repair is shown that moved a part farther aside as a whole than this, mm."""
MOST_RINGS, MOST_NODES = 1_500, 15_000
"""Drawings of more edges than this are lace or halftone: no local change makes a carving of them."""
LEAST_TURNED = 0.75
"""Art is not turned where it would be smaller than this share of what it was."""
GOOD_ENOUGH = 0.45
"""With a repair that costs no more than this no other way is looked for."""
COSTS: dict[Way, float] = {
    "as-placed": 0.0, "finer-bit": 0.3, "stacked": 0.35, "turned": 0.4, "finer-bit-turned": 0.6,
}  # fmt: skip
"""How much each way changes what people see, beside the likeness and the distances that curves move."""
UNLIKE, PER_MM = 8.0, 0.15
"""What a drawing that is wholly unlike would cost, and each mm that an edge moved."""
FIRST_SHARE, FINER_SHARE, SHARE = 0.5, 0.4, 0.2
"""Of the whole time, how much the first way, a finer bit and any other way may take: with a finer bit most drawings
get a version, the dense ones among them, which take longest."""
SHARES: dict[Way, float] = {"as-placed": FIRST_SHARE, "finer-bit": FINER_SHARE}


@dataclass(frozen=True, eq=False)
class _Way:
    """How the art lies, with which bit: what is mended."""

    way: Way
    cut: Cut
    outline: Outline  # in the original's units, what `cut` lays on the slat
    whole: tuple[Whole, ...]


def repairs(
    cut: Cut,
    anatomy: Anatomy,
    bits: Sequence[Bit] = (),
    budget: Budget | None = None,
    ways: Collection[Way] = AS_PLACED | OTHERWISE,
) -> Answer:
    """Up to three versions of a drawing that carve on the cut's slat, the least visible change first.

    Args:
        cut: the cut as it stands.
        anatomy: of its outline.
        bits: other bits the shop owns.
        budget: time and cancelling; when it is over, what was found is returned.
        ways: those that are tried.

    Nothing is offered that does not pass the full check, or that keeps too little of the drawing; then the
    answer names the reason. A cut that carves needs no repair: the answer is empty.
    """
    if check(cut, anatomy).verdict != "will-not-carve":
        return Answer((), enough=True)
    if len(anatomy.ring_piece) > MOST_RINGS or cut.outline.nodes > MOST_NODES:
        return Answer((), too_much(cut, anatomy), enough=True)
    budget = budget or Budget()
    left = 1.0 if "as-placed" in ways else 1.0 - FIRST_SHARE  # the rest of what all ways may take
    whole = Clock(replace(budget, seconds=left * budget.seconds - budget.spent))
    found: list[Repair] = []
    for way in _ways(cut, bits, ways):
        if whole.over or _enough(found):
            break
        mended = _mended(way, whole.part(SHARES.get(way.way, SHARE) * budget.seconds))
        repair = None if mended is None else _judged(way, mended)
        if repair is not None:
            found.append(repair)
    if found:
        ranked = sorted(found, key=lambda repair: repair.cost)
        return Answer(foremost(ranked, lambda repair: repair.way == "as-placed"), enough=_enough(found))
    return Answer((), reason_of(cut, anatomy))


def _mended(way: _Way, clock: Clock) -> Mended | None:
    """The art of one way, mended; ``None`` where it is not, or where the slat has no room for any art."""
    try:
        return mend(way.cut, Art.new(way.cut.placed().contours), clock)
    except EngineError as error:
        if error.code != "no-room":
            raise
        return None


def _enough(found: Sequence[Repair]) -> bool:
    return any(repair.cost <= GOOD_ENOUGH for repair in found)


def cost_of(likeness: float, farthest_mm: float) -> float:
    """How much people see of a changed drawing: by how much less it is alike, and how far its edges moved."""
    return UNLIKE * (1 - likeness) + PER_MM * farthest_mm


def _ways(cut: Cut, bits: Sequence[Bit], wanted: Collection[Way]) -> Iterator[_Way]:
    here = _laid(cut, cut.outline, cut.placement.rotation_deg, cut.bit)
    if here is None:
        return
    if "as-placed" in wanted:
        yield _Way("as-placed", here, cut.outline, _resized(cut, here))
    if not OTHERWISE.isdisjoint(wanted):
        others = (way for way in _otherwise(cut, here, bits) if way.way in wanted)
        yield from sorted(others, key=lambda way: -_much_larger(cut, way))


def _much_larger(cut: Cut, way: _Way) -> float:
    """By which factor art of another way is larger; 1 where that is little: such art is tried first, it lacks least."""
    larger = way.cut.placement.scale / cut.placement.scale
    return larger if larger >= MUCH_LARGER else 1.0


def _otherwise(cut: Cut, here: Cut, bits: Sequence[Bit]) -> Iterator[_Way]:
    finer = _finest(cut, bits)
    if finer is not None:
        yield _Way("finer-bit", replace(here, bit=finer), cut.outline, (_bit(finer), *_resized(cut, here)))
    lines = stacked(cut.placed().contours)
    if lines is not None:
        outline = replace(cut.outline, contours=in_units(cut, lines))
        laid = _laid(cut, outline, cut.placement.rotation_deg, cut.bit, anew=True)
        if laid is not None:
            yield _Way(
                "stacked", laid, outline, (Whole("stacked", 2, "set on two lines"), *_resized(cut, laid))
            )
    turned = _laid(cut, cut.outline, cut.placement.rotation_deg + 90.0, cut.bit, anew=True)
    if turned is not None and turned.placement.scale >= LEAST_TURNED * cut.placement.scale:
        turn = (Whole("turned", 90.0, "turned by 90°"), *_resized(cut, turned))
        yield _Way("turned", turned, cut.outline, turn)
        if finer is not None:
            yield _Way("finer-bit-turned", replace(turned, bit=finer), cut.outline, (_bit(finer), *turn))


def _laid(cut: Cut, outline: Outline, rotation: float, bit: Bit, *, anew: bool = False) -> Cut | None:
    """The outline where the cut has it, or at the largest fit; ``None`` where the slat has no room."""
    cut = replace(cut, outline=outline, bit=bit)
    if not anew:
        return cut
    try:
        placement = largest_fit(outline, cut.slat, cut.allowances, rotation % 360.0, cut.placement.mirrored)
    except EngineError:
        return None
    return replace(cut, placement=placement)


def _resized(cut: Cut, laid: Cut) -> tuple[Whole, ...]:
    share = round(100 * laid.placement.scale / cut.placement.scale)
    if abs(share - 100) <= 1:
        return ()
    words = f"larger: {share} % of its size" if share > 100 else f"smaller: {share} % of its size"
    return (Whole("resized", share, words),)


def _finest(cut: Cut, bits: Sequence[Bit]) -> Bit | None:
    """The shop's bit with which lines may be thinnest, if that is not the present one."""
    need = tooling.needed_depth(cut.allowances, 0.0)
    fit = [bit for bit in (cut.bit, *bits) if need <= tooling.depth_limit(cut.slat, bit, cut.allowances)]
    best = min(fit, key=lambda bit: tooling.least_line(bit, cut.allowances, 0.0), default=cut.bit)
    return None if best == cut.bit else best


def _bit(bit: Bit) -> Whole:
    return Whole("bit", bit.angle_deg, f"with the {bit.angle_deg:.0f}° bit")


# ── one way, judged ─────────────────────────────────────────────────────────────────────────────────────


def _judged(way: _Way, mended: Mended) -> Repair | None:
    """The repair of one way; ``None`` where it keeps too little, or fails the check in its own units.

    What passes by a hair in mm may miss by one in the drawing's units: then there is more to spare.
    """
    found = _judged_once(way, mended)
    if found is None and mended.surer is not mended.state:
        found = _judged_once(way, replace(mended, state=mended.surer))
    return found


def _judged_once(way: _Way, mended: Mended) -> Repair | None:
    state, start = mended.state, mended.start
    far = farthest(state)
    if far > MOST_ASIDE or bent(state) > start.art.most_bent:
        return None
    alike = likeness(
        start.art.contours,
        start.anatomy,
        state.art.contours,
        state.anatomy,
        Aside.of(state.art.drawn, state.art.contours),
    )
    if not alike.is_enough:
        return None
    cut = _in_own_units(way, mended)
    anatomy = study(cut.outline)
    judged = check(cut, anatomy)
    if judged.verdict == "will-not-carve":
        return None
    found = changes_of(mended, way.whole)
    changes = tuple(replace(each, place=_on_the_slat(mended.state.cut, each.place)) for each in found)
    cost = cost_of(alike.least, far) + COSTS[way.way]
    before = _as_it_lies(way.cut, mended.state.cut)
    return Repair(
        way.way, cut, before, anatomy, judged, changes, alike, sentence_of(changes, way.whole), far, cost
    )


def _in_own_units(way: _Way, mended: Mended) -> Cut:
    """The mended art as a cut whose outline has the original's units, untouched curves as they came."""
    contours = tuple(in_units(way.cut, mended.state.art.contours))
    outline = replace(
        way.outline, contours=as_they_came(contours, way.outline.contours, SAME / way.cut.placement.scale)
    )
    return _as_it_lies(replace(way.cut, outline=outline), mended.state.cut, way.cut)


def _as_it_lies(cut: Cut, there: Cut, old: Cut | None = None) -> Cut:
    """A cut in the original's units, laid as the mended art lies.

    Args:
        cut: its outline in the original's units.
        there: the mended art, its outline in mm of the placement that the art had.
        old: the cut with that placement, where ``cut`` has another outline.
    """
    old = old or cut
    matrix = old.placement.matrix
    shift = np.array([old.placement.x, old.placement.y]) - matrix @ old.centre
    middle = matrix @ cut.centre + shift
    k = there.placement.scale
    x, y = np.array([there.placement.x, there.placement.y]) + k * (middle - there.centre)
    was = old.placement
    return replace(
        cut, placement=Placement(float(x), float(y), k * was.scale, was.rotation_deg, was.mirrored)
    )


def _on_the_slat(there: Cut, place: BaseGeometry) -> BaseGeometry:
    """A place in the mm that the art had where it lies now."""
    k, centre = there.placement.scale, there.centre
    x, y = np.array([there.placement.x, there.placement.y]) - k * centre
    return affine_transform(place, [k, 0.0, 0.0, k, float(x), float(y)])


def in_units(cut: Cut, contours: Sequence[Contour]) -> tuple[Contour, ...]:
    """Contours in slat mm in the units of the cut's outline."""
    matrix = cut.placement.matrix
    shift = np.array([cut.placement.x, cut.placement.y]) - matrix @ cut.centre
    back: Floats = np.asarray(np.linalg.inv(matrix), np.float64)
    moved = (contour.moved(back, -back @ shift) for contour in contours)
    return tuple(contour.reversed() if cut.placement.mirrored else contour for contour in moved)


def as_they_came(contours: Sequence[Contour], drawn: Sequence[Contour], same: float) -> tuple[Contour, ...]:
    """Knots and control points that are where they were drawn, exactly as they were drawn."""
    points = np.concatenate([np.concatenate([each.knots, each.controls.reshape(-1, 2)]) for each in drawn])
    points = points[~np.isnan(points[:, 0])]
    tree = cKDTree(points)
    found = []
    for each in contours:
        own = np.concatenate([each.knots, each.controls.reshape(-1, 2)])
        known = np.flatnonzero(~np.isnan(own[:, 0]))
        distance, nearest = (np.atleast_1d(each) for each in tree.query(own[known]))
        near = distance < same
        own[known[near]] = points[nearest[near]]
        count = len(each.knots)
        found.append(Contour(own[:count], own[count:].reshape(-1, 2, 2)))
    return tuple(found)
