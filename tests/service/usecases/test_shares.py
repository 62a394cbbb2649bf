"""What a host gives each workshop holds for that workshop alone, and the workshop sees it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.orders.errors import ConflictError
from service.orders.shares import Shares
from service.orders.wellness import Level, Subject
from service.usecases import wellness
from service.usecases.payloads import OVER_SHARE
from service.work.lanes import PATIENT_LANE, QUICK, options_of

from .test_artworks_and_cuts import send
from .world import World, states


def given(world: World, **shares: int) -> None:
    world.ctx = replace(world.ctx, shares=Shares(**shares))


def share_of(world: World, actor):
    return next(
        (sign for sign in wellness.list_signs(world.ctx, actor) if sign.subject is Subject.SHARE), None
    )


def test_nothing_is_said_of_shares_where_none_are_set(world: World):
    assert share_of(world, world.maker) is None


def test_files_beyond_the_share_are_turned_away_and_what_is_there_goes_on(either_world: World):
    world = either_world
    given(world, files=1, size=5_000_000)
    first = send(world, world.place())
    with pytest.raises(ConflictError) as refused:
        send(world, world.place())
    assert refused.value.code == "share-used"
    world.work()
    assert states(world.look(first)) == ["checked"]
    sign = share_of(world, world.maker)
    assert (sign.level, "1 of 1 files, 0 of 5 MB" in sign.words) == (Level.TROUBLE, True)
    assert share_of(world, world.stranger).level is Level.WELL, "another workshop has its own"


def test_bytes_beyond_the_share_are_turned_away(world: World):
    given(world, size=10)
    with pytest.raises(ConflictError, match="room for"):
        send(world, world.place())


def test_work_beyond_the_share_is_done_behind_everybody_elses(world: World):
    given(world, work_a_day=1)
    send(world, world.place())
    send(world, world.place())
    usual, behind = world.queue.payloads[-2:]
    assert (usual[OVER_SHARE], behind[OVER_SHARE]) == (False, True)
    lanes = [options_of("read-artwork", "name", each)["queue_name"] for each in (usual, behind)]
    assert lanes == [QUICK, PATIENT_LANE]
    world.clock.pass_by(days=1, seconds=1)
    send(world, world.place())
    assert not world.queue.payloads[-1][OVER_SHARE]
