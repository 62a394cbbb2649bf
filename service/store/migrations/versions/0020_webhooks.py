"""Events, webhooks and what is sent to them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

_ID = sa.String(length=40)
_AT = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.add_column("counters", sa.Column("events", sa.Integer(), nullable=False, server_default="0"))
    op.create_table(
        "events",
        sa.Column("workshop_id", _ID, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("order_id", _ID, nullable=False),
        sa.Column("at", _AT, nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_events_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "number", name=op.f("pk_events")),
    )
    op.create_index(op.f("ix_events_at"), "events", ["at"])
    op.create_table(
        "webhooks",
        sa.Column("id", _ID, nullable=False),
        sa.Column("workshop_id", _ID, nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("kinds", sa.JSON(), nullable=False),
        sa.Column("enabled", sa.Boolean(), nullable=False),
        sa.Column("because", sa.Text(), nullable=False),
        sa.Column("secret", sa.Text(), nullable=False),
        sa.Column("earlier_secret", sa.Text(), nullable=False),
        sa.Column("earlier_until", _AT, nullable=True),
        sa.Column("seen", sa.Integer(), nullable=False),
        sa.Column("created_at", _AT, nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_webhooks_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_webhooks")),
    )
    op.create_index(op.f("ix_webhooks_workshop_id"), "webhooks", ["workshop_id"])
    op.create_table(
        "webhook_deliveries",
        sa.Column("id", _ID, nullable=False),
        sa.Column("webhook_id", _ID, nullable=False),
        sa.Column("event", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("due_at", _AT, nullable=True),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("trouble", sa.Text(), nullable=False),
        sa.Column("created_at", _AT, nullable=False),
        sa.Column("delivered_at", _AT, nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["webhook_id"],
            ["webhooks.id"],
            name=op.f("fk_webhook_deliveries_webhook_id_webhooks"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_webhook_deliveries")),
    )
    op.create_index(op.f("ix_webhook_deliveries_due_at"), "webhook_deliveries", ["due_at"])
    op.create_index(
        "ix_webhook_deliveries_webhook_id_created_at", "webhook_deliveries", ["webhook_id", "created_at"]
    )
