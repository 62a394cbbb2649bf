"""Origins from which a token's site may call from a browser."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("api_tokens", sa.Column("origins", sa.Text(), nullable=False, server_default=""))
