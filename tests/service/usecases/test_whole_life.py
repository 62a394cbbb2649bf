"""The whole life of an order, with the real engine and a real database."""

from __future__ import annotations

from service.orders.states import CarvingState, OrderState
from service.usecases import keeping, looking, producing

from .world import World, only, shown, states


def test_an_order_goes_from_draft_to_done(world: World):
    whole = world.place()
    assert whole.order.state is OrderState.DRAFT
    whole = world.upload(whole)
    (proof,) = whole.proofs
    assert only(whole).state is CarvingState.CHECKED
    assert proof.verdict in ("carves", "carves-with-remarks")
    whole = world.released()
    assert states(whole) == ["released"]
    order = whole.order
    batch = producing.take_batch(world.ctx, world.helper, (order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.helper, batch.id)
    assert batch.state == "ready", batch.message
    whole = producing.start_production(world.ctx, world.helper, order.id, order.revision)
    whole = producing.finish_production(world.ctx, world.helper, order.id, whole.order.revision)
    assert whole.order.state is OrderState.DONE
    assert keeping.verify_record(world.ctx, world.maker) is None
    kinds = [entry.kind.value for entry in looking.decisions_by_order_ids(world.ctx, world.maker, [order.id])[0]]
    expected = ["submission", "offer", "sign-off", "feasibility", "release", "production", "production"]
    assert [kind for kind in kinds if kind != "waiver"] == expected
    assert shown(whole)
