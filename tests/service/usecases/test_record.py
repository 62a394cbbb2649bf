"""The record, export, erasure, retention."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from pysqlite3 import dbapi2
from sqlalchemy import delete, inspect, select, text, update
from sqlalchemy.exc import DBAPIError

from service.access.links import find_link
from service.orders.actors import Scope
from service.orders.chain import BEFORE_THE_FIRST
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError
from service.orders.record import EntryKind
from service.recheck import recheck
from service.store import record_tables
from service.store.tables import counters, orders
from service.usecases import (
    approving,
    cutting,
    looking,
    ordering,
    privacy_and_audit,
    producing,
    shop,
    uploading,
)
from service.usecases.commands import OrderFilter, PageAsk, WorkshopContent

from .test_shop import sand_more
from .world import CREST, World, content, shown, states

REASON = "the pavilion burnt down"


def everything_stored(world: World) -> str:
    """Every value of every table, as one text."""
    with world.database.reading() as connection:
        tables = inspect(connection).get_table_names()
        rows = [connection.execute(text(f'SELECT * FROM "{name}"')).all() for name in tables]
    return repr(rows)


def without_guards(world: World, statement) -> None:
    """Tamper with the record, as somebody would who has the database file."""
    with world.database.writing() as connection:
        for trigger in ("record_no_update", "record_no_delete"):
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {trigger}")
        connection.execute(statement)


def finished(world: World):
    order = world.released().order
    after = producing.start_production(world.ctx, world.maker, order.id, order.revision)
    return producing.finish_production(world.ctx, world.maker, order.id, after.order.revision)


@pytest.mark.parametrize(
    "tampering",
    [
        update(record_tables.record).values(actor="maker:somebody-else"),
        update(record_tables.record).values(facts={"waived": ["line-1"]}),
        delete(record_tables.record),
    ],
)
def test_the_database_refuses_to_change_the_record(world: World, tampering):
    world.approved()
    with pytest.raises(DBAPIError, match="never changed"), world.database.writing() as connection:
        connection.execute(tampering)
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_the_database_refuses_to_change_a_proof(world: World):
    from service.store.tables import proofs

    world.approved()
    with pytest.raises(DBAPIError, match="never changed"), world.database.writing() as connection:
        connection.execute(update(proofs).values(verdict="carves"))


@pytest.mark.parametrize("column", ["actor", "kind", "digest", "picture", "at", "facts", "seal", "previous"])
def test_tampering_with_any_entry_is_found_at_that_entry(world: World, column):
    whole = world.approved()
    entries = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    number = entries[1].number
    rows = record_tables.record
    value = {
        "at": world.clock.now().replace(year=2020), "facts": {"forged": True}, "kind": EntryKind.RECALL.value,
    }.get(column, "f" * 64)  # fmt: skip
    mine = (rows.c.workshop_id == world.shop.id) & (rows.c.number == number)
    without_guards(world, update(rows).where(mine).values({column: value}))
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert fault.number == number
    assert privacy_and_audit.verify_record(world.ctx, world.stranger) is None


def test_removed_entries_and_particulars_are_found(world: World):
    world.approved()
    rows, people = record_tables.record, record_tables.record_particulars
    last = privacy_and_audit.list_record(world.ctx, world.maker).items[0].number
    with world.database.writing() as connection:
        connection.execute(
            delete(people).where(people.c.number == last, people.c.workshop_id == world.shop.id)
        )
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert (fault.number, "no erasure" in fault.reason) == (last, True)
    without_guards(world, delete(rows).where(rows.c.number == last, rows.c.workshop_id == world.shop.id))
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert fault.number == last


def cut_off(world: World, first: int) -> None:
    """Remove the end of the record from entry ``first`` on, and make its head fit."""
    rows, people, heads = record_tables.record, record_tables.record_particulars, record_tables.record_heads
    for table in (rows, people):
        gone = delete(table).where(table.c.number >= first, table.c.workshop_id == world.shop.id)
        without_guards(world, gone)
    with world.database.reading() as connection:
        last = connection.execute(
            select(rows.c.this).where(rows.c.number == first - 1, rows.c.workshop_id == world.shop.id)
        ).scalar_one()
    head = update(heads).where(heads.c.workshop_id == world.shop.id)
    without_guards(world, head.values(number=first - 1, this=last))


def test_a_removed_end_is_found_though_the_head_fits(world: World):
    """By the order that the last entry is about; so would settings be by the workshop's counters."""
    whole = world.approved()
    last = privacy_and_audit.list_record(world.ctx, world.maker).items[0]
    cut_off(world, last.number)
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert (fault.number, f"order {whole.order.number}" in fault.reason) == (last.number, True)


