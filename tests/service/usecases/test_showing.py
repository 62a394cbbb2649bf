"""Pictures that are worked out once for all who are shown the same."""

from __future__ import annotations

from service.usecases import showing
from service.usecases.answers import OrderAggregate
from tests.service.usecases.test_marking import RING
from tests.service.usecases.world import World


def test_orders_with_the_same_art_share_the_picture_of_the_piece(real_world: World):
    world = real_world

    def seen(whole: OrderAggregate) -> bytes:
        client, line = world.client(whole.order.id), whole.lines[0].id
        return showing.piece_view(world.ctx, client, whole.order.id, line, "fresh")

    one, another = (world.offered(data=RING % b"30") for _ in range(2))
    assert one.proofs[0].id != another.proofs[0].id
    assert seen(one) == seen(another)
    assert world.compute.calls.count("piece") == 1
    assert seen(world.offered(data=RING % b"20")) != seen(one)
    assert world.compute.calls.count("piece") == 2
