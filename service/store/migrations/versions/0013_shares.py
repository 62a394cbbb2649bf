"""What of its share a workshop uses is counted at each upload."""

from __future__ import annotations

from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_artworks_workshop", "artworks", ["workshop_id", "size"])
