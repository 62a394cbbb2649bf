"""The unit of length that a workshop measures in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("workshops", sa.Column("units", sa.String(length=8), nullable=False, server_default="mm"))