def test_a_removed_entry_about_the_shop_is_found_though_the_head_fits(world: World):
    sand_more(world)
    last = privacy_and_audit.list_record(world.ctx, world.maker).items[0]
    assert last.order_id is None
    cut_off(world, last.number)
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert (fault.number, "settings" in fault.reason) == (last.number, True)


def without_order(world: World, order_id: str) -> None:
    """Remove an order's row, past every constraint."""
    file = dbapi2.connect(world.database.engine.url.database)
    with file:
        file.execute("DELETE FROM orders WHERE id = ?", (order_id,))
    file.close()


def test_a_removed_order_is_found_by_its_number_and_by_the_record(world: World):
    kept, draft = world.place(), world.place()
    without_order(world, draft.order.id)
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert (fault.number, fault.reason) == (0, "Order 2 is gone, with all that was on record about it.")
    sent = world.submit(world.upload(kept))
    number = privacy_and_audit.list_record(world.ctx, world.maker).items[0].number
    without_order(world, sent.order.id)
    fault = privacy_and_audit.verify_record(world.ctx, world.maker)
    assert fault is not None
    assert (fault.number, "that is gone" in fault.reason) == (number, True)


def test_a_checkpoint_kept_elsewhere_finds_what_was_made_to_fit_everywhere(world: World, tmp_path):
    """Whoever has the database can rewrite all of it, witnesses and signatures too; not what lies elsewhere."""
    world.approved()
    kept = tmp_path / "checkpoints.jsonl"
    assert recheck(world.ctx, kept).bad == []
    assert [json.loads(line)["workshop"] for line in kept.read_text().splitlines()] == ["fenwick", "oxbarrow"]
    last = privacy_and_audit.list_record(world.ctx, world.maker).items[0].number
    cut_off(world, last)
    for rows in (orders, counters):
        without_guards(world, update(rows).where(rows.c.recorded == last).values(recorded=0))
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    said = recheck(world.ctx, kept)
    assert said.bad == [f"oxbarrow: Entry {last} is missing; a checkpoint kept elsewhere names it."]
    assert len(kept.read_text().splitlines()) == 2  # nothing is added while something is wrong
    world.approved()  # the chain grows again over the gap
    assert "is not what it was" in recheck(world.ctx, kept).bad[0]


def test_a_changed_checkpoint_is_no_checkpoint(world: World, tmp_path):
    kept = tmp_path / "checkpoints.jsonl"
    recheck(world.ctx, kept)
    kept.write_text(kept.read_text().replace('"oxbarrow"', '"elsewhere"') + "no json\n")
    said = recheck(world.ctx, kept)
    assert [words.split(": ", 1)[1][:9] for words in said.bad[:2]] == ["this line", "this line"]


def test_the_record_is_read_newest_first_by_those_it_is_for(world: World):
    whole = world.approved()
    count = privacy_and_audit.list_record(world.ctx, world.maker).items[0].number
    numbers, after = [], None
    while True:
        page = privacy_and_audit.list_record(world.ctx, world.helper, PageAsk(2, after))
        numbers += [entry.number for entry in page.items]
        if not page.more:
            break
        after = page.cursors[-1]
    assert numbers == list(range(count, 0, -1))
    for actor in (world.client(whole.order.id), world.site(*Scope), world.visitor):
        with pytest.raises(NotAllowedError):
            privacy_and_audit.list_record(world.ctx, actor)
        with pytest.raises(NotAllowedError):
            privacy_and_audit.verify_record(world.ctx, actor)
    assert privacy_and_audit.list_record(world.ctx, world.stranger).items[-1].previous == BEFORE_THE_FIRST


@pytest.mark.parametrize(
    "cursor", ["", "!!", "bm9wZQ", "WyJhdCJd", "W10", "WzFd", "[" * 5000, "WyJlbnRyeSIsMWUzMDhd"]
)
def test_bad_cursors_are_refused_in_words(world: World, cursor):
    for ask in (privacy_and_audit.list_record, producing.list_batches):
        with pytest.raises(InvalidError, match="cursor"):
            ask(world.ctx, world.maker, PageAsk(5, cursor))
    with pytest.raises(InvalidError, match="cursor"):
        looking.list_orders(world.ctx, world.maker, page=PageAsk(5, cursor))


@pytest.mark.parametrize("first", [0, -1, 101])
def test_pages_have_a_size(world: World, first):
    with pytest.raises(InvalidError):
        privacy_and_audit.list_record(world.ctx, world.maker, PageAsk(first))


