"""Whether a workshop asks a second step of everybody who signs in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column(
        "workshops",
        sa.Column("second_step_required", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
