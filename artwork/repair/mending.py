"""One way of repair: moved as far as moving helps, edited where it does not, until the full check is content."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from artwork.cut import Cut
from artwork.findings.lines import flat_requirement
from artwork.repair.clock import Clock
from artwork.repair.demands import MARGIN
from artwork.repair.edits import Edit, edited, edits, hatchings, specks
from artwork.repair.flow import WAIT, flowed
from artwork.repair.needless import without_needless
from artwork.repair.state import Art, State, looked_at
from artwork.repair.tubes import touched_up
from artwork.repair.uniting import UnionError

ROUNDS = 8
WAITS = (WAIT, 2.0, 18.0)
"""How much curves resist each step, tried one after the other until one comes to an end: none is best for all art."""
HOPELESS, HOPELESS_AREA = 0.4, 12.0
"""With more than this share of what was lacking still lacking (and this many mm²) edits lead to no likeness."""
THINNINGS = 2
"""Of a hatching at most three of four strokes are left out."""
FEWEST_LOOKS = 6
"""Where the time is not enough to look so many times nothing is begun: no dense drawing was ever mended in fewer."""
WIDER, HAIR, MOST_MARGIN, HELPED = 0.03, 0.12, 0.12, 0.8
"""Where all that stops misses less than a hair, no edit is made but the margin widened, mm; again if what misses is
by then no more than this share of what it was."""


@dataclass(frozen=True, eq=False)
class Mended:
    """Art that carves.

    Attributes:
        start: as it was before.
        state: as it is.
        surer: the same before edges that had been moved without need were put back: with more to spare.
        edits: what was filled, cut and left out.
    """

    start: State
    state: State
    surer: State
    edits: tuple[Edit, ...]


def mend(cut: Cut, art: Art, clock: Clock) -> Mended | None:
    """Art that passes the full check; ``None`` where this does not come to an end.

    Args:
        cut: slat, bit, allowances; its placement has been applied to the art already.
        art: contours in mm of the slat.
        clock: when to stop.
    """
    cut = replace(cut, outline=cut.placed())  # the size of a traced picture's pixels is in mm with the rest
    before = clock.left
    start = looked_at(cut, art)
    too_long = clock.left < FEWEST_LOOKS * (before - clock.left)
    if too_long or not np.isfinite(flat_requirement(start.scene)):
        return None
    first, made = _cleared(start)
    for wait in WAITS:
        found = _mended(start, first, wait, clock)
        if found is not None:
            return replace(found, edits=(*made, *found.edits))
        if clock.over:
            break
    return None


def _cleared(state: State) -> tuple[State, tuple[Edit, ...]]:
    """The state without what nobody would enlarge, and with hatchings thinned out; and what was done."""
    made: list[Edit] = []
    for find in (specks, *(hatchings for _ in range(THINNINGS))):
        chosen = find(state)
        changed = _without(state, chosen) if chosen else None
        if changed is not None:
            made += chosen
            state = changed
    return state, tuple(made)


def _mended(start: State, first: State, wait: float, clock: Clock) -> Mended | None:
    """With one resistance to each step."""
    made: list[Edit] = []
    state, margin, before = first, MARGIN, np.inf
    for _ in range(ROUNDS):
        touched = touched_up(state, clock) if made else state  # after an edit that alone may be enough
        if not touched.holds:
            touched = touched_up(flowed(state, clock, margin, wait), clock)
        state = touched
        if state.carves:
            return Mended(start, without_needless(state, clock), state, tuple(made))
        if clock.over or state.lack > max(HOPELESS_AREA, HOPELESS * start.lack):
            break
        if state.shortest < min(HAIR, HELPED * before) and margin < MOST_MARGIN:
            margin, before = margin + WIDER, state.shortest
            continue
        before = np.inf
        chosen = edits(state)
        if not chosen:
            break
        changed = _without(state, chosen)
        if changed is None:
            break
        made += chosen
        state = changed
    return None


def _without(state: State, chosen: list[Edit]) -> State | None:
    """What the edits leave; ``None`` where that is nothing, or cannot be worked out."""
    try:
        contours = edited(state.art.contours, chosen)
    except UnionError:
        return None
    return looked_at(state.cut, state.art.remade(contours)) if contours else None
