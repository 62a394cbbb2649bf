"""Price lists, and the quotes that clients were shown and signed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.metadata import Instant

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "price_lists",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("version", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("made_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_price_lists_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "version", name=op.f("pk_price_lists")),
    )
    op.create_table(
        "quotes",
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("shown_at", Instant(), nullable=False),
        sa.Column("signed_at", Instant(), nullable=True),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_quotes_order_id_orders")),
        sa.PrimaryKeyConstraint("order_id", "digest", name=op.f("pk_quotes")),
    )
