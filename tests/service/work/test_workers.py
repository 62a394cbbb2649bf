"""Several worker processes on one database: the work of one that dies or stands still is done by another, once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
import sqlalchemy as sa

from seeds.shop import load
from service.orders.actors import Client, Visitor
from service.orders.order import Contact
from service.orders.states import CarvingState
from service.orders.work import JobState
from service.root import Service, build
from service.seeding import seed_shop
from service.settings import load_settings
from service.store import upkeep
from service.store.record_tables import jobs
from service.usecases import artworks, looking, ordering, shop
from service.usecases.answers import OrderAggregate
from service.usecases.commands import LineContent, OrderContent, Upload
from tests.waiting import until

from .worker import STRUCK

ROOT = Path(__file__).parents[3]


class Crew:
    """A database, a process that only asks for work (this one), and workers to start and to end."""

    def __init__(self, folder: Path, database: str, settings: Mapping[str, str]) -> None:
        self.env = {"SLATPROOF_DATA": str(folder), "SLATPROOF_COMPUTE": "1", "SLATPROOF_LOG_LEVEL": "warning"}
        self.env |= {f"SLATPROOF_{name.upper()}": value for name, value in settings.items()}
        if database:
            self.env["SLATPROOF_DATABASE"] = database
        self.service: Service = build(load_settings(self.env, role="web"))
        self.service.migrate()
        seed_shop(self.service.ctx)
        self.workshop = shop.list_workshops(self.service.ctx)[0]
        self.processes: list[subprocess.Popen[bytes]] = []

    def worker(self, *arguments: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "tests.service.work.worker", *arguments]
        started = subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, env={**os.environ, **self.env})
        self.processes.append(started)
        return started

    def send(self) -> OrderAggregate:
        ctx, visitor = self.service.ctx, Visitor(self.workshop.id, "192.0.2.7", "visit-1")
        wanted = OrderContent(
            Contact("Imke Harrowdale", "imke@quillfern.example", "", ""),
            (LineContent("longwalk-bench", 1, ("back-centre",)),),
            rights_granted=True,
        )
        whole = ordering.place_order(ctx, visitor, wanted).whole
        crest = load().artwork("crest.svg")
        upload = Upload(crest.data, crest.name, "image/svg+xml", (whole.carvings[0].id,))
        client = Client(self.workshop.id, whole.order.id, "link-1", "192.0.2.7")
        return artworks.upload_artwork(ctx, client, whole.order.id, upload)

    def look(self, whole: OrderAggregate) -> OrderAggregate:
        return looking.get_order(self.service.ctx, self.client(whole), whole.order.id)

    def client(self, whole: OrderAggregate) -> Client:
        return Client(self.workshop.id, whole.order.id, "link-1", "192.0.2.7")

    def proofs(self, whole: OrderAggregate) -> int:
        ids = [whole.carvings[0].id]
        return len(looking.proofs_by_carving_ids(self.service.ctx, self.client(whole), ids)[0])

    def job_states(self, whole: OrderAggregate) -> set[JobState]:
        found = looking.jobs_by_order_ids(self.service.ctx, self.client(whole), [whole.order.id])[0]
        return {job.state for job in found}

    def checked(self, whole: OrderAggregate) -> bool:
        return self.look(whole).carvings[0].state is CarvingState.CHECKED

    def kinds_as_ended(self) -> list[str]:
        with self.service.database.reading() as connection:
            return list(connection.scalars(sa.select(jobs.c.kind).order_by(jobs.c.updated_at)))

    def roll(self) -> set[str]:
        with self.service.database.reading() as connection:
            return set(upkeep.beats_of_workers(connection))

    def end(self) -> None:
        for process in self.processes:
            if process.poll() is None:
                process.kill()
            process.wait()
            assert process.stdin is not None
            process.stdin.close()
        self.service.stop()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def crew(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Crew]:
    database = "" if request.param == "sqlite" else request.getfixturevalue("postgres_url")
    made = Crew(tmp_path, database, {})
    yield made
    made.end()


def test_the_work_of_a_killed_worker_is_done_by_another(crew: Crew, tmp_path: Path):
    first = crew.worker(str(tmp_path / "hold"))
    whole = crew.send()
    until((tmp_path / "hold.held").exists)
    first.kill()
    other = crew.send()
    crew.worker()
    until(lambda: all(crew.checked(each) for each in (whole, other)))
    assert [crew.proofs(each) for each in (whole, other)] == [1, 1]
    assert len(crew.roll()) == 1


def test_a_worker_that_stood_still_stores_nothing_twice_and_begins_anew(crew: Crew, tmp_path: Path):
    first = crew.worker(str(tmp_path / "hold"))
    whole = crew.send()
    until((tmp_path / "hold.held").exists)
    first.send_signal(signal.SIGSTOP)
    crew.worker()
    until(lambda: crew.checked(whole))
    until(lambda: crew.job_states(whole) == {JobState.DONE})
    settled = crew.look(whole)
    (tmp_path / "hold.go").touch()
    first.send_signal(signal.SIGCONT)
    assert first.wait(60) == STRUCK
    assert crew.look(whole) == settled
    assert crew.proofs(whole) == 1
    assert crew.job_states(whole) == {JobState.DONE}
    assert len(crew.roll()) == 1


def test_work_that_a_living_worker_let_fall_is_taken_up_again(crew: Crew):
    """As when the database was away while a thread wanted to store what it did: nobody has it in hand."""
    whole, other = crew.send(), crew.send()
    postgres = crew.service.database.engine.dialect.name == "postgresql"
    table = "dbos.workflow_status" if postgres else "workflow_status"
    crew.worker()
    until(lambda: crew.checked(whole))
    until(lambda: crew.job_states(whole) | crew.job_states(other) == {JobState.DONE})
    # What was read is judged before the next file is read: nobody waits for the last of a rush.
    assert crew.kinds_as_ended() == ["read-artwork", "prove"] * 2
    (name,) = crew.roll()
    fallen = sa.text(
        f"UPDATE {table} SET status = 'PENDING', executor_id = :name WHERE workflow_uuid = :work"
    )
    state = sa.text(f"SELECT status FROM {table} WHERE workflow_uuid = :work")
    with crew.service.database.writing() as connection:
        work = connection.scalar(sa.text(f"SELECT workflow_uuid FROM {table} ORDER BY created_at LIMIT 1"))
        connection.execute(fallen, {"name": name, "work": work})

    def ended() -> bool:
        with crew.service.database.reading() as connection:
            return bool(connection.scalar(state, {"work": work}) == "SUCCESS")

    until(ended)
    assert crew.proofs(whole) == 1


def test_a_try_put_off_by_a_clock_that_was_wrong_is_not_waited_for(crew: Crew):
    """Asked for with 'in a second' while the clock was two hours ahead; then the clock was set right."""
    whole = crew.send()
    postgres = crew.service.database.engine.dialect.name == "postgresql"
    table = "dbos.workflow_status" if postgres else "workflow_status"
    late = sa.text(
        f"UPDATE {table} SET status = 'DELAYED', delay_until_epoch_ms = :at WHERE status = 'ENQUEUED'"
    )
    with crew.service.database.writing() as connection:
        assert connection.execute(late, {"at": int((time.time() + 7200) * 1000)}).rowcount == 1
    crew.worker()
    until(lambda: crew.checked(whole), 150)
    assert crew.proofs(whole) == 1
