"""From approval to the bench and back."""

from __future__ import annotations

import errno
from dataclasses import replace

import pytest

from service.orders.actors import Scope
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.record import EntryKind
from service.usecases import approving, cutting, jobs, looking, ordering, privacy_and_audit, producing
from service.usecases.commands import IdempotencyKey, PageAsk
from service.usecases.progress import Progress

from .test_shop import sand_more
from .world import World, one, only, shown, states


def take(world: World, *orders: str, once=None):
    return producing.take_batch(world.ctx, world.maker, orders, once)


def test_a_second_release_by_a_second_maker_is_stale(world: World):
    whole = world.approved()
    order = whole.order
    producing.release(world.ctx, world.maker, order.id, order.revision, shown(whole))
    other = replace(world.maker, account_id="account-2")
    with pytest.raises(StaleError):
        producing.release(world.ctx, other, order.id, order.revision, shown(whole))
    releases = [
        e for e in privacy_and_audit.list_record(world.ctx, world.maker).items if e.kind is EntryKind.RELEASE
    ]
    assert len(releases) == 1


def test_nothing_can_be_done_to_a_released_carving_but_recalling_it(world: World):
    whole = world.released()
    carving, proof = only(whole), whole.proofs[0]
    client = world.client(whole.order.id)
    for attempt in (
        lambda: cutting.place(world.ctx, world.maker, carving.id, carving.revision, carving.placement),
        lambda: cutting.check_again(world.ctx, client, carving.id, carving.revision),
        lambda: approving.ask_for_change(world.ctx, client, one(proof), "wait"),
        lambda: approving.reject(world.ctx, world.maker, one(proof), "no"),
        lambda: approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole)),
    ):
        with pytest.raises(ConflictError):
            attempt()
    assert world.look(whole) == whole


def test_a_recall_keeps_the_approvals_and_needs_a_new_release(world: World):
    whole = world.released()
    order = whole.order
    with pytest.raises(InvalidError):
        producing.recall(world.ctx, world.maker, order.id, order.revision, "")
    with pytest.raises(NotAllowedError):
        producing.recall(world.ctx, world.helper, order.id, order.revision, "x")
    after = producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
    assert (after.order.state, after.order.released_at, states(after)) == ("submitted", None, ["approved"])
    again = producing.release(world.ctx, world.maker, order.id, after.order.revision, shown(after))
    assert again.order.state == "released"
    kinds = [entry.kind for entry in looking.decisions_by_order_ids(world.ctx, world.maker, [order.id])[0]]
    assert kinds[-3:] == [EntryKind.RELEASE, EntryKind.RECALL, EntryKind.RELEASE]


def test_a_recall_after_settings_changed_leaves_nothing_approved(world: World):
    whole = world.released()
    sand_more(world)
    assert states(world.look(whole)) == ["released"]
    order = whole.order
    after = producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
    assert states(after) == ["stale"]
    assert (after.proofs[0].signed_at, bool(after.proofs[0].stale_because)) == (None, True)


def test_production_is_started_and_finished_by_whoever_is_at_the_bench(world: World):
    whole = world.released()
    order = whole.order
    client = world.client(order.id)
    for step in (producing.start_production, producing.finish_production):
        with pytest.raises(NotAllowedError):
            step(world.ctx, client, order.id, order.revision)
    with pytest.raises(ConflictError):
        producing.finish_production(world.ctx, world.helper, order.id, order.revision)
    after = producing.start_production(world.ctx, world.helper, order.id, order.revision)
    after = producing.finish_production(world.ctx, world.helper, order.id, after.order.revision)
    assert after.order.state == "done"


def test_only_released_orders_leave_in_a_batch(world: World):
    ready, waiting = world.released(), world.approved()
    with pytest.raises(ConflictError, match=f"Order {waiting.order.number} is submitted"):
        take(world, ready.order.id, waiting.order.id)
    for ids in ((), (ready.order.id,) * 2):
        with pytest.raises(InvalidError):
            take(world, *ids)
    with pytest.raises(NotFoundError):
        producing.take_batch(world.ctx, world.stranger, (ready.order.id,))
    for actor in (world.client(ready.order.id), world.site(*(set(Scope) - {Scope.BATCHES_WRITE}))):
        with pytest.raises(NotAllowedError):
            producing.take_batch(world.ctx, actor, (ready.order.id,))
    assert producing.list_batches(world.ctx, world.maker).items == ()


def test_the_same_releases_are_the_same_batch_and_the_same_bytes(world: World):
    one_order, two = world.released(), world.released()
    batch = take(world, two.order.id, one_order.order.id)
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    assert batch.state == "ready", batch.message
    assert batch.order_ids == (one_order.order.id, two.order.id)
    world.clock.pass_by(days=3)
    assert take(world, one_order.order.id, two.order.id) == batch
    assert world.work() == 0
    # made from nothing once more, after the orders have gone on
    producing.start_production(world.ctx, world.maker, two.order.id, two.order.revision)
    archive = world.blobs.kept.pop(batch.archive)
    with world.database.writing() as connection:
        from service.orders.work import BatchState
        from service.store import jobs as stored

        stored.finish_batch(connection, replace(batch, state=BatchState.FAILED, archive=None, size=None))
    again = take(world, one_order.order.id, two.order.id)
    assert (again.id, again.state) == (batch.id, "waiting")
    world.work()
    again = producing.get_batch(world.ctx, world.maker, batch.id)
    assert again.archive == batch.archive
    assert world.blobs.get(again.archive or "") == archive


