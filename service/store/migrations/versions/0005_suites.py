"""Suites: carvings that are made, shown and signed as one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.metadata import Instant

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "suites",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("line_id", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("wanted", sa.JSON(), nullable=False),
        sa.Column("made", sa.JSON(), nullable=False),
        sa.Column("problems", sa.JSON(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_suites_order_id_orders")),
        sa.ForeignKeyConstraint(
            ["line_id"], ["lines.id"], name=op.f("fk_suites_line_id_lines"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suites")),
    )
    op.create_index(op.f("ix_suites_order_id"), "suites", ["order_id"], unique=False)
    op.create_index(op.f("ix_suites_line_id"), "suites", ["line_id"], unique=False)
    op.create_table(
        "suite_parts",
        sa.Column("carving_id", sa.String(length=40), nullable=False),
        sa.Column("suite_id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("row", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("notes", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["carving_id"],
            ["carvings.id"],
            name=op.f("fk_suite_parts_carving_id_carvings"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["suite_id"], ["suites.id"], name=op.f("fk_suite_parts_suite_id_suites"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("carving_id", name=op.f("pk_suite_parts")),
    )
    op.create_index(op.f("ix_suite_parts_suite_id"), "suite_parts", ["suite_id"], unique=False)
    op.create_index(op.f("ix_suite_parts_order_id"), "suite_parts", ["order_id"], unique=False)
