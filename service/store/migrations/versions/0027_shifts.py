"""Art of single boards that is shifted, and how far clients allow it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("orders", sa.Column("may_shift", sa.Float(53), nullable=False, server_default="0"))
    op.create_table(
        "item_shifts",
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=100), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("x", sa.Float(53), nullable=False),
        sa.Column("y", sa.Float(53), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_item_shifts_order_id_orders")),
        sa.PrimaryKeyConstraint("order_id", "key", name=op.f("pk_item_shifts")),
    )
