"""Finishes that workshops offer and lines have, and where orders are delivered."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("workshops", sa.Column("finishes", sa.JSON(), nullable=False, server_default="[]"))
    op.add_column("lines", sa.Column("finish", sa.String(length=16), nullable=False, server_default="bare"))
    op.add_column("orders", sa.Column("delivery_address", sa.Text(), nullable=False, server_default=""))
    op.add_column("orders", sa.Column("travel_km", sa.Float(53), nullable=False, server_default="0"))
