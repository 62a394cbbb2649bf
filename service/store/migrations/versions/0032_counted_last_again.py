"""Orders are counted at the end of the transaction that changes them, which 0024 had undone on PostgreSQL."""

from __future__ import annotations

from alembic import op

revision = "0032"
down_revision = "0031"
branch_labels = None
depends_on = None

_MOVED = "OLD.state <> NEW.state OR OLD.workshop_id <> NEW.workshop_id OR OLD.kind <> NEW.kind"
_AT_THE_END = "DEFERRABLE INITIALLY DEFERRED FOR EACH ROW"


def upgrade() -> None:
    if op.get_bind().dialect.name != "postgresql":
        return  # SQLite has one writer anyway
    for name, when, moved in (
        ("orders_counted", "INSERT OR DELETE", ""),
        ("orders_counted_on", "UPDATE OF state, workshop_id, kind", f"WHEN ({_MOVED})"),
    ):
        op.execute(f"DROP TRIGGER {name} ON orders")
        op.execute(
            f"CREATE CONSTRAINT TRIGGER {name} AFTER {when} ON orders {_AT_THE_END} {moved} "
            "EXECUTE FUNCTION count_orders()"
        )
