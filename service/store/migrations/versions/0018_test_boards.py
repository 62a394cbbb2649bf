"""Test boards."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "test_boards",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("bit", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("allowances", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("minutes", sa.Float(), nullable=False),
        sa.Column("readings", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("confirmed", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("photograph", sa.String(length=64), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("accepted_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("accepted_as", sa.Integer(), nullable=False),
        sa.Column("accepted", sa.JSON(none_as_null=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_test_boards_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_test_boards")),
        sa.UniqueConstraint("workshop_id", "number", name=op.f("uq_test_boards_workshop_id_number")),
    )
