"""How many orders there are in each state: kept as they change, so that nobody ever counts a hundred thousand."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_UP = (
    "INSERT INTO order_counts (workshop_id, state, number) VALUES (NEW.workshop_id, NEW.state, 1) "
    "ON CONFLICT (workshop_id, state) DO UPDATE SET number = order_counts.number + 1;"
)
_DOWN = (
    "UPDATE order_counts SET number = number - 1 WHERE workshop_id = OLD.workshop_id AND state = OLD.state;"
)
_MOVED = "OLD.state <> NEW.state OR OLD.workshop_id <> NEW.workshop_id"
_KEPT = {
    "sqlite": [
        f"CREATE TRIGGER orders_counted_in AFTER INSERT ON orders BEGIN {_UP} END",
        f"CREATE TRIGGER orders_counted_out AFTER DELETE ON orders BEGIN {_DOWN} END",
        f"CREATE TRIGGER orders_counted_on AFTER UPDATE OF state, workshop_id ON orders WHEN {_MOVED} "
        f"BEGIN {_DOWN} {_UP} END",
    ],
    # Of two orders that change places in opposite directions neither waits for the other: rows are taken by name.
    "postgresql": [
        "CREATE FUNCTION count_orders() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF TG_OP = 'UPDATE' THEN "
        "  PERFORM 1 FROM order_counts WHERE workshop_id IN (OLD.workshop_id, NEW.workshop_id) "
        "    AND state IN (OLD.state, NEW.state) ORDER BY workshop_id, state FOR UPDATE; "
        "END IF; "
        f"IF TG_OP <> 'INSERT' THEN {_DOWN} END IF; "
        f"IF TG_OP <> 'DELETE' THEN {_UP} END IF; "
        "RETURN NULL; END $$",
        "CREATE TRIGGER orders_counted AFTER INSERT OR DELETE ON orders FOR EACH ROW EXECUTE FUNCTION count_orders()",
        "CREATE TRIGGER orders_counted_on AFTER UPDATE OF state, workshop_id ON orders FOR EACH ROW "
        f"WHEN ({_MOVED}) EXECUTE FUNCTION count_orders()",
    ],
}


def upgrade() -> None:
    op.create_table(
        "order_counts",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("workshop_id", "state", name=op.f("pk_order_counts")),
    )
    for statement in _KEPT[op.get_bind().dialect.name]:
        op.execute(statement)
    op.execute(
        "INSERT INTO order_counts (workshop_id, state, number) "
        "SELECT workshop_id, state, count(*) FROM orders GROUP BY workshop_id, state"
    )
