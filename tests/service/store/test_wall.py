"""The second wall: PostgreSQL keeps workshops apart where a query forgot to."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import ProgrammingError

from service.store import wall
from service.store.engine import Database
from service.store.sharing import Shared
from service.store.tables import orders, workshop_keys, workshops

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
pytestmark = pytest.mark.postgres


@pytest.fixture
def database(postgres_url):
    made = Database(postgres_url)
    with made.writing() as connection:
        for key in ("oxbarrow", "fenwick"):
            shop = {
                "id": key, "key": key, "name": key.title(), "revision": 1, "allowances": {}, "usual_bit": "v60",
                "retention_days": 365, "created_at": AT,
            }  # fmt: skip
            connection.execute(sa.insert(workshops).values(shop))
            connection.execute(sa.insert(workshop_keys).values(workshop_id=key, private_key="0" * 64))
    yield made
    made.close()


def seen(store) -> set[str]:
    """What a query without any condition on the workshop meets."""
    with store.reading() as connection:
        return set(connection.scalars(sa.select(workshop_keys.c.workshop_id)))


def test_a_query_that_names_no_workshop_meets_only_the_one_that_is_served(database):
    assert seen(database) == {"oxbarrow", "fenwick"}
    with wall.serving("oxbarrow"):
        assert seen(database) == {"oxbarrow"}
    assert seen(database) == {"oxbarrow", "fenwick"}


def test_the_view_of_a_page_serves_whom_each_of_its_calls_is_for(database):
    shared = Shared(database)
    for key in ("oxbarrow", "fenwick"):
        with wall.serving(key):
            assert seen(shared) == {key}
    assert seen(shared) == {"oxbarrow", "fenwick"}
    shared.let_go()


def test_nothing_of_another_workshop_is_changed_removed_or_added(database):
    with wall.serving("oxbarrow"), database.writing() as connection:
        assert connection.execute(sa.update(workshop_keys).values(private_key="1" * 64)).rowcount == 1
        assert connection.execute(sa.delete(workshop_keys)).rowcount == 1
    assert seen(database) == {"fenwick"}
    foreign = sa.insert(workshop_keys).values(workshop_id="oxbarrow", private_key="2" * 64)
    with (
        pytest.raises(ProgrammingError, match="row-level security"),
        wall.serving("fenwick"),
        database.writing() as connection,
    ):
        connection.execute(foreign)


def test_the_wall_stands_around_every_table_of_workshops_rows(database):
    with database.writing() as connection:
        assert wall.open_tables(connection) == []
        assert wall.holds(connection)
        name = f"later_{uuid.uuid4().hex[:8]}"
        connection.execute(sa.text(f"CREATE TABLE {name} (workshop_id text)"))
        assert wall.open_tables(connection) == [name]
        wall.build(connection)
        assert wall.open_tables(connection) == []


def test_superusers_are_told_that_it_does_not_hold_them(database):
    with database.reading() as connection:
        home = connection.engine.url.query["host"]
    owner = Database(f"postgresql+psycopg://postgres@/{database.engine.url.database}?host={home}")
    with owner.reading() as connection:
        assert wall.holds(connection) is False
    owner.close()


def test_orders_are_behind_it(database):
    with database.reading() as connection:
        forced = sa.text("SELECT relforcerowsecurity FROM pg_class WHERE relname = :name")
        assert connection.execute(forced, {"name": orders.name}).scalar_one()
