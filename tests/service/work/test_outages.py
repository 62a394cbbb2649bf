"""Work that meets a part that is away waits for it, however long, has spent no try, and goes on by itself."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import sqlalchemy as sa

from service.orders.work import Job
from service.root import build
from service.usecases import looking
from service.usecases.answers import OrderAggregate
from service.work.durable import MOST_ATTEMPTS
from service.work.outages import FIRST_WAIT_SECONDS, LONGEST_WAIT_SECONDS, Away, wait_seconds
from tests.parts.database_server import DatabaseServer
from tests.parts.faulty_line import FaultyLine, Trouble
from tests.parts.object_store import ObjectStore
from tests.running import Running, art, carvings, placed_order, serve, settings_for
from tests.waiting import until

from .test_workers import Crew


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ObjectStore]:
    made = ObjectStore(tmp_path_factory.mktemp("s3"))
    made.start()
    yield made
    made.part.kill()


def work_of(crew: Crew, whole: OrderAggregate) -> Job:
    """The first work of an order."""
    return looking.jobs_by_order_ids(crew.service.ctx, crew.client(whole), [whole.order.id])[0][-1]


def looks_in_vain(crew: Crew, job: Job) -> int:
    """How often its first try was put off so far."""
    postgres = crew.service.database.engine.dialect.name == "postgresql"
    table = "dbos.workflow_status" if postgres else "workflow_status"
    named = sa.text(f"SELECT count(*) FROM {table} WHERE workflow_uuid LIKE :name")
    with crew.service.database.reading() as connection:
        return int(connection.scalar(named, {"name": f"{job.id}~1+%"}) or 0)


@pytest.mark.s3
def test_files_that_are_away_are_waited_for_and_spend_no_try(store: ObjectStore, tmp_path: Path):
    crew = Crew(tmp_path, "", store.settings())
    try:
        whole = crew.send()
        store.part.kill()  # asked to stop, it takes a quarter of a minute
        crew.worker()
        until(lambda: looks_in_vain(crew, work_of(crew, whole)) > MOST_ATTEMPTS)
        until(lambda: work_of(crew, whole).message == Away.FILES.words)
        assert work_of(crew, whole).attempts <= 1
        assert crew.look(whole).carvings[0].trouble is None
        store.start()
        until(lambda: crew.checked(whole))
        assert crew.proofs(whole) == 1
        assert work_of(crew, whole).message == ""
    finally:
        crew.end()
        if not store.part.running:
            store.start()


@pytest.mark.postgres
def test_a_database_that_is_away_is_waited_for_and_spends_no_try(tmp_path: Path):
    server = DatabaseServer()
    server.start()
    crew = Crew(tmp_path, server.create("shop"), {})
    try:
        crew.worker(str(tmp_path / "hold"))
        whole = crew.send()
        until((tmp_path / "hold.held").exists)
        server.part.stop(signal.SIGINT)  # asked otherwise, it waits until everybody has gone
        (tmp_path / "hold.go").touch()
        until((tmp_path / "hold.away").exists)  # it met that, and looked again in vain
        server.start()
        until(lambda: crew.checked(whole))
        assert crew.proofs(whole) == 1
        assert {job.attempts for job in jobs_of(crew, whole)} <= {1, 2}
    finally:
        crew.end()
        server.remove()


def jobs_of(crew: Crew, whole: OrderAggregate) -> list[Job]:
    """All work of an order."""
    return list(looking.jobs_by_order_ids(crew.service.ctx, crew.client(whole), [whole.order.id])[0])


def test_waits_grow_to_a_quarter_of_a_minute_and_are_spread():
    waits = [[wait_seconds(times) for _ in range(200)] for times in (1, 2, 6, 1000)]
    assert max(waits[0]) <= 2.5 * FIRST_WAIT_SECONDS
    assert max(waits[-1]) <= 1.25 * LONGEST_WAIT_SECONDS <= 15
    assert min(waits[-1]) < 0.9 * LONGEST_WAIT_SECONDS < 1.1 * LONGEST_WAIT_SECONDS < max(waits[-1])


@pytest.fixture
def line(store: ObjectStore) -> Iterator[FaultyLine]:
    made = FaultyLine(store.port)
    yield made
    made.trouble = Trouble.NONE
    made.close()


@pytest.fixture
def web(line: FaultyLine, store: ObjectStore, tmp_path: Path) -> Iterator[Running]:
    """A web replica, without a worker, whose files come over a line."""
    yield from serve(build(settings_for(tmp_path, role="web", **store.settings(line.url))))


@pytest.mark.s3
def test_a_store_that_hangs_holds_up_only_what_needs_files(web: Running, line: FaultyLine):
    order, client = placed_order(web.url)
    sent = client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    picture = f"/api/v1/artworks/{sent['artworks'][0]['id']}/original"
    assert client.get(picture).status_code == 200
    line.trouble = Trouble.HUNG
    with ThreadPoolExecutor(24) as readers:
        asked = [readers.submit(client.get, picture) for _ in range(24)]
        until(lambda: line.hits >= 1 and any(each.done() for each in asked))
        assert client.order(order["id"])["id"] == order["id"]
        assert not all(each.done() for each in asked), (
            "it was answered while the first still waited for the store"
        )
        answers = [each.result() for each in asked]
    assert {answer.status_code for answer in answers} == {503}
    assert all(answer.json()["type"].endswith("files-away") for answer in answers)
    assert all(int(answer.headers["retry-after"]) > 0 for answer in answers)
    ready = web.caller().get("/health/ready")
    assert (ready.status_code, ready.json()["lacks"]) == (200, ["files"])
    form = {"carvings": carvings(order)[0]["id"]}
    refused = client.post(
        f"/api/v1/orders/{order['id']}/artworks", files={"file": ("a.svg", art("crest.svg"))}, data=form
    )
    assert (refused.status_code, "no file can be taken in" in refused.json()["detail"]) == (503, True)
    line.trouble = Trouble.NONE
    until(lambda: client.get(picture).status_code == 200)
    client.close()
