"""A second wall between workshops, built into PostgreSQL: row-level security.

Queries name their workshop themselves (:mod:`service.store.tenant_scope`). Where one forgot, the database would still
give and take only rows of the workshop that is being served. Transactions that serve none (sign-in, housekeeping, the
owner's commands) see all. SQLite has no such thing; a place with several strangers' workshops is of PostgreSQL.

https://www.postgresql.org/docs/current/ddl-rowsecurity.html: superusers, and roles with BYPASSRLS, go through it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

import sqlalchemy as sa
from sqlalchemy import Connection

T = TypeVar("T")
_SETTING = "slatproof.workshop"
_SERVED: ContextVar[str] = ContextVar("served_workshop", default="")
_STANDS_FOR = "slatproof_served"
_SAY = sa.text("SELECT set_config(:setting, :workshop, true)")  # true: until the transaction ends

# (SELECT …) is worked out once a statement, not once a row.
_SERVES_NONE = f"coalesce((SELECT current_setting('{_SETTING}', true)), '') = ''"
_SAME_WORKSHOP = f"workshop_id = (SELECT current_setting('{_SETTING}', true))"
_THROUGH = {
    "drawings": "EXISTS (SELECT 1 FROM proofs WHERE proofs.id = drawings.proof_id)",
    "standings": "EXISTS (SELECT 1 FROM proofs WHERE proofs.id = standings.proof_id)",
    "webhook_deliveries": "EXISTS (SELECT 1 FROM webhooks WHERE webhooks.id = webhook_deliveries.webhook_id)",
    "second_factors": "EXISTS (SELECT 1 FROM accounts WHERE accounts.id = second_factors.account_id)",
    "recovery_codes": "EXISTS (SELECT 1 FROM accounts WHERE accounts.id = recovery_codes.account_id)",
    "token_uses": "EXISTS (SELECT 1 FROM api_tokens WHERE api_tokens.id = token_uses.token_id)",
    "password_links": "EXISTS (SELECT 1 FROM accounts WHERE accounts.id = password_links.account_id)",
}
"""Tables that name no workshop, and the walled table that their rows belong to."""
_OPEN_TABLES = sa.text(
    "SELECT relname FROM pg_class WHERE relkind = 'r' AND NOT relforcerowsecurity"
    " AND relnamespace = current_schema()::regnamespace"
    " AND (relname = ANY(:through) OR EXISTS (SELECT 1 FROM pg_attribute"
    " WHERE attrelid = pg_class.oid AND attname = 'workshop_id' AND NOT attisdropped))"
    " ORDER BY relname"
)
_HELD = sa.text("SELECT NOT (rolsuper OR rolbypassrls) FROM pg_roles WHERE rolname = current_user")


@contextmanager
def serving(workshop_id: str) -> Iterator[None]:
    """Transactions inside are for this workshop; none where ``workshop_id`` is empty."""
    before = _SERVED.set(workshop_id)
    try:
        yield
    finally:
        _SERVED.reset(before)


def within(workshop_id: str, work: Callable[[], T]) -> Callable[[], T]:
    """The same work, to be run for this workshop by whoever calls it, in whichever thread."""

    def run() -> T:
        with serving(workshop_id):
            return work()

    return run


def begin(connection: Connection) -> None:
    """Tell a transaction that has just begun which workshop it serves."""
    connection.info[_STANDS_FOR] = ""
    keep(connection)


def keep(connection: Connection) -> None:
    """Tell a transaction under way, should it serve another workshop now."""
    served = _SERVED.get()
    if connection.dialect.name != "postgresql" or connection.info.get(_STANDS_FOR, "") == served:
        return
    connection.execute(_SAY, {"setting": _SETTING, "workshop": served})
    connection.info[_STANDS_FOR] = served


def open_tables(connection: Connection) -> list[str]:
    """Tables of workshops' rows around which no wall stands yet; none on SQLite."""
    if connection.dialect.name != "postgresql":
        return []
    return list(connection.execute(_OPEN_TABLES, {"through": list(_THROUGH)}).scalars())


def build(connection: Connection) -> None:
    """Put the wall around every table that lacks it."""
    for table in open_tables(connection):
        belongs = f"{_SERVES_NONE} OR {_THROUGH.get(table, _SAME_WORKSHOP)}"
        connection.execute(sa.text(f'CREATE POLICY one_workshop ON "{table}" USING ({belongs})'))
        connection.execute(sa.text(f'ALTER TABLE "{table}" ENABLE ROW LEVEL SECURITY'))
        connection.execute(sa.text(f'ALTER TABLE "{table}" FORCE ROW LEVEL SECURITY'))


def holds(connection: Connection) -> bool | None:
    """Whether the wall holds back the user that this connection is; ``None`` on SQLite."""
    if connection.dialect.name != "postgresql":
        return None
    return bool(connection.execute(_HELD).scalar_one())
