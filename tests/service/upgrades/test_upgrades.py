"""Data of earlier schemas, brought to this one on both databases: read, verified, and its work in flight done."""

from __future__ import annotations

import hashlib
import json
import os
import tarfile
from pathlib import Path

import pytest
import sqlalchemy as sa

from artwork.proof_facts import art_lines, slat_of
from service.caretaking import let_go
from service.orders.actors import System
from service.root import Service, build
from service.safekeeping.moving import move
from service.safekeeping.place import Place, check_chains
from service.safekeeping.rows import Tally, lines_of, load
from service.settings import Settings
from service.store.engine import Database
from service.store.migrating import current_revision, newest_revision, upgrade
from service.store.record_tables import jobs
from service.usecases import looking, shop
from tests.parts.process import Part
from tests.parts.shape import command, variables

STORED = sorted(Path(__file__).parent.glob("*.tar.gz"))


def unpacked(stored: Path, folder: Path) -> Settings:
    with tarfile.open(stored) as archive:
        archive.extractall(folder, filter="data")
    return Settings(data=folder, compute=1)


def on_postgres(settings: Settings, stored: Path, url: str) -> Settings:
    """The same rows in a PostgreSQL database of the same schema, as that version would have had them."""
    revision = stored.name.split(".")[0]
    small, large = Database(settings.database_url), Database(url)
    upgrade(large, revision)
    with small.reading() as reading, large.writing() as writing:
        names = set(sa.inspect(writing).get_table_names()) - {"alembic_version"}
        before, after = Tally(), Tally()
        load(writing, before.over(lines_of(reading, names)))
        assert list(after.over(lines_of(writing, names))) and after.digest == before.digest
    small.close()
    large.close()
    return Settings(**(settings.model_dump() | {"database": url}))


def place_of(service: Service) -> Place:
    return Place(service.database, service.ctx.blobs, service.ctx, service.migrate)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def upgraded(request, stored, tmp_path, postgres_server):
    settings = unpacked(stored, tmp_path / "data")
    if request.param == "postgres":
        name = f"upgrade_{stored.name.split('.')[0]}_{os.getpid()}_{request.node.name[:20].replace('[', '_')}"
        engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text(f'CREATE DATABASE "{name}"'))
        engine.dispose()
        settings = on_postgres(settings, stored, postgres_server(name))
    service = build(settings)
    service.migrate()
    yield service
    let_go(service)


pytestmark = pytest.mark.parametrize("stored", STORED, ids=lambda path: path.name.split(".")[0])


def test_it_is_all_there_and_its_record_holds(upgraded, stored):
    service = upgraded
    with service.database.reading() as connection:
        assert current_revision(connection) == newest_revision() != stored.name.split(".")[0]
    actor = System(shop.list_workshops(service.ctx)[0].id)
    found = looking.list_orders(service.ctx, actor).items
    assert [(order.number, order.state.value) for order in found] == [
        (3, "draft"), (2, "submitted"), (1, "released"),
    ]  # fmt: skip
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


def test_its_work_in_flight_is_done_by_this_version(stored, tmp_path):
    settings = unpacked(stored, tmp_path / "data")
    worker = Part(
        "worker", command("work"), tmp_path / "log", variables({"data": settings.data, "compute": 1})
    )
    watch = build(settings)
    undone = sa.select(sa.func.count()).where(jobs.c.state != "done")
    every = sa.select(sa.func.count(jobs.c.id))
    assert (_number(watch, undone), _number(watch, every)) == (1, 6)
    worker.start()
    try:
        worker.wait_until(
            lambda: _number(watch, undone) == 0 and _number(watch, sa.select(sa.func.count(jobs.c.id))) > 5
        )
    finally:
        worker.stop()
        let_go(watch)


def test_it_moves_to_a_new_place(upgraded, stored, tmp_path):
    target = build(Settings(data=tmp_path / "new"))
    try:
        moved = move(place_of(upgraded), place_of(target))
        assert (moved.faults, moved.jobs, moved.files.damaged) == ((), 1, [])
    finally:
        let_go(target)


def _number(service: Service, query: sa.Select) -> int:
    with service.database.reading() as connection:
        return int(connection.scalar(query) or 0)