def test_an_export_holds_everything_about_an_order_as_json(world: World):
    whole = world.released()
    for actor in (
        world.client(whole.order.id),
        world.maker,
        world.site(Scope.ORDERS_READ, Scope.ORDERS_EXPORT),
    ):
        exported = privacy_and_audit.export_order(world.ctx, actor, whole.order.id)
        told = json.loads(json.dumps(exported, allow_nan=False))
        assert told["order"]["contact"]["email"] == "imke@quillfern.example"
        assert told["artworks"][0]["sha256"] == whole.artworks[0].sha256
        assert [each["kind"] for each in told["decisions"]][-1] == "release"
        assert told["letters"]
        assert told["proofs"][0]["check"]["verdict"] == "carves"
    with pytest.raises(NotFoundError):
        privacy_and_audit.export_order(world.ctx, world.stranger, whole.order.id)
    for actor in (world.helper, world.site(Scope.ORDERS_READ, Scope.ORDERS_WRITE)):
        with pytest.raises(NotAllowedError):
            privacy_and_audit.export_order(world.ctx, actor, whole.order.id)


def test_an_erased_client_leaves_no_trace_but_the_record_holds(world: World):
    placed = ordering.place_order(world.ctx, world.visitor, content())
    world.upload(placed.whole)
    fields = {"filename": "quillfern.svg", "carvings": placed.whole.carvings[0].id}
    begun = uploading.begin_upload(world.ctx, world.maker, placed.whole.order.id, 99, fields)
    uploading.go_on(world.ctx, world.maker, begun.id, 0, b"<svg> of quillfern")
    whole = world.submit(placed.whole)
    order = whole.order
    whole = ordering.cancel_order(world.ctx, world.client(order.id), order.id, order.revision, REASON)
    before = looking.decisions_by_order_ids(world.ctx, world.maker, [order.id])[0]
    after = privacy_and_audit.erase_client(world.ctx, world.maker, order.id, whole.order.revision)
    assert after.order.erased_at == world.clock.now()
    assert (after.artworks, after.readings, after.proofs) == ((), (), ())
    stored = everything_stored(world)
    for trace in ("Imke", "imke", "Quillfern", "quillfern", "192.0.2.7", "crest.svg", REASON):
        assert trace not in stored, trace
    assert world.blobs.kept == {}
    entries = looking.decisions_by_order_ids(world.ctx, world.maker, [order.id])[0]
    assert [entry.this for entry in entries[:-1]] == [entry.this for entry in before]
    assert [entry.particulars for entry in entries[:-1]] == [None] * len(before)
    assert entries[-1].kind is EntryKind.ERASURE
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    with world.database.reading() as connection:
        assert find_link(connection, placed.link_token, world.clock.now()) is None
    with pytest.raises(ConflictError, match="erased"):
        ordering.reorder(world.ctx, world.maker, order.id)


def test_an_open_order_is_cancelled_by_erasing_it(world: World):
    whole = world.approved()
    after = privacy_and_audit.erase_client(world.ctx, world.maker, whole.order.id, whole.order.revision)
    assert (after.order.state, states(after)) == ("cancelled", ["no-art"])


def test_what_is_at_the_bench_is_not_erased_and_only_makers_erase(world: World):
    whole = world.released()
    order = whole.order
    with pytest.raises(ConflictError, match="at the bench"):
        privacy_and_audit.erase_client(world.ctx, world.maker, order.id, order.revision)
    for actor in (world.client(order.id), world.helper, world.site(*Scope)):
        with pytest.raises(NotAllowedError):
            privacy_and_audit.erase_client(world.ctx, actor, order.id, order.revision)
        with pytest.raises(NotAllowedError):  # before anything is told of the order's revision
            privacy_and_audit.erase_client(world.ctx, actor, order.id, 999)
    with pytest.raises(NotFoundError):
        privacy_and_audit.erase_client(world.ctx, world.stranger, order.id, order.revision)


def test_erasing_takes_the_archives_too_and_spares_what_others_share(world: World):
    first, second = finished(world), world.released()
    batch = producing.take_batch(world.ctx, world.maker, (first.order.id, second.order.id))
    world.work()
    archive = producing.get_batch(world.ctx, world.maker, batch.id).archive
    privacy_and_audit.erase_client(world.ctx, world.maker, first.order.id, first.order.revision)
    withdrawn = producing.get_batch(world.ctx, world.maker, batch.id)
    assert (withdrawn.state, withdrawn.archive) == ("failed", None)
    assert archive not in world.blobs.kept
    assert world.blobs.get(second.artworks[0].sha256) == CREST  # the same file, sent by both
    assert world.blobs.get(second.proofs[0].picture)
    assert privacy_and_audit.wanted_blobs(world.ctx) <= set(world.blobs.kept)
    with pytest.raises(ConflictError, match="release it first"):
        producing.take_batch(world.ctx, world.maker, (first.order.id,))


