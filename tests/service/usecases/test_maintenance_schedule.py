"""Housekeeping by a clock that the test moves, and work that never comes to an end."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from service.batches.checkpoints import read_checkpoint
from service.orders.upkeep import Chore
from service.orders.work import JobState
from service.recheck import recheck
from service.store import upkeep
from service.usecases import jobs, looking, maintenance_schedule
from service.usecases.progress import MOST_BEGINNINGS, TooOftenError

from .test_artworks_and_cuts import send
from .world import World


class Asked:
    """A queue that remembers what was committed."""

    def __init__(self) -> None:
        self.keys: list[str] = []

    def enqueue(self, connection, kind, key, _payload) -> None:
        assert connection.in_transaction()
        if kind == "housekeeping":
            self.keys.append(key)


@pytest.fixture
def asked(world: World):
    object.__setattr__(world.ctx, "queue", queue := Asked())
    return queue


def test_housekeeping_is_asked_for_once_an_hour(world: World, asked: Asked):
    assert maintenance_schedule.ask_for_housekeeping(world.ctx)
    for _ in range(3):
        assert not maintenance_schedule.ask_for_housekeeping(world.ctx)
    world.clock.pass_by(minutes=59)
    assert not maintenance_schedule.ask_for_housekeeping(world.ctx)
    world.clock.pass_by(minutes=1)
    assert maintenance_schedule.ask_for_housekeeping(world.ctx)
    assert len(set(asked.keys)) == 2


def test_a_clock_set_back_does_not_put_housekeeping_off(world: World, asked: Asked):
    world.clock.pass_by(days=3650)
    assert maintenance_schedule.ask_for_housekeeping(world.ctx)
    world.clock.pass_by(days=-3650)
    assert maintenance_schedule.ask_for_housekeeping(world.ctx)
    assert not maintenance_schedule.ask_for_housekeeping(world.ctx)


def test_of_many_workers_that_notice_at_once_one_asks(either_world: World):
    object.__setattr__(either_world.ctx, "queue", queue := Asked())
    for _ in range(5):
        with ThreadPoolExecutor(8) as pool:
            told = list(
                pool.map(lambda _: maintenance_schedule.ask_for_housekeeping(either_world.ctx), range(8))
            )
        assert told.count(True) == 1
        either_world.clock.pass_by(hours=2)
    assert len(queue.keys) == 5


def test_a_year_of_housekeeping_sweeps_what_is_past_its_retention(world: World, asked: Asked):
    idle, kept = world.submitted(), world.released()
    for day in range(0, 400, 10):
        world.clock.pass_by(days=10)
        if maintenance_schedule.ask_for_housekeeping(world.ctx):
            maintenance_schedule.do_housekeeping(world.ctx)
        erased = world.look(idle).order.erased_at is not None
        assert erased == (day + 10 > world.shop.retention_days), day
    assert world.look(kept).order.erased_at is None
    with world.database.reading() as connection:
        last = upkeep.last_done(connection)[Chore.HOUSEKEEPING]
    assert last.well
    assert last.at == world.clock.now()


def test_housekeeping_that_failed_is_noted(world: World):
    maintenance_schedule.note_upkeep(world.ctx, Chore.HOUSEKEEPING, well=False, words="the disk is full")
    with world.database.reading() as connection:
        found = upkeep.last_done(connection)[Chore.HOUSEKEEPING]
    assert (found.well, found.words) == (False, "the disk is full")


def test_work_that_ends_its_process_again_and_again_is_given_up(world: World):
    whole = send(world, world.place())
    (job,) = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    payload = {"job": job.id, "workshop": world.shop.id, "subject": job.subject_id}
    world.compute.trouble["read_art"] = KeyboardInterrupt()  # stands for the end of the process
    for _ in range(MOST_BEGINNINGS):
        with pytest.raises(KeyboardInterrupt):
            jobs.read_artwork_job(world.ctx, payload)
    with pytest.raises(TooOftenError, match="without coming to an end"):
        jobs.read_artwork_job(world.ctx, payload)
    jobs.fail_job(world.ctx, payload, "begun 12 times")
    assert looking.get_job(world.ctx, world.maker, job.id).state is JobState.FAILED
    jobs.read_artwork_job(world.ctx, payload)  # a straggler changes nothing
    assert looking.get_job(world.ctx, world.maker, job.id).state is JobState.FAILED


def checkpoints(world: World) -> list[dict[str, object]]:
    with world.database.reading() as connection:
        found = connection.exec_driver_sql(
            "SELECT facts FROM messages WHERE kind = 'checkpoint' ORDER BY created_at"
        )
        return [json.loads(facts) for facts in found.scalars()]


def test_makers_are_mailed_a_checkpoint_a_day_while_the_record_grows(world: World, tmp_path):
    for _ in range(2):
        maintenance_schedule.do_housekeeping(world.ctx)
    before = checkpoints(world)
    assert len(before) == 2, "one of each workshop: not twice a day"
    world.clock.pass_by(days=1)
    maintenance_schedule.do_housekeeping(world.ctx)
    assert checkpoints(world) == before, "nothing was decided"
    world.offered()
    maintenance_schedule.do_housekeeping(world.ctx)
    (fresh,) = checkpoints(world)[len(before) :]
    ((name, line),) = fresh["attached"].items()
    assert name.startswith("checkpoint-")
    kept = tmp_path / name
    kept.write_text(line)
    assert not recheck(world.ctx, kept).bad
    with world.database.writing() as connection:
        connection.exec_driver_sql("DROP TRIGGER IF EXISTS record_no_delete")
        for (trigger,) in connection.exec_driver_sql(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).all():
            connection.exec_driver_sql(f"DROP TRIGGER {trigger}")
        last = read_checkpoint(line).checkpoint.number
        connection.exec_driver_sql(f"DELETE FROM record WHERE number = {last}")
    assert recheck(world.ctx, kept).bad


def test_checkpoints_are_not_mailed_where_that_is_switched_off(world: World):
    maintenance_schedule.do_housekeeping(replace(world.ctx, mails_checkpoints=False))
    assert checkpoints(world) == []
