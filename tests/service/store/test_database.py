"""The database itself: transactions, durability settings, migrations, guards; on SQLite and on PostgreSQL."""

from __future__ import annotations

import threading
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from service.orders.errors import TooManyError
from service.store import (  # noqa: F401 - fill the catalogue
    access_tables,
    board_tables,
    engine,
    item_tables,
    machine_tables,
    mail_tables,
    mark_tables,
    outcome_tables,
    price_tables,
    program_tables,
    record_tables,
    suite_tables,
    tables,
    upkeep_tables,
    webhook_tables,
)
from service.store.engine import Database
from service.store.metadata import metadata
from service.store.migrating import SchemaAheadError, current_revision, newest_revision, upgrade
from service.store.tables import counters, workshops

AT = datetime(2026, 5, 4, 9, 30, 0, 123456, tzinfo=UTC)
SHOP = {
    "id": "w1", "key": "oxbarrow", "name": "Oxbarrow", "revision": 1, "allowances": {"sanding": 0.3},
    "usual_bit": "v60", "retention_days": 365, "created_at": AT,
}  # fmt: skip


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def database(request, tmp_path):
    if request.param == "sqlite":
        made = Database(f"sqlite:///{tmp_path}/store.db")
        upgrade(made)
    else:
        made = Database(request.getfixturevalue("postgres_url"))
    yield made
    made.close()


def names(database: Database) -> list[str]:
    with database.reading() as connection:
        return list(connection.scalars(sa.select(workshops.c.key).order_by(workshops.c.key)))


def test_leaving_the_block_commits_and_an_error_rolls_back(database):
    with database.writing() as connection:
        connection.execute(sa.insert(workshops).values(SHOP))
    with pytest.raises(ZeroDivisionError), database.writing() as connection:
        connection.execute(sa.insert(workshops).values({**SHOP, "id": "w2", "key": "fenwick"}))
        raise ZeroDivisionError
    assert names(database) == ["oxbarrow"]


def test_what_is_read_within_a_block_stays_as_it_was(database):
    with database.writing() as connection:
        connection.execute(sa.insert(workshops).values(SHOP))
    with database.reading() as reader:
        before = reader.execute(sa.select(workshops.c.revision)).scalar_one()
        with database.writing() as writer:
            writer.execute(sa.update(workshops).values(revision=2))
        assert reader.execute(sa.select(workshops.c.revision)).scalar_one() == before == 1
    with database.reading() as reader:
        assert reader.execute(sa.select(workshops.c.revision)).scalar_one() == 2


def test_a_reading_block_writes_nothing(database):
    with suppress(sa.exc.InternalError), database.reading() as connection:  # PostgreSQL refuses it
        connection.execute(sa.insert(workshops).values(SHOP))
    assert names(database) == []


@pytest.mark.postgres
def test_a_connection_that_the_server_closed_is_taken_by_nobody(postgres_url):
    made = Database(postgres_url)
    with made.reading() as one, made.reading() as other:
        assert {each.exec_driver_sql("SELECT 1").scalar_one() for each in (one, other)} == {1}
    others = "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = current_database()"
    with made.reading() as connection:
        connection.exec_driver_sql(f"{others} AND pid <> pg_backend_pid()")
        assert names(made) == []
    made.close()


def test_moments_come_back_to_the_microsecond_in_utc(database):
    with database.writing() as connection:
        connection.execute(sa.insert(workshops).values(SHOP))
    with database.reading() as connection:
        assert connection.execute(sa.select(workshops.c.created_at)).scalar_one() == AT


def test_rows_point_at_rows_that_exist(database):
    with pytest.raises(sa.exc.IntegrityError), database.writing() as connection:
        connection.execute(sa.insert(counters).values(workshop_id="nowhere", orders=0))


def test_numbers_that_json_cannot_say_are_not_stored(database):
    with pytest.raises((sa.exc.StatementError, ValueError)), database.writing() as connection:
        connection.execute(sa.insert(workshops).values({**SHOP, "allowances": {"sanding": float("nan")}}))


def test_the_migrations_make_the_catalogue(database):
    with database.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_a_proofs_large_values_stand_last_in_its_row(tmp_path):
    """SQLite reads all that comes before a value in its row: a page of proofs in brief would read all of each."""
    made = Database(f"sqlite:///{tmp_path}/store.db")
    upgrade(made)
    with made.reading() as connection:
        stored = [column["name"] for column in sa.inspect(connection).get_columns("proofs")]
    made.close()
    assert stored == [column.name for column in tables.proofs.columns] and stored[-2:] == ["facts", "check"]


def test_migrating_again_changes_nothing(database):
    with database.reading() as connection:
        before = current_revision(connection)
    upgrade(database)
    with database.reading() as connection:
        assert current_revision(connection) == before is not None


