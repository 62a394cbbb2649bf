"""Prepared statements give what SQLAlchemy gives, rows and errors alike, and views that stay open keep nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa

from service.store.engine import Database
from service.store.metadata import JSON_VALUE, Instant
from service.store.prepared import Prepared, one_of
from service.store.sharing import Shared, asked_once

TABLE = sa.Table(
    "things",
    sa.MetaData(),
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("at", Instant),
    sa.Column("day", sa.Date),
    sa.Column("good", sa.Boolean),
    sa.Column("held", JSON_VALUE),
)
AT = datetime(2026, 5, 4, 3, 2, 1, 500, UTC)
LATER = sa.select(TABLE).where(TABLE.c.at >= sa.bindparam("since"), TABLE.c.id != 7).order_by(TABLE.c.id)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    made = Database(f"sqlite:///{tmp_path / 'db.sqlite'}")
    with made.writing() as connection:
        TABLE.create(connection)
        rows = [{"id": n, "at": AT, "day": AT.date(), "good": n > 1, "held": {"n": [n]}} for n in (1, 2, 7)]
        connection.execute(sa.insert(TABLE), rows)
    yield made
    made.close()


def test_rows_are_those_that_sqlalchemy_gives(database: Database):
    prepared = Prepared(LATER)
    with database.reading() as connection:
        assert prepared.one_or_none(connection, {"since": datetime(2027, 1, 1, tzinfo=UTC)}) is None
        for _ in range(2):
            expected = connection.execute(LATER, {"since": AT}).all()
            found = prepared.rows(connection, {"since": AT})
            assert [row._asdict() for row in found] == [row._asdict() for row in expected]
        assert prepared.scalar(connection, {"since": AT}) == 1


def test_errors_are_those_that_sqlalchemy_raises(database: Database):
    with database.writing() as connection:
        connection.execute(sa.text("ALTER TABLE things RENAME TO others"))
    with pytest.raises(sa.exc.OperationalError, match="no such table"), database.reading() as connection:
        Prepared(LATER).rows(connection, {"since": AT})
    with database.reading() as connection:  # on a connection of its own again
        assert connection.scalar(sa.text("SELECT count(*) FROM others")) == 3


@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_a_list_of_any_length_is_one_parameter(kind: str, request: pytest.FixtureRequest, tmp_path: Path):
    url = (
        request.getfixturevalue("postgres_url")
        if kind == "postgres"
        else f"sqlite:///{tmp_path / 'db.sqlite'}"
    )
    texts = sa.table("texts", sa.column("name", sa.String), sa.column("n", sa.Integer))
    asked = Prepared(
        sa.select(texts.c.n).where(one_of(texts.c.name, "names")).order_by(texts.c.n), named=False
    )
    made = Database(url)
    with made.writing() as connection:
        connection.execute(sa.text("CREATE TABLE texts (name VARCHAR(40), n INTEGER)"))
        rows = [{"name": f'it\'s "{n}" — ü', "n": n} for n in range(400)]
        connection.execute(sa.insert(texts), rows)
    with made.reading() as connection:
        for wanted in ([], [3], [5, 5, 399, 1000], range(400)):
            found = asked.rows(connection, {"names": [f'it\'s "{n}" — ü' for n in wanted]})
            assert found == [(n,) for n in sorted(set(wanted)) if n < 400]
    made.close()


@asked_once
def _count(connection: sa.Connection) -> int:
    return int(connection.scalar(sa.select(sa.func.count()).select_from(TABLE)) or 0)


def test_a_view_knows_nothing_of_the_one_before(database: Database):
    for expected in (3, 4):
        view = Shared(database)
        with view.reading() as connection:
            assert _count(connection) == expected
            list(connection.execution_options(yield_per=1).execute(sa.select(TABLE)))
        view.let_go()
        with database.writing() as connection:
            connection.execute(sa.insert(TABLE).values(id=8 + expected, held={}))
    with database.reading() as connection:
        assert "yield_per" not in connection.get_execution_options()
