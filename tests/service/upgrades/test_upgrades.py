"""Data of earlier schemas, brought to this one on both databases: read, verified, and its work in flight done."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
import tarfile
from collections import Counter
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

import pytest
import sqlalchemy as sa

import seeds.shop
from artwork import ENGINE_VERSION
from artwork.proof_facts import art_lines, slat_of
from service.access.sessions import Visitor
from service.backup.moving import move
from service.backup.place import Place, check_chains
from service.backup.rows import Tally, lines_of, load
from service.maintenance import let_go
from service.orders.actors import Maker, System
from service.orders.errors import ConflictError
from service.root import Service, build
from service.settings import Settings
from service.store.engine import Database
from service.store.migrating import current_revision, newest_revision, upgrade
from service.store.record_tables import jobs
from service.usecases import looking, machining, marking, pricing, shop, signing_in, suites
from service.usecases.rejudging import judge_drafts_again
from service.work.durable import DurableQueue, prepare_tables, system_engine

STORED = {file.name.split(".")[0]: file for file in sorted(Path(__file__).parent.glob("*.tar.?z"))}
RELEASED = {"0.1.0": "0010"}
"""The newest schema of each version, oldest version first."""
PRICES, SUITES, SECOND_STEPS, MACHINES, MARKS = "0002", "0005", "0006", "0007", "0009"
"""The schemas that brought these."""


@dataclass
class Old:
    """A place that an earlier version left, brought to this one.

    Attributes:
        schema: of that version.
        jobs: how much work it had, done or not; one piece was in flight.
    """

    schema: str
    settings: Settings
    service: Service
    jobs: int

    def has(self, since: str) -> bool:
        return self.schema >= since

    def orders(self) -> list[tuple[int, str]]:
        """Numbers and states it must have, newest first; with lists of names came a draft for them."""
        drafts = 2 if self.has(SUITES) else 1
        states = ["draft"] * drafts + ["submitted", "released"]
        return [(len(states) - at, state) for at, state in enumerate(states)]


def unpacked(stored: Path, folder: Path) -> Settings:
    with tarfile.open(stored) as archive:
        if hasattr(tarfile, "data_filter"):  # Debian 12's Python 3.11.2 has none: what is unpacked is ours
            archive.extraction_filter = tarfile.data_filter
        archive.extractall(folder)
    return Settings(data=folder, compute=1)


def on_postgres(settings: Settings, schema: str, url: str) -> Settings:
    """The same rows in a PostgreSQL database of the same schema, as that version would have had them."""
    small, large = Database(settings.database_url), Database(url)
    upgrade(large, schema)
    with small.reading() as reading, large.writing() as writing:
        counted_anew = {"alembic_version", "order_counts"}
        names = set(sa.inspect(writing).get_table_names()) - counted_anew
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


def place_of(service: Service) -> Place:
    return Place(service.database, service.ctx.blobs, service.ctx, service.migrate)


PLACES = [(schema, "sqlite") for schema in STORED] + [(schema, "postgres") for schema in STORED]


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(place, marks=[pytest.mark.postgres] * (place[1] == "postgres"), id="-".join(place))
        for place in PLACES
    ],
)
def old(request, tmp_path_factory, postgres_server):
    schema, database = request.param
    settings = unpacked(STORED[schema], tmp_path_factory.mktemp(f"of-{schema}"))
    if database == "postgres":
        name = f"upgrade_{schema}_{os.getpid()}"
        engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text(f"CREATE DATABASE {name}"))
        engine.dispose()
        settings = on_postgres(settings, schema, postgres_server(name))
    service = build(settings)
    before = _states(service)
    assert before["waiting"] == 1
    service.migrate()
    yield Old(schema, settings, service, before.total())
    let_go(service)


@pytest.fixture(scope="module")
def finisher():
    """Another process that does what is in flight: see ``finish``."""
    command = [sys.executable, "-m", "tests.service.upgrades.finish"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield process
        process.stdin.close()


def test_every_schema_up_to_the_last_release_is_stored():
    """What came after it never kept anybody's orders; it is stored with the next release."""
    changelog = (Path(__file__).parents[3] / "CHANGELOG.md").read_text()
    assert list(RELEASED) == re.findall(r"^## (\d\S*)", changelog, re.MULTILINE)[::-1]
    assert sorted(STORED) == [f"{number:04}" for number in range(1, int(max(RELEASED.values())) + 1)]


