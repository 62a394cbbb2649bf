"""Many people at the same moment, on SQLite and on PostgreSQL."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from artwork.cut import Placement
from service.orders.record import EntryKind
from service.orders.work import JobState
from service.usecases import approving, cutting, jobs, looking, ordering, producing, shop
from service.usecases.commands import IdempotencyKey

from . import invariants
from .crowd import Crowd
from .test_shop import sand_more
from .world import World, content, only, shown, states


def at_once(*calls: Callable[[], object]) -> list[object]:
    """What each call gave or raised, all begun at the same moment."""
    start = threading.Barrier(len(calls))
    outcomes: list[object] = [None] * len(calls)

    def run(index: int, call: Callable[[], object]) -> None:
        start.wait()
        try:
            outcomes[index] = call()
        except Exception as error:  # noqa: BLE001 - the test looks at it
            outcomes[index] = error

    threads = [threading.Thread(target=run, args=(i, call)) for i, call in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return outcomes


def kinds(outcomes: Sequence[object]) -> Counter[str]:
    return Counter(type(outcome).__name__ for outcome in outcomes)


def test_one_key_places_one_order_however_often_it_is_sent_at_once(either_world: World):
    world = either_world
    once = IdempotencyKey("k", "a" * 64)
    outcomes = at_once(*[lambda: ordering.place_order(world.ctx, world.visitor, content(), once)] * 8)
    assert kinds(outcomes) == {"PlacedOrder": 8}
    assert len({outcome.whole.order.id for outcome in outcomes}) == 1
    assert len(looking.list_orders(world.ctx, world.maker).items) == 1


def test_numbers_are_given_out_once_each(either_world: World):
    world = either_world
    outcomes = at_once(*[lambda: ordering.place_order(world.ctx, world.visitor, content())] * 12)
    assert sorted(outcome.whole.order.number for outcome in outcomes) == list(range(1, 13))


def test_two_makers_release_once(either_world: World):
    world = either_world
    whole = world.approved()
    order = whole.order
    makers = [replace(world.maker, account_id=f"maker-{n}") for n in range(6)]
    outcomes = at_once(
        *[
            lambda who=who: producing.release(world.ctx, who, order.id, order.revision, shown(whole))
            for who in makers
        ]
    )
    assert kinds(outcomes) == {"OrderAggregate": 1, "StaleError": 5}
    invariants.check(world)


def test_a_change_and_a_release_at_once_never_both_hold(either_world: World):
    world = either_world
    for _ in range(5):
        whole = world.approved()
        order, carving = whole.order, only(whole)
        outcomes = at_once(
            partial(producing.release, world.ctx, world.maker, order.id, order.revision, shown(whole)),
            partial(
                cutting.place, world.ctx, world.maker, carving.id, carving.revision, Placement(1, 300, 1)
            ),
        )
        assert kinds(outcomes)["OrderAggregate"] == 1, outcomes
        after = world.look(whole)
        assert (after.order.state == "released") == (states(after) == ["released"])
        invariants.check(world)


def test_a_settings_change_and_a_sign_off_at_once_leave_nothing_signed_under_old_settings(
    either_world: World,
):
    world = either_world
    for _ in range(5):
        whole = world.offered()
        client = world.client(whole.order.id)
        at_once(
            partial(approving.sign_off, world.ctx, client, whole.order.id, shown(whole)),
            partial(sand_more, world, 0.01),
        )
        after = world.look(whole)
        assert states(after) == ["stale"]
        assert after.proofs[0].signed_at is None
    invariants.check(world)


def test_a_settings_change_while_proofs_are_made_leaves_none_unnoticed(either_world: World):
    world = either_world
    for _ in range(5):
        whole = world.upload(world.place())
        carving = only(whole)
        cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
        at_once(world.work, lambda: sand_more(world, 0.01))
        world.work()
        after = world.look(whole)
        sanding = sanding_now(world)
        proof = after.proofs[0]
        fresh = proof.facts["allowances"]["sanding"] == sanding
        assert fresh or states(after) == ["stale"]


def sanding_now(world: World) -> float:
    return shop.get_settings(world.ctx, world.maker).workshop.allowances.sanding


def test_the_same_job_run_by_two_workers_makes_one_proof(either_world: World):
    world = either_world
    whole = world.upload(world.place())
    carving = only(whole)
    after = only(cutting.check_again(world.ctx, world.maker, carving.id, carving.revision))
    found = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    (job,) = (job for job in found if job.state is JobState.WAITING)
    payload = {
        "job": job.id, "workshop": world.shop.id, "subject": after.id, "revision": after.revision,
    }  # fmt: skip
    outcomes = at_once(*[lambda: jobs.prove_job(world.ctx, payload)] * 4)
    assert kinds(outcomes) == {"NoneType": 4}
    history = looking.proofs_by_carving_ids(world.ctx, world.maker, [carving.id])[0]
    assert [proof.number for proof in history] == [2, 1]


def test_a_crowd_loses_no_decision_and_leaves_no_wrong_state(either_world: World):
    """The short form of the measurement in tests/bench/bench_orders.py."""
    crowd = Crowd(either_world, people=16, orders=3)
    crowd.decide(seconds=2.5)
    assert crowd.faults() == []
    kinds_decided = {kind for kind, _ in crowd.accepted}
    assert {EntryKind.SIGN_OFF, EntryKind.FEASIBILITY, EntryKind.OFFER} <= kinds_decided
    assert crowd.refused.keys() <= {"ConflictError", "StaleError", "TooManyError"}
