"""The same on SQLite and on PostgreSQL: what depends on how a database stores, compares and refuses."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from service.orders.order import Contact
from service.orders.states import OrderState
from service.store import record_tables
from service.store.tables import orders, proofs
from service.usecases import artworks, looking, ordering, privacy_and_audit, producing, shop
from service.usecases.commands import IdempotencyKey, OrderFilter, PageAsk, Upload

from . import invariants
from .test_shop import sand_more
from .world import CREST, World, bench, content, states


def test_an_order_goes_all_the_way_and_its_record_holds(either_world: World):
    world = either_world
    whole = world.released(("back-wide", "back-left"))
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "ready"
    order = producing.start_production(world.ctx, world.maker, whole.order.id, whole.order.revision).order
    producing.finish_production(world.ctx, world.maker, order.id, order.revision)
    exported = privacy_and_audit.export_order(world.ctx, world.maker, order.id)
    assert exported["order"]["state"] == "done"
    invariants.check(world)


def test_values_come_back_as_they_were(either_world: World):
    world = either_world
    assert shop.get_model(world.ctx, world.maker, "longwalk-bench").layout == bench()
    asked = replace(
        content(), contact=Contact("Ünïcødé 木 \U0001fab5", "a@b.example"), note="two\nlines\t'\"%_\\"
    )
    placed = ordering.place_order(world.ctx, world.visitor, asked).whole
    assert world.look(placed) == placed
    whole = world.upload(placed)
    assert world.look(whole) == whole
    assert whole.carvings[0].placement is not None


@pytest.mark.parametrize("rows", [record_tables.record, proofs], ids=["record", "proofs"])
def test_what_was_decided_cannot_be_changed(either_world: World, rows):
    world = either_world
    world.approved()
    tries = [sa.update(rows).values(digest="0" * 64), sa.delete(rows)]
    if world.database.engine.dialect.name == "postgresql":
        tries.append(sa.text(f"TRUNCATE {rows.name} CASCADE"))
    for statement in tries:
        with pytest.raises(DBAPIError), world.database.writing() as connection:
            connection.execute(statement)
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_lists_are_ordered_and_searched_alike(either_world: World):
    world = either_world
    for index in range(7):
        name = ("Imke Harrowdale", "Åsa Öberg", "zoë 木", "_")[index % 4]
        due = date(2026, 6, 1 + index % 3) if index % 2 else None
        asked = replace(content(), contact=Contact(name, "x@y.example"), needed_by=due)
        ordering.place_order(world.ctx, world.visitor, asked)

    def numbers(size=2, **wanted):
        found, after = [], None
        while True:
            page = looking.list_orders(world.ctx, world.maker, OrderFilter(**wanted), PageAsk(size, after))
            found += [order.number for order in page.items]
            if not page.more:
                return found
            after = page.cursors[-1]

    assert numbers() == [7, 6, 5, 4, 3, 2, 1]
    assert numbers(order_by="needed-by") == [4, 2, 6, 1, 3, 5, 7]
    assert numbers(words="asa") == numbers(words="ÖBERG") == [6, 2]
    assert numbers(words="zoe") == numbers(words="木") == [7, 3]
    assert numbers(words="HARR imk") == [5, 1]
    assert numbers(states=("draft", "submitted"), order_by="needed-by", needed_from=date(2026, 6, 2)) == [
        2, 6, 1, 3, 5, 7,
    ]  # fmt: skip


def test_settings_that_change_outdate_and_erasing_erases(either_world: World):
    world = either_world
    whole = world.approved()
    sand_more(world)
    assert states(world.look(whole)) == ["stale"]
    now = world.look(whole).order
    after = privacy_and_audit.erase_client(world.ctx, world.maker, now.id, now.revision)
    assert after.order.state == "cancelled"
    assert world.blobs.kept == {}
    invariants.check(world)


def test_names_that_no_row_could_have_are_not_found(either_world: World):
    world = either_world
    assert looking.orders_by_ids(world.ctx, world.maker, ["\x00", "\ud800"]) == [None, None]
    assert looking.list_orders(world.ctx, world.maker, OrderFilter(words="\x00\ud800")).items == ()


def test_every_call_that_takes_a_key_keeps_its_answer(either_world: World):
    world = either_world
    placed = [
        ordering.place_order(world.ctx, world.visitor, content(), IdempotencyKey("key-1", "0" * 64))
        for _ in "12"
    ]
    assert placed[0].whole.order.id == placed[1].whole.order.id
    whole = placed[0].whole
    upload = Upload(CREST, "crest.svg", "image/svg+xml", (whole.carvings[0].id,))
    client = world.client(whole.order.id)
    for _ in "12":
        artworks.upload_artwork(world.ctx, client, whole.order.id, upload, IdempotencyKey("key-2", "1" * 64))
    assert len(world.look(whole).artworks) == 1
    copies = [
        ordering.reorder(world.ctx, world.maker, whole.order.id, IdempotencyKey("key-3", "2" * 64))
        for _ in "12"
    ]
    assert copies[0].whole.order.id == copies[1].whole.order.id


def test_counts_follow_every_order(either_world: World):
    world = either_world

    def counted() -> dict[str, int]:
        every = looking.list_orders(world.ctx, world.maker, page=PageAsk(100)).items
        by_hand = Counter(order.state.value for order in every)
        assert looking.count_states(world.ctx, world.maker) == {
            state.value: by_hand[state.value] for state in OrderState
        }
        return dict(by_hand)

    assert counted() == {}
    world.place()
    whole = world.submitted()
    assert counted() == {"draft": 1, "submitted": 1}
    now = world.look(whole).order
    ordering.cancel_order(world.ctx, world.maker, now.id, now.revision, "not this year")
    assert counted() == {"draft": 1, "cancelled": 1}
    with world.database.writing() as connection:
        connection.execute(sa.update(orders).values(state="done"))
    assert counted() == {"done": 2}
    assert set(looking.count_states(world.ctx, world.stranger).values()) == {0}
