"""Run by Alembic; :mod:`service.store.migrating` hands over the connection."""

from __future__ import annotations

from alembic import context

from service.store import access_tables, mail_tables, record_tables, tables, upkeep_tables  # noqa: F401 - fill the catalogue
from service.store.metadata import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    transactional_ddl=True,
    transaction_per_migration=False,
)
context.run_migrations()
