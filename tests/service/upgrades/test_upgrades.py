"""Data of earlier schemas, brought to this one on both databases: read, verified, and its work in flight done."""

from __future__ import annotations

import hashlib
import json
import os
import tarfile
from pathlib import Path

import pytest
import sqlalchemy as sa

import seeds.shop
from artwork.proof_facts import art_lines, slat_of
from service.access.sessions import Visitor
from service.caretaking import let_go
from service.orders.actors import Maker, System
from service.orders.errors import Conflict
from service.root import Service, build
from service.safekeeping.moving import move
from service.safekeeping.place import Place, check_chains
from service.safekeeping.rows import Tally, lines_of, load
from service.settings import Settings
from service.store.engine import Database
from service.store.migrating import current_revision, newest_revision, upgrade
from service.store.record_tables import jobs
from service.usecases import looking, machining, marking, pricing, shop, signing_in, suites
from service.work.durable import DurableQueue, prepare_tables, system_engine
from tests.parts.process import Part
from tests.parts.shape import command, variables

STORED = sorted(Path(__file__).parent.glob("*.tar.gz"))
ORDERS = {
    "0001": [(3, "draft"), (2, "submitted"), (1, "released")],
    "0009": [(4, "draft"), (3, "draft"), (2, "submitted"), (1, "released")],
}
"""By schema, newest first. Every schema between the two only adds (0007 widens a column), and each is gone through."""


def unpacked(stored: Path, folder: Path) -> Settings:
    with tarfile.open(stored) as archive:
        archive.extractall(folder, filter="data")
    return Settings(data=folder, compute=1)


def on_postgres(settings: Settings, stored: Path, url: str) -> Settings:
    """The same rows in a PostgreSQL database of the same schema, as that version would have had them."""
    revision = schema_of(stored)
    small, large = Database(settings.database_url), Database(url)
    upgrade(large, revision)
    with small.reading() as reading, large.writing() as writing:
        names = set(sa.inspect(writing).get_table_names()) - {
            "alembic_version",
            "order_counts",
        }  # counted anew
        before, after = Tally(), Tally()
        load(writing, before.over(lines_of(reading, names)))
        assert list(after.over(lines_of(writing, names))) and after.digest == before.digest
    small.close()
    _ask_for_what_is_undone(large, url)
    large.close()
    return Settings(**(settings.model_dump() | {"database": url}))


def _ask_for_what_is_undone(database: Database, url: str) -> None:
    """As that version had asked for it: the engine's own tables lie apart."""
    engine = system_engine(url)
    prepare_tables(engine)
    queue = DurableQueue(engine)
    undone = sa.select(jobs.c.id, jobs.c.kind, jobs.c.payload).where(jobs.c.state != "done")
    with database.writing() as connection:
        for row in connection.execute(undone).all():
            queue.enqueue(connection, row.kind, row.id, row.payload)
    queue.close()
    engine.dispose()


def schema_of(stored: Path) -> str:
    return stored.name.split(".")[0]


def place_of(service: Service) -> Place:
    return Place(service.database, service.ctx.blobs, service.ctx, service.migrate)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def old(request, stored, tmp_path, postgres_server):
    """Settings of a place that an earlier version left."""
    settings = unpacked(stored, tmp_path / "data")
    if request.param == "postgres":
        name = f"upgrade_{schema_of(stored)}_{os.getpid()}_{request.node.name[:20].replace('[', '_')}"
        engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text(f'CREATE DATABASE "{name}"'))
        engine.dispose()
        settings = on_postgres(settings, stored, postgres_server(name))
    return settings


@pytest.fixture
def upgraded(old):
    service = build(old)
    service.migrate()
    yield service
    let_go(service)


pytestmark = pytest.mark.parametrize("stored", STORED, ids=schema_of)


