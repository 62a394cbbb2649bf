"""Second witnesses to the record, and the art that a carving falls back to."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("orders", "counters"):
        op.add_column(table, sa.Column("recorded", sa.Integer(), server_default="0", nullable=False))
    op.execute(
        "UPDATE orders SET recorded = coalesce("
        "(SELECT max(number) FROM record WHERE record.order_id = orders.id), 0)"
    )
    op.execute(
        "UPDATE counters SET recorded = coalesce((SELECT max(number) FROM record "
        "WHERE record.workshop_id = counters.workshop_id AND record.order_id IS NULL), 0)"
    )
    op.add_column("carvings", sa.Column("kept", sa.JSON(none_as_null=True), nullable=True))
    op.add_column("carvings", sa.Column("kept_outline", sa.String(length=64), nullable=True))
    op.create_index(op.f("ix_carvings_kept_outline"), "carvings", ["kept_outline"], unique=False)
