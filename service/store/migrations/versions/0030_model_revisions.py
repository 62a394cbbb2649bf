"""Revisions of models are counted without reading their layouts."""

from __future__ import annotations

from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_shop_models_revision", "shop_models", ["workshop_id", "revision"])
