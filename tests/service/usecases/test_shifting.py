"""A knot under a letter: one board's art shifted within what was signed, judged and drawn like any other."""

from __future__ import annotations

import io
import zipfile

import ezdxf
import numpy as np
import pytest

from service.orders.errors import ConflictError, InvalidError, NotAllowedError
from service.orders.items import ItemState
from service.orders.record import EntryKind
from service.usecases import approving, items, joint_boards, looking, ordering, producing, shifting
from service.usecases.answers import OrderAggregate
from tests.service.usecases.world import World, shown

KEY = "1-3-1-back-wide"


def released(world: World, allowed: float) -> OrderAggregate:
    whole = world.submitted()
    order = whole.order
    changes = {"may_shift": allowed}
    ordering.amend_order(world.ctx, world.client(order.id), order.id, order.revision, changes)
    approving.offer_proofs(world.ctx, world.maker, order.id, shown(whole))
    world.sign(world.look(whole))
    done = approving.find_feasible(world.ctx, world.maker, order.id, shown(world.look(whole)))
    return producing.release(world.ctx, world.maker, order.id, done.order.revision, shown(done))


def middle(data: bytes) -> np.ndarray:
    """The middle of the art of a drawing in slat mm."""
    drawn = ezdxf.read(io.StringIO(data.decode())).modelspace()
    art = np.concatenate([list(line.get_points("xy")) for line in drawn.query("LWPOLYLINE[layer=='ART']")])
    return (art.min(axis=0) + art.max(axis=0)) / 2


def middle_on_bed(data: bytes, key: str) -> np.ndarray:
    """The middle of the art of the part with that key on its label, mm from the part's lower left corner."""
    space = ezdxf.read(io.StringIO(data.decode())).modelspace()
    (label,) = [text.dxf.insert for text in space.query("TEXT") if f" {key} " in text.dxf.text]
    rings = [
        np.array(list(line.get_points("xy")))
        for line in space.query("LWPOLYLINE[layer=='STRAIGHT_CUT_THROUGH']")
    ]
    (part,) = [
        ring
        for ring in rings
        if (ring.min(axis=0) <= label.vec2).all() and (ring.max(axis=0) >= label.vec2).all()
    ]
    carved = np.concatenate(
        [list(line.get_points("xy")) for line in space.query("LWPOLYLINE") if "CARVE" in line.dxf.layer]
    )
    here = carved[((carved > part.min(axis=0)) & (carved < part.max(axis=0))).all(axis=1)]
    return (here.min(axis=0) + here.max(axis=0)) / 2 - part.min(axis=0)


def test_one_board_is_shifted_as_far_as_was_signed_and_drawn_so(real_world: World):
    world = real_world
    whole = released(world, 10.0)
    order = whole.order.id
    done = shifting.shift_item(world.ctx, world.helper, order, KEY, x=0.0, y=-10.0)
    assert (done.shift_x, done.shift_y, done.digest) == (0.0, -10.0, whole.proofs[0].digest)
    plain, moved = (
        middle(shifting.item_drawing(world.ctx, world.helper, order, key, "dxf").data)
        for key in ("1-4-1-back-wide", KEY)
    )
    assert moved - plain == pytest.approx([0.0, -10.0], abs=0.02)
    beds = zipfile.ZipFile(io.BytesIO(joint_boards.joint_sheets(world.ctx, world.helper, (order,))))
    with_knot, without = (middle_on_bed(beds.read("bed-01.dxf"), key) for key in (KEY, "1-4-1-back-wide"))
    assert with_knot - without == pytest.approx([0.0, -10.0], abs=0.02)
    others = [
        item for item in items.list_items(world.ctx, world.maker, order) if item.shift_x or item.shift_y
    ]
    assert [item.key for item in others] == [KEY]
    entries = looking.decisions_by_order_ids(world.ctx, world.maker, [order])[0]
    (entry,) = [each for each in entries if each.kind is EntryKind.SHIFT]
    assert entry.facts == {"item": KEY, "by": [0.0, -10.0], "allowed": 10.0}
    for x, y in ((0.1, -10.0), (float("nan"), 0.0)):
        with pytest.raises(InvalidError):
            shifting.shift_item(world.ctx, world.maker, order, KEY, x=x, y=y)
    assert shifting.shift_item(world.ctx, world.maker, order, KEY, x=0.0, y=0.0).shift_x == 0.0


def test_what_would_not_carve_there_is_refused(real_world: World):
    world = real_world
    whole = released(world, 50.0)
    with pytest.raises(ConflictError) as refused:
        shifting.shift_item(world.ctx, world.maker, whole.order.id, KEY, x=45.0, y=0.0)
    assert refused.value.code in {"will-not-carve", "remarks-open"}


def test_nothing_is_shifted_without_the_client_or_after_it_is_carved(world: World):
    whole = released(world, 0.0)
    order = whole.order.id
    with pytest.raises(InvalidError, match="0 mm at most"):
        shifting.shift_item(world.ctx, world.maker, order, KEY, x=1.0, y=0.0)
    with pytest.raises(NotAllowedError):
        shifting.shift_item(world.ctx, world.client(order), order, KEY, x=1.0, y=0.0)
    with pytest.raises(InvalidError, match="No client's art"):
        shifting.shift_item(world.ctx, world.maker, order, "1-3-1-leg", x=0.0, y=0.0)
    items.tick_items(world.ctx, world.maker, order, (KEY,), seen=ItemState.TO_CARVE, to=ItemState.CARVED)
    with pytest.raises(ConflictError, match="carved already"):
        shifting.shift_item(world.ctx, world.maker, order, KEY, x=0.0, y=0.0)


def test_what_the_client_allows_after_signing_allows_nothing(world: World):
    whole = world.released()
    order = whole.order
    recalled = producing.recall(world.ctx, world.maker, order.id, order.revision, "More is allowed.")
    ordering.amend_order(
        world.ctx, world.client(order.id), order.id, recalled.order.revision, {"may_shift": 9.0}
    )
    now = world.look(whole)
    producing.release(world.ctx, world.maker, order.id, now.order.revision, shown(now))
    with pytest.raises(InvalidError, match="0 mm at most"):
        shifting.shift_item(world.ctx, world.maker, order.id, KEY, x=1.0, y=0.0)
