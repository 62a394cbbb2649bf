"""Work that was given up is on a list, and goes on when a person asks for it again."""

from __future__ import annotations

import pytest

from service.orders.errors import ConflictError, NotAllowedError, NotFoundError
from service.orders.states import CarvingState
from service.orders.work import JobKind, JobState
from service.usecases import artworks, cutting, jobs, looking, ordering, producing, retrying, suites
from service.usecases.answers import OrderAggregate

from . import invariants
from .test_artworks_and_cuts import only, send
from .test_suites import RULE
from .world import World, states


def newest(world: World, whole: OrderAggregate, kind: JobKind):
    found = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    return next(job for job in found if job.kind is kind and job.state is JobState.WAITING)


def give_up(world: World, job, **more) -> None:
    payload = {"job": job.id, "workshop": world.shop.id, "subject": job.subject_id, **more}
    jobs.fail_job(world.ctx, payload, "the wood was on fire")


def reading_given_up(world: World) -> OrderAggregate:
    whole = send(world, world.place(("back-wide", "back-left")))
    give_up(world, newest(world, whole, JobKind.READ_ARTWORK))
    return world.look(whole)


def test_a_reading_that_was_given_up_goes_on(either_world: World):
    world = either_world
    whole = reading_given_up(world)
    assert states(whole) == ["refused", "refused"]
    (listed,) = retrying.list_given_up(world.ctx, world.helper)
    assert (listed.order_number, listed.job.message) == (whole.order.number, "the wood was on fire")
    asked = retrying.retry_work(world.ctx, world.maker, listed.job.id)
    assert asked.state is JobState.WAITING
    assert asked.id != listed.job.id
    assert retrying.list_given_up(world.ctx, world.maker) == ()
    world.work()
    after = world.look(whole)
    assert states(after) == ["checked", "checked"]
    assert all(carving.trouble is None for carving in after.carvings)
    invariants.check(world)


def test_a_check_that_was_given_up_goes_on(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    after = only(cutting.check_again(world.ctx, world.maker, carving.id, carving.revision))
    job = newest(world, whole, JobKind.PROVE)
    give_up(world, job, revision=after.revision)
    assert only(world.look(whole)).state is CarvingState.REFUSED
    retrying.retry_work(world.ctx, world.maker, job.id)
    world.work()
    assert states(world.look(whole)) == ["checked"]


def test_a_batch_that_was_given_up_goes_on(world: World):
    whole = world.released()
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    (kind, key) = world.queue.asked[-1]
    assert kind == "batch"
    give_up(world, looking.get_job(world.ctx, world.maker, key))
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "failed"
    (listed,) = retrying.list_given_up(world.ctx, world.maker)
    assert listed.order_number is None
    retrying.retry_work(world.ctx, world.maker, key)
    world.work()
    assert producing.get_batch(world.ctx, world.maker, batch.id).state == "ready"


def test_what_nothing_waits_for_any_more_is_closed(world: World):
    whole = reading_given_up(world)
    (listed,) = retrying.list_given_up(world.ctx, world.maker)
    for carving in whole.carvings:  # somebody helped themselves meanwhile
        artworks.use_artwork(world.ctx, world.maker, carving.id, carving.revision, carving.artwork_id)
        whole = world.look(whole)
    world.work()
    closed = retrying.retry_work(world.ctx, world.maker, listed.job.id)
    assert (closed.id, closed.state, closed.stage) == (listed.job.id, JobState.DONE, "no longer needed")
    assert retrying.list_given_up(world.ctx, world.maker) == ()


def test_the_work_of_a_cancelled_order_is_closed(world: World):
    whole = reading_given_up(world)
    (listed,) = retrying.list_given_up(world.ctx, world.maker)
    client = world.client(whole.order.id)
    ordering.cancel_order(world.ctx, client, whole.order.id, whole.order.revision, "no more")
    assert retrying.retry_work(world.ctx, world.maker, listed.job.id).stage == "no longer needed"


def test_it_is_asked_for_once_and_by_the_maker(world: World):
    whole = reading_given_up(world)
    (listed,) = retrying.list_given_up(world.ctx, world.maker)
    for somebody in (world.helper, world.client(whole.order.id), world.site()):
        with pytest.raises(NotAllowedError):
            retrying.retry_work(world.ctx, somebody, listed.job.id)
    with pytest.raises(NotFoundError):
        retrying.retry_work(world.ctx, world.stranger, listed.job.id)
    assert retrying.list_given_up(world.ctx, world.stranger) == ()
    with pytest.raises(NotAllowedError):
        retrying.list_given_up(world.ctx, world.client(whole.order.id))
    retrying.retry_work(world.ctx, world.maker, listed.job.id)
    with pytest.raises(ConflictError, match="somebody asked for it again already"):
        retrying.retry_work(world.ctx, world.maker, listed.job.id)


def test_a_list_of_names_that_was_given_up_goes_on(real_world: World):
    world = real_world
    whole = world.place(("back-wide",), 2)
    asked = suites.NamesContent(whole.lines[0].id, "back-wide", RULE, "Imke\nTamsin", turn_deg=90.0)
    order = world.look(whole).order
    suites.set_names(world.ctx, world.client(order.id), order.id, order.revision, asked)
    job = newest(world, whole, JobKind.SUITE)
    give_up(world, job, revision=1)
    assert set(states(world.look(whole))) == {"refused"}
    retrying.retry_work(world.ctx, world.maker, job.id)
    world.work()
    assert set(states(world.look(whole))) == {"checked"}
