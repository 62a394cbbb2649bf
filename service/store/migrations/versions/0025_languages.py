"""The language that a client is written to in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column(
        "orders", sa.Column("contact_language", sa.String(length=2), nullable=False, server_default="")
    )


def downgrade() -> None:
    op.drop_column("orders", "contact_language")