def test_another_release_is_another_batch(world: World):
    whole = world.released()
    order = whole.order
    first = take(world, order.id)
    after = producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
    producing.release(world.ctx, world.maker, order.id, after.order.revision, shown(after))
    assert take(world, order.id).id != first.id


def test_a_release_taken_back_while_the_batch_waits_fails_it(world: World):
    whole = world.released()
    order = whole.order
    batch = take(world, order.id)
    producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
    world.work()
    failed = producing.get_batch(world.ctx, world.maker, batch.id)
    assert (failed.state, failed.archive) == ("failed", None)
    assert "taken back" in failed.message
    with pytest.raises(ConflictError, match="taken back"):
        looking.batch_file(world.ctx, world.maker, batch.id)


def test_a_release_taken_back_while_the_archive_is_made_fails_it(world: World, monkeypatch):
    whole = world.released()
    order = whole.order
    batch = take(world, order.id)
    put = world.blobs.put

    def meanwhile(data):
        digest = put(data)
        if not isinstance(data, bytes):
            producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
        return digest

    monkeypatch.setattr(world.blobs, "put", meanwhile)
    world.work()
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "failed"


@pytest.mark.parametrize("what", ["artwork", "picture", "facts"])
@pytest.mark.parametrize("how", ["missing", "changed"])
def test_damaged_files_are_named_and_nothing_is_exported_half(world: World, what, how):
    whole = world.released()
    proof, file = whole.proofs[0], whole.artworks[0]
    digest = {
        "artwork": file.sha256, "picture": proof.picture, "facts": proof.digest,
    }[what]  # fmt: skip
    before = set(world.blobs.kept)
    if how == "missing":
        del world.blobs.kept[digest]
    else:
        world.blobs.damage(digest)
    batch = take(world, whole.order.id)
    world.work()
    failed = producing.get_batch(world.ctx, world.maker, batch.id)
    assert failed.state == "failed"
    assert digest in failed.message
    assert failed.archive is None
    left = {digest for digest, data in world.blobs.kept.items() if data.startswith(b"PK")}
    assert left <= before


def test_batches_are_listed_newest_first(world: World):
    made = []
    for _ in range(5):
        world.clock.pass_by(minutes=1)
        made.append(take(world, world.released().order.id).id)
    first = producing.list_batches(world.ctx, world.helper, PageAsk(3))
    assert [batch.id for batch in first.items] == made[::-1][:3]
    assert first.more
    rest = producing.list_batches(world.ctx, world.helper, PageAsk(3, first.cursors[-1]))
    assert [batch.id for batch in rest.items] == made[::-1][3:]
    assert not rest.more
    assert producing.list_batches(world.ctx, world.stranger).items == ()
    with pytest.raises(NotAllowedError, match=r"batches\.read"):
        producing.list_batches(world.ctx, world.site(Scope.ORDERS_READ))
    with pytest.raises(NotFoundError):
        producing.get_batch(world.ctx, world.stranger, made[0])


def test_a_batch_that_is_given_up_can_be_asked_for_again(world: World):
    whole = world.released()
    batch = take(world, whole.order.id, once=IdempotencyKey("b", "d" * 64))
    with world.database.reading() as connection:
        from sqlalchemy import select

        from service.store.record_tables import jobs as rows

        job = connection.execute(select(rows).where(rows.c.kind == "batch")).one()
    jobs.fail_job(world.ctx, job.payload, "disk full")
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "failed"
    assert take(world, whole.order.id, once=IdempotencyKey("b", "d" * 64)).state == "failed"
    assert take(world, whole.order.id).state == "waiting"
    world.work()
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "ready"
    Progress(world.ctx, job.id, "prove").done()
    jobs.fail_job(world.ctx, job.payload, "too late")
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "ready"


def test_a_cancelled_order_leaves_in_no_batch(world: World):
    whole = world.released()
    order = whole.order
    ordering.cancel_order(world.ctx, world.maker, order.id, order.revision, "agreed")
    with pytest.raises(ConflictError, match="cancelled"):
        take(world, order.id)


def test_a_full_disk_leaves_nothing_half_made_and_the_batch_comes_once_there_is_room(
    world: World, monkeypatch
):
    whole = world.released()
    batch = take(world, whole.order.id)
    put = world.blobs.put

    def full(data):
        if isinstance(data, bytes):
            return put(data)
        next(data)  # the archive has begun
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(world.blobs, "put", full)
    with pytest.raises(OSError, match="No space left"):
        world.work()
    waiting = producing.get_batch(world.ctx, world.maker, batch.id)
    assert (waiting.state, waiting.archive) == ("waiting", None)
    monkeypatch.setattr(world.blobs, "put", put)
    with world.database.writing() as connection:
        connection.exec_driver_sql("UPDATE jobs SET state = 'waiting'")  # the queue asks again
    world.work()
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "ready"


def test_a_damaged_proof_is_named_and_nothing_is_exported(world: World):
    whole = world.released()
    batch = take(world, whole.order.id)
    world.blobs.damage(whole.proofs[0].picture)
    world.work()
    failed = producing.get_batch(world.ctx, world.maker, batch.id)
    assert (failed.state, failed.archive) == ("failed", None)
    assert whole.proofs[0].picture in failed.message
    assert "Restore it from a backup" in failed.message
