"""Who works here, and when the upkeep was last done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.metadata import Instant

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "workers",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("begun_at", Instant(), nullable=False),
        sa.Column("seen_at", Instant(), nullable=False),
        sa.Column("beats", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_workers")),
    )
    op.create_table(
        "upkeep",
        sa.Column("what", sa.String(length=24), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("well", sa.Boolean(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("what", name=op.f("pk_upkeep")),
    )
