"""The workshop's machine, what a release freezes, and drawings made for a machine."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "machines",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_machines_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", name=op.f("pk_machines")),
    )
    op.create_table(
        "releases",
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_releases_order_id_orders")),
        sa.PrimaryKeyConstraint("order_id", name=op.f("pk_releases")),
    )
    with op.batch_alter_table("drawings") as drawings:
        drawings.alter_column("form", existing_type=sa.String(length=4), type_=sa.String(length=16))