def test_a_newer_database_is_left_alone(database):
    with database.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = 'from-the-future'")
    with pytest.raises(SchemaAheadError, match="from-the-future"):
        upgrade(database)


def test_several_processes_may_start_at_once(tmp_path):
    url = f"sqlite:///{tmp_path}/fresh.db"
    errors = []

    def start():
        try:
            mine = Database(url)
            upgrade(mine)
            mine.close()
        except Exception as error:  # noqa: BLE001 - whatever it is, the test shows it
            errors.append(error)

    threads = [threading.Thread(target=start) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []


def test_a_failing_migration_leaves_nothing_behind(tmp_path, monkeypatch):
    from alembic import op

    made = Database(f"sqlite:///{tmp_path}/half.db")
    monkeypatch.setattr(op, "execute", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        upgrade(made)
    with made.reading() as connection:
        assert sa.inspect(connection).get_table_names() == []
    made.close()


def test_sqlite_is_set_for_durability(tmp_path):
    made = Database(f"sqlite:///{tmp_path}/store.db")
    with made.writing() as connection:
        pragmas = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys", "secure_delete")
        }
        version = tuple(
            map(int, connection.exec_driver_sql("SELECT sqlite_version()").scalar_one().split("."))
        )
    made.close()
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "secure_delete": 1}
    assert version >= (3, 51, 3)  # sqlite.org/wal.html#walresetbug


def test_writers_take_turns_and_none_is_lost(database):
    with database.writing() as connection:
        connection.execute(sa.insert(workshops).values(SHOP))
        connection.execute(sa.insert(counters).values(workshop_id="w1", orders=0))

    def count_up():
        for _ in range(25):
            with database.writing() as connection:
                row = sa.select(counters.c.orders).with_for_update()
                orders = connection.execute(row).scalar_one()
                connection.execute(sa.update(counters).values(orders=orders + 1))

    threads = [threading.Thread(target=count_up) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.reading() as connection:
        assert connection.execute(sa.select(counters.c.orders)).scalar_one() == 100


def test_whoever_waits_too_long_is_told_to_come_back(tmp_path, monkeypatch):
    monkeypatch.setattr(engine, "BUSY_SECONDS", 0.05)
    url = f"sqlite:///{tmp_path}/busy.db"
    mine = Database(url)
    with mine.writing():
        found = []

        def try_here():
            try:
                with mine.writing():
                    pass
            except TooManyError as error:
                found.append(error)

        thread = threading.Thread(target=try_here)
        thread.start()
        thread.join()
        assert len(found) == 1
    mine.close()


def test_another_process_that_holds_sqlite_too_long_is_over_load_not_a_fault(tmp_path):
    url = f"sqlite:///{tmp_path}/busy.db"
    mine, theirs = Database(url), Database(url)

    @sa.event.listens_for(theirs.engine, "connect")
    def _impatient(connection, _record):
        connection.execute("PRAGMA busy_timeout=20")

    with mine.writing(), pytest.raises(TooManyError), theirs.writing():
        pass
    mine.close()
    theirs.close()


@pytest.mark.postgres
def test_a_deadlock_on_postgresql_is_over_load_not_a_fault(postgres_url):
    made = Database(postgres_url)
    with made.writing() as connection:
        for key in ("a", "b"):
            connection.execute(sa.insert(workshops).values({**SHOP, "id": key, "key": key}))
    both_hold = threading.Barrier(2)
    outcomes = []

    def cross(first, second):
        try:
            with made.writing() as connection:
                connection.exec_driver_sql("SET LOCAL deadlock_timeout = '50ms'")
                connection.execute(sa.update(workshops).where(workshops.c.id == first).values(revision=2))
                both_hold.wait()
                connection.execute(sa.update(workshops).where(workshops.c.id == second).values(revision=2))
            outcomes.append("done")
        except TooManyError:
            outcomes.append("come back")

    threads = [threading.Thread(target=cross, args=pair) for pair in (("a", "b"), ("b", "a"))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    made.close()
    assert sorted(outcomes) == ["come back", "done"]


def test_no_table_is_without_a_primary_key():
    assert [table.name for table in metadata.sorted_tables if not table.primary_key.columns] == []


def test_migrations_are_one_line_of_history():
    from alembic.script import ScriptDirectory

    folder = Path(engine.__file__).parent / "migrations"
    assert len(ScriptDirectory(str(folder)).get_heads()) == 1


def test_the_newest_migration_by_its_file_is_the_head_of_the_chain():
    scripts = ScriptDirectory(str(Path(engine.__file__).parent / "migrations"))
    assert scripts.get_heads() == [newest_revision()]
