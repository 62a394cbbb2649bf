"""Bringing a database up to the schema of this code."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from service.store.engine import Database

_ONE_AT_A_TIME = 0x51A7
"""Key of the PostgreSQL advisory lock: replicas that start together migrate one after the other."""


class SchemaAhead(Exception):  # noqa: N818 - says what the database is, not what failed
    """The database was written by a newer version of this program."""


def upgrade(database: Database, to: str = "head") -> None:
    """Apply what is missing up to revision ``to``, all of it or nothing. Raises SchemaAhead."""
    with database.writing() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_ONE_AT_A_TIME)))
        config = _config(connection)
        known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
        for wanted in (current_revision(connection), to):
            if wanted not in (None, "head") and wanted not in known:
                raise SchemaAhead(
                    f"The database has schema {wanted}, which this version does not know: update it."
                )
        command.upgrade(config, to)


def newest_revision() -> str:
    """The schema revision of this code."""
    return str(ScriptDirectory.from_config(_config(None)).get_current_head())


def current_revision(connection: Connection) -> str | None:
    """The schema revision a database has, ``None`` for an empty one."""
    return MigrationContext.configure(connection).get_current_revision()


def _config(connection: Connection | None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.attributes["connection"] = connection
    return config
