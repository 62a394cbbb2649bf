"""The versions of the workshop's own marks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "marks",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("model_key", sa.String(length=64), nullable=False),
        sa.Column("slat_key", sa.String(length=64), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("basis", sa.String(length=64), nullable=False),
        sa.Column("made_of", sa.JSON(), nullable=False),
        sa.Column("outline", sa.String(length=64), nullable=False),
        sa.Column("picture", sa.String(length=64), nullable=False),
        sa.Column("verdict", sa.String(length=24), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("check", sa.JSON(), nullable=False),
        sa.Column("remarks", sa.JSON(), nullable=False),
        sa.Column("proposed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("approved_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("approval", sa.Integer(), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_marks_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_marks")),
        sa.UniqueConstraint(
            "workshop_id",
            "model_key",
            "slat_key",
            "version",
            name=op.f("uq_marks_workshop_id_model_key_slat_key_version"),
        ),
    )
