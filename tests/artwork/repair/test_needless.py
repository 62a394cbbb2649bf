"""Edges that were moved without need go back; every other one is needed."""

from __future__ import annotations

import numpy as np
import pytest

from artwork.cut import Cut
from artwork.repair import Budget, needless
from artwork.repair.clock import Clock
from artwork.repair.mending import Mended, mend
from artwork.repair.needless import put_back, without_needless
from artwork.repair.net import Net
from artwork.repair.state import Art, State, looked_at
from tests.artwork.drawn import cut
from tests.artwork.repair.test_repair import thin_frame, word

SECONDS = 60.0


def mended(placed: Cut) -> Mended:
    found = mend(placed, Art.new(placed.placed().contours), Clock(Budget(SECONDS)))
    assert found is not None
    return found


def moved(state: State) -> list[int]:
    """Numbers of the edges that are not where they were drawn."""
    pairs = zip(state.art.contours, state.art.drawn, strict=True)
    return [number for number, (now, drawn) in enumerate(pairs) if not np.array_equal(now.knots, drawn.knots)]


def aside(state: State, number: int, by: float) -> State:
    """The state with one more edge moved aside, mm."""
    net = Net.of(state.art.contours)
    art = state.art.moved(np.where(net.owner == number, by, 0.0)[:, None] * [1.0, 0.0])
    return looked_at(state.cut, art)


@pytest.mark.parametrize(
    "drawn",
    [
        pytest.param(lambda: cut(thin_frame()), id="frame"),
        pytest.param(lambda: word("Pinecrest", "tajawal-bold"), id="Pinecrest"),
        pytest.param(lambda: word("Juniper"), id="Juniper"),
    ],
)
def test_no_edge_alone_could_go_back(drawn):
    state = mended(drawn()).state
    assert moved(state)
    assert [each for each in moved(state) if put_back(state, frozenset([each])) is not None] == []


def test_an_edge_moved_without_need_goes_back_exactly_and_no_other(monkeypatch):
    found = mended(cut(thin_frame()))
    bar = 2
    assert bar not in moved(found.state)
    strayed = aside(found.state, bar, 0.4)
    assert strayed.carves
    assert bar in moved(strayed)
    looks = []
    monkeypatch.setattr(needless, "looked_at", lambda *given: looks.append(given) or looked_at(*given))
    back = without_needless(strayed, Clock(Budget(SECONDS)))
    assert moved(back) == moved(found.state)
    assert np.array_equal(back.art.contours[bar].knots, found.state.art.drawn[bar].knots)
    assert len(looks) == 1, "what each place would lose is told without looking"


def test_what_is_sent_is_never_tried_once_more(monkeypatch):
    looks = []
    monkeypatch.setattr(needless, "looked_at", lambda *given: looks.append(given) or looked_at(*given))
    found = mended(cut(thin_frame()))
    assert moved(found.state) == [0, 1]
    assert looks == [], "no edge of the frame can go back, and that is told without looking"