def test_it_is_all_there_and_its_record_holds(upgraded, stored):
    service = upgraded
    with service.database.reading() as connection:
        assert current_revision(connection) == newest_revision() != schema_of(stored)
    actor = System(shop.list_workshops(service.ctx)[0].id)
    found = looking.list_orders(service.ctx, actor).items
    assert [(order.number, order.state.value) for order in found] == ORDERS[schema_of(stored)]
    entries, faults = check_chains(place_of(service))
    assert entries >= 10 and faults == ()


def test_its_proofs_are_still_what_was_signed(upgraded, stored):
    """The digest names the facts byte for byte, and the facts alone still draw the art, whatever the engine is now."""
    service = upgraded
    actor = System(shop.list_workshops(service.ctx)[0].id)
    signed = 0
    for order in looking.list_orders(service.ctx, actor).items:
        for proof in looking.get_order(service.ctx, actor, order.id).proofs:
            facts = service.ctx.blobs.get(proof.digest)
            assert hashlib.sha256(facts).hexdigest() == proof.digest
            told = json.loads(facts)
            assert slat_of(told).outline.area > 0
            assert len(art_lines(told, 0.1)) > 0
            signed += proof.signed_at is not None
    assert signed == 2


def test_its_work_in_flight_is_done_by_this_version(old, stored, tmp_path):
    if bool(old.database) != (schema_of(stored) == "0009"):
        pytest.skip(
            "a worker takes seconds to start: the first schema on SQLite, the later one on PostgreSQL"
        )
    told = {"data": old.data, "compute": 1} | ({"database": old.database} if old.database else {})
    worker = Part("worker", command("work"), tmp_path / "log", variables(told))
    watch = build(old)
    undone = sa.select(sa.func.count()).where(jobs.c.state != "done")
    every = sa.select(sa.func.count(jobs.c.id))
    before = _number(watch, every)
    assert (_number(watch, undone), before) == (1, {"0001": 6, "0009": 9}[schema_of(stored)])
    worker.start()
    try:  # the reading that was asked for, and the proof that comes of it
        worker.wait_until(lambda: _number(watch, undone) == 0 and _number(watch, every) == before + 1)
    finally:
        worker.stop()
        let_go(watch)


def test_what_came_after_the_first_schema_is_there(upgraded, stored):
    if schema_of(stored) == "0001":
        pytest.skip("it had none of this")
    ctx = upgraded.ctx
    workshop = shop.list_workshops(ctx)[0].id
    maker = Maker(workshop, "bench", "Tamsin")
    (mark,) = marking.list_marks(ctx, maker)
    assert mark.mark.approval > 0 and mark.mark.ended_at is None
    assert machining.get_machine(ctx, maker).machine.paper == "Letter"
    assert pricing.get_prices(ctx, maker) is not None
    draft = looking.list_orders(ctx, maker).items[1]
    (suite,) = suites.list_suites(ctx, maker, draft.id)
    assert [part.text for part in suite.parts] == ["Rosa", "Ewan"] and suite.digest
    assert looking.count_states(ctx, maker) == {
        **dict.fromkeys(looking.count_states(ctx, maker), 0), "draft": 2, "submitted": 1, "released": 1
    }  # fmt: skip
    facts = seeds.shop.load()
    address = next(person.email for person in facts.people if person.role == "maker")
    with pytest.raises(Conflict, match="a code as well"):
        signing_in.sign_in(ctx, Visitor("192.0.2.7"), address, facts.password)


def test_it_moves_to_a_new_place(upgraded, stored, tmp_path):
    if schema_of(stored) != "0001":
        pytest.skip("what is moved is of this schema by then, whichever it was of before")
    target = build(Settings(data=tmp_path / "new"))
    try:
        moved = move(place_of(upgraded), place_of(target))
        assert (moved.faults, moved.jobs, moved.files.damaged) == ((), 1, [])
    finally:
        let_go(target)


def _number(service: Service, query: sa.Select) -> int:
    with service.database.reading() as connection:
        return int(connection.scalar(query) or 0)
