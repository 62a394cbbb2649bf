"""Edges that were moved without need, put back where they were drawn."""

from __future__ import annotations

import numpy as np

from artwork.curves import Floats
from artwork.repair.clock import Clock
from artwork.repair.demands import asks_of
from artwork.repair.net import Ints, Net
from artwork.repair.shifting import Asks
from artwork.repair.state import Art, State, looked_at

SPARES = (-0.08, -0.03, -0.01, 0.05)
"""What must be left beyond each requirement once edges are back, mm, as far as that is told without looking: tried
one after the other until the check lets it go."""


def without_needless(state: State, clock: Clock) -> State:
    """The state with all edges put back that the check lets go, of those that were moved.

    What each place would lose is told from how far its own two feet were moved, so that hardly anything is looked at
    in vain.
    """
    net = Net.of(state.art.contours)
    back = Net.of(state.art.drawn).points - net.points
    moved = _moved(state.art)
    tried = set() if state.art.edited else {frozenset(moved.tolist())}  # all of them back is what was sent
    room = _Room(state, net, back)
    for spare in SPARES:
        rings = room.needless(moved, spare)
        if not rings or clock.over:
            break
        if rings in tried:
            continue
        tried.add(rings)
        found = put_back(state, rings)
        if found is not None:
            return found
    return state


def _moved(art: Art) -> Ints:
    pairs = zip(art.contours, art.drawn, strict=True)
    return np.flatnonzero([not np.array_equal(now.knots, drawn.knots) for now, drawn in pairs])


def put_back(state: State, rings: frozenset[int]) -> State | None:
    """Some edges where they were drawn; ``None`` where that does not carve."""
    contours = tuple(
        drawn if number in rings else now
        for number, (now, drawn) in enumerate(zip(state.art.contours, state.art.drawn, strict=True))
    )
    art = Art(contours, state.art.drawn, state.art.drawn)
    if len(art.crossing) > len(state.art.crossing):
        return None
    tried = looked_at(state.cut, art)
    return tried if tried.carves else None


class _Room:
    """What each narrow place has to spare, and what it would lose by each of its edges that went back.

    Args:
        state: art that carves.
        net: its curves.
        back: shape (movable, 2), how far each point is from where it was drawn, mm.
    """

    def __init__(self, state: State, net: Net, back: Floats) -> None:
        asks = Asks.joined([asks_of(state.scene, side, 0.0) for side in (state.lines, state.lands)])
        self._count = len(net.lengths)
        self._rings = net.ring[asks.segment]
        self._least = np.minimum(asks.lack, 0.0)  # what is let be as it is must lose nothing
        gains = [
            _gain(net, back, asks.segment[:, side], asks.t[:, side], asks.normal[:, side]) for side in (0, 1)
        ]
        own = self._rings[:, 0] == self._rings[:, 1]  # both feet go back, or none
        self._gains = np.stack(
            [gains[0] + np.where(own, gains[1], 0.0), np.where(own, 0.0, gains[1])], axis=1
        )

    def needless(self, moved: Ints, spare: float) -> frozenset[int]:
        """Those of the rings ``moved`` that can go back together and leave so much to spare everywhere."""
        least = np.minimum(self._least + spare, 0.0)
        going = np.zeros(self._count, bool)
        going[moved] = True
        alone = (self._gains < least[:, None]) & (self._gains < 0)
        going[self._rings[alone]] = False
        while True:
            gains = np.where(going[self._rings], self._gains, 0.0)
            total = gains.sum(axis=1)
            short = (total < least) & (total < 0)
            if not short.any():
                return frozenset(np.flatnonzero(going).tolist())
            worst = np.argmin(gains[short], axis=1)
            blamed = self._rings[short][np.arange(len(worst)), worst]
            going[np.argmax(np.bincount(blamed, least[short] - total[short], self._count))] = False


def _gain(net: Net, back: Floats, segment: Ints, t: Floats, normal: Floats) -> Floats:
    """Shape (m,): the room that each foot makes, mm, where its curve goes back."""
    shift = (net.weights(segment, t)[..., None] * back[net.handles[segment]]).sum(axis=1)
    return np.asarray((shift * normal).sum(axis=1))
