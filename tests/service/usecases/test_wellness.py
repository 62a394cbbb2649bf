"""Readiness, metrics and signs tell the truth where something is wrong."""

from __future__ import annotations

from collections import namedtuple
from contextlib import contextmanager
from threading import Event

import pytest
import sqlalchemy as sa
from anyio import CapacityLimiter
from sqlalchemy.exc import OperationalError
from starlette.applications import Starlette
from starlette.testclient import TestClient

from service.mail.outbox import mark_not_sent, take_due
from service.orders.errors import NotAllowedError
from service.orders.wellness import Level, Subject
from service.rest.health import health_routes
from service.rest.operation import Pipeline
from service.store import upkeep
from service.store.blobs import BlobsAwayError
from service.usecases import approving, maintenance_schedule, wellness
from service.usecases.wellness import readiness

from .world import World, shown


def client_of(world: World, token: str = "", host: str = "127.0.0.1") -> TestClient:
    app = Starlette(routes=health_routes(Pipeline(world.ctx, CapacityLimiter(2)), token))
    return TestClient(app, client=(host, 1234))


def begin_worker(world: World) -> None:
    with world.database.writing() as connection:
        upkeep.add_worker(connection, "w1", world.clock.now())


def disk_with(monkeypatch: pytest.MonkeyPatch, free: int) -> None:
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(wellness.shutil, "disk_usage", lambda _path: usage(10**12, 0, free))


def test_all_it_needs_is_there(world: World, tmp_path):
    object.__setattr__(world.ctx, "folder", tmp_path)
    before = dict(world.blobs.kept)
    begin_worker(world)
    found = readiness(world.ctx)
    assert (found.ready, found.lacks, found.worker) == (True, (), True)
    assert world.blobs.kept == before, "the trial leaves nothing behind"


def test_without_a_worker_orders_are_still_taken_in(world: World):
    assert not readiness(world.ctx).worker
    begin_worker(world)
    world.clock.pass_by(seconds=61)
    found = readiness(world.ctx)
    assert (found.ready, found.worker) == (True, False)


def test_a_store_that_takes_no_files_is_told_and_takes_nothing_else_down(world: World):
    def full(_data: object) -> str:
        raise BlobsAwayError("no space left on device")

    world.blobs.put = full
    with client_of(world) as client:
        answer = client.get("/health/ready")
        assert (answer.status_code, answer.json()["ready"], answer.json()["lacks"]) == (200, True, ["files"])
        assert client.get("/health/live").status_code == 200


def test_a_database_that_does_not_answer_is_not_ready(world: World):
    @contextmanager
    def away():
        raise OperationalError("SELECT", {}, Exception("connection refused"))
        yield

    world.database.reading = away
    assert readiness(world.ctx).lacks == ("database",)


def test_a_store_that_hangs_is_told_without_waiting_for_it(world: World):
    hangs = Event()
    world.blobs.put = lambda _data: hangs.wait(60)
    try:
        assert readiness(world.ctx).lacks == ("files",)
        assert not hangs.is_set()
    finally:
        hangs.set()


def test_a_full_disk_is_told(world: World, tmp_path, monkeypatch):
    object.__setattr__(world.ctx, "folder", tmp_path)
    disk_with(monkeypatch, 999_999_999)
    assert readiness(world.ctx).lacks == ("room",)


def test_an_answer_stands_for_a_moment(world: World):
    asked = 0
    size = world.blobs.put

    def counting(data: object) -> str:
        nonlocal asked
        asked += 1
        return size(data)

    world.blobs.put = counting
    with client_of(world) as client:
        for _ in range(20):
            client.get("/health/ready")
    assert asked == 1


@pytest.mark.parametrize(
    ("token", "host", "sent", "status"),
    [
        ("", "127.0.0.1", "", 200),
        ("", "::1", "", 200),
        ("", "192.0.2.9", "", 404),
        ("walnut", "192.0.2.9", "Bearer walnut", 200),
        ("walnut", "127.0.0.1", "", 404),
        ("walnut", "127.0.0.1", "Bearer oak", 404),
        ("walnut", "127.0.0.1", "Bearer", 404),
    ],
)
def test_metrics_are_for_this_machine_or_for_the_token(world: World, token, host, sent, status):
    with client_of(world, token, host) as client:
        headers = {"Authorization": sent} if sent else {}
        assert client.get("/metrics", headers=headers).status_code == status


def test_metrics_say_how_long_work_and_mail_wait(world: World):
    whole = world.submitted()
    approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(world.look(whole)))
    maintenance_schedule.do_housekeeping(world.ctx)
    world.place()
    world.clock.pass_by(minutes=7)
    with client_of(world) as client:
        text = client.get("/metrics").text
    lines = text.splitlines()
    # two links, to the makers, the offer, and of both workshops the day's checkpoint of the record
    assert "slatproof_mail_waiting 6.0" in lines
    assert "slatproof_mail_oldest_seconds 420.0" in lines
    assert 'slatproof_upkeep_age_seconds{chore="housekeeping"} 420.0' in lines
    assert "slatproof_work_waiting 0.0" in lines


def test_signs_are_for_the_workshop_and_about_it(world: World):
    whole = world.submitted()
    approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(world.look(whole)))
    with world.database.writing() as connection:
        message = take_due(connection, world.clock.now())
        mark_not_sent(connection, message, "no such mailbox", world.clock.now(), for_good=True)

    def level(actor, subject: Subject) -> Level:
        return next(s.level for s in wellness.list_signs(world.ctx, actor) if s.subject == subject)

    assert level(world.helper, Subject.MAIL) is Level.WATCH
    assert level(world.stranger, Subject.MAIL) is Level.WELL
    assert level(world.maker, Subject.WORKER) is Level.TROUBLE
    begin_worker(world)
    assert level(world.maker, Subject.WORKER) is Level.WELL
    with pytest.raises(NotAllowedError):
        wellness.list_signs(world.ctx, world.client(whole.order.id))
    with pytest.raises(NotAllowedError):
        wellness.list_signs(world.ctx, world.site())


def test_trouble_of_the_database_is_logged_without_what_was_stored(world: World):
    with pytest.raises(sa.exc.DBAPIError) as found, world.database.writing() as connection:
        connection.execute(sa.text("INSERT INTO nowhere VALUES (:name)"), {"name": "Imke Harrowdale"})
    assert "Harrowdale" not in str(found.value)
