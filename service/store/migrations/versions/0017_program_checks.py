"""Checks of machine programs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "program_checks",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("carving_id", sa.String(length=40), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("program", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.String(length=24), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("report", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("picture", sa.String(length=64), nullable=False),
        sa.Column("entry", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=120), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_program_checks_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program_checks")),
    )
    op.create_index(op.f("ix_program_checks_order_id_at"), "program_checks", ["order_id", "at"])
