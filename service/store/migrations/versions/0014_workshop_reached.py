"""Where a workshop is and how it is reached, as clients read it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name, length in (("place", 200), ("phone", 40), ("email", 254)):
        op.add_column("workshops", sa.Column(name, sa.String(length), nullable=False, server_default=""))
