"""What client and workshop write to each other."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "order_messages",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("side", sa.String(length=16), nullable=False),
        sa.Column("by", sa.String(length=200), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_order_messages_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_order_messages")),
    )
    op.create_index("ix_order_messages_order", "order_messages", ["order_id", "at"])
