"""What shop sites keep with orders; checks and tests, which no maker sees; tokens that overlap, and their use."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

_UP = (
    "INSERT INTO order_counts (workshop_id, state, number) VALUES (NEW.workshop_id, NEW.state, 1) "
    "ON CONFLICT (workshop_id, state) DO UPDATE SET number = order_counts.number + 1;"
)
_DOWN = (
    "UPDATE order_counts SET number = number - 1 WHERE workshop_id = OLD.workshop_id AND state = OLD.state;"
)
_MOVED = "(OLD.state <> NEW.state OR OLD.workshop_id <> NEW.workshop_id OR OLD.kind <> NEW.kind)"
_WAS, _IS = "OLD.kind = 'order'", "NEW.kind = 'order'"
# Only orders are counted, and what was a check is from the moment it becomes one.
_KEPT = {
    "sqlite": [
        *(f"DROP TRIGGER orders_counted_{way}" for way in ("in", "out", "on")),
        f"CREATE TRIGGER orders_counted_in AFTER INSERT ON orders WHEN {_IS} BEGIN {_UP} END",
        f"CREATE TRIGGER orders_counted_out AFTER DELETE ON orders WHEN {_WAS} BEGIN {_DOWN} END",
        "CREATE TRIGGER orders_counted_off AFTER UPDATE OF state, workshop_id, kind ON orders "
        f"WHEN {_WAS} AND {_MOVED} BEGIN {_DOWN} END",
        "CREATE TRIGGER orders_counted_on AFTER UPDATE OF state, workshop_id, kind ON orders "
        f"WHEN {_IS} AND {_MOVED} BEGIN {_UP} END",
    ],
    "postgresql": [
        "DROP TRIGGER orders_counted ON orders",
        "DROP TRIGGER orders_counted_on ON orders",
        "CREATE OR REPLACE FUNCTION count_orders() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF TG_OP = 'UPDATE' THEN "
        "  PERFORM 1 FROM order_counts WHERE workshop_id IN (OLD.workshop_id, NEW.workshop_id) "
        "    AND state IN (OLD.state, NEW.state) ORDER BY workshop_id, state FOR UPDATE; "
        "END IF; "
        f"IF TG_OP <> 'INSERT' THEN IF {_WAS} THEN {_DOWN} END IF; END IF; "
        f"IF TG_OP <> 'DELETE' THEN IF {_IS} THEN {_UP} END IF; END IF; "
        "RETURN NULL; END $$",
        "CREATE TRIGGER orders_counted AFTER INSERT OR DELETE ON orders FOR EACH ROW EXECUTE FUNCTION count_orders()",
        "CREATE TRIGGER orders_counted_on AFTER UPDATE OF state, workshop_id, kind ON orders FOR EACH ROW "
        f"WHEN {_MOVED} EXECUTE FUNCTION count_orders()",
    ],
}


def upgrade() -> None:
    for column in (
        sa.Column("site_order_number", sa.String(100), nullable=False, server_default=""),
        sa.Column("site_unique", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("site_metadata", sa.JSON(), nullable=False, server_default="[]"),
        sa.Column("kind", sa.String(16), nullable=False, server_default="order"),
        sa.Column("payment", sa.String(16), nullable=False, server_default="unsaid"),
        sa.Column("payment_reference", sa.String(100), nullable=False, server_default=""),
    ):
        op.add_column("orders", column)
    only = sa.text("site_unique AND site_order_number <> ''")
    op.create_index(
        "ix_orders_site_unique", "orders", ["workshop_id", "site_order_number"], unique=True,
        sqlite_where=only, postgresql_where=only,
    )  # fmt: skip
    op.create_index("ix_orders_site_number", "orders", ["workshop_id", "site_order_number"])
    op.create_index("ix_orders_updated", "orders", ["workshop_id", "updated_at"])
    for statement in _KEPT[op.get_bind().dialect.name]:
        op.execute(statement)
    op.add_column(
        "workshops", sa.Column("payment_required", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    for more in (
        sa.Column("test", sa.Boolean(), nullable=False, server_default=sa.false()),
        sa.Column("previous_hash", sa.String(64), nullable=True),
        sa.Column("previous_until", sa.DateTime(timezone=True), nullable=True),
    ):
        op.add_column("api_tokens", more)
    op.create_index("ix_api_tokens_previous_hash", "api_tokens", ["previous_hash"])
    op.create_table(
        "token_uses",
        sa.Column(
            "token_id", sa.String(40), sa.ForeignKey("api_tokens.id", ondelete="CASCADE"), nullable=False
        ),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("by_previous", sa.Boolean(), nullable=False),
        sa.Column("spans", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("token_id", "day", "by_previous", name=op.f("pk_token_uses")),
    )
