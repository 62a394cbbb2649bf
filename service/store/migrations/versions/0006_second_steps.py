"""The second step when signing in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.metadata import Instant

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "second_factors",
        sa.Column("account_id", sa.String(length=40), nullable=False),
        sa.Column("secret", sa.String(length=64), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("confirmed_at", Instant(), nullable=True),
        sa.Column("last_step", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id"],
            ["accounts.id"],
            name=op.f("fk_second_factors_account_id_accounts"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_second_factors")),
    )
    op.create_table(
        "recovery_codes",
        sa.Column("code_hash", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.String(length=40), nullable=False),
        sa.Column("used_at", Instant(), nullable=True),
        sa.ForeignKeyConstraint(
            ["account_id"],
            ["accounts.id"],
            name=op.f("fk_recovery_codes_account_id_accounts"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("code_hash", name=op.f("pk_recovery_codes")),
    )
    op.create_index(op.f("ix_recovery_codes_account_id"), "recovery_codes", ["account_id"], unique=False)
