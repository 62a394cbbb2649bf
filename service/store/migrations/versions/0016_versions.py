"""Versions of a drawing that carve: worked out, and chosen."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "version_sets",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("outline", sa.String(length=64), nullable=False),
        sa.Column("found", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_version_sets_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "key", name=op.f("pk_version_sets")),
    )
    op.create_index(op.f("ix_version_sets_outline"), "version_sets", ["outline"])
    op.create_index(op.f("ix_version_sets_made_at"), "version_sets", ["made_at"])
    op.create_table(
        "version_files",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id", "key"],
            ["version_sets.workshop_id", "version_sets.key"],
            name=op.f("fk_version_files_workshop_id_key_version_sets"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("workshop_id", "key", "digest", name=op.f("pk_version_files")),
    )
    op.create_index("ix_version_files_digest", "version_files", ["digest"])
    op.add_column("carvings", sa.Column("version", sa.JSON(), nullable=True))