def test_work_that_comes_after_an_erasure_does_nothing(world: World):
    from service.usecases import artworks, jobs
    from service.usecases.commands import Upload

    whole = world.place()
    upload = Upload(CREST, "crest.svg", carving_ids=tuple(c.id for c in whole.carvings))
    artworks.upload_artwork(world.ctx, world.maker, whole.order.id, upload)
    with world.database.reading() as connection:
        payload = connection.execute(select(record_tables.jobs.c.payload)).scalar_one()
    privacy_and_audit.erase_client(world.ctx, world.maker, whole.order.id, whole.order.revision)
    jobs.read_artwork_job(world.ctx, payload)
    jobs.fail_job(world.ctx, payload, "x")
    assert world.blobs.kept == {}


def test_unused_art_is_kept_as_long_as_the_workshop_says(world: World):
    now = shop.get_settings(world.ctx, world.maker).workshop
    asked = WorkshopContent(now.name, now.allowances, now.usual_bit, 30)
    shop.save_workshop(world.ctx, world.maker, asked, now.revision)
    idle, released = world.submitted(), world.released()
    world.clock.pass_by(days=29)
    active = world.upload(world.place())
    assert privacy_and_audit.sweep_retention(world.ctx) == ()
    world.clock.pass_by(days=2)
    assert privacy_and_audit.sweep_retention(world.ctx) == (idle.order.id,)
    assert world.look(idle).order.erased_at is not None
    assert world.look(released).order.erased_at is None
    assert world.look(active).order.erased_at is None
    assert privacy_and_audit.sweep_retention(world.ctx) == ()
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_every_blob_that_is_needed_is_wanted(world: World):
    whole = world.released()
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    looking.proof_drawing(world.ctx, world.maker, whole.proofs[0].id, "svg")
    archive = producing.get_batch(world.ctx, world.maker, batch.id).archive
    wanted = privacy_and_audit.wanted_blobs(world.ctx)
    assert archive in wanted
    assert wanted <= set(world.blobs.kept)
    left = {digest for digest in world.blobs.kept if digest not in wanted}
    assert not left & {whole.artworks[0].sha256, whole.proofs[0].picture, whole.proofs[0].digest}


def test_housekeeping_sweeps_what_nobody_names_after_a_day(world: World):
    whole = world.released()
    orphan = world.blobs.put(b"an upload that was never named")
    assert privacy_and_audit.sweep(world.ctx).blobs == ()
    world.blobs.age = timedelta(hours=25)
    swept = privacy_and_audit.sweep(world.ctx)
    assert swept.blobs == (orphan,)
    assert privacy_and_audit.wanted_blobs(world.ctx) == set(world.blobs.kept)
    assert world.look(whole) == whole


def test_what_was_only_tried_goes_a_day_later_and_what_was_decided_stays(either_world: World):
    world = either_world
    whole = world.upload(world.place())
    client = world.client(whole.order.id)
    for step in (1, 2, 3):
        carving = world.look(whole).carvings[0]
        moved = replace(carving.placement, x=carving.placement.x + 0.5 * step)
        cutting.place(world.ctx, client, carving.id, carving.revision, moved)
        world.work()
        if step == 1:  # the workshop says no to this one, in the record
            world.submit(whole)
            approving.reject(world.ctx, world.maker, shown(world.look(whole))[0], "too far up")
    before = looking.proofs_by_carving_ids(world.ctx, world.maker, [whole.carvings[0].id])[0]
    assert [proof.number for proof in before] == [4, 3, 2, 1]
    assert privacy_and_audit.sweep_tried(world.ctx) == 0, "not on the day itself"
    world.clock.pass_by(days=1, seconds=1)
    assert privacy_and_audit.sweep_tried(world.ctx) == 2
    after = looking.proofs_by_carving_ids(world.ctx, world.maker, [whole.carvings[0].id])[0]
    assert [proof.number for proof in after] == [4, 2]
    world.blobs.age = timedelta(hours=25)
    assert {before[1].picture, before[3].picture} <= set(privacy_and_audit.sweep(world.ctx).blobs)
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_ids_that_could_not_be_ids_are_not_found(world: World):
    for bad in ("", "\x00", "../../etc", "\ud800", "a" * 10_000):
        for ask in (looking.get_order, looking.get_job, looking.proof_picture, producing.get_batch):
            with pytest.raises(NotFoundError):
                ask(world.ctx, world.maker, bad)
        assert looking.orders_by_ids(world.ctx, world.maker, [bad]) == [None]
        with pytest.raises(NotFoundError):
            shop.find_workshop(world.ctx, bad)


@pytest.mark.parametrize(
    "wanted",
    [
        OrderFilter(states=("\x00",)),
        OrderFilter(carving_states=("gone",)),
        OrderFilter(verdicts=("maybe",)),
        OrderFilter(order_by=""),
    ],
)
def test_filters_that_do_not_exist_are_named(world: World, wanted):
    with pytest.raises(InvalidError, match="Choose among"):
        looking.list_orders(world.ctx, world.maker, wanted)
