"""Parts of orders that are made earlier."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("orders", sa.Column("part_of", sa.String(length=40), nullable=True))
    op.create_index("ix_orders_part_of", "orders", ["part_of"])
    op.add_column("lines", sa.Column("of_line", sa.Integer(), nullable=True))