def test_it_is_all_there_and_its_record_holds(old):
    service = old.service
    with service.database.reading() as connection:
        assert current_revision(connection) == newest_revision() != old.schema
    actor = System(shop.list_workshops(service.ctx)[0].id)
    found = looking.list_orders(service.ctx, actor).items
    assert [(order.number, order.state.value) for order in found] == old.orders()
    counted = looking.count_states(service.ctx, Maker(actor.workshop_id, "bench", "Tamsin"))
    assert +Counter(counted) == Counter(state for _, state in old.orders())
    entries, faults = check_chains(place_of(service))
    assert entries >= 10 and faults == ()


def test_its_proofs_are_still_what_was_signed(old):
    """The digest names the facts byte for byte, and the facts alone still draw the art, whatever the engine is now."""
    ctx = old.service.ctx
    actor = System(shop.list_workshops(ctx)[0].id)
    signed = 0
    for order in looking.list_orders(ctx, actor).items:
        for proof in looking.get_order(ctx, actor, order.id).proofs:
            facts = ctx.blobs.get(proof.digest)
            assert hashlib.sha256(facts).hexdigest() == proof.digest
            told = json.loads(facts)
            assert slat_of(told).outline.area > 0
            assert len(art_lines(told, 0.1)) > 0
            signed += proof.signed_at is not None
    assert signed == 2


def test_what_came_after_the_first_schema_is_there(old):
    ctx = old.service.ctx
    maker = Maker(shop.list_workshops(ctx)[0].id, "bench", "Tamsin")
    assert (pricing.get_prices(ctx, maker) is not None) == old.has(PRICES)
    assert (machining.get_machine(ctx, maker).machine.paper == "Letter") == old.has(MACHINES)
    marks = marking.list_marks(ctx, maker)
    assert [mark.mark.approval > 0 and mark.mark.ended_at is None for mark in marks] == [True] * old.has(
        MARKS
    )
    if old.has(SUITES):
        draft = looking.list_orders(ctx, maker).items[1]
        (suite,) = suites.list_suites(ctx, maker, draft.id)
        assert [part.text for part in suite.parts] == ["Rosa", "Ewan"] and suite.digest


def test_its_maker_signs_in_as_before(old):
    facts = seeds.shop.load()
    address = next(person.email for person in facts.people if person.role == "maker")
    asks = pytest.raises(ConflictError, match="a code as well") if old.has(SECOND_STEPS) else nullcontext()
    with asks:
        signing_in.sign_in(old.service.ctx, Visitor("192.0.2.7"), address, facts.password)


def test_it_moves_to_a_new_place(old, tmp_path):
    if old.schema != "0001" or old.settings.database:
        pytest.skip("what is moved is of this schema by then, whichever it was of before")
    target = build(Settings(data=tmp_path / "new"))
    try:
        moved = move(place_of(old.service), place_of(target))
        assert (moved.faults, moved.jobs, moved.files.damaged) == ((), 1, [])
    finally:
        let_go(target)


def test_its_work_in_flight_is_done_by_this_version(old, finisher):
    """The reading that was asked for, and the proof that comes of it; the last test of a place, as it changes it."""
    old.service.lock.release()
    finisher.stdin.write(
        json.dumps({"data": str(old.settings.data), "database": old.settings.database}) + "\n"
    )
    finisher.stdin.flush()
    assert finisher.stdout.readline() == "done\n"
    drafts = 1 if old.has(SUITES) else 0  # beside the list of names, which is judged as a whole
    assert _states(old.service) == {"done": old.jobs + 1 + drafts}
    actor = System(shop.list_workshops(old.service.ctx)[0].id)
    newest = looking.list_orders(old.service.ctx, actor).items[0]
    (carving,) = [c for c in looking.get_order(old.service.ctx, actor, newest.id).carvings if c.reading_id]
    assert carving.state.value == "checked"
    _drafts_are_judged_by_todays_rules_and_what_was_signed_stands(old, actor)


def _drafts_are_judged_by_todays_rules_and_what_was_signed_stands(old, actor):
    ctx = old.service.ctx
    for order in looking.list_orders(ctx, actor).items:
        whole = looking.get_order(ctx, actor, order.id)
        in_suites = {
            part.carving_id for suite in suites.list_suites(ctx, actor, order.id) for part in suite.parts
        }
        for proof in whole.proofs:
            earlier = order.state.value != "draft" or proof.carving_id in in_suites
            assert (proof.facts["engine"] != ENGINE_VERSION) == earlier
            assert (proof.signed_at is not None) == (order.state.value != "draft")
    assert judge_drafts_again(ctx) == 0


def _states(service: Service) -> Counter[str]:
    with service.database.reading() as connection:
        return Counter(connection.scalars(sa.select(jobs.c.state)))
