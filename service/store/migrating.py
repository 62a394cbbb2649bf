"""Bringing a database up to the schema of this code."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy import Connection

from service.store import wall
from service.store.engine import Database

if TYPE_CHECKING:
    from alembic.config import Config

# Alembic is loaded where there is something to migrate: on all other days, nobody waits for it.
_MIGRATIONS = Path(__file__).parent / "migrations"
_VERSION = sa.table("alembic_version", sa.column("version_num"))
_ONE_AT_A_TIME = 0x51A7
"""Key of the PostgreSQL advisory lock: replicas that start together migrate one after the other."""


class SchemaAheadError(Exception):
    """The database was written by a newer version of this program."""


def upgrade(database: Database, to: str = "head") -> None:
    """Apply what is missing up to revision ``to``, all of it or nothing. Raises SchemaAheadError."""
    with database.reading() as connection:
        newest = current_revision(connection) == newest_revision()
        if to == "head" and newest and not wall.open_tables(connection):
            return
    from alembic import command
    from alembic.script import ScriptDirectory

    with database.altering() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_ONE_AT_A_TIME)))
        config = _config(connection)
        known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
        for wanted in (current_revision(connection), to):
            if wanted not in (None, "head") and wanted not in known:
                raise SchemaAheadError(
                    f"The database has schema {wanted}, which this version does not know: update it."
                )
        command.upgrade(config, to)
        wall.build(connection)


def newest_revision() -> str:
    """The schema revision of this code: migrations form one chain, and their files are named by it."""
    return max(path.name for path in (_MIGRATIONS / "versions").glob("[0-9]*.py")).partition("_")[0]


def current_revision(connection: Connection) -> str | None:
    """The schema revision a database has, ``None`` for an empty one."""
    if not sa.inspect(connection).has_table(_VERSION.name):
        return None
    found: str | None = connection.execute(sa.select(_VERSION.c.version_num)).scalar_one_or_none()
    return found


def _config(connection: Connection) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS))
    config.attributes["connection"] = connection
    return config
